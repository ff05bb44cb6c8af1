//! One key as a terminal can tell it, and its name as a profile writes it: "1", "Enter", "F6", "ctrl-r".

use std::fmt;

/// Which key. Shift is part of a character already.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub enum KeyCode {
    Char(char),
    /// A function key, counted from 1.
    F(u8),
    Enter,
    Esc,
    Tab,
    BackTab,
    Backspace,
    Insert,
    Delete,
    Home,
    End,
    PageUp,
    PageDown,
    Up,
    Down,
    Left,
    Right,
}

/// A key with what was held down beside it.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub struct Key {
    pub code: KeyCode,
    pub ctrl: bool,
    /// Held Alt, or an Escape so shortly before that no terminal tells the two apart: such a key does nothing.
    pub alt: bool,
}

const NAMES: [(&str, KeyCode); 16] = [
    ("Enter", KeyCode::Enter),
    ("Esc", KeyCode::Esc),
    ("Tab", KeyCode::Tab),
    ("BackTab", KeyCode::BackTab),
    ("Space", KeyCode::Char(' ')),
    ("Backspace", KeyCode::Backspace),
    ("Insert", KeyCode::Insert),
    ("Delete", KeyCode::Delete),
    ("Home", KeyCode::Home),
    ("End", KeyCode::End),
    ("PageUp", KeyCode::PageUp),
    ("PageDown", KeyCode::PageDown),
    ("Up", KeyCode::Up),
    ("Down", KeyCode::Down),
    ("Left", KeyCode::Left),
    ("Right", KeyCode::Right),
];

impl Key {
    /// The key alone.
    pub const fn plain(code: KeyCode) -> Key {
        Key { code, ctrl: false, alt: false }
    }

    /// The key of a character alone.
    pub const fn letter(letter: char) -> Key {
        Key::plain(KeyCode::Char(letter))
    }

    /// The key with Ctrl.
    pub const fn ctrl(code: KeyCode) -> Key {
        Key { code, ctrl: true, alt: false }
    }

    /// With NumLock off the keypad sends cursor keys: where only figures count they are its figures and its point.
    pub fn with_figures(self) -> Key {
        let figure = match self.code {
            KeyCode::Insert => '0',
            KeyCode::End => '1',
            KeyCode::Down => '2',
            KeyCode::PageDown => '3',
            KeyCode::Left => '4',
            KeyCode::Right => '6',
            KeyCode::Home => '7',
            KeyCode::Up => '8',
            KeyCode::PageUp => '9',
            KeyCode::Delete => '.',
            _ => return self,
        };
        Key { code: KeyCode::Char(figure), ..self }
    }

    /// Reads a name as a profile writes it; None where no key is called that.
    pub fn read(name: &str) -> Option<Key> {
        let (ctrl, name) = match name.strip_prefix("ctrl-") {
            Some(rest) => (true, rest),
            None => (false, name),
        };
        let named = NAMES.iter().find(|(known, _)| *known == name).map(|(_, code)| *code);
        let mut letters = name.chars();
        let code = match (named, letters.next(), letters.next()) {
            (Some(code), ..) => code,
            (None, Some('F'), Some(_)) => {
                KeyCode::F(name[1..].parse().ok().filter(|n| (1..=12).contains(n))?)
            }
            (None, Some(letter), None) => KeyCode::Char(letter),
            _ => return None,
        };
        Some(Key { code, ctrl, alt: false })
    }

    /// Why nothing can be bound to it; None where something can.
    pub fn why_unbindable(self) -> Option<&'static str> {
        match (self.ctrl, self.code) {
            (_, KeyCode::Esc) => Some("Escape leaves whatever is open, everywhere"),
            (false, KeyCode::Char('[' | 'O')) => {
                Some("it is a part of what terminals send for other keys")
            }
            (false, KeyCode::Char(letter)) if letter.is_control() => Some("it is no character"),
            (true, KeyCode::Char('h')) => Some("terminals send the same for Backspace"),
            (true, KeyCode::Char('i')) => Some("terminals send the same for Tab"),
            (true, KeyCode::Char('j' | 'm')) => Some("terminals send the same for Enter"),
            (true, KeyCode::Char(letter)) if !letter.is_ascii_lowercase() && letter != ' ' => {
                Some("with ctrl, terminals tell only the letters from a to z")
            }
            _ => None,
        }
    }
}

impl fmt::Display for Key {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        if self.ctrl {
            f.write_str("ctrl-")?;
        }
        if self.alt {
            f.write_str("alt-")?;
        }
        if let Some((name, _)) = NAMES.iter().find(|(_, code)| *code == self.code) {
            return f.write_str(name);
        }
        match self.code {
            KeyCode::Char(letter) => write!(f, "{letter}"),
            KeyCode::F(n) => write!(f, "F{n}"),
            _ => f.write_str("a key"),
        }
    }
}
