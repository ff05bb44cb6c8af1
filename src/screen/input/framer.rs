//! Bytes to keys. The form of escape sequences is `vte`'s business, what they mean the table's in `sequences`; here
//! are the limits in time, so that half a sequence, a paste without an end or a heap of bytes cannot keep later keys
//! from being what they are.

use std::fmt;
use std::time::Duration;

use super::key::{Key, KeyCode};
use super::sequences::{self, Sequence};
use crate::shop::facts::moment::Up;

/// A sequence that is not whole by then is none; an Escape that is alone by then is the key.
const SEQUENCE: Duration = Duration::from_millis(50);
/// A reply of a terminal is text, and may come over a slow line; so may a paste, which has to have said its end.
const TEXT: Duration = Duration::from_millis(1000);
/// A paste that goes on beyond that has ended once nothing has come for so long.
const SILENCE: Duration = Duration::from_millis(100);
/// A line feed so soon after a return is the same Enter.
const SAME_ENTER: Duration = Duration::from_millis(60);
/// More keys than that at once come from no hand and no scanner.
const MOST_AT_ONCE: usize = 128;
/// A sequence longer than that is none, whatever comes.
const LONGEST: usize = 16 * 1024;
const ESC: u8 = 0x1b;

/// What came out of the bytes, and when the first of its bytes arrived.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Framed {
    Key(Key, Up),
    Noise(Noise, Up),
}

impl Framed {
    /// When the first of its bytes arrived.
    pub fn at(&self) -> Up {
        match self {
            Framed::Key(_, at) | Framed::Noise(_, at) => *at,
        }
    }
}

/// What came in and is no key. Each has its words, for whatever is ignored is named.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Noise {
    /// A text was pasted.
    Paste,
    /// A paste began and never ended.
    EndlessPaste,
    /// More at once than a hand or a scanner sends: so many keys.
    Heap(usize),
    /// A paste or a heap goes on, and keys are not taken meanwhile.
    GoesOn,
    /// A sequence that never became whole.
    Unfinished,
    /// A sequence or a byte that is no key known here.
    Unknown,
}

impl fmt::Display for Noise {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            Noise::Paste => f.write_str("a pasted text is never an act: ignored"),
            Noise::EndlessPaste => {
                f.write_str("a paste that never ended: ignored, keys are taken again")
            }
            Noise::Heap(keys) => write!(f, "{keys} keys at once: ignored"),
            Noise::GoesOn => f.write_str("text is pouring in: no key is taken until it stops"),
            Noise::Unfinished => {
                f.write_str("half a key came from the terminal: ignored, press it again")
            }
            Noise::Unknown => f.write_str("that key is not known here: ignored"),
        }
    }
}

/// What was begun and is not whole.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
enum Part {
    #[default]
    None,
    /// `ESC`, which may be the key; not where it came as the end of a reply.
    Escape { may_be_key: bool },
    /// `ESC [` and what follows, or anything else that `vte` has not told of yet.
    Sequence,
    /// A reply of a terminal: `ESC ]`, `ESC P` and their like, with what follows.
    Text,
    /// `ESC O`, with so many bytes of a number.
    Ss3([u8; 2], usize),
    /// `ESC [ [` of the Linux console.
    Linux,
    /// `ESC [ M`, and so many bytes still to come.
    Mouse(u8),
    /// The first bytes of a character that has several.
    Character,
}

/// What is coming in that cannot be keys.
#[derive(Debug, Clone, Copy)]
struct Pouring {
    is_paste: bool,
    since: Up,
    said: Up,
    last: Up,
    keys: usize,
}

/// Frames bytes to keys. Moments are of the boot clock, and never go back.
#[derive(Default)]
pub struct Framer {
    parser: vte::Parser,
    part: Part,
    began: Up,
    length: usize,
    pouring: Option<Pouring>,
    returned: Option<Up>,
}

/// What `vte` told of one byte.
#[derive(Default)]
struct Dispatched(Option<Tell>);

enum Tell {
    Letter(char),
    Sequence(Sequence),
    /// `ESC` and a character.
    Alt(u8),
    Ss3,
    Linux,
    Mouse,
    /// A reply has ended.
    TextEnds,
}

impl vte::Perform for Dispatched {
    fn print(&mut self, letter: char) {
        self.0 = Some(Tell::Letter(letter));
    }

    fn osc_dispatch(&mut self, _: &[&[u8]], _: bool) {
        self.0 = Some(Tell::TextEnds);
    }

    fn unhook(&mut self) {
        self.0 = Some(Tell::TextEnds);
    }

    fn csi_dispatch(&mut self, params: &vte::Params, between: &[u8], too_many: bool, last: char) {
        let numbers: Vec<u16> =
            params.iter().map(|part| part.first().copied().unwrap_or(0)).collect();
        let bare = between.is_empty() && numbers == [0];
        self.0 = Some(match last {
            '[' if bare => Tell::Linux,
            'M' if bare => Tell::Mouse,
            _ if too_many => Tell::Sequence(Sequence::Unknown),
            _ => Tell::Sequence(sequences::csi(&numbers, between, last)),
        });
    }

    fn esc_dispatch(&mut self, between: &[u8], _: bool, last: u8) {
        self.0 = Some(match (between, last) {
            ([], b'O') => Tell::Ss3,
            // The end of a reply.
            ([], b'\\') => Tell::Sequence(Sequence::Reply),
            ([], last) => Tell::Alt(last),
            _ => Tell::Sequence(Sequence::Unknown),
        });
    }
}

impl Framer {
    /// Takes what was read at a moment.
    pub fn take(&mut self, bytes: &[u8], at: Up) -> Vec<Framed> {
        let mut framed = self.lapse(at);
        let mut fresh = Vec::new();
        for byte in bytes {
            self.byte(*byte, at, &mut fresh);
        }
        if fresh.len() > MOST_AT_ONCE {
            self.pour(false, at);
            if let Some(pouring) = &mut self.pouring {
                pouring.keys += fresh.len();
            }
            fresh.clear();
        }
        if let Some(pouring) = &mut self.pouring {
            pouring.last = at;
        }
        framed.extend(fresh);
        framed
    }

    /// When something ends by itself: `lapse` is to be called then.
    pub fn deadline(&self) -> Option<Up> {
        let part = (self.part != Part::None).then(|| self.began.plus(self.patience()));
        let pouring =
            self.pouring.as_ref().map(|pouring| pouring.ends().min(pouring.said.plus(TEXT)));
        part.into_iter().chain(pouring).min()
    }

    /// Lets time pass.
    pub fn lapse(&mut self, at: Up) -> Vec<Framed> {
        let mut framed = Vec::new();
        if self.part != Part::None && self.began.plus(self.patience()) <= at {
            self.give_up(&mut framed);
        }
        if let Some(pouring) = &mut self.pouring {
            if pouring.ends() <= at {
                framed.push(Framed::Noise(pouring.what(), pouring.since));
                self.pouring = None;
            } else if pouring.said.plus(TEXT) <= at {
                pouring.said = at;
                framed.push(Framed::Noise(Noise::GoesOn, at));
            }
        }
        framed
    }

    fn patience(&self) -> Duration {
        // A reply that has said something is one; what might be Alt and a letter is not waited for.
        if self.part == Part::Text && self.length > 2 { TEXT } else { SEQUENCE }
    }

    /// What was begun is not going to be whole.
    fn give_up(&mut self, out: &mut Vec<Framed>) {
        let began = self.began;
        match self.part {
            Part::None => {}
            Part::Escape { may_be_key: true } => self.key(Key::plain(KeyCode::Esc), began, out),
            // All of the reply but the last byte of its end has come.
            Part::Escape { may_be_key: false } => {}
            Part::Character => self.noise(Noise::Unknown, began, out),
            _ => self.noise(Noise::Unfinished, began, out),
        }
        self.part = Part::None;
        self.parser = vte::Parser::new();
    }

    fn begin(&mut self, part: Part, at: Up) {
        self.part = part;
        self.began = at;
        self.length = 1;
    }

    /// From here on no key is taken until it ends.
    fn pour(&mut self, is_paste: bool, at: Up) {
        let pouring = Pouring { is_paste, since: at, said: at, last: at, keys: 0 };
        self.pouring.get_or_insert(pouring);
    }

    fn byte(&mut self, byte: u8, at: Up, out: &mut Vec<Framed>) {
        self.length += 1;
        match self.part {
            Part::Mouse(left) => {
                self.part = if left > 1 { Part::Mouse(left - 1) } else { Part::None };
            }
            Part::None if byte < 0x20 && byte != ESC || byte == 0x7f => self.control(byte, at, out),
            Part::Text if byte != ESC => self.parse(byte, at, out),
            Part::Text => {
                self.parse(byte, at, out);
                self.begin(Part::Escape { may_be_key: false }, at);
            }
            // A key beside the control characters: Alt was held, or Escape came so shortly before.
            Part::Escape { may_be_key: true } if byte != ESC && (byte < 0x20 || byte == 0x7f) => {
                let began = self.began;
                self.drop_part();
                match sequences::control(byte) {
                    Some(key) => self.key(Key { alt: true, ..key }, began, out),
                    None => self.noise(Noise::Unknown, began, out),
                }
            }
            // A control character stands in no sequence: that one is over, and this is a byte of its own.
            Part::Escape { .. }
            | Part::Sequence
            | Part::Ss3(..)
            | Part::Linux
            | Part::Character
                if byte < 0x20 || byte == 0x7f =>
            {
                self.give_up(out);
                self.byte(byte, at, out);
            }
            Part::Character if !(0x80..0xc0).contains(&byte) => {
                self.give_up(out);
                self.byte(byte, at, out);
            }
            Part::Ss3(number, digits) => self.ss3(number, digits, byte, out),
            Part::Linux => {
                let began = self.began;
                self.part = Part::None;
                self.sequence(sequences::linux(byte), began, out);
            }
            _ => self.parse(byte, at, out),
        }
    }

    fn drop_part(&mut self) {
        self.part = Part::None;
        self.parser = vte::Parser::new();
    }

    fn ss3(&mut self, mut number: [u8; 2], digits: usize, byte: u8, out: &mut Vec<Framed>) {
        if matches!(byte, b'0'..=b'9' | b';') && digits < number.len() {
            number[digits] = byte;
            self.part = Part::Ss3(number, digits + 1);
            return;
        }
        let began = self.began;
        self.part = Part::None;
        self.sequence(sequences::ss3(&number[..digits], byte), began, out);
    }

    /// Gives a byte to `vte`, which tells where something is whole.
    fn parse(&mut self, byte: u8, at: Up, out: &mut Vec<Framed>) {
        let mut told = Dispatched::default();
        self.parser.advance(&mut told, &[byte]);
        let began = if self.part == Part::None { at } else { self.began };
        let Some(tell) = told.0 else {
            match (self.part, byte) {
                (Part::None, ESC) => self.begin(Part::Escape { may_be_key: true }, at),
                (Part::None, _) => self.begin(Part::Character, at),
                (Part::Escape { .. }, b']' | b'P' | b'X' | b'^' | b'_') => self.part = Part::Text,
                (Part::Escape { .. }, _) => self.part = Part::Sequence,
                _ if self.length > LONGEST => {
                    self.give_up(out);
                    self.pour(false, at);
                }
                _ => {}
            }
            return;
        };
        let part = std::mem::take(&mut self.part);
        match tell {
            // A sequence that `vte` passed over has ended unsaid: this letter is one of its own.
            Tell::Letter(letter) if part == Part::Sequence => {
                self.key(Key::letter(letter), at, out)
            }
            Tell::Letter(char::REPLACEMENT_CHARACTER) => self.noise(Noise::Unknown, began, out),
            Tell::Letter(letter) => self.key(Key::letter(letter), began, out),
            Tell::Alt(letter) => {
                let key = Key { alt: true, ..Key::letter(char::from(letter)) };
                self.key(key, began, out);
            }
            Tell::Sequence(sequence) => self.sequence(sequence, began, out),
            Tell::Ss3 => self.part = Part::Ss3([0; 2], 0),
            Tell::Linux => self.part = Part::Linux,
            Tell::Mouse => self.part = Part::Mouse(3),
            Tell::TextEnds => {}
        }
    }

    fn control(&mut self, byte: u8, at: Up, out: &mut Vec<Framed>) {
        // A scanner or a scale that ends its line with both.
        let again = byte == b'\n' && self.returned.is_some_and(|when| at.since(when) < SAME_ENTER);
        self.returned = (byte == b'\r').then_some(at);
        match sequences::control(byte) {
            _ if again => {}
            Some(key) => self.key(key, at, out),
            None => self.noise(Noise::Unknown, at, out),
        }
    }

    fn sequence(&mut self, sequence: Sequence, began: Up, out: &mut Vec<Framed>) {
        match sequence {
            Sequence::Key(key) => self.key(key, began, out),
            Sequence::Reply => {}
            Sequence::Unknown => self.noise(Noise::Unknown, began, out),
            Sequence::PasteBegins => self.pour(true, began),
            Sequence::PasteEnds => {
                if self.pouring.take_if(|pouring| pouring.is_paste).is_some() {
                    out.push(Framed::Noise(Noise::Paste, began));
                }
            }
        }
    }

    fn key(&mut self, key: Key, at: Up, out: &mut Vec<Framed>) {
        if key.code != KeyCode::Enter {
            self.returned = None;
        }
        match &mut self.pouring {
            Some(pouring) => pouring.keys += 1,
            None => out.push(Framed::Key(key, at)),
        }
    }

    fn noise(&mut self, noise: Noise, at: Up, out: &mut Vec<Framed>) {
        match &mut self.pouring {
            Some(pouring) => pouring.keys += 1,
            None => out.push(Framed::Noise(noise, at)),
        }
    }
}

impl Pouring {
    fn ends(&self) -> Up {
        let silent = self.last.plus(SILENCE);
        if self.is_paste { silent.max(self.since.plus(TEXT)) } else { silent }
    }

    fn what(&self) -> Noise {
        if self.is_paste { Noise::EndlessPaste } else { Noise::Heap(self.keys) }
    }
}

#[cfg(test)]
mod tests;
