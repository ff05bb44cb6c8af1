//! Bytes are keys struck at a shop at work, through the gate that tells scans and held keys from the others; some let
//! time pass, some are whole scans, some have the next keys come as quickly as a scanner's.

use std::time::Duration;

use crossterm::event::{KeyCode, KeyEvent, KeyModifiers};
use dwell::screen::act::{self, Effect, Meaning, Sight};
use dwell::screen::ui::{Tone, Ui};
use dwell::shell::input::{Gate, Heard, Mode};

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
    /// From here on keys are so many milliseconds apart.
    Pace(i64),
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
        0x97..=0x9f => {
            Struck::Pace([4, 30, 61, 90, 150, 400, 699, 701, 2000][usize::from(byte - 0x97)])
        }
        0xa0..=0xa7 => key(KeyCode::Char(LETTERS[usize::from(byte - 0xa0)])),
        0xb0..=0xb7 => Struck::Scan(SCANS[usize::from(byte - 0xb0)]),
        0xc0..=0xff => Struck::Wait(u64::from(byte - 0xbf)),
        _ => key(KeyCode::Null),
    }
}

/// A shop, its screen and its keyboard.
struct Struggle {
    bench: Bench,
    ui: Ui,
    gate: Gate,
    /// Milliseconds between two keys.
    pace: i64,
}

/// Strikes them all, drawing now and then; the first byte chooses the size of the screen, and whether the scanner sends
/// a letter before a tag.
pub fn run(bytes: &[u8]) {
    let Some((first, keys)) = bytes.split_first() else { return };
    let size = SIZES[usize::from(*first) % SIZES.len()];
    let bench = Bench::at_work();
    let ui = bench.screen();
    let gate = Gate::new((*first >= 0xc0).then_some('~'));
    let mut struggle = Struggle { bench, ui, gate, pace: 150 };
    // No more than a person could strike before the next look.
    for (n, byte) in keys.iter().take(400).enumerate() {
        struggle.strike(struck(*byte));
        if n % 32 == 31 {
            struggle.bench.draw(&struggle.ui, size);
        }
    }
    struggle.bench.draw(&struggle.ui, size);
    struggle.bench.check_places();
}

impl Struggle {
    fn strike(&mut self, what: Struck) {
        match what {
            Struck::Key(code, modifiers) => self.key(KeyEvent::new(code, modifiers)),
            // As a scanner sends it.
            Struck::Scan(text) => {
                let pace = std::mem::replace(&mut self.pace, 4);
                let letters = text.chars().map(KeyCode::Char).chain([KeyCode::Enter]);
                letters.for_each(|code| self.key(KeyEvent::new(code, KeyModifiers::NONE)));
                self.pace = pace;
            }
            Struck::Pace(pace) => self.pace = pace,
            Struck::Wait(seconds) => {
                self.bench.wait(seconds);
                let lapsed = self.gate.lapse(self.bench.now.up);
                self.hear(lapsed);
                let effects = self.ui.expire(self.bench.now);
                self.carry_out(effects);
            }
        }
    }

    fn key(&mut self, key: KeyEvent) {
        let pace = Duration::from_millis(self.pace.unsigned_abs());
        self.bench.now = self.bench.now.plus(pace);
        let heard = self.gate.key(key, self.bench.now.up, Mode::of(&self.ui));
        self.hear(heard);
    }

    fn hear(&mut self, heard: Vec<Heard>) {
        for one in heard {
            let meant = Meaning::of(&self.bench.shop, &self.ui, self.bench.now);
            let sight = Sight { shop: &self.bench.shop, meant: &meant, now: self.bench.now };
            let effects = match one {
                Heard::Key(key, _) => act::key(&mut self.ui, &sight, &key),
                Heard::Scan(text, _) => act::scan(&mut self.ui, &sight, &text),
                Heard::Ignored(what) => {
                    self.ui.say(Tone::Note, what, self.bench.now);
                    Vec::new()
                }
            };
            self.carry_out(effects);
        }
    }

    fn carry_out(&mut self, effects: Vec<Effect>) {
        for effect in effects {
            match effect {
                Effect::Do(command) => drop(self.bench.say(&command)),
                Effect::Look(request) => self.ui.looked(&request, &Err("no such file".into())),
                Effect::Trace(tag) => {
                    self.ui.traced(Ok(vec![format!("the story of {tag}")]), self.bench.now);
                }
                _ => {}
            }
        }
    }
}
