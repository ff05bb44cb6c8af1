//! From bytes as they come over a serial line to whole lines of text: the half of one that was under way when the line
//! was opened, or that broke off, is none.

use std::time::Duration;

use crate::shop::facts::moment::Up;

/// The longest line that is one: an instrument's are far shorter.
const LONGEST: usize = 120;
/// A line whose characters come further apart has broken off in between.
const GAP: Duration = Duration::from_millis(500);
/// What comes so soon after the opening may be the end of a line that began before.
const UNDER_WAY: Duration = Duration::from_millis(100);

/// What came over the line.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum Came {
    Line(String),
    /// So much without an end of a line that it is none.
    Noise,
}

/// The line under way.
#[derive(Debug)]
pub struct Lines {
    opened: Up,
    text: Vec<u8>,
    /// When its last character came; None where it has none yet.
    last: Option<Up>,
    /// It has lost characters: it is passed over until its end.
    broken: bool,
    begun: bool,
}

impl Lines {
    /// Begins with a line that was opened at a moment of the boot clock.
    pub fn new(opened: Up) -> Self {
        Self { opened, text: Vec::new(), last: None, broken: false, begun: false }
    }

    /// Takes what was read.
    pub fn take(&mut self, bytes: &[u8], at: Up) -> Vec<Came> {
        if bytes.is_empty() {
            return Vec::new();
        }
        if !std::mem::replace(&mut self.begun, true) {
            self.broken = at.since(self.opened) < UNDER_WAY;
        }
        if self.last.is_some_and(|last| at.since(last) >= GAP) {
            self.broken = true;
        }
        bytes.iter().filter_map(|byte| self.byte(*byte, at)).collect()
    }

    fn byte(&mut self, byte: u8, at: Up) -> Option<Came> {
        match byte {
            // Carriage return, line feed, end of text.
            b'\r' | b'\n' | 3 => return self.end(),
            // Blank tape and start of text.
            0 | 2 => {}
            _ if self.text.len() == LONGEST => {
                self.text.clear();
                self.broken = true;
                self.last = Some(at);
                return Some(Came::Noise);
            }
            _ => {
                self.text.push(byte);
                self.last = Some(at);
            }
        }
        None
    }

    fn end(&mut self) -> Option<Came> {
        let text = std::mem::take(&mut self.text);
        self.last = None;
        if std::mem::take(&mut self.broken) {
            return None;
        }
        let text = String::from_utf8_lossy(&text);
        let text = text.trim();
        (!text.is_empty()).then(|| Came::Line(text.to_owned()))
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn at(millis: i64) -> Up {
        Up(millis * 1000)
    }

    fn text(came: Vec<Came>) -> Vec<String> {
        came.into_iter()
            .map(|one| match one {
                Came::Line(text) => text,
                Came::Noise => "NOISE".to_owned(),
            })
            .collect()
    }

    #[test]
    fn half_lines_are_none() {
        // Opened in the middle of a line.
        let mut lines = Lines::new(at(0));
        assert!(text(lines.take(b"2.4 g\r\n", at(20))).is_empty());
        assert_eq!(
            text(lines.take(b"152.4 g\r\n\x02 152.5 g\x03", at(150))),
            ["152.4 g", "152.5 g"]
        );
        // One that comes in pieces, and one that breaks off in between.
        assert!(text(lines.take(b"15", at(300))).is_empty());
        assert_eq!(text(lines.take(b"2.6 g\n", at(320))), ["152.6 g"]);
        assert!(text(lines.take(b"15", at(400))).is_empty());
        assert!(text(lines.take(b"2.7 g\n", at(1000))).is_empty());
        assert_eq!(text(lines.take(b"152.8 g\n", at(1100))), ["152.8 g"]);
        // Opened between two lines; that nothing came at first is no half of one.
        let mut later = Lines::new(at(0));
        assert!(later.take(&[], at(50)).is_empty());
        assert_eq!(text(later.take(b"9 g\n", at(250))), ["9 g"]);
    }

    #[test]
    fn what_never_ends_is_noise() {
        let mut lines = Lines::new(at(0));
        assert_eq!(text(lines.take(&[b'x'; 300], at(1000))), ["NOISE", "NOISE"]);
        assert_eq!(text(lines.take(b"\n152.4 g\n", at(1001))), ["152.4 g"]);
    }
}
