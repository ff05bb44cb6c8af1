//! What many shops would take, on paper: figures that were measured with one shop's hub, multiplied.

use super::page::{Entry, Page};

/// Whoever runs the hubs of this many shops, each of so many stations.
const SHOPS: u64 = 100;
const STATIONS: u64 = 10;

/// Common practice, no source.
const WORKING_DAYS: u64 = 250;
const HOURS_A_DAY: u64 = 8;

/// Measured (`tests/benches/README.md` and the rehearsed day of 120 garments): events of a day, bytes of an event in the
/// database with its indexes, acts a second that two cores took, seconds in which a new machine had a million events back,
/// seconds in which a station's week of 60,000 events was caught up.
const EVENTS_A_DAY: u64 = 1_070;
const BYTES_AN_EVENT: u64 = 330;
const ACTS_A_SECOND: u64 = 1_000;
const BACK_S_A_MILLION: f64 = 18.0;
const CAUGHT_UP_S: f64 = 2.7;

/// A board sends on one connection and hears on another; it asks for a part on a third, for a moment. The rule of the set-up
/// has room for the lead's screens.
const LASTING: u64 = 2;
const A_STATION: u64 = 4;
const BESIDE: u64 = 10;

/// So much of a backup is copied in a second: assumed, for a plain disk or a line of a gigabit.
const COPIED_MB_S: f64 = 100.0;

const MEGA: f64 = 1e6;
const GIGA: f64 = 1e9;

/// Adds the part to the page.
pub fn add(page: &mut Page) {
    let stations = SHOPS * STATIONS;
    let events_a_year = EVENTS_A_DAY * WORKING_DAYS;
    let of_station = gigabytes(events_a_year);
    let (of_shop, of_all) =
        (gigabytes(events_a_year * STATIONS), gigabytes(events_a_year * stations));
    let a_second = (EVENTS_A_DAY * stations) as f64 / (HOURS_A_DAY * 3600) as f64;
    page.heading("A hundred shops of ten stations: on paper");
    page.text(&format!(
        "Nobody has run so many. The figures are computed from those of one hub on two cores: {EVENTS_A_DAY} events of a rehearsed \
         day, {BYTES_AN_EVENT} bytes an event with its indexes (short ones took 191), {ACTS_A_SECOND} acts a second of 50 stations with nothing behind for more than half \
         a second. {WORKING_DAYS} days of {HOURS_A_DAY} hours are assumed."
    ));
    let mut say = |term: &str, text: String| page.entry(Entry::new(term, &text));
    say(
        "a database a shop",
        format!(
            "Each shop has a database of its own, as many of them on a server as it bears: the roles and their rights are named after \
             the database, `prepare` and backups are of one shop, and one that goes back to an older state does so alone. One \
             database for all shops, cut in parts by shop, is not built: a station has one to three letters there, a board follows \
             every other station of its database, and would read {} million events a year of shops that are not its own.",
            events_a_year * (stations - STATIONS) / 1_000_000
        ),
    );
    say(
        "size",
        format!(
            "A station {:.0} MB a year, a shop of {STATIONS} {of_shop:.1} GB, {SHOPS} shops {of_all:.0} GB ({} million events). Nothing is \
             taken away by itself.",
            of_station * 1000.0,
            events_a_year * stations / 1_000_000
        ),
    );
    say(
        "writing",
        format!(
            "All {stations} stations write {a_second:.0} events a second over a working day, {:.0} % of what two cores took. After an \
             hour without the server each has {} events to send, and {:.1} million are to be taken in all.",
            a_second / ACTS_A_SECOND as f64 * 100.0,
            EVENTS_A_DAY / HOURS_A_DAY,
            (EVENTS_A_DAY / HOURS_A_DAY * stations) as f64 / MEGA
        ),
    );
    say(
        "connections",
        format!(
            "{} that last, since a board holds {LASTING}; by the rule of the set-up `max_connections` is {} for all on one server, \
             which is a process each: that was not measured. Four servers of {} shops need {} each. A pooler in between may work by \
             transactions: nothing here is kept from one statement to the next.",
            stations * LASTING,
            stations * A_STATION + BESIDE,
            SHOPS / 4,
            SHOPS / 4 * STATIONS * A_STATION + BESIDE
        ),
    );
    say(
        "backups",
        format!(
            "One `pg_dump` a shop and night, or one `pg_basebackup` a server with archived logs. At an assumed {COPIED_MB_S:.0} MB a \
             second a shop's year takes {:.0} s, all of it {:.0} min. A dump that is put back lacks what came after: each station sends \
             it again, a week of 60,000 events in {CAUGHT_UP_S} s by itself, ten at once not measured.",
            of_shop * GIGA / MEGA / COPIED_MB_S,
            of_all * GIGA / MEGA / COPIED_MB_S / 60.0
        ),
    );
    say(
        "a new machine",
        format!(
            "A station of five years has {:.1} million events back in {:.0} s; a board that starts reads as much of each of the {} others.",
            (events_a_year * 5) as f64 / MEGA,
            (events_a_year * 5) as f64 / MEGA * BACK_S_A_MILLION,
            STATIONS - 1
        ),
    );
}

fn gigabytes(events: u64) -> f64 {
    (events * BYTES_AN_EVENT) as f64 / GIGA
}
