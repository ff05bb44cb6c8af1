//! Bytes are keys struck at a shop at work; some let time pass, some are scans.

use crossterm::event::{KeyCode, KeyEvent, KeyModifiers};
use dwell::screen::act::{self, Effect, Meaning, Sight};
use dwell::screen::ui::Ui;

use super::bench::{Bench, SIZES};

/// Letters that are more than a byte, wide, or none that should be seen.
const LETTERS: [char; 8] = ['é', 'ß', '漢', '🧦', '\u{202e}', '\u{301}', '\u{1b}', '\u{7}'];
const SCANS: [&str; 8] =
    ["A1-01", "A1-02", "A1-40", "a1-1", "152.4 g", "168.9g", "F-2026-1", "\u{1b}[2J"];

/// What a byte stands for.
enum Struck {
    Key(KeyCode, KeyModifiers),
    Wait(u64),
    Scan(&'static str),
}

fn struck(byte: u8) -> Struck {
    let key = |code| Struck::Key(code, KeyModifiers::NONE);
    match byte {
        b'\n' | b'\r' => key(KeyCode::Enter),
        b'\t' => key(KeyCode::Tab),
        0x08 | 0x7f => key(KeyCode::Backspace),
        0x1b => key(KeyCode::Esc),
        0x00..=0x1a => Struck::Key(KeyCode::Char((byte + b'a' - 1).into()), KeyModifiers::CONTROL),
        0x1c..=0x7e => key(KeyCode::Char(byte.into())),
        0x80..=0x8b => key(KeyCode::F(byte - 0x7f)),
        0x8c => key(KeyCode::Up),
        0x8d => key(KeyCode::Down),
        0x8e => key(KeyCode::Left),
        0x8f => key(KeyCode::Right),
        0x90 => key(KeyCode::PageUp),
        0x91 => key(KeyCode::PageDown),
        0x92 => key(KeyCode::Home),
        0x93 => key(KeyCode::End),
        0x94 => key(KeyCode::Delete),
        0x95 => key(KeyCode::BackTab),
        0x96 => key(KeyCode::Insert),
        0xa0..=0xa7 => key(KeyCode::Char(LETTERS[usize::from(byte - 0xa0)])),
        0xb0..=0xb7 => Struck::Scan(SCANS[usize::from(byte - 0xb0)]),
        0xc0..=0xff => Struck::Wait(u64::from(byte - 0xbf)),
        _ => key(KeyCode::Null),
    }
}

/// Strikes them all, drawing now and then; the first byte chooses the size of the screen.
pub fn run(bytes: &[u8]) {
    let Some((first, keys)) = bytes.split_first() else { return };
    let size = SIZES[usize::from(*first) % SIZES.len()];
    let mut bench = Bench::at_work();
    let mut ui = bench.screen();
    // No more than a person could strike before the next look.
    for (n, byte) in keys.iter().take(400).enumerate() {
        strike(&mut bench, &mut ui, struck(*byte));
        if n % 32 == 31 {
            bench.draw(&ui, size);
        }
    }
    bench.draw(&ui, size);
    bench.check_places();
}

fn strike(bench: &mut Bench, ui: &mut Ui, what: Struck) {
    let meant = Meaning::of(&bench.shop, ui, bench.now);
    let sight = Sight { shop: &bench.shop, meant: &meant, now: bench.now };
    let effects = match what {
        Struck::Key(code, modifiers) => act::key(ui, &sight, &KeyEvent::new(code, modifiers)),
        Struck::Scan(text) => act::scan(ui, &sight, text),
        Struck::Wait(seconds) => {
            bench.wait(seconds);
            ui.expire(bench.now)
        }
    };
    for effect in effects {
        match effect {
            Effect::Do(command) => drop(bench.say(&command)),
            Effect::Look(request) => ui.looked(&request, &Err("no such file".into())),
            Effect::Trace(tag) => ui.traced(Ok(vec![format!("the story of {tag}")]), bench.now),
            _ => {}
        }
    }
}
