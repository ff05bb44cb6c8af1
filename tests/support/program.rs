//! The program as tests start it: with an environment that knows of nothing else, and a wall clock and a zone of the
//! tests' own. No test goes by the machine's clock or zone, so none depends on the hour at which it is run.
//!
//! `DWELL_TEST_WALL` and `DWELL_TEST_ZONE` of whoever runs the tests say which; `.ci/hours` sets them.

use std::path::PathBuf;
use std::process::Command;
use std::sync::LazyLock;

use jiff::{SignedDuration, Timestamp};
use rustix::time::{ClockId, clock_gettime};

/// The program under test, which cargo has built beside the tests.
static DWELL: LazyLock<String> = LazyLock::new(|| {
    let path = built().join("dwell");
    assert!(path.exists(), "{}: no program to test; start the tests through cargo", path.display());
    path.to_str().expect("a path in letters").to_owned()
});

/// The directory in which cargo puts what it builds in one profile: two above a test, which lies in its `deps`.
fn built() -> PathBuf {
    let this = std::env::current_exe().expect("a test knows its own path");
    this.ancestors().nth(2).expect("cargo builds tests into a directory of its own").to_owned()
}

/// A directory of cargo's own for what tests leave behind.
pub fn left_behind() -> PathBuf {
    built().with_file_name("tmp")
}

/// The path of the program under test.
pub fn dwell() -> &'static str {
    &DWELL
}

/// A plain moment of a plain day, in the zone below.
const PLAIN: &str = "2026-06-10T10:00:00Z";
const PLAIN_ZONE: &str = "Etc/UTC";

/// What the wall clock of these tests showed when they began, and what the boot clock.
static BEGAN: LazyLock<(Timestamp, SignedDuration)> = LazyLock::new(|| {
    // A program that is built for use knows of no clock but the machine's.
    if !cfg!(debug_assertions) {
        return (Timestamp::now(), up());
    }
    let asked = std::env::var("DWELL_TEST_WALL").unwrap_or_else(|_| PLAIN.into());
    let moment = asked.parse().unwrap_or_else(|wrong| panic!("DWELL_TEST_WALL={asked}: {wrong}"));
    (moment, up())
});

/// The boot clock.
pub fn up() -> SignedDuration {
    let time = clock_gettime(ClockId::Boottime);
    SignedDuration::new(time.tv_sec, i32::try_from(time.tv_nsec).unwrap())
}

/// What the wall clock of the programs of these tests shows at a moment of the boot clock.
pub fn wall_at(up: SignedDuration) -> Timestamp {
    let (moment, then) = *BEGAN;
    moment + (up - then)
}

/// The zone in which they see it.
pub fn zone() -> String {
    std::env::var("DWELL_TEST_ZONE").unwrap_or_else(|_| PLAIN_ZONE.into())
}

/// Everything that a program of these tests has in its environment.
pub fn environment() -> [(&'static str, String); 2] {
    let up = up();
    [("DWELL_TEST_WALL", format!("{}@{}", wall_at(up), up.as_micros())), ("TZ", zone())]
}

/// The program with that environment alone.
pub fn program() -> Command {
    in_own_environment(dwell())
}

/// Another program that will start it, with the same.
pub fn in_own_environment(program: &str) -> Command {
    let mut command = Command::new(program);
    command.env_clear().envs(environment());
    command
}
