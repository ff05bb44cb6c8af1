//! Names for people's questions: views over the events, and the indexes that make one garment's part quick.
//!
//! Everything here follows from the events and can be dropped and made again at any time. A body that is no JSON
//! (a flipped byte) is in no index and no view, and stands in nobody's way.

/// The garment of an event. Queries must say it in exactly these words to be served by the index.
pub const GARMENT: &str = "CASE WHEN json_valid(body) THEN json_extract(body, '$.garment') END";
/// The act that an event takes back.
pub const UNDOES: &str = "CASE WHEN json_valid(body) THEN json_extract(body, '$.undoes') END";
/// The order of an event that concerns one as a whole, and the condition under which it is indexed.
pub const ORDER: &str = "CASE WHEN json_valid(body) THEN json_extract(body, '$.order') END";
pub const OF_ORDER: &str =
    "kind IN ('order-taken', 'underbase-decided', 'order-changed', 'order-cancelled')";
/// The lot of a fill.
pub const LOT: &str = "CASE WHEN json_valid(body) THEN json_extract(body, '$.lot') END";
/// The kinds that are rare and concern more than one garment. Said with OR: for a long list behind IN, SQLite builds a
/// table of it for every single row that is written. And said to be true, so that only a query with these very words
/// is served by the index: one for a lot's fills has a better one.
pub const RARE: &str = "(kind = 'station-set' OR kind = 'recipe-kept' OR kind = 'order-taken' \
     OR kind = 'underbase-decided' OR kind = 'platen-checked' OR kind = 'lot-registered' \
     OR kind = 'sprayer-filled' OR kind = 'sprayer-flushed' OR kind = 'signed-in' \
     OR kind = 'signed-out' OR kind = 'shift-closed' OR kind = 'wash-sampled' \
     OR kind = 'washed' OR kind = 'returned') IS TRUE";

pub const VIEWS: &str = "
    CREATE INDEX events_garment ON events (
        CASE WHEN json_valid(body) THEN json_extract(body, '$.garment') END, seq
    );
    CREATE INDEX events_undone ON events (
        CASE WHEN json_valid(body) THEN json_extract(body, '$.undoes') END
    ) WHERE kind = 'undone';
    CREATE INDEX events_rare ON events (kind, seq) WHERE kind IN (
        'station-set', 'recipe-kept', 'order-taken', 'underbase-decided', 'platen-checked',
        'lot-registered', 'sprayer-filled', 'sprayer-flushed', 'signed-in', 'signed-out',
        'shift-closed', 'wash-sampled', 'washed'
    );

    CREATE INDEX events_order ON events (
        CASE WHEN json_valid(body) THEN json_extract(body, '$.order') END
    ) WHERE kind IN ('order-taken', 'underbase-decided');
    CREATE INDEX events_lot ON events (
        CASE WHEN json_valid(body) THEN json_extract(body, '$.lot') END
    ) WHERE kind = 'sprayer-filled';

    -- What happened and was not taken back.
    CREATE VIEW facts AS
    SELECT station, seq, act, at, datetime(at / 1000000, 'unixepoch') AS utc, kind, body,
           CASE WHEN json_valid(body) THEN json_extract(body, '$.garment') END AS tag
    FROM events
    WHERE NOT EXISTS (
        SELECT 1 FROM events AS later
        WHERE later.kind = 'undone'
          AND CASE WHEN json_valid(later.body) THEN json_extract(later.body, '$.undoes') END = events.act
    ) AND json_valid(body) AND kind <> 'undone';

    CREATE VIEW garments AS
    SELECT tag, min(utc) AS first_utc, max(utc) AS last_utc, count(*) AS events,
           sum(kind = 'press-opened') AS presses, sum(kind = 'trouble') AS troubles,
           max(CASE WHEN kind = 'press-opened' AND json_extract(body, '$.step') = 'cure' THEN 1 ELSE 0 END) AS cured
    FROM facts WHERE tag IS NOT NULL GROUP BY tag;

    CREATE VIEW press_cycles AS
    SELECT seq, utc, tag, json_extract(body, '$.press') AS press, json_extract(body, '$.step') AS step,
           json_extract(body, '$.seconds') AS seconds, json_extract(body, '$.timing') AS timing
    FROM facts WHERE kind = 'press-opened';

    CREATE VIEW weigh_ins AS
    SELECT seq, utc, tag, json_extract(body, '$.recipe') AS recipe,
           CAST(json_extract(body, '$.before') AS REAL) AS before_g,
           CAST(json_extract(body, '$.after') AS REAL) AS after_g,
           CAST(json_extract(body, '$.coat') AS REAL) AS coat_g_m2,
           json_extract(body, '$.verdict') AS verdict
    FROM facts WHERE kind = 'coat-weighed';

    CREATE VIEW shelf AS
    SELECT utc, tag, json_extract(body, '$.stack') AS stack, json_extract(body, '$.position') AS position,
           json_extract(body, '$.day') AS stored, json_extract(body, '$.good_until') AS good_until,
           json_extract(body, '$.last_day') AS last_day
    FROM facts AS put
    WHERE kind = 'stored' AND NOT EXISTS (
        SELECT 1 FROM facts AS later
        WHERE later.tag = put.tag AND later.seq > put.seq
          AND later.kind IN ('stored', 'press-shut', 'printed', 'renewed')
    );

    CREATE VIEW fills AS
    SELECT seq, utc, json_extract(body, '$.lot') AS lot, CAST(json_extract(body, '$.grams') AS REAL) AS grams
    FROM facts WHERE kind = 'sprayer-filled';

    CREATE VIEW wash_results AS
    SELECT washed.seq, washed.utc, washed.tag, json_extract(washed.body, '$.cycles') AS cycles,
           json_extract(washed.body, '$.grade') AS grade,
           CAST(json_extract(sampled.body, '$.coat') AS REAL) AS coat_g_m2
    FROM facts AS washed
    LEFT JOIN facts AS sampled ON sampled.tag = washed.tag AND sampled.kind = 'wash-sampled'
    WHERE washed.kind = 'washed';
";

/// The index of rare kinds again, with a condition that costs little where it does not hold.
pub const RARE_AGAIN: &str = "
    DROP INDEX events_rare;
    CREATE INDEX events_rare ON events (kind, seq) WHERE (
        kind = 'station-set' OR kind = 'recipe-kept' OR kind = 'order-taken'
        OR kind = 'underbase-decided' OR kind = 'platen-checked' OR kind = 'lot-registered'
        OR kind = 'sprayer-filled' OR kind = 'sprayer-flushed' OR kind = 'signed-in'
        OR kind = 'signed-out' OR kind = 'shift-closed' OR kind = 'wash-sampled'
        OR kind = 'washed'
    ) IS TRUE;
";

/// A press's time as it was corrected, and the place of print; a shelf without what was put out or sent back a step.
pub const CYCLES_AND_SHELF_AGAIN: &str = "
    DROP VIEW press_cycles;
    CREATE VIEW press_cycles AS
    SELECT seq, utc, tag, press, step, place,
           CASE WHEN late IS NULL THEN json_extract(body, '$.seconds')
                ELSE json_extract(late, '$.seconds') END AS seconds,
           -- An older program did not record how a corrected time lies to the recipe's: then it is not known.
           CASE WHEN late IS NULL THEN json_extract(body, '$.timing')
                WHEN json_extract(late, '$.seconds') IS NULL THEN 'not-timed'
                ELSE json_extract(late, '$.timing') END AS timing,
           late IS NOT NULL AS corrected
    FROM (
        SELECT seq, utc, tag, body, json_extract(body, '$.press') AS press,
               json_extract(body, '$.step') AS step, json_extract(body, '$.place') AS place,
               -- Not joined: so it is found by the garment's index.
               (SELECT later.body FROM facts AS later
                WHERE later.tag = opened.tag AND later.kind = 'time-corrected'
                  AND json_extract(later.body, '$.corrects') = opened.act LIMIT 1) AS late
        FROM facts AS opened WHERE kind = 'press-opened'
    );

    DROP VIEW shelf;
    CREATE VIEW shelf AS
    SELECT utc, tag, json_extract(body, '$.stack') AS stack, json_extract(body, '$.position') AS position,
           json_extract(body, '$.day') AS stored, json_extract(body, '$.good_until') AS good_until,
           json_extract(body, '$.last_day') AS last_day
    FROM facts AS put
    WHERE kind = 'stored' AND NOT EXISTS (
        SELECT 1 FROM facts AS later
        WHERE later.tag = put.tag AND later.seq > put.seq
          AND (later.kind IN ('stored', 'press-shut', 'printed', 'renewed')
               OR later.kind = 'trouble' AND json_extract(later.body, '$.outcome') IN ('step-again', 'out'))
    );
";

/// The last weight of a coat before it is dried, and whether it was mended: a garment's weights of one coat have the
/// dry weight in common. And the indexes of an order's events with its changes, and of rare kinds with returns.
/// A view of what came back.
pub const WEIGH_INS_AND_ORDERS_AGAIN: &str = "
    DROP INDEX events_rare;
    CREATE INDEX events_rare ON events (kind, seq) WHERE (
        kind = 'station-set' OR kind = 'recipe-kept' OR kind = 'order-taken'
        OR kind = 'underbase-decided' OR kind = 'platen-checked' OR kind = 'lot-registered'
        OR kind = 'sprayer-filled' OR kind = 'sprayer-flushed' OR kind = 'signed-in'
        OR kind = 'signed-out' OR kind = 'shift-closed' OR kind = 'wash-sampled'
        OR kind = 'washed' OR kind = 'returned'
    ) IS TRUE;

    DROP INDEX events_order;
    CREATE INDEX events_order ON events (
        CASE WHEN json_valid(body) THEN json_extract(body, '$.order') END
    ) WHERE kind IN ('order-taken', 'underbase-decided', 'order-changed', 'order-cancelled');

    DROP VIEW weigh_ins;
    CREATE VIEW weigh_ins AS
    SELECT seq, utc, tag, json_extract(body, '$.recipe') AS recipe,
           CAST(json_extract(body, '$.before') AS REAL) AS before_g,
           CAST(json_extract(body, '$.after') AS REAL) AS after_g,
           CAST(json_extract(body, '$.coat') AS REAL) AS coat_g_m2,
           json_extract(body, '$.verdict') AS verdict,
           EXISTS (
               SELECT 1 FROM facts AS mended
               WHERE mended.tag = weighed.tag AND mended.act = weighed.act AND mended.kind = 'coat-mended'
           ) AS mended
    FROM facts AS weighed
    WHERE kind = 'coat-weighed' AND NOT EXISTS (
        SELECT 1 FROM facts AS later
        WHERE later.tag = weighed.tag AND later.seq > weighed.seq AND later.kind = 'coat-weighed'
          AND json_extract(later.body, '$.before') = json_extract(weighed.body, '$.before')
    );

    CREATE VIEW returns AS
    SELECT seq, utc, json_extract(body, '$.order') AS order_no, tag, json_extract(body, '$.size') AS size,
           json_extract(body, '$.complaint') AS complaint, json_extract(body, '$.cycles') AS cycles,
           json_extract(body, '$.grade') AS grade, CAST(json_extract(body, '$.coat') AS REAL) AS coat_g_m2
    FROM facts WHERE kind = 'returned';
";
