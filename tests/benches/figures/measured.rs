//! The program as a process: how long it takes, and the most memory that it holds.

use std::path::Path;
use std::process::{Command, Stdio};
use std::time::{Duration, Instant};

/// The program that is measured, built with the same profile as the bench.
pub const DWELL: &str = env!("CARGO_BIN_EXE_dwell");

/// A command whose output is thrown away.
fn quiet(program: &Path, arguments: &[&str]) -> Command {
    let mut command = Command::new(program);
    command.args(arguments).stdin(Stdio::null()).stdout(Stdio::null());
    command
}

/// Seconds from its start to its end.
pub fn seconds(program: &Path, arguments: &[&str]) -> f64 {
    let started = Instant::now();
    let ended = quiet(program, arguments).status().unwrap();
    let seconds = started.elapsed().as_secs_f64();
    assert!(ended.success(), "{program:?} {arguments:?}");
    seconds
}

/// The most resident memory that it held, in megabytes of 10^6 bytes: VmHWM, looked at until it ends.
pub fn peak_mb(program: &Path, arguments: &[&str]) -> f64 {
    let mut running = quiet(program, arguments).spawn().unwrap();
    let status = format!("/proc/{}/status", running.id());
    let mut peak = 0.0f64;
    loop {
        // A process that has ended no longer has the line.
        let text = std::fs::read_to_string(&status).unwrap_or_default();
        let line = text.lines().find_map(|line| line.strip_prefix("VmHWM:"));
        let kib = line.and_then(|line| line.trim().trim_end_matches(" kB").parse::<f64>().ok());
        peak = peak.max(kib.unwrap_or(0.0) * 1024.0 / 1e6);
        if let Some(ended) = running.try_wait().unwrap() {
            assert!(ended.success() && peak > 0.0, "{program:?} {arguments:?}");
            return peak;
        }
        std::thread::sleep(Duration::from_millis(1));
    }
}

/// The middle of several measurements.
pub fn median(mut all: Vec<f64>) -> f64 {
    all.sort_by(f64::total_cmp);
    all[all.len() / 2]
}

/// Two ways in turn, so often; the median of each. Other work on the machine meets both alike.
pub fn by_turns(
    rounds: usize,
    mut one: impl FnMut() -> f64,
    mut other: impl FnMut() -> f64,
) -> (f64, f64) {
    let pairs: Vec<(f64, f64)> = (0..rounds).map(|_| (one(), other())).collect();
    let (one, other) = pairs.into_iter().unzip();
    (median(one), median(other))
}
