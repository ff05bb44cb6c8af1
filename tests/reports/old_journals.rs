//! A journal of each version that there has been opens, and tells what it told when it was written. Those of the first
//! four versions under `tests/data/journals` are one shift with undos, corrected times, weights, a reject and a stored
//! garment, and `told-1-to-4-*` is what the program of the fourth version said of it. The standard figures alone are as
//! they are counted since: a press that stays shut produces, slowly, and scrap is counted by garments. That of the fifth
//! is the day of `every_kind.rs`.

use std::path::{Path, PathBuf};
use std::time::Duration;

use dwell::shell::journal::Writer;
use dwell::shell::journal::lock::Lock;
use rstest::rstest;
use rusqlite::Connection;
use serde_json::Value;

use crate::bench::Bench;
use crate::sample::bench;

/// Commands, and how the file of what they told of a journal ends.
pub const ASKED: [(&[&str], &str); 5] = [
    (&["past", "--json"], "past.jsonl"),
    (&["pace", "--json"], "pace.json"),
    (&["report", "--format", "json"], "report.json"),
    (&["shelf", "--json"], "shelf.json"),
    (&["trace", "A2-01", "--json"], "trace-A2-01.json"),
];

/// Where the journals lie.
pub fn lying() -> PathBuf {
    Path::new(env!("CARGO_MANIFEST_DIR")).join("tests/data/journals")
}

fn values(text: &str) -> Vec<Value> {
    text.lines().map(|line| serde_json::from_str(line).unwrap()).collect()
}

/// Whether all that was told is told still. A newer program may say more.
fn still_says(said: &Value, told: &Value) -> bool {
    match (said, told) {
        (Value::Object(said), Value::Object(told)) => {
            let still = |(name, told): (&String, &Value)| {
                said.get(name).is_some_and(|said| still_says(said, told))
            };
            told.iter().all(still)
        }
        (Value::Array(said), Value::Array(told)) => {
            said.len() == told.len() && said.iter().zip(told).all(|(s, t)| still_says(s, t))
        }
        (said, told) => said == told,
    }
}

fn assert_told(bench: &Bench, of: &str, when: &str) {
    for (arguments, file) in ASKED {
        let ran = bench.run(arguments);
        assert_eq!((ran.code, ran.err.as_str()), (0, ""), "{when}: {arguments:?}");
        let told = std::fs::read_to_string(lying().join(format!("told-{of}-{file}"))).unwrap();
        let (said, told) = (values(&ran.out), values(&told));
        assert_eq!(said.len(), told.len(), "{when}: {arguments:?}");
        for (said, told) in said.iter().zip(&told) {
            assert!(still_says(said, told), "{when}: {arguments:?}: {said} was {told}");
        }
    }
}

fn version(bench: &Bench) -> i64 {
    let journal = Connection::open(bench.data().join("journal.sqlite")).unwrap();
    journal.pragma_query_value(None, "user_version", |row| row.get(0)).unwrap()
}

#[rstest]
#[case(1, "1-to-4")]
#[case(2, "1-to-4")]
#[case(3, "1-to-4")]
#[case(4, "1-to-4")]
#[case(5, "5")]
fn a_journal_of_each_version_tells_what_it_told(#[case] old: i64, #[case] of: &str) {
    let bench = bench();
    std::fs::create_dir_all(bench.data()).unwrap();
    let journal = lying().join(format!("version-{old}.sqlite"));
    std::fs::copy(journal, bench.data().join("journal.sqlite")).unwrap();
    assert_eq!(version(&bench), old);
    assert_told(&bench, of, &format!("version {old} as it lies"));
    let writer = Writer::open(&bench.data(), Lock::take(&bench.data()).unwrap()).unwrap();
    writer.close(Duration::from_secs(20));
    assert!(version(&bench) >= 5, "it was carried forward");
    assert_told(&bench, of, &format!("version {old} carried forward"));
    bench.assert_sound();
}
