//! A journal of the first version is brought up to date by a program that is killed at any moment of it: afterwards it
//! is of one version or of the next, and nothing in it has gone.

use std::time::{Duration, Instant};

use rusqlite::Connection;

use crate::bench::Bench;
use crate::files::{journal, real};
use crate::pty::Pty;
use crate::random::Random;

const KILLS: usize = 30;

/// Makes a journal what the first version of the program would have left.
fn of_the_first_version(bench: &Bench) {
    let connection = Connection::open(journal(bench)).unwrap();
    let parts =
        "SELECT type, name FROM sqlite_schema WHERE type IN ('view', 'index') AND sql IS NOT NULL";
    let mut statement = connection.prepare(parts).unwrap();
    let parts: Vec<(String, String)> = statement
        .query_map([], |row| Ok((row.get(0)?, row.get(1)?)))
        .unwrap()
        .map(Result::unwrap)
        .collect();
    assert!(parts.len() > 5);
    for (kind, name) in parts {
        connection.execute_batch(&format!("DROP {kind} {name}")).unwrap();
    }
    connection.pragma_update(None, "user_version", 1).unwrap();
}

/// The version of a journal, and how many parts its tables have.
fn version(bench: &Bench) -> (i64, i64) {
    let connection = Connection::open(journal(bench)).unwrap();
    let version = connection.pragma_query_value(None, "user_version", |row| row.get(0)).unwrap();
    let count =
        "SELECT count(*) FROM sqlite_schema WHERE type IN ('view', 'index') AND sql IS NOT NULL";
    (version, connection.query_row(count, [], |row| row.get(0)).unwrap())
}

#[test]
fn a_migration_that_is_killed_leaves_one_version_or_the_next() {
    let bench = real();
    let newest = version(&bench);
    let told = bench.run(&["past", "--json"]).out;
    of_the_first_version(&bench);
    let old = std::fs::read(journal(&bench)).unwrap();
    let anew = || {
        for end in ["-wal", "-shm"] {
            drop(std::fs::remove_file(bench.data().join(format!("journal.sqlite{end}"))));
        }
        std::fs::write(journal(&bench), &old).unwrap();
    };
    // Once to its end, to know how long it takes until the journal is open.
    let started = Instant::now();
    let mut pty = Pty::board(&bench);
    let span = u64::try_from(started.elapsed().as_micros()).unwrap();
    pty.kill();
    let mut random = Random(9);
    let mut versions = Vec::new();
    for kill in 0..KILLS {
        anew();
        let mut pty = Pty::start(&bench, &[], &[]);
        std::thread::sleep(Duration::from_micros(random.below(span)));
        pty.kill();
        let now = version(&bench);
        // The second step makes all parts but the view of returns, which the last one adds; those after it some of them anew.
        let before = newest.1 - 1;
        let whole = [(1, 0), (2, before), (3, before), (4, before), newest];
        assert!(whole.contains(&now), "kill {kill}: {now:?}");
        versions.push(now.0);
        let after = bench.run(&["past", "--json"]).out;
        assert!(after.starts_with(&told), "kill {kill}: something has gone");
    }
    assert!(versions.contains(&1), "none was killed before the migration: {versions:?}");
    anew();
    let mut pty = Pty::board(&bench);
    pty.wait_saved();
    assert_eq!(pty.leave(), 0);
    assert_eq!(version(&bench), newest);
    bench.assert_sound();
}
