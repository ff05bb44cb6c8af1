//! What the board costs while nobody touches it: four presses run, the screen is 120x36.

use std::path::Path;
use std::time::{Duration, Instant};

use crate::program;
use crate::seat::Seat;

pub const SPAN: Duration = Duration::from_secs(20);

/// Ticks of the kernel in a second, on every usual Linux (M).
const TICKS: f64 = 100.0;

/// Runs the program to its end with these words.
fn dwell(words: &[&str]) {
    let done = std::process::Command::new(program::dwell()).args(words).output();
    let done = done.unwrap();
    assert!(done.status.success(), "{words:?}: {}", String::from_utf8_lossy(&done.stderr));
}

/// Four presses, and a pre-press that lasts longer than the measurement.
fn profiles(folder: &Path) {
    dwell(&["profiles", "--write", &folder.to_string_lossy()]);
    let change = |name: &str, from: &str, to: &str| {
        let path = folder.join(name);
        let text = std::fs::read_to_string(&path).unwrap();
        assert!(text.contains(from), "{name} does not say {from}");
        std::fs::write(&path, text.replacen(from, to, 1)).unwrap();
    };
    let right = "(name: \"Right\", dial: \"340 F\"),";
    let more = "(name: \"Window\", dial: \"340 F\"), (name: \"Door\", dial: \"340 F\"),";
    change("station.ron", right, &format!("{right} {more}"));
    let long = "prepress: (shortest: \"300s\", target: \"600s\", longest: \"900s\"),";
    let short = "prepress: (shortest: \"12s\", target: \"15s\", longest: \"45s\"),";
    // Both: a plan may have either kind pressed first.
    for recipe in ["recipes/dark-cotton.ron", "recipes/light-cotton.ron"] {
        change(recipe, short, long);
    }
}

/// Seconds of processor time that a process has used (proc(5): fields 14 and 15 of stat).
fn used(pid: u32) -> f64 {
    let text = std::fs::read_to_string(format!("/proc/{pid}/stat")).unwrap();
    let after = text.rsplit_once(')').unwrap().1;
    let fields: Vec<&str> = after.split_whitespace().collect();
    let ticks: f64 = fields[11].parse::<f64>().unwrap() + fields[12].parse::<f64>().unwrap();
    ticks / TICKS
}

/// Resident memory of a process in megabytes.
pub fn resident(pid: u32) -> f64 {
    let text = std::fs::read_to_string(format!("/proc/{pid}/status")).unwrap();
    let line = text.lines().find(|line| line.starts_with("VmRSS:")).unwrap();
    line.split_whitespace().nth(1).unwrap().parse::<f64>().unwrap() / 1024.0
}

/// A board on which four presses run for longer than a measurement lasts.
fn four_running(home: &Path, data: &Path) -> Seat {
    let folder = home.join("profiles");
    let (data, named) = (data.to_string_lossy(), folder.to_string_lossy());
    profiles(&folder);
    let order = folder.join("orders/harbour-choir.ron");
    dwell(&["--data", &data, "--profiles", &named, "take", &order.to_string_lossy()]);
    let words = [program::dwell(), "--data", &data, "--profiles", &named];
    let mut board = Seat::start(&words, home, (120, 36));
    // Whichever garment each press is offered.
    board.wait_for(|screen| screen.contents().matches("pre-press").count() >= 4);
    for (key, count) in [b"1", b"2", b"3", b"4"].into_iter().zip(1..) {
        // A key means what the last frame said that the board knows to be seen: nobody is as quick as this.
        board.settle(Duration::from_millis(50));
        let running =
            |screen: &vt100::Screen| screen.contents().matches("RUNNING").count() == count;
        board.strike(key, running);
    }
    board
}

/// What a board costs at rest.
pub struct Rest {
    /// Per cent of a core.
    pub share: f64,
    /// Bytes a second to the terminal, and those of the changed cells.
    pub sent: f64,
    pub changed: f64,
    /// Megabytes.
    pub memory: f64,
}

/// Looks at a board with four presses running for so long; `data` may hold a history.
pub fn of(data: &Path, span: Duration) -> Rest {
    let home = tempfile::tempdir().unwrap();
    let mut board = four_running(home.path(), data);
    board.settle(Duration::from_secs(2));
    let (before, started) = (used(board.pid()), Instant::now());
    let (sent, changed) = board.watch(span);
    let seconds = started.elapsed().as_secs_f64();
    let share = (used(board.pid()) - before) / seconds * 100.0;
    let memory = resident(board.pid());
    assert_eq!(board.contents().matches("RUNNING").count(), 4, "{}", board.contents());
    #[expect(clippy::cast_precision_loss, reason = "some thousand bytes")]
    let (sent, changed) = (sent as f64 / seconds, changed as f64 / seconds);
    Rest { share, sent, changed, memory }
}

pub fn measure() {
    let there = tempfile::tempdir().unwrap();
    let Rest { share, sent, changed, memory } = of(&there.path().join("data"), SPAN);
    let over = |over: bool| if over { "   OVER" } else { "" };
    let ratio = sent / changed;
    println!(
        "  four timers running, 120x36: sent to the terminal {sent:.0} B/s, the changed cells {changed:.0} B/s: \
         {ratio:.2}x, at most 4x{}",
        over(ratio > 4.0)
    );
    println!("  at rest so: {share:.2} % of a core, at most 0.5 %{}", over(share > 0.5));
    println!("  resident so: {memory:.1} MB, at most 15 MB{}", over(memory > 15.0));
}
