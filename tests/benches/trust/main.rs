//! What a year of history and a busy disk cost, as ratios within one run: `cargo bench --bench trust`.
//!
//! A year of 1,000,000 events beside a thousand, both made by the program's own rehearsal; every act beside the bare
//! SQLite commit that it rests on, in the same directory.

mod commits;
mod prompts;
mod starts;
mod year;

use support::rest;

use std::path::Path;
use std::process::Command;

pub const DWELL: &str = env!("CARGO_BIN_EXE_dwell");

/// What a figure may be after a year, beside itself on the first day.
pub const GROWTH: f64 = 1.2;

const PARTS: [&str; 5] = ["starts", "commits", "year", "prompts", "rest"];

/// One line of the table: a figure, its yardstick, their ratio, and what it may be at most.
fn row(what: &str, figure_ms: f64, yardstick_ms: f64, most: f64, more: &str) {
    let ratio = figure_ms / yardstick_ms;
    let over = if ratio <= most { "" } else { "   OVER" };
    let most = if most.is_finite() { format!(", at most {most}x") } else { String::new() };
    println!(
        "  {what:<46} {figure_ms:>10.3} ms   {yardstick_ms:>10.3} ms   {ratio:>5.2}x{most}{more}{over}"
    );
}

/// The middle one.
fn middle(mut all: Vec<f64>) -> f64 {
    all.sort_by(f64::total_cmp);
    all[all.len() / 2]
}

/// A journal of so many made-up weeks, or of one shift for none; how many events it holds.
fn made_up(data: &Path, weeks: u8, a_day: u16) -> u64 {
    let (data, weeks, a_day) = (data.to_str().unwrap(), weeks.to_string(), a_day.to_string());
    let mut words = vec!["rehearse", "--headless", "--garments", &a_day, "--data", data, "--json"];
    if weeks != "0" {
        words.extend(["--weeks", &weeks]);
    }
    let made = Command::new(DWELL).args(words).output().unwrap();
    assert!(made.status.success(), "{}", String::from_utf8_lossy(&made.stderr));
    let summary: serde_json::Value = serde_json::from_slice(&made.stdout).unwrap();
    summary["events"].as_u64().unwrap()
}

fn main() {
    if !std::env::args().any(|word| word == "--bench") {
        println!("nothing is measured here without --bench: cargo bench --bench trust");
        return;
    }
    let there = tempfile::tempdir().unwrap();
    let (small, year) = (there.path().join("small"), there.path().join("year"));
    let events = (made_up(&small, 1, 20), made_up(&year, 52, 360));
    println!("\nThe journal: {} events beside {}", events.1, events.0);
    // A word behind --bench measures one part alone.
    let asked = |part: &str| match std::env::args().find(|word| PARTS.contains(&word.as_str())) {
        Some(word) => word == part,
        None => true,
    };
    let at = |name: &str| there.path().join(name);
    let (real, first, day) = (at("real"), at("first"), at("day"));
    made_up(&first, 0, 360);
    if asked("year") || asked("commits") || asked("rest") {
        year::as_real(&year, &real);
        year::as_real(&first, &day);
    }
    if asked("starts") {
        starts::measure(there.path(), &small, &year);
    }
    if asked("year") {
        year::measure(there.path(), &real, &day);
    }
    if asked("prompts") {
        prompts::measure(&year, &first);
    }
    if asked("rest") {
        rest::measure();
        year::at_rest(&real, &day);
    }
    // It adds made-up events to the year, with which no board begins.
    if asked("commits") {
        commits::measure(there.path(), &real);
    }
}
