//! Bytes are keys struck at a shop at work, as a terminal sends them: through the framer, and the gate that tells scans
//! and held keys from the others. Some let time pass, some are whole scans, some have the next keys come as quickly as a
//! scanner's, some are what terminals send in pieces, or without an end.

use std::time::Duration;

use dwell::screen::act::{self, Effect};
use dwell::screen::input::{Framed, Framer, Gate, Heard, Mode};
use dwell::screen::meaning::{Meaning, Sight};
use dwell::screen::ui::{Tone, Ui};

use super::bench::{Bench, SIZES};

/// Letters that are more than a byte, wide, or none that should be seen.
const LETTERS: [char; 8] = ['é', 'ß', '漢', '🧦', '\u{202e}', '\u{301}', '\u{1b}', '\u{7}'];
const SCANS: [&str; 8] =
    ["A1-01", "A1-02", "A1-40", "a1-1", "152.4 g", "168.9g", "F-2026-1", "\u{1b}[2J"];

/// Of which no key comes, or one that is cut off, or very many.
const PIECES: [&[u8]; 8] = [
    b"\x1b[1;5",
    b"\x1b[200~",
    b"\x1b[201~",
    b"\x1b]11;rgb:1616/18",
    b"18/1d1d\x1b\\",
    b"\x1bO",
    b"\x1b[M !1\xc3",
    &[b'1'; 3000],
];

/// What a byte stands for.
enum Struck {
    Bytes(Vec<u8>),
    Wait(u64),
    Scan(&'static str),
    /// From here on keys are so many milliseconds apart.
    Pace(i64),
}

fn struck(byte: u8) -> Struck {
    let bytes = |bytes: &[u8]| Struck::Bytes(bytes.to_vec());
    let sequence = |text: &str| Struck::Bytes(format!("\x1b{text}").into_bytes());
    match byte {
        b'\n' | b'\r' => bytes(b"\r"),
        0x00..=0x7f => bytes(&[byte]),
        0x80..=0x83 => sequence(["OP", "OQ", "OR", "OS"][usize::from(byte - 0x80)]),
        0x84..=0x8b => {
            let number = [15, 17, 18, 19, 20, 21, 23, 24][usize::from(byte - 0x84)];
            sequence(&format!("[{number}~"))
        }
        0x8c => sequence("[A"),
        0x8d => sequence("[B"),
        0x8e => sequence("[D"),
        0x8f => sequence("[C"),
        0x90 => sequence("[5~"),
        0x91 => sequence("[6~"),
        0x92 => sequence("[H"),
        0x93 => sequence("[F"),
        0x94 => sequence("[3~"),
        0x95 => sequence("[Z"),
        0x96 => sequence("[2~"),
        0x97..=0x9f => {
            Struck::Pace([4, 30, 61, 90, 150, 400, 699, 701, 2000][usize::from(byte - 0x97)])
        }
        0xa0..=0xa7 => bytes(LETTERS[usize::from(byte - 0xa0)].to_string().as_bytes()),
        0xa8..=0xaf => bytes(PIECES[usize::from(byte - 0xa8)]),
        0xb0..=0xb7 => Struck::Scan(SCANS[usize::from(byte - 0xb0)]),
        0xb8..=0xbf => sequence("[G"),
        0xc0..=0xff => Struck::Wait(u64::from(byte - 0xbf)),
    }
}

/// A shop, its screen and its keyboard.
struct Struggle {
    bench: Bench,
    ui: Ui,
    framer: Framer,
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
    let framer = Framer::default();
    let mut struggle = Struggle { bench, ui, framer, gate, pace: 150 };
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
            Struck::Bytes(bytes) => self.read(&bytes),
            // As a scanner sends it.
            Struck::Scan(text) => {
                let pace = std::mem::replace(&mut self.pace, 4);
                text.bytes().chain([b'\r']).for_each(|byte| self.read(&[byte]));
                self.pace = pace;
            }
            Struck::Pace(pace) => self.pace = pace,
            Struck::Wait(seconds) => {
                self.bench.wait(seconds);
                let late = self.framer.lapse(self.bench.now.up);
                self.take(late);
                self.lapse();
                let effects = self.ui.expire(self.bench.now);
                self.carry_out(effects);
            }
        }
    }

    fn read(&mut self, bytes: &[u8]) {
        let pace = Duration::from_millis(self.pace.unsigned_abs());
        self.bench.now = self.bench.now.plus(pace);
        let framed = self.framer.take(bytes, self.bench.now.up);
        self.take(framed);
    }

    fn take(&mut self, framed: Vec<Framed>) {
        for one in framed {
            match one {
                Framed::Key(key, at) => {
                    self.lapse();
                    let heard = self.gate.key(key, at, Mode::of(&self.ui));
                    self.hear(heard);
                }
                Framed::Noise(noise, _) => {
                    self.ui.say(Tone::Note, noise.to_string(), self.bench.now);
                }
            }
        }
    }

    fn lapse(&mut self) {
        let lapsed = self.gate.lapse(self.bench.now.up);
        self.hear(lapsed);
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
                Effect::Trace(asked) => {
                    self.ui.traced(Ok(vec![format!("the story of {asked:?}")]), self.bench.now);
                }
                _ => {}
            }
        }
    }
}
