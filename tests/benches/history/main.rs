//! What a long history costs: `cargo bench --bench history`.
//!
//! A journal of one made-up week beside one of a whole year, each day the same: what is asked about the first day
//! has the same answer in both, and should take as long.

use std::hint::black_box;
use std::path::Path;
use std::process::Command;
use std::time::Instant;

use dwell::screen::keymap::Keymap;
use dwell::screen::theme::Theme;
use dwell::screen::ui::{Pane, Standing, Ui};
use dwell::screen::{self, View};
use dwell::shell::journal::Reader;
use dwell::shell::replay::{self, Replay};
use dwell::shop::Shop;
use dwell::shop::floor::garment::Queue;
use ratatui::buffer::Buffer;
use ratatui::layout::Rect;

const DWELL: &str = env!("CARGO_BIN_EXE_dwell");
/// Garments a day: a year of them are a million events.
const A_DAY: &str = "360";
const ROUNDS: usize = 31;

fn row(what: &str, figure: &str, beside: &str, kept: bool) {
    let over = if kept { "" } else { "   OVER" };
    println!("  {what:<52} {figure:>10}   {beside}{over}");
}

fn made_up(data: &Path, weeks: &str) -> u64 {
    let data = data.to_str().unwrap();
    let made = ["rehearse", "--headless", "--weeks", weeks, "--garments", A_DAY, "--data", data];
    let made = Command::new(DWELL).args(made).arg("--json").output().unwrap();
    assert!(made.status.success(), "{}", String::from_utf8_lossy(&made.stderr));
    let summary: serde_json::Value = serde_json::from_slice(&made.stdout).unwrap();
    summary["events"].as_u64().unwrap()
}

/// The middle of several runs of the whole process, in milliseconds, and the bytes that it answered.
fn asked(data: &Path, question: &[&str]) -> (f64, usize) {
    let mut all = Vec::new();
    let mut bytes = 0;
    for _ in 0..ROUNDS {
        let started = Instant::now();
        let answer = Command::new(DWELL).args(question).arg("--data").arg(data).output().unwrap();
        all.push(started.elapsed().as_secs_f64() * 1e3);
        assert!(answer.status.success(), "{}", String::from_utf8_lossy(&answer.stderr));
        bytes = answer.stdout.len();
    }
    all.sort_by(f64::total_cmp);
    (all[ROUNDS / 2], bytes)
}

/// A board with a journal behind it, as it stands after a start.
fn board(data: &Path) -> (Shop, Ui) {
    let reader = Reader::open(data).unwrap().unwrap();
    let shop = Replay::of(data, &reader).unwrap().into_shop();
    let mut ui =
        Ui::new(std::sync::Arc::new(Keymap::default()), jiff::tz::TimeZone::UTC, Standing::Writes);
    ui.past = replay::lately(&reader, &shop).unwrap();
    (shop, ui)
}

/// One frame of a pane, with what is asked of the shop for it: milliseconds.
fn frame((shop, ui): &mut (Shop, Ui), pane: Pane) -> f64 {
    ui.pane = pane;
    let now = shop.newest().unwrap();
    let frame = || {
        let (offers, alarms) = (shop.offers(&ui.choice, now), shop.alarms(now));
        let mut cells = Buffer::empty(Rect::new(0, 0, 120, 36));
        let theme = Theme { colour: true, halves: true };
        let view = View::new(shop, ui, (&offers, &alarms), now, theme);
        screen::draw(&view, &mut cells);
        black_box(cells);
    };
    frame();
    let started = Instant::now();
    for _ in 0..ROUNDS {
        frame();
    }
    started.elapsed().as_secs_f64() * 1e3 / ROUNDS as f64
}

fn compared(what: &str, (week, year): (&Path, &Path), question: &[&str], most_ms: f64) {
    let ((short, bytes), (long, same)) = (asked(week, question), asked(year, question));
    let beside = format!(
        "{:.2}x of a week's; at most {most_ms:.0} ms; {bytes} and {same} bytes",
        long / short
    );
    row(what, &format!("{long:.1} ms"), &beside, long <= most_ms && long / short < 2.0);
}

fn main() {
    if !std::env::args().any(|word| word == "--bench") {
        println!("nothing is measured here without --bench: cargo bench --bench history");
        return;
    }
    let there = tempfile::tempdir().unwrap();
    let (week, year) = (there.path().join("week"), there.path().join("year"));
    let events = (made_up(&week, "1"), made_up(&year, "52"));
    println!("\nA long history: {} events beside {}", events.1, events.0);
    let both = (week.as_path(), year.as_path());
    compared("dwell trace TAG, whole process", both, &["trace", "A1-07"], 50.0);
    compared("dwell trace TAG --json", both, &["trace", "A1-07", "--json"], 50.0);
    compared("dwell trace --lot, 360 garments", both, &["trace", "--lot", "F-101"], 200.0);
    let (mut short, mut long) = (board(&week), board(&year));
    println!(
        "  {} on the shelf beside {}",
        long.0.floor().count(Queue::Shelf),
        short.0.floor().count(Queue::Shelf)
    );
    for pane in Pane::ALL {
        let (few, many) = (frame(&mut short, pane), frame(&mut long, pane));
        let beside = format!("{:.2}x of a week's {few:.3} ms; at most 5 ms", many / few);
        row(
            &format!("the {pane:?} screen, one frame"),
            &format!("{many:.3} ms"),
            &beside,
            many <= 5.0,
        );
    }
}
