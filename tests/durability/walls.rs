//! The wall clock is set while the board runs, and stood wrong when the machine came up: what the board shows,
//! sounds and keeps. The board is the real one, over a journal; its clock is the test's.

use dwell::screen::input::{Key, KeyCode};
use dwell::shell::board::Board;
use dwell::shop::facts::moment::{Moment, Up, Wall};
use ratatui::buffer::Buffer;

use crate::bench::Bench;
use crate::keys::{NOON, board, standing};

const SECOND: i64 = 1_000_000;
const DAY: i64 = 86_400 * SECOND;

/// A board and its two clocks.
struct Hung {
    board: Board,
    now: Moment,
}

impl Hung {
    /// Both clocks go on.
    fn wait(&mut self, seconds: i64) {
        self.now.at.0 += seconds * SECOND;
        self.now.up.0 += seconds * SECOND;
        self.look();
    }

    /// The wall clock alone is set.
    fn set(&mut self, by_seconds: i64) {
        self.now.at.0 += by_seconds * SECOND;
        self.look();
    }

    fn look(&mut self) {
        self.board.clock = standing(self.now);
        self.board.tick();
    }

    fn key(&mut self, key: char) {
        self.wait(1);
        let code = if key == '\n' { KeyCode::Enter } else { KeyCode::Char(key) };
        self.board.key(Key::plain(code), self.now.up);
        // It passes once it cannot be a scan any more.
        let later = Up(self.now.up.0 + SECOND);
        self.board.key(Key::plain(KeyCode::F(20)), later);
        self.look();
        self.now.up = later;
        self.now.at.0 += SECOND;
        self.look();
    }

    /// What the reduced layout says of each press, with its seconds as plain figures.
    fn presses(&mut self) -> String {
        let (_, cells) = self.board.frame((60, 12));
        text(&cells)
            .lines()
            .filter(|line| line.contains("A1-") && line.contains("pre-press"))
            .collect::<Vec<_>>()
            .join("\n")
    }

    fn screen(&mut self) -> String {
        let (number, cells) = self.board.frame((80, 24));
        self.board.shown(number, self.now.up);
        text(&cells)
    }
}

fn text(cells: &Buffer) -> String {
    let width = usize::from(cells.area.width);
    let row = |row: &[ratatui::buffer::Cell]| row.iter().map(|cell| cell.symbol()).collect();
    cells.content.chunks(width).map(row).collect::<Vec<String>>().join("\n")
}

fn with_two_shut(bench: &Bench) -> Hung {
    bench.take(4);
    let mut wall = Hung { board: board(bench, NOON), now: NOON };
    wall.look();
    wall.screen();
    for key in "12".chars() {
        wall.key(key);
        wall.screen();
    }
    assert_eq!(wall.board.shop.loads().count(), 2);
    // Between two seconds: no figure is about to change.
    wall.now.at.0 += SECOND / 2;
    wall.now.up.0 += SECOND / 2;
    wall
}

/// Minutes, an hour as with daylight saving, a day, years; an unset clock; each way.
const STEPS: [i64; 9] =
    [60, -60, 3600, -3600, 90_000, -90_000, 63_072_000, -63_072_000, -1_795_694_000];

#[test]
fn a_step_of_the_wall_clock_changes_no_countdown_and_sounds_nothing() {
    for step in STEPS {
        let bench = Bench::new(2, 40);
        let mut wall = with_two_shut(&bench);
        wall.wait(5);
        let before = wall.screen();
        assert!(before.contains("RUNNING") && !before.contains("WRONG"), "{before}");
        wall.board.take_bell();
        let upto = wall.board.shop.seq();
        let counted = wall.presses();
        assert_eq!(counted.matches("RUNNING").count(), 2, "{counted}");
        wall.set(step);
        let after = wall.screen();
        assert_eq!(wall.presses(), counted, "{step}");
        // Further back than a correction would be: the days are not to be trusted, and that is said.
        assert_eq!(after.contains("THE CLOCK IS WRONG"), step < -120, "{step}:\n{after}");
        assert!(!wall.board.take_bell(), "{step}");

        // Forty seconds after the shut it is due, by the clock that nobody sets.
        wall.wait(40);
        let due = wall.presses();
        assert_eq!(due.matches("OPEN NOW").count(), 2, "{step}:\n{due}");
        assert!(wall.board.take_bell(), "{step}");
        wall.set(-step);
        assert_eq!(wall.presses(), due, "{step}");
        assert!(!wall.board.take_bell(), "{step}: one bell, however often the clock is set");

        wall.key('1');
        assert_eq!(wall.board.shop.seq(), upto + 1);
        assert_eq!(wall.board.close(), None);
        let seconds = bench.past_of("press-opened")[0]["seconds"].as_f64().unwrap();
        assert!((45.0..60.0).contains(&seconds), "{step}: {seconds}");
        bench.assert_sound();
    }
}

#[test]
fn a_clock_that_was_unset_at_the_start_becomes_right_and_disturbs_nothing() {
    let bench = Bench::new(2, 40);
    bench.take(4);
    // It says one of the first days of 1970 in every zone.
    let unset = Moment { at: Wall(DAY + 12 * 3600 * SECOND), up: Up(60 * SECOND), ..NOON };
    let mut wall = Hung { board: board(&bench, unset), now: unset };
    wall.look();
    wall.screen();
    wall.key('1');
    let screen = wall.screen();
    assert!(screen.contains("THE CLOCK IS WRONG: it says 1970-01-0"), "{screen}");
    assert!(screen.contains("RUNNING"), "{screen}");
    wall.board.take_bell();
    wall.now.up.0 += SECOND / 2;
    wall.look();
    let counted = wall.presses();
    assert!(counted.contains("RUNNING"), "{counted}");
    // The network comes up, and with it the time.
    wall.now.at = NOON.at;
    wall.look();
    let set = wall.screen();
    assert_eq!(wall.presses(), counted);
    assert!(!set.contains("WRONG") && !wall.board.take_bell(), "{set}");
    assert_eq!(wall.board.close(), None);
    bench.assert_sound();
}

#[test]
fn after_a_suspend_of_ninety_seconds_what_is_due_is_said_once() {
    let bench = Bench::new(2, 40);
    let mut wall = with_two_shut(&bench);
    wall.board.take_bell();
    // The boot clock counts through it.
    wall.wait(90);
    let mut bells = 0;
    for _ in 0..50 {
        wall.look();
        bells += usize::from(wall.board.take_bell());
    }
    assert_eq!(bells, 1);
    let screen = wall.screen();
    assert_eq!(screen.matches("OPEN NOW").count(), 2, "{screen}");
    assert!(wall.presses().contains("+5"), "fifty and some seconds over: {}", wall.presses());
    // A day of it: two alarms by now, and one sound.
    wall.wait(DAY / SECOND);
    // The act at the bottom names one of them once more.
    let screen = wall.screen().replace("TOO LONG:", "");
    assert_eq!(screen.matches("TOO LONG").count(), 2, "{screen}");
    assert_eq!(wall.board.close(), None);
}
