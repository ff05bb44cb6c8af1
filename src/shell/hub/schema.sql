-- The hub, schema version 1: in a database of its own, run by that database's owner, a role that may create roles.
-- It can be run again at any time: what is there stays, rights and functions are set right, as after a dump was restored.
-- :"owner" owns everything and never logs in; :"stations" and :"readers" are groups, of which each login is a member.
-- All three are named after the database, so that one server can keep the hubs of many shops apart.
--
-- Every text that is a key is COLLATE "C": a standby with another C library must not see another order.

CREATE SCHEMA IF NOT EXISTS hub;

CREATE TABLE IF NOT EXISTS hub.about (
  only_row bool PRIMARY KEY DEFAULT true CHECK (only_row),
  schema_version int NOT NULL,
  -- A program that knows only an older schema than this one must not write.
  oldest_writer int NOT NULL,
  -- Another hub under the same address is known by it. A dump that is restored keeps it.
  hub uuid NOT NULL DEFAULT gen_random_uuid());

-- One row a station: the head of its history. Whoever locks it is the only writer of that history.
CREATE TABLE IF NOT EXISTS hub.stations (
  station text COLLATE "C" PRIMARY KEY CHECK (station ~ '^[a-z]{1,3}$'),
  name text NOT NULL DEFAULT '',
  -- The session_user of its login.
  role name NOT NULL UNIQUE,
  -- What is pushed under an older life is refused.
  life int NOT NULL DEFAULT 1,
  upto bigint NOT NULL DEFAULT 0,
  sum bigint NOT NULL DEFAULT 0,
  -- By the hub's clock.
  heard timestamptz);

-- A life goes on from a row of the life before it: from the row numbered after_seq, and what that life had behind it
-- is no part of the history any more. The current history at number s is the row of the newest life with after_seq < s.
CREATE TABLE IF NOT EXISTS hub.lives (
  station text COLLATE "C" NOT NULL REFERENCES hub.stations,
  life int NOT NULL,
  after_seq bigint NOT NULL,
  after_sum bigint NOT NULL,
  -- Which data directory began it, so that asking twice begins one life.
  begun_by text COLLATE "C" NOT NULL,
  began timestamptz NOT NULL DEFAULT clock_timestamp(),
  PRIMARY KEY (station, life));

CREATE TABLE IF NOT EXISTS hub.events (
  station text COLLATE "C" NOT NULL,
  life int NOT NULL,
  seq bigint NOT NULL,
  act bigint NOT NULL,
  at bigint NOT NULL,
  boot text COLLATE "C" NOT NULL,
  up bigint NOT NULL,
  version int NOT NULL,
  kind text COLLATE "C" NOT NULL,
  -- Text, never jsonb: the sum is over these very bytes.
  body text COLLATE "C" NOT NULL,
  sum bigint NOT NULL,
  -- The tag that the row is about. An order's lines name a garment's colour by the same word. Never a cast to JSON: that
  -- fails on texts which the journal may hold.
  garment text COLLATE "C" GENERATED ALWAYS AS (
    CASE WHEN kind NOT IN ('order-taken', 'order-changed')
      THEN substring(body FROM '"garment"\s*:\s*"([^"\\]*)"') END) STORED,
  PRIMARY KEY (station, life, seq));
CREATE INDEX IF NOT EXISTS events_by_garment ON hub.events (garment, station, life, seq) WHERE garment IS NOT NULL;

-- The highest number of an order is asked for at each new connection of a station that had several lives.
CREATE INDEX IF NOT EXISTS events_of_orders ON hub.events (station) WHERE kind = 'order-taken';
-- What says something of shared orders is read again where a life begins, and when this is run again.
CREATE INDEX IF NOT EXISTS events_of_shared ON hub.events (station, life, seq)
  WHERE kind IN ('order-taken', 'order-changed', 'order-cancelled', 'undone');

-- Who keeps a garment. Each move names the one that it follows, as "station/life/seq"; a second one that follows the
-- same is stored as well, and not granted: both are shown to people, who look.
CREATE TABLE IF NOT EXISTS hub.moves (
  garment text COLLATE "C" NOT NULL,
  station text COLLATE "C" NOT NULL,
  life int NOT NULL,
  seq bigint NOT NULL,
  after text COLLATE "C",
  granted bool NOT NULL,
  PRIMARY KEY (station, life, seq));
CREATE UNIQUE INDEX IF NOT EXISTS moves_granted_once ON hub.moves (garment, after) NULLS NOT DISTINCT WHERE granted;
CREATE INDEX IF NOT EXISTS moves_by_garment ON hub.moves (garment);

-- What an older program made otherwise, and what nothing reads any more.
DO $$
BEGIN
  IF EXISTS (SELECT FROM pg_attribute AS a WHERE a.attrelid = to_regclass('hub.shared_lines') AND a.attname = 'act'
      AND NOT a.attisdropped) THEN
    ALTER TABLE hub.shared_lines DROP COLUMN act;
  END IF;
END $$;
DROP TABLE IF EXISTS hub.order_words;
DROP FUNCTION IF EXISTS hub.note_shared(text, bigint, bigint, text, text);

-- How many garments a line of an order asks for that a station has laid for all. Whoever takes a part of it locks its row,
-- before any row of a part: so do all functions here, and none waits for another in a circle.
CREATE TABLE IF NOT EXISTS hub.shared_lines (
  station text COLLATE "C" NOT NULL REFERENCES hub.stations,
  order_no bigint NOT NULL,
  line int NOT NULL,
  count bigint NOT NULL,
  -- The row that it was laid by.
  seq bigint NOT NULL,
  PRIMARY KEY (station, order_no, line));

-- Which station makes how many of such a line. A part is granted first, and recorded once the station's row that says so
-- is here. A row without a grant stands all the same: the hub has lost it, as at a fail-over.
CREATE TABLE IF NOT EXISTS hub.parts (
  station text COLLATE "C" NOT NULL REFERENCES hub.stations,
  asked_by text COLLATE "C" NOT NULL,
  of_station text COLLATE "C" NOT NULL,
  order_no bigint NOT NULL,
  line int NOT NULL,
  count bigint NOT NULL,
  -- The row that says so, and the number of the order that the part was taken in as; NULL: none yet.
  seq bigint,
  own_no bigint,
  PRIMARY KEY (station, asked_by));
CREATE INDEX IF NOT EXISTS parts_by_line ON hub.parts (of_station, order_no, line);
CREATE INDEX IF NOT EXISTS parts_granted ON hub.parts (station) WHERE seq IS NULL;

-- Which shared orders a station has cancelled for all: nothing of them is granted. Which other word counts the stations know
-- from the rows. Each station has rows of its own here, so that none waits for another's push.
CREATE TABLE IF NOT EXISTS hub.cancelled_orders (
  of_station text COLLATE "C" NOT NULL,
  order_no bigint NOT NULL,
  station text COLLATE "C" NOT NULL REFERENCES hub.stations,
  PRIMARY KEY (of_station, order_no, station));

-- The eight bytes of a number the other way round: PostgreSQL writes the highest first, the journal's sum the lowest.
CREATE OR REPLACE FUNCTION hub.turned(n bigint) RETURNS bigint
LANGUAGE plpgsql IMMUTABLE STRICT PARALLEL SAFE AS $$
BEGIN
  -- These operators all bind alike, from the left.
  RETURN ((n & 255) << 56) | (((n >> 8) & 255) << 48) | (((n >> 16) & 255) << 40) | (((n >> 24) & 255) << 32)
    | (((n >> 32) & 255) << 24) | (((n >> 40) & 255) << 16) | (((n >> 48) & 255) << 8) | ((n >> 56) & 255);
END $$;

-- The sum of a row after a row with the sum `before`: the first eight bytes of a SHA-256 over that sum and all that the
-- row says, numbers as eight bytes with the lowest first, texts in UTF-8 behind their length.
CREATE OR REPLACE FUNCTION hub.chained(before bigint, seq bigint, act bigint, at bigint, up bigint, version int,
  station text, boot text, kind text, body text) RETURNS bigint
LANGUAGE plpgsql IMMUTABLE STRICT PARALLEL SAFE AS $$
DECLARE digest bytea;
BEGIN
  digest := sha256(
    int8send(hub.turned(before)) || int8send(hub.turned(seq)) || int8send(hub.turned(act))
    || int8send(hub.turned(at)) || int8send(hub.turned(up)) || int8send(hub.turned(version))
    || int8send(hub.turned(octet_length(station))) || convert_to(station, 'UTF8')
    || int8send(hub.turned(octet_length(boot))) || convert_to(boot, 'UTF8')
    || int8send(hub.turned(octet_length(kind))) || convert_to(kind, 'UTF8')
    || int8send(hub.turned(octet_length(body))) || convert_to(body, 'UTF8'));
  RETURN hub.turned(('x' || encode(substring(digest FROM 1 FOR 8), 'hex'))::bit(64)::bigint);
END $$;

-- The station that writes under the role of this connection, with its head locked against other connections.
CREATE OR REPLACE FUNCTION hub.own_head() RETURNS hub.stations
LANGUAGE plpgsql SECURITY DEFINER SET search_path = pg_catalog, pg_temp SET lock_timeout = '4s' AS $$
DECLARE me hub.stations;
BEGIN
  SELECT s.* INTO me FROM hub.stations AS s WHERE s.role = session_user FOR NO KEY UPDATE;
  IF NOT FOUND THEN
    RAISE insufficient_privilege USING MESSAGE = format('the role %I is no station''s', session_user);
  END IF;
  RETURN me;
END $$;

-- What a station asks before it sends: which hub this is, as of which timeline of which cluster, and its own head.
CREATE OR REPLACE FUNCTION hub.head() RETURNS TABLE (schema_version int, oldest_writer int, hub text, cluster text,
  timeline text, station text, life int, begun_by text, after_seq bigint, after_sum bigint, upto bigint, sum bigint)
LANGUAGE plpgsql SECURITY DEFINER SET search_path = pg_catalog, pg_temp SET lock_timeout = '4s' AS $$
#variable_conflict use_column
DECLARE me hub.stations;
BEGIN
  me := hub.own_head();
  UPDATE hub.stations AS s SET heard = clock_timestamp() WHERE s.station = me.station;
  RETURN QUERY SELECT a.schema_version, a.oldest_writer, a.hub::text,
      (SELECT c.system_identifier::text FROM pg_control_system() AS c),
      substring(pg_walfile_name(pg_current_wal_lsn()) FROM 1 FOR 8),
      me.station, me.life, l.begun_by, l.after_seq, l.after_sum, me.upto, me.sum
    FROM hub.about AS a, hub.lives AS l WHERE l.station = me.station AND l.life = me.life;
END $$;

-- Whether a row may say something of shared orders.
CREATE OR REPLACE FUNCTION hub.tells_of_shared(kind text, body text) RETURNS bool
LANGUAGE sql IMMUTABLE PARALLEL SAFE AS $$
  SELECT kind = 'undone' OR (kind = 'order-taken' AND body ~ '^\{"order":[0-9]+,"(shared|part)":')
    OR (kind = 'order-changed' AND body ~ '^\{"order":[^,]*,"shared":true')
    OR (kind = 'order-cancelled' AND body ~ '"(back|under_way)":') $$;

-- What a row of a station's history says of shared orders: one was laid or cancelled, a part was taken, garments of a part
-- went back, or that was taken back. Tables are made of rows alone: sent again they come again.
CREATE OR REPLACE FUNCTION hub.note_shared(p_station text, p_seq bigint, p_kind text, p_body text) RETURNS void
LANGUAGE plpgsql SET search_path = pg_catalog, pg_temp AS $$
DECLARE
  taken text[] := regexp_match(p_body, '^\{"order":([0-9]{1,10}),"part":\{"of":"([A-Z]{1,3})([0-9]{1,10})",'
    || '"line":([0-9]{1,4}),"count":([0-9]{1,6}),"grant":"([^"\\]{1,64})"');
  laid text[] := regexp_match(p_body, '^\{"order":([0-9]{1,10}),"shared":true,');
  said text[] := regexp_match(p_body, '^\{"order":"?([A-Z]{0,3})([0-9]{1,10})"?,"shared":true,"cancelled":true[,}]');
  undone bigint := substring(p_body FROM '^\{"undoes":([0-9]{1,18})[,}]')::bigint;
  went record;
BEGIN
  IF p_kind = 'order-taken' AND taken IS NOT NULL THEN
    INSERT INTO hub.parts (station, asked_by, of_station, order_no, line, count, seq, own_no)
      VALUES (p_station, taken[6], lower(taken[2]), taken[3]::bigint, taken[4]::int, taken[5]::bigint, p_seq,
        taken[1]::bigint)
      ON CONFLICT (station, asked_by) DO UPDATE
        SET seq = EXCLUDED.seq, own_no = EXCLUDED.own_no, count = EXCLUDED.count;
  ELSIF p_kind = 'order-taken' AND laid IS NOT NULL THEN
    INSERT INTO hub.shared_lines (station, order_no, line, count, seq)
      SELECT p_station, laid[1]::bigint, asked.line, asked.count, p_seq FROM hub.asked_for(p_body) AS asked
        ORDER BY asked.line
      ON CONFLICT (station, order_no, line) DO UPDATE SET count = EXCLUDED.count, seq = EXCLUDED.seq;
  ELSIF p_kind = 'order-changed' AND said IS NOT NULL THEN
    INSERT INTO hub.cancelled_orders (of_station, order_no, station)
      VALUES (coalesce(nullif(lower(said[1]), ''), p_station), said[2]::bigint, p_station) ON CONFLICT DO NOTHING;
  ELSIF p_kind = 'order-cancelled' THEN
    PERFORM hub.part_goes_back(p_station, p_body, 1);
  ELSIF p_kind = 'undone' THEN
    -- An act is numbered by its first row.
    FOR went IN SELECT e.body FROM hub.events AS e WHERE e.station = p_station AND e.seq = undone
        AND e.kind = 'order-cancelled' AND e.life = (
          SELECT max(l.life) FROM hub.lives AS l WHERE l.station = p_station AND l.after_seq < e.seq) LOOP
      PERFORM hub.part_goes_back(p_station, went.body, -1);
    END LOOP;
  END IF;
END $$;

-- What the current history of a station says of shared orders is noted again, and nothing else of it: a life has begun, or
-- the rows came before there were these tables. What was granted and not recorded stands.
CREATE OR REPLACE FUNCTION hub.note_again(p_station text) RETURNS void
LANGUAGE plpgsql SET search_path = pg_catalog, pg_temp AS $$
DECLARE r record;
BEGIN
  -- Whoever waits for a line's row meanwhile finds it as it is then.
  UPDATE hub.shared_lines AS l SET count = 0, seq = 0 WHERE l.station = p_station;
  DELETE FROM hub.cancelled_orders AS c WHERE c.station = p_station;
  DELETE FROM hub.parts AS p WHERE p.station = p_station AND p.seq IS NOT NULL;
  FOR r IN SELECT e.seq, e.kind, e.body FROM (
      SELECT l.life, l.after_seq,
        coalesce(min(l.after_seq) OVER (ORDER BY l.life DESC ROWS BETWEEN UNBOUNDED PRECEDING AND 1 PRECEDING),
          9223372036854775807) AS last
      FROM hub.lives AS l WHERE l.station = p_station) AS part
      JOIN hub.events AS e ON e.station = p_station AND e.life = part.life AND e.seq > part.after_seq
        AND e.seq <= part.last
      WHERE e.kind IN ('order-taken', 'order-changed', 'order-cancelled', 'undone')
        AND hub.tells_of_shared(e.kind, e.body)
      ORDER BY e.seq LOOP
    PERFORM hub.note_shared(p_station, r.seq, r.kind, r.body);
  END LOOP;
  DELETE FROM hub.shared_lines AS l WHERE l.station = p_station AND l.seq = 0;
END $$;

-- How many garments each line of an order asks for. What does not read asks for none: no row stops a station.
CREATE OR REPLACE FUNCTION hub.asked_for(p_body text) RETURNS TABLE (line int, count bigint)
LANGUAGE plpgsql IMMUTABLE SET search_path = pg_catalog, pg_temp AS $$
BEGIN
  RETURN QUERY SELECT (nth - 1)::int, greatest(0, coalesce((one->>'count')::bigint, 0))
    FROM json_array_elements(p_body::json->'form'->'lines') WITH ORDINALITY AS lines(one, nth);
EXCEPTION WHEN data_exception THEN
  RETURN;
END $$;

-- Garments of an order are not made any more, which is a part of a shared one: blanks that went back, and what was under
-- way unless it is finished all the same. It is of so many fewer (1), or they came again (-1).
CREATE OR REPLACE FUNCTION hub.part_goes_back(p_station text, p_body text, p_sign int) RETURNS void
LANGUAGE plpgsql SET search_path = pg_catalog, pg_temp AS $$
DECLARE
  back text := coalesce(substring(p_body FROM '"back":\[([^]]*)\]'), '');
  under_way text := coalesce(substring(p_body FROM '"under_way":\[([^]]*)\]'), '');
  less int := cardinality(string_to_array(back, ','))
    + CASE WHEN p_body ~ '"leaves":"finish"' THEN 0 ELSE cardinality(string_to_array(under_way, ',')) END;
BEGIN
  UPDATE hub.parts AS p SET count = greatest(0, p.count - p_sign * less)
    WHERE p.station = p_station AND less > 0
      AND p.own_no = substring(p_body FROM '^\{"order":([0-9]{1,10}),')::bigint;
END $$;

-- Grants a station garments of a line of a shared order ("A17", from line 0), never more than are left: all that it asks
-- for, or none. Answers how many it has by this asking, and how many are left; NULL where no such line is known. Asked
-- again by the same p_grant, as after an answer that was lost, it is the same grant.
CREATE OR REPLACE FUNCTION hub.take_part(p_order text, p_line int, p_count int, p_grant text)
RETURNS TABLE (granted bigint, remaining bigint)
LANGUAGE plpgsql SECURITY DEFINER SET search_path = pg_catalog, pg_temp SET lock_timeout = '4s' AS $$
DECLARE
  me text := (SELECT s.station FROM hub.stations AS s WHERE s.role = session_user);
  laid text[] := regexp_match(p_order, '^([A-Za-z]{1,3})([0-9]{1,10})$');
  wanted bigint;
  before bigint;
BEGIN
  IF me IS NULL THEN
    RAISE insufficient_privilege USING MESSAGE = format('the role %I is no station''s', session_user);
  END IF;
  IF laid IS NULL OR p_count IS NULL OR p_count NOT BETWEEN 1 AND 5000 OR p_grant !~ '^[0-9a-z-]{8,64}$' THEN
    RAISE invalid_parameter_value USING MESSAGE =
      'expected an order such as A17, 1 to 5000 garments, and a number to ask by of 8 to 64 letters and digits';
  END IF;
  SELECT l.count INTO wanted FROM hub.shared_lines AS l
    WHERE (l.station, l.order_no, l.line) = (lower(laid[1]), laid[2]::bigint, p_line) FOR UPDATE;
  SELECT p.count INTO before FROM hub.parts AS p
    WHERE p.station = me AND p.asked_by = p_grant
      AND (p.of_station, p.order_no, p.line) = (lower(laid[1]), laid[2]::bigint, p_line);
  IF EXISTS (SELECT FROM hub.cancelled_orders AS c
      WHERE (c.of_station, c.order_no) = (lower(laid[1]), laid[2]::bigint)) THEN
    wanted := 0;
  END IF;
  remaining := wanted - coalesce((SELECT sum(p.count) FROM hub.parts AS p
    WHERE (p.of_station, p.order_no, p.line) = (lower(laid[1]), laid[2]::bigint, p_line)), 0);
  granted := coalesce(before, 0);
  IF before IS NULL AND p_count <= remaining THEN
    INSERT INTO hub.parts (station, asked_by, of_station, order_no, line, count)
      VALUES (me, p_grant, lower(laid[1]), laid[2]::bigint, p_line, p_count);
    granted := p_count;
    remaining := remaining - p_count;
  END IF;
  remaining := CASE WHEN remaining < 0 THEN 0 ELSE remaining END;
  RETURN NEXT;
END $$;

-- Gives back what was granted by an asking, where it was not recorded: others may take it.
CREATE OR REPLACE FUNCTION hub.give_back(p_grant text) RETURNS void
LANGUAGE plpgsql SECURITY DEFINER SET search_path = pg_catalog, pg_temp SET lock_timeout = '4s' AS $$
DECLARE me text := (SELECT s.station FROM hub.stations AS s WHERE s.role = session_user);
BEGIN
  IF me IS NULL THEN
    RAISE insufficient_privilege USING MESSAGE = format('the role %I is no station''s', session_user);
  END IF;
  DELETE FROM hub.parts AS p WHERE p.station = me AND p.asked_by = p_grant AND p.seq IS NULL;
END $$;

-- Takes rows of a station's history behind its head: one statement, one transaction, no BEGIN by the client, so that
-- one who dies in between holds no lock. Answers 'ok', 'life' (this life is over) or 'head' (the head is another), with
-- the head as it is then, and the garments whose moves were not granted.
CREATE OR REPLACE FUNCTION hub.push(p_life int, p_after bigint, p_after_sum bigint, p_act bigint[], p_at bigint[],
  p_boot text[], p_up bigint[], p_version int[], p_kind text[], p_body text[], p_sum bigint[])
RETURNS TABLE (answer text, life int, upto bigint, sum bigint, contested text[])
LANGUAGE plpgsql SECURITY DEFINER SET search_path = pg_catalog, pg_temp SET lock_timeout = '4s' AS $$
#variable_conflict use_column
DECLARE
  me hub.stations;
  n int := coalesce(cardinality(p_sum), 0);
  r record;
  before bigint := p_after_sum;
  forks text[] := '{}';
BEGIN
  me := hub.own_head();
  IF p_life IS DISTINCT FROM me.life THEN
    RETURN QUERY SELECT 'life', me.life, me.upto, me.sum, forks;
    RETURN;
  END IF;
  IF (p_after, p_after_sum) IS DISTINCT FROM (me.upto, me.sum) THEN
    RETURN QUERY SELECT 'head', me.life, me.upto, me.sum, forks;
    RETURN;
  END IF;
  IF n > 2000 THEN
    RAISE program_limit_exceeded USING MESSAGE = format('%s rows at once: at most 2000', n);
  END IF;
  FOR r IN SELECT * FROM unnest(p_act, p_at, p_boot, p_up, p_version, p_kind, p_body, p_sum)
      WITH ORDINALITY AS sent(act, at, boot, up, version, kind, body, sum, nth) ORDER BY nth LOOP
    -- A column that is missing makes no sum, and is no sum's equal.
    IF hub.chained(before, p_after + r.nth, r.act, r.at, r.up, r.version, me.station, r.boot, r.kind, r.body)
        IS DISTINCT FROM r.sum THEN
      RAISE check_violation USING
        MESSAGE = format('row %s of station %s is not what was written: its sum is wrong', p_after + r.nth, me.station);
    END IF;
    before := r.sum;
  END LOOP;
  INSERT INTO hub.events (station, life, seq, act, at, boot, up, version, kind, body, sum)
    SELECT me.station, me.life, p_after + nth, act, at, boot, up, version, kind, body, sum
    FROM unnest(p_act, p_at, p_boot, p_up, p_version, p_kind, p_body, p_sum)
      WITH ORDINALITY AS sent(act, at, boot, up, version, kind, body, sum, nth);
  -- In the order of garments, so that no two pushes wait for each other in a circle. Tag and move stand first in a body.
  WITH moved AS (
    SELECT found[1] AS garment, found[2] AS after, p_after + nth AS seq
    FROM unnest(p_kind, p_body) WITH ORDINALITY AS sent(kind, body, nth),
      regexp_match(body, '^\{"garment":"([^"\\]*)"(?:,"after":"([^"\\]*)")?') AS found
    WHERE kind = 'received' AND found IS NOT NULL),
  granted AS (
    INSERT INTO hub.moves (garment, station, life, seq, after, granted)
      SELECT garment, me.station, me.life, seq, after, true FROM moved ORDER BY garment, after, seq
      ON CONFLICT (garment, after) WHERE granted DO NOTHING RETURNING seq),
  forked AS (
    INSERT INTO hub.moves (garment, station, life, seq, after, granted)
      SELECT garment, me.station, me.life, seq, after, false FROM moved
      WHERE seq NOT IN (SELECT seq FROM granted) RETURNING garment)
  SELECT coalesce(array_agg(garment), '{}') INTO forks FROM forked;
  -- Lines before parts: whoever asks for a part locks them in this order too.
  FOR r IN SELECT nth, kind, body FROM unnest(p_kind, p_body) WITH ORDINALITY AS sent(kind, body, nth)
      WHERE hub.tells_of_shared(kind, body)
      ORDER BY kind <> 'order-taken' OR body !~ '^\{"order":[0-9]+,"shared":', nth LOOP
    PERFORM hub.note_shared(me.station, p_after + r.nth, r.kind, r.body);
  END LOOP;
  UPDATE hub.stations AS s SET upto = p_after + n, sum = before, heard = clock_timestamp()
    WHERE s.station = me.station;
  RETURN QUERY SELECT 'ok', me.life, p_after + n, before, forks;
END $$;

-- The sum of a row of a station's current history; 0 for row 0, NULL where there is no such row.
CREATE OR REPLACE FUNCTION hub.sum_at(p_station text, p_seq bigint) RETURNS bigint
LANGUAGE sql STABLE SECURITY DEFINER SET search_path = pg_catalog, pg_temp AS $$
  SELECT CASE WHEN p_seq = 0 THEN 0 ELSE (
    SELECT e.sum FROM hub.events AS e WHERE e.station = p_station AND e.seq = p_seq AND e.life = (
      SELECT max(l.life) FROM hub.lives AS l WHERE l.station = p_station AND l.after_seq < p_seq)) END $$;

-- From here on this data directory is the station, and goes on behind a row that the hub has too: older lives are
-- refused. Answers the life; asked twice it begins one. NULL: another than p_life is in force, or there is no such row.
CREATE OR REPLACE FUNCTION hub.begin_life(p_life int, p_after bigint, p_after_sum bigint, p_by text) RETURNS int
LANGUAGE plpgsql SECURITY DEFINER SET search_path = pg_catalog, pg_temp SET lock_timeout = '4s' AS $$
DECLARE
  me hub.stations;
  newest hub.lives;
BEGIN
  me := hub.own_head();
  SELECT l.* INTO newest FROM hub.lives AS l WHERE l.station = me.station AND l.life = me.life;
  IF p_life = me.life - 1
      AND (newest.after_seq, newest.after_sum, newest.begun_by) = (p_after, p_after_sum, p_by) THEN
    RETURN me.life;
  END IF;
  IF p_life <> me.life OR hub.sum_at(me.station, p_after) IS DISTINCT FROM p_after_sum THEN
    RETURN NULL;
  END IF;
  INSERT INTO hub.lives (station, life, after_seq, after_sum, begun_by)
    VALUES (me.station, me.life + 1, p_after, p_after_sum, p_by);
  -- What counts no more holds no move: the same move is granted to whoever makes it now.
  UPDATE hub.moves AS m SET granted = false WHERE m.station = me.station AND m.seq > p_after AND m.granted;
  -- Nor does it ask for garments, or make any, or give any back.
  PERFORM hub.note_again(me.station);
  UPDATE hub.stations AS s SET life = me.life + 1, upto = p_after, sum = p_after_sum, heard = clock_timestamp()
    WHERE s.station = me.station;
  RETURN me.life + 1;
END $$;

-- Rows of the current histories of stations, each behind the number that is known of it, in order and at most so many
-- of each. A row bears the life in which it was written. Whoever follows checks the chain: a row that does not chain
-- on belongs to another history.
CREATE OR REPLACE FUNCTION hub.news(p_station text[], p_seq bigint[], p_most int) RETURNS SETOF hub.events
LANGUAGE sql STABLE SECURITY DEFINER SET search_path = pg_catalog, pg_temp AS $$
  SELECT rows.* FROM unnest(p_station, p_seq) AS known(station, seq),
  LATERAL (
    SELECT e.* FROM (
      SELECT l.life, l.after_seq,
        coalesce(min(l.after_seq) OVER (ORDER BY l.life DESC ROWS BETWEEN UNBOUNDED PRECEDING AND 1 PRECEDING),
          9223372036854775807) AS last
      FROM hub.lives AS l WHERE l.station = known.station ORDER BY l.life) AS part,
    LATERAL (
      SELECT e.* FROM hub.events AS e
      WHERE e.station = known.station AND e.life = part.life AND e.seq <= part.last
        AND e.seq > greatest(known.seq, part.after_seq)
      ORDER BY e.seq LIMIT p_most) AS e
    ORDER BY e.life, e.seq LIMIT p_most) AS rows $$;

-- A new function is everybody's to call, by default, and so is a new database to connect to.
REVOKE ALL ON SCHEMA hub FROM PUBLIC;
REVOKE ALL ON ALL TABLES IN SCHEMA hub FROM PUBLIC, :"stations", :"readers";
REVOKE ALL ON ALL FUNCTIONS IN SCHEMA hub FROM PUBLIC, :"stations", :"readers";
GRANT USAGE, CREATE ON SCHEMA hub TO :"owner";
GRANT USAGE ON SCHEMA hub TO :"stations", :"readers";
GRANT SELECT ON ALL TABLES IN SCHEMA hub TO :"stations", :"readers";
GRANT EXECUTE ON FUNCTION hub.news(text[], bigint[], int), hub.sum_at(text, bigint) TO :"stations", :"readers";
GRANT EXECUTE ON FUNCTION hub.head(), hub.begin_life(int, bigint, bigint, text),
  hub.push(int, bigint, bigint, bigint[], bigint[], text[], bigint[], int[], text[], text[], bigint[]),
  hub.take_part(text, int, int, text), hub.give_back(text)
  TO :"stations";
REVOKE ALL ON DATABASE :"database" FROM PUBLIC;
GRANT CONNECT ON DATABASE :"database" TO :"stations", :"readers", :"owner";
REVOKE ALL ON SCHEMA public FROM PUBLIC;

-- All of it is owned by a role that nobody logs in as: the functions run with its rights, and those are few. What is
-- owned by it already is not touched: to give it away again would wait for every reader.
SELECT set_config('hub.owner', :'owner', true);
DO $$
DECLARE
  owner text := current_setting('hub.owner');
  name text;
BEGIN
  FOR name IN SELECT format('TABLE hub.%I', c.relname) FROM pg_class AS c
      WHERE c.relnamespace = 'hub'::regnamespace AND c.relkind = 'r' AND c.relowner <> quote_ident(owner)::regrole LOOP
    EXECUTE format('ALTER %s OWNER TO %I', name, owner);
  END LOOP;
  FOR name IN SELECT format('FUNCTION %s', p.oid::regprocedure) FROM pg_proc AS p
      WHERE p.pronamespace = 'hub'::regnamespace AND p.proowner <> quote_ident(owner)::regrole LOOP
    EXECUTE format('ALTER %s OWNER TO %I', name, owner);
  END LOOP;
  -- Large objects fill the disk, and locks by number the server's memory: nobody needs them here. Only a superuser can
  -- take these rights away; elsewhere they stay, and a station that misuses them shows in the server's log.
  IF (SELECT rolsuper FROM pg_roles WHERE rolname = current_user) THEN
    FOR name IN SELECT p.oid::regprocedure FROM pg_proc AS p WHERE p.pronamespace = 'pg_catalog'::regnamespace
        AND (p.proname LIKE 'lo\_%' OR p.proname LIKE 'pg\_%advisory%lock%') LOOP
      EXECUTE format('REVOKE EXECUTE ON FUNCTION %s FROM PUBLIC', name);
    END LOOP;
  END IF;
END $$;

INSERT INTO hub.about (schema_version, oldest_writer) VALUES (1, 1) ON CONFLICT DO NOTHING;

-- An older program took rows of shared orders as of any other: what they say is noted. Heads first, as a push locks them.
DO $$
BEGIN
  PERFORM FROM hub.stations AS s ORDER BY s.station FOR NO KEY UPDATE;
  PERFORM hub.note_again(s.station) FROM hub.stations AS s;
END $$;
