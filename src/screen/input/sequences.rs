//! What terminals send for keys: one table of control characters, CSI and SS3 sequences.
//!
//! Sources: ECMA-48 for the form of a sequence; the manual page `console_codes(4)` and the default key maps for the
//! Linux console (`ESC [ [ A` to `E`, `ESC [ G` for keypad 5); "XTerm Control Sequences", the tables of PC-style and
//! VT220-style function keys and of the application keypad; Ctrl as `^` behind a number is from memory (rxvt).
//! Whatever is not here is no key: replies of terminals, focus, mouse.

use super::key::{Key, KeyCode};

/// What a whole sequence is.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Sequence {
    Key(Key),
    PasteBegins,
    PasteEnds,
    /// A terminal says something of itself, its window or its mouse.
    Reply,
    /// Perhaps a key, but of no keyboard that is known here.
    Unknown,
}

impl Sequence {
    fn plain(code: KeyCode) -> Self {
        Sequence::Key(Key::plain(code))
    }
}

/// A control character as a key; None where no key sends it.
pub fn control(byte: u8) -> Option<Key> {
    Some(match byte {
        0x00 => Key::ctrl(KeyCode::Char(' ')),
        0x08 | 0x7f => Key::plain(KeyCode::Backspace),
        b'\t' => Key::plain(KeyCode::Tab),
        b'\r' | b'\n' => Key::plain(KeyCode::Enter),
        0x1b => Key::plain(KeyCode::Esc),
        0x01..=0x1a => Key::ctrl(KeyCode::Char(char::from(byte + b'a' - 1))),
        _ => return None,
    })
}

/// A CSI sequence: `ESC [`, its parameters, what stands between them and its last letter.
pub fn csi(parameters: &[u16], between: &[u8], last: char) -> Sequence {
    let number = parameters.first().copied().unwrap_or(0);
    match (between, last) {
        ([], '~' | '^' | '@') => numbered(number, last, parameters),
        ([], 'A'..='H' | 'Z' | 'P' | 'Q' | 'S') if number <= 1 && parameters.len() <= 2 => {
            match cursor(last).filter(|_| number == 1 || !matches!(last, 'P' | 'Q' | 'S')) {
                Some(code) => with_modifiers(code, parameters),
                None => Sequence::Unknown,
            }
        }
        // Cursor, status, attributes, modes, keys told in full, window, focus, mouse.
        ([], 'R' | 'c' | 'n' | 'u' | 'y' | 't' | 'I' | 'O' | 'M' | 'm' | 'x') => Sequence::Reply,
        ([], _) => Sequence::Unknown,
        _ => Sequence::Reply,
    }
}

/// A key that is told by a number: `ESC [ 5 ~`.
fn numbered(number: u16, last: char, parameters: &[u16]) -> Sequence {
    let code = match number {
        200 => return Sequence::PasteBegins,
        201 => return Sequence::PasteEnds,
        1 | 7 => KeyCode::Home,
        2 => KeyCode::Insert,
        3 => KeyCode::Delete,
        4 | 8 => KeyCode::End,
        5 => KeyCode::PageUp,
        6 => KeyCode::PageDown,
        _ => match function_key(number) {
            Some(n) => KeyCode::F(n),
            None => return Sequence::Unknown,
        },
    };
    match last {
        '~' => with_modifiers(code, parameters),
        _ => Sequence::Key(Key::ctrl(code)),
    }
}

/// The numbers of the function keys leave gaps, as on the VT220.
fn function_key(number: u16) -> Option<u8> {
    const NUMBERS: [u16; 20] =
        [11, 12, 13, 14, 15, 17, 18, 19, 20, 21, 23, 24, 25, 26, 28, 29, 31, 32, 33, 34];
    (1u8..).zip(NUMBERS).find(|(_, known)| *known == number).map(|(n, _)| n)
}

fn cursor(last: char) -> Option<KeyCode> {
    Some(match last {
        'A' => KeyCode::Up,
        'B' => KeyCode::Down,
        'C' => KeyCode::Right,
        'D' => KeyCode::Left,
        // Keypad 5 without NumLock: E in the ways of xterm, G on the Linux console.
        'E' | 'G' => KeyCode::Char('5'),
        'F' => KeyCode::End,
        'H' => KeyCode::Home,
        'P' => KeyCode::F(1),
        'Q' => KeyCode::F(2),
        'R' => KeyCode::F(3),
        'S' => KeyCode::F(4),
        'Z' => KeyCode::BackTab,
        _ => return None,
    })
}

/// The second parameter tells what was held down: 1, and 1 for Shift, 2 for Alt, 4 for Ctrl, 8 for Meta.
fn with_modifiers(code: KeyCode, parameters: &[u16]) -> Sequence {
    let held = parameters.get(1).map_or(0, |said| said.saturating_sub(1));
    if parameters.len() > 2 || held > 15 {
        return Sequence::Unknown;
    }
    Sequence::Key(Key { code, ctrl: held & 4 != 0, alt: held & (2 | 8) != 0 })
}

/// An SS3 sequence: `ESC O`, perhaps a number for what was held down, and a letter.
pub fn ss3(parameters: &[u8], last: u8) -> Sequence {
    let letter = char::from(last);
    let code = match letter {
        'A'..='F' | 'H' | 'P'..='S' => match cursor(letter) {
            Some(code) => code,
            None => return Sequence::Unknown,
        },
        'a'..='d' => {
            return match cursor(letter.to_ascii_uppercase()) {
                Some(code) => Sequence::Key(Key::ctrl(code)),
                None => Sequence::Unknown,
            };
        }
        'I' => KeyCode::Tab,
        'M' => KeyCode::Enter,
        ' ' => KeyCode::Char(' '),
        'X' => KeyCode::Char('='),
        // The application keypad: each operator and figure is 0x40 above its character.
        'j'..='y' => KeyCode::Char(char::from(last - 0x40)),
        _ => return Sequence::Unknown,
    };
    let held = parameters.iter().rev().find(|byte| byte.is_ascii_digit());
    let held = held.map_or(0, |digit| u16::from(digit - b'0'));
    with_modifiers(code, &[1, held.max(1)])
}

/// A function key of the Linux console, `ESC [ [` and a letter.
pub fn linux(last: u8) -> Sequence {
    match last {
        b'A'..=b'E' => Sequence::plain(KeyCode::F(last - b'A' + 1)),
        _ => Sequence::Unknown,
    }
}
