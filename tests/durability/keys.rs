//! Things that fall onto the keyboard: random keys, in the board itself and through the pty. Nothing panics, and
//! the shop on the screen is the shop that the journal tells.

use std::path::Path;
use std::sync::Arc;
use std::time::Duration;

use dwell::screen::input::{Key, KeyCode, Noise};
use dwell::screen::keymap::Keymap;
use dwell::screen::theme::Theme;
use dwell::shell::board::{Board, Source};
use dwell::shell::clerk::Clerk;
use dwell::shell::clock::Clock;
use dwell::shell::journal::Writer;
use dwell::shell::journal::lock::Lock;
use dwell::shell::{private, profiles};
use dwell::shop::Shop;
use dwell::shop::facts::moment::{Boot, Moment, Up, Wall};

use crate::bench::Bench;
use crate::pty::Pty;
use crate::random::Random;
use crate::replay::{assert_each_in_one_place, same, shop};
use crate::shown::{assert_all_told, is_act};

/// A board that writes a journal, at a moment that the test says.
pub fn board(bench: &Bench, now: Moment) -> Board {
    let data = bench.data();
    private::directory(&data).unwrap();
    let writer = Writer::open(&data, Lock::take(&data).unwrap()).unwrap();
    let waits = std::fs::read_dir(data.join("inbox")).is_ok_and(|mut files| files.next().is_some());
    let mut clerk = Clerk::start(&data).unwrap();
    let mut told = clerk.take_told().unwrap();
    let source = Source::Writes { writer, data, clerk };
    let keys = Arc::new(Keymap::default());
    let mut board = Board::new(
        Shop::default(),
        standing(now),
        source,
        keys,
        Theme { colour: true, halves: true },
    );
    board.put_in_force(&profiles::load(Some(&bench.profiles())).unwrap());
    // What lies in the inbox comes from the clerk's thread, as the loop would hand it over.
    if waits {
        board.brought(told.blocking_recv().unwrap());
    }
    board.ui.message = None;
    board
}

/// A clock that stands still at a moment.
pub fn standing(now: Moment) -> Clock {
    let mut clock = Clock::made_up(now, 1.0);
    clock.set(0.0, true);
    clock
}

/// Some moment of a Thursday in 2026.
pub const NOON: Moment =
    Moment { at: Wall(1_795_694_400_000_000), boot: Boot(5), up: Up(1_000_000_000) };

/// What is typed next: bare keys mostly, and those that the board knows more often than others.
fn any_key(random: &mut Random) -> Key {
    let special = [
        KeyCode::Enter,
        KeyCode::Esc,
        KeyCode::Tab,
        KeyCode::BackTab,
        KeyCode::Backspace,
        KeyCode::Delete,
        KeyCode::Up,
        KeyCode::Down,
        KeyCode::Left,
        KeyCode::Right,
        KeyCode::Home,
        KeyCode::End,
        KeyCode::PageUp,
        KeyCode::PageDown,
        KeyCode::Insert,
        KeyCode::F(20),
    ];
    let pick = |random: &mut Random, from: &[u8]| {
        char::from(from[usize::try_from(random.below(from.len() as u64)).unwrap()])
    };
    let code = match random.below(20) {
        0..=8 => KeyCode::Char(pick(random, b"123401234\r-.cs")),
        9..=12 => special[usize::try_from(random.below(special.len() as u64)).unwrap()],
        13 => KeyCode::F(u8::try_from(random.below(13)).unwrap()),
        14 => KeyCode::Char(
            char::from_u32(0xa1 + u32::try_from(random.below(0x2fff)).unwrap()).unwrap(),
        ),
        _ => KeyCode::Char(char::from(u8::try_from(32 + random.below(95)).unwrap())),
    };
    let code = if code == KeyCode::Char('\r') { KeyCode::Enter } else { code };
    let held = random.below(16);
    Key { code, ctrl: held == 0, alt: held == 1 }
}

/// Types random keys at a board, with pauses of all lengths, and draws it at all sizes; how many were typed.
fn type_at(board: &mut Board, random: &mut Random, keys: usize) {
    let mut up = NOON.up;
    for key in 0..keys {
        // From a scanner's pace to a lunch break.
        let pause = [3_000, 20_000, 90_000, 400_000, 900_000, 5_000_000, 1_500_000_000];
        up.0 += pause[usize::try_from(random.below(pause.len() as u64)).unwrap()];
        board.clock = standing(Moment { at: NOON.at.plus(up.since(NOON.up)), up, ..NOON });
        if random.below(40) == 0 {
            for letter in format!("A1-{:02}", random.below(14)).chars() {
                board.key(Key::plain(KeyCode::Char(letter)), up);
            }
            board.key(Key::plain(KeyCode::Enter), up);
        }
        board.key(any_key(random), up);
        if random.below(50) == 0 {
            board.noise(Noise::Paste);
        }
        board.tick();
        if key % 3 == 0 {
            let size = |random: &mut Random, most| 1 + u16::try_from(random.below(most)).unwrap();
            let size = if key % 9 == 0 { (size(random, 220), size(random, 70)) } else { (80, 24) };
            let (number, _cells) = board.frame(size);
            // Some frames never reach the screen.
            if random.below(4) > 0 {
                board.shown(number, up);
            }
        }
        drop(board.take_task());
        board.take_looks();
        board.take_traces();
    }
}

#[test]
fn ten_thousand_random_keys_leave_the_shop_that_the_journal_tells() {
    for seed in [11, 12] {
        let bench = Bench::new(4, 30);
        bench.take(12);
        let mut board = board(&bench, NOON);
        let mut random = Random(seed);
        type_at(&mut board, &mut random, 5_000);
        let shown = board.shop.clone();
        assert_eq!(board.close(), None, "everything was saved");
        let told = shop(&bench, u64::MAX);
        assert!(shown.seq() > 150, "too little happened: {}", shown.seq());
        assert_eq!(told.seq(), shown.seq());
        assert!(told == shown && same(&told, &shown), "seed {seed}");
        assert_eq!(told.undoable(), shown.undoable());
        let garments = told.floor().all().count();
        assert!(garments >= 12, "{garments}");
        assert_each_in_one_place(&told, garments);
        assert_each_in_one_place(&shown, garments);
        bench.assert_sound();
    }
}

/// What a keyboard, a scanner, a paste or a cat may send.
fn any_bytes(random: &mut Random) -> Vec<u8> {
    let pick = |random: &mut Random, from: &[&[u8]]| {
        from[usize::try_from(random.below(from.len() as u64)).unwrap()].to_vec()
    };
    match random.below(12) {
        0..=5 => {
            pick(random, &[b"1", b"2", b"3", b"4", b"\r", b"0", b"-", b"s", b"c", b"\x1b", b"\x1b"])
        }
        6 => pick(
            random,
            &[b"\x1b[A", b"\x1bOP", b"\x1bOQ", b"\x1bOR", b"\x1bOS", b"\x1b[15~", b"\t"],
        ),
        7 => pick(random, &[b"A1-03\r", b"A1-07\r", b"152.4 g\r", b"A9-99\r"]),
        8 => pick(
            random,
            &[b"\x1b[200~12\x1b[201~", b"\xff\xc3", b"\x1b[", b"\x1b]0;x\x07", b"\x00"],
        ),
        9 => vec![u8::try_from(1 + random.below(31)).unwrap()],
        _ => vec![u8::try_from(32 + random.below(95)).unwrap()],
    }
}

#[test]
fn a_thousand_random_keys_through_the_terminal_are_survived() {
    let bench = Bench::new(4, 1);
    bench.take(12);
    let mut random = Random(20_261_126);
    let mut pty = Pty::board(&bench);
    pty.wait_for("12 blanks");
    let mut shown = Vec::new();
    let mut left = 0;
    for key in 0..1000 {
        if !pty.runs() {
            // It was asked to leave, and to leave it was sure: nothing else ends it.
            assert_eq!(pty.end_within(Duration::from_secs(1)), 0, "key {key}\n{}", pty.contents());
            shown.extend(pty.saved());
            left += 1;
            pty = Pty::board(&bench);
        }
        pty.burst(&any_bytes(&mut random));
        let pause = if random.below(8) == 0 { 120 } else { 2 + random.below(12) };
        std::thread::sleep(Duration::from_millis(pause));
    }
    // Esc out of whatever is open, then leave as people do.
    for _ in 0..3 {
        if pty.runs() {
            pty.key(b"\x1b");
        }
    }
    std::thread::sleep(Duration::from_millis(800));
    if pty.runs() {
        pty.wait_saved();
        pty.kill();
    }
    shown.extend(pty.saved());
    shown.retain(|message| is_act(message));
    // What is chosen stands on the same line, to the right, and over the end of a long message.
    let shown: Vec<String> = shown
        .iter()
        .map(|line| line.chars().take(36).collect::<String>().trim_end().to_owned())
        .collect();
    assert!(shown.len() > 8 && left < 50, "{left} left, {shown:?}");
    assert_all_told(&shown, &bench.run(&["past"]).out);
    let told = shop(&bench, u64::MAX);
    let garments = told.floor().all().count();
    assert_each_in_one_place(&told, garments);
    assert!(Path::new(&bench.data()).join("journal.sqlite").exists());
    bench.assert_sound();
    // And it starts again on what was made.
    let again = Pty::board(&bench);
    again.wait_saved();
}
