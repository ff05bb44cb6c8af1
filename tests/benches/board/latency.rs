//! From a key in the pty to the changed cell, beside a one-cell program behind the same gate.
//!
//! The keys are those of the screens: none of them can begin a scan, so none is held back.

use std::sync::mpsc::channel;
use std::time::Duration;

use crossterm::terminal::enable_raw_mode;
use dwell::screen::input::{Gate, Heard, KeyCode, Mode};
use dwell::shell::keyboard::{Keyboard, Struck};
use ratatui::Terminal;
use ratatui::backend::CrosstermBackend;

use super::row;
use support::seat::Seat;

/// The argument that makes this program the other one.
pub const ECHO: &str = "--one-cell";

/// The keys of four screens: bytes, number of the key, and the word that the board then marks.
const KEYS: [(&[u8], u8, &str); 4] = [
    (b"\x1bOQ", 2, "[Pace]"),
    (b"\x1bOR", 3, "[Shelf]"),
    (b"\x1b[15~", 5, "[Past]"),
    (b"\x1bOP", 1, "[Bench]"),
];

/// A key is deaf for 0.7 s after it acted: four keys in turn at this pace each come later than that.
const PACE: Duration = Duration::from_millis(190);

const STRIKES: usize = 120;

/// The other program: a key comes by the same reader, passes the same gate, and one word in the first row changes.
pub fn echo() -> std::io::Result<()> {
    enable_raw_mode()?;
    let mut terminal = Terminal::new(CrosstermBackend::new(std::io::stdout()))?;
    let mut gate = Gate::default();
    let mut word = "ready";
    let (sender, keys) = channel();
    let _keyboard = Keyboard::start(move |struck| drop(sender.send(struck)))?;
    loop {
        terminal.draw(|frame| frame.render_widget(word, frame.area()))?;
        let (key, up) = match keys.recv() {
            Ok(Struck::Key { key, up }) => (key, up),
            Ok(Struck::Noise(_) | Struck::Stale(_)) => continue,
            Ok(Struck::Gone) | Err(_) => return Ok(()),
        };
        for heard in gate.key(key, up, Mode::Acts) {
            match heard {
                Heard::Key(key, _) => {
                    let known = KEYS.iter().find(|(_, number, _)| key.code == KeyCode::F(*number));
                    word = known.map_or(word, |(_, _, word)| word);
                }
                Heard::Scan(..) | Heard::Ignored(_) => {}
            }
        }
    }
}

/// Middle and 99th of a hundred, in milliseconds.
fn percentiles(mut spans: Vec<Duration>) -> (f64, f64) {
    spans.sort_unstable();
    let at = |part: usize| spans[(spans.len() * part / 100).min(spans.len() - 1)];
    (at(50).as_secs_f64() * 1e3, at(99).as_secs_f64() * 1e3)
}

fn strikes(seat: &mut Seat) -> (f64, f64) {
    let mut spans = Vec::new();
    for (bytes, _, word) in KEYS.iter().cycle().take(STRIKES) {
        seat.settle(PACE);
        let marked = |screen: &vt100::Screen| first_row(screen).contains(word);
        spans.push(seat.strike(bytes, marked));
    }
    percentiles(spans)
}

/// The first row alone: reading the whole screen would cost more than what is measured.
fn first_row(screen: &vt100::Screen) -> String {
    screen.contents_between(0, 0, 0, screen.size().1.into())
}

pub fn measure() {
    let home = tempfile::tempdir().unwrap();
    let size = (120, 36);
    let own = std::env::current_exe().unwrap();
    let mut bare = Seat::start(&[&own.to_string_lossy(), ECHO], home.path(), size);
    bare.wait_for(|screen| screen.contents().contains("ready"));
    let (bare_middle, bare_worst) = strikes(&mut bare);
    drop(bare);
    let data = home.path().join("data");
    let words = [env!("CARGO_BIN_EXE_dwell"), "--data", &data.to_string_lossy()];
    let mut board = Seat::start(&words, home.path(), size);
    board.wait_for(|screen| screen.contents().contains("[Bench]"));
    let (middle, worst) = strikes(&mut board);
    let figure = |ms: f64| format!("{ms:.2} ms");
    row("key to changed cell, one-cell program, p50", &figure(bare_middle), "");
    row("key to changed cell, one-cell program, p99", &figure(bare_worst), "");
    row("key to changed cell, board, p50", &figure(middle), &ratio(middle, bare_middle));
    row("key to changed cell, board, p99", &figure(worst), &ratio(worst, bare_worst));
}

fn ratio(figure: f64, beside: f64) -> String {
    format!("{:.2} x", figure / beside)
}
