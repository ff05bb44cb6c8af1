//! From keys as they come to keys that count: scans are told from keys, held keys act once.
//!
//! Plain terminals report a held key as many presses and a scanner as a very fast typist. Keys less than 60 ms
//! apart are a burst: one that ends in Enter is a scan, repeats of one key are a hold, two different keys are
//! two keys, anything else was something dropped on the keyboard. Pure: times come in as numbers.

use std::collections::HashMap;

use crossterm::event::{KeyCode, KeyEvent, KeyModifiers};

use crate::screen::ui::{Pane, Ui};
use crate::screen::words::is_weight;

/// Keys closer than this are a burst.
const BURST_US: i64 = 60_000;
/// After a key has acted it is deaf for this long.
const DEAF_US: i64 = 700_000;
/// Repeats closer than this keep a key deaf.
const REPEAT_US: i64 = 150_000;
/// The same scan within this time counts once.
const SAME_SCAN_US: i64 = 2_000_000;
/// A scan has at least so many characters before its Enter.
const SCAN_LEAST: usize = 4;
/// The most characters of a scan that are kept.
const SCAN_MOST: usize = 64;

/// What came through.
#[derive(Debug, Clone, PartialEq)]
pub enum Heard {
    /// A key, and when it arrived.
    Key(KeyEvent, i64),
    Scan(String, i64),
    /// Something that does not count, and why.
    Ignored(String),
}

/// What the keys are for at the moment.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Mode {
    /// Each key may be an act.
    Acts,
    /// Cursor keys scroll, and may be held.
    Scrolls,
    /// A text field: every key is a letter of it.
    Types,
}

impl Mode {
    /// What they are for on a screen as it stands.
    pub fn of(ui: &Ui) -> Self {
        match (&ui.form, ui.pane) {
            (Some(form), _) if form.takes_text() => Mode::Types,
            (Some(form), _) if form.scrolls() => Mode::Scrolls,
            (Some(_), _) | (None, Pane::Bench) => Mode::Acts,
            (None, _) => Mode::Scrolls,
        }
    }
}

/// The gate that keys pass.
#[derive(Debug, Default)]
pub struct Gate {
    /// Keys that may yet turn out to be a scan, with their arrivals.
    held: Vec<(KeyEvent, i64)>,
    /// When the last key of the burst arrived, kept or not.
    last: i64,
    acted: HashMap<(KeyCode, KeyModifiers), Acted>,
    last_scan: Option<(String, i64)>,
    /// The character that a scanner sends before a tag, where it does: then nothing is held back.
    prefix: Option<char>,
}

#[derive(Debug, Clone, Copy)]
struct Acted {
    at: i64,
    seen: i64,
}

impl Gate {
    /// Takes another prefix; what is held back and what is deaf stays so.
    pub fn set_prefix(&mut self, prefix: Option<char>) {
        self.prefix = prefix;
    }

    /// A gate for a scanner that sends `prefix` before each tag, or none.
    pub fn new(prefix: Option<char>) -> Self {
        Self { prefix, ..Self::default() }
    }

    /// When what is held back has to be let through.
    pub fn deadline(&self) -> Option<i64> {
        let last = self.held.last()?.1.max(self.last);
        // Repeats of one key are no beginning of a scan: the first of them need not wait for the last.
        let from = if self.all_alike() { self.held.first()?.1 } else { last };
        Some(from + BURST_US)
    }

    /// Takes one key.
    pub fn key(&mut self, key: KeyEvent, at: i64, mode: Mode) -> Vec<Heard> {
        let mut heard = self.lapse(at);
        if mode == Mode::Types {
            heard.extend(self.release());
            // Held down beyond the end of the form, it stays deaf.
            self.acted.insert((key.code, key.modifiers), Acted { at, seen: at });
            heard.push(Heard::Key(key, at));
            return heard;
        }
        self.last = at;
        let plain = !key.modifiers.contains(KeyModifiers::CONTROL);
        let may_be_held = plain && matches!(key.code, KeyCode::Char(_) | KeyCode::Enter);
        match key.code {
            KeyCode::Enter if self.is_scan() => heard.extend(self.scanned(at)),
            KeyCode::Char(letter) if Some(letter) == self.prefix => {
                heard.extend(self.release());
                self.held.push((key, at));
            }
            _ if may_be_held && (self.prefix.is_none() || self.in_prefixed_scan()) => {
                if self.held.len() < SCAN_MOST {
                    self.held.push((key, at));
                }
            }
            _ => {
                heard.extend(self.release());
                heard.extend(self.act(key, at, mode));
            }
        }
        heard
    }

    /// Lets time pass: what was held back and is no scan comes through.
    pub fn lapse(&mut self, at: i64) -> Vec<Heard> {
        match self.deadline() {
            Some(deadline) if deadline <= at => self.release(),
            _ => Vec::new(),
        }
    }

    fn all_alike(&self) -> bool {
        self.held.iter().all(|(key, _)| key.code == self.held[0].0.code)
    }

    fn in_prefixed_scan(&self) -> bool {
        let prefix = self.prefix.map(KeyCode::Char);
        self.held.first().is_some_and(|(first, _)| Some(first.code) == prefix)
    }

    /// The letters of a tag that are held back, without the scanner's prefix; or a weight, from a scale that
    /// types.
    fn letters(&self) -> Option<String> {
        let letter = |code| match code {
            KeyCode::Char(letter) if letter.is_ascii() => Some(letter),
            _ => None,
        };
        let skip = usize::from(self.prefix.is_some());
        let text: Option<String> =
            self.held.iter().skip(skip).map(|(key, _)| letter(key.code)).collect();
        let of_tag = |text: &String| text.chars().all(|c| c.is_ascii_alphanumeric() || c == '-');
        text.filter(|text| of_tag(text) || is_weight(text))
    }

    /// Whether an Enter now would end a scan.
    fn is_scan(&self) -> bool {
        let long = |text: String| text.len() >= SCAN_LEAST;
        !self.held.is_empty() && !self.all_alike() && self.letters().is_some_and(long)
    }

    /// A burst that ended in Enter.
    fn scanned(&mut self, at: i64) -> Vec<Heard> {
        let text = self.letters().unwrap_or_default();
        let held = std::mem::take(&mut self.held);
        let first = held.first().map_or(at, |(_, at)| *at);
        let same = |(last, when): &(String, i64)| *last == text && at - when < SAME_SCAN_US;
        if self.last_scan.as_ref().is_some_and(same) {
            return vec![Heard::Ignored(format!("{text} scanned twice: counts once"))];
        }
        self.last_scan = Some((text.clone(), at));
        vec![Heard::Scan(text, first)]
    }

    /// Lets go of a burst that was no scan.
    fn release(&mut self) -> Vec<Heard> {
        let held = std::mem::take(&mut self.held);
        let Some((first, at)) = held.first().copied() else { return Vec::new() };
        if held.iter().all(|(key, _)| key.code == first.code) {
            // A hold: the first acts, the repeats only keep it deaf.
            let mut heard = self.act(first, at, Mode::Acts);
            for (key, at) in held.into_iter().skip(1) {
                heard.extend(self.act(key, at, Mode::Acts));
            }
            return heard;
        }
        if held.len() == 2 {
            return held.into_iter().flat_map(|(key, at)| self.act(key, at, Mode::Acts)).collect();
        }
        vec![Heard::Ignored(format!("{} keys at once: ignored", held.len()))]
    }

    /// A key on its own: it acts unless it is still deaf from having acted.
    fn act(&mut self, key: KeyEvent, at: i64, mode: Mode) -> Vec<Heard> {
        let cursor = matches!(
            key.code,
            KeyCode::Up
                | KeyCode::Down
                | KeyCode::PageUp
                | KeyCode::PageDown
                | KeyCode::Home
                | KeyCode::End
        );
        if mode == Mode::Scrolls && cursor {
            return vec![Heard::Key(key, at)];
        }
        let name = (key.code, key.modifiers);
        if let Some(acted) = self.acted.get_mut(&name) {
            let deaf = at - acted.at < DEAF_US || at - acted.seen < REPEAT_US;
            let told = acted.seen > acted.at;
            acted.seen = at;
            if deaf {
                let name = crate::screen::keymap::Chord::of(&key);
                return match told {
                    true => Vec::new(),
                    false => vec![Heard::Ignored(format!("{name} again at once: counts once"))],
                };
            }
        }
        self.acted.insert(name, Acted { at, seen: at });
        vec![Heard::Key(key, at)]
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    const MS: i64 = 1000;

    fn key(letter: char) -> KeyEvent {
        let code = if letter == '\n' { KeyCode::Enter } else { KeyCode::Char(letter) };
        KeyEvent::new(code, KeyModifiers::NONE)
    }

    /// Types letters at the given milliseconds, then lets time pass.
    fn typed(gate: &mut Gate, keys: &[(char, i64)]) -> Vec<String> {
        let mut heard = Vec::new();
        let mut last = 0;
        for (letter, ms) in keys {
            // The loop wakes at every deadline before the next key.
            while let Some(deadline) = gate.deadline().filter(|d| *d <= ms * MS) {
                heard.extend(gate.lapse(deadline));
            }
            heard.extend(gate.key(key(*letter), ms * MS, Mode::Acts));
            last = *ms;
        }
        heard.extend(gate.lapse((last + 10_000) * MS));
        heard.into_iter().map(told).collect()
    }

    fn told(heard: Heard) -> String {
        match heard {
            Heard::Key(key, at) => {
                format!("{} {}", crate::screen::keymap::Chord::of(&key), at / MS)
            }
            Heard::Scan(text, _) => format!("scan {text}"),
            Heard::Ignored(_) => "ignored".into(),
        }
    }

    #[test]
    fn one_key_is_one_key_at_the_moment_it_arrived() {
        assert_eq!(typed(&mut Gate::default(), &[('1', 5)]), ["1 5"]);
        assert_eq!(typed(&mut Gate::default(), &[('1', 5), ('2', 65)]), ["1 5", "2 65"]);
        assert_eq!(typed(&mut Gate::default(), &[('\n', 5)]), ["Enter 5"]);
    }

    #[test]
    fn two_different_keys_close_together_are_two_keys() {
        assert_eq!(typed(&mut Gate::default(), &[('1', 5), ('2', 25)]), ["1 5", "2 25"]);
    }

    #[test]
    fn a_fast_burst_with_enter_is_a_scan_and_counts_once_in_two_seconds() {
        let scan = |from: i64| {
            "A17-03\n".chars().zip(0..).map(move |(c, n)| (c, from + n * 8)).collect::<Vec<_>>()
        };
        let mut keys = scan(0);
        keys.extend(scan(1500));
        keys.extend(scan(4000));
        assert_eq!(typed(&mut Gate::default(), &keys), ["scan A17-03", "ignored", "scan A17-03"]);
    }

    #[test]
    fn a_weight_from_a_scale_is_a_scan() {
        for text in ["152.4\n", "  152.4 g\n", "+ 152.40g\n", "5.38 oz\n"] {
            let keys: Vec<(char, i64)> = text.chars().zip(0..).map(|(c, n)| (c, n * 5)).collect();
            let heard = typed(&mut Gate::default(), &keys);
            assert_eq!(heard, [format!("scan {}", text.trim_end_matches('\n'))], "{text:?}");
        }
        for text in ["1.2.3\n", "152.4 km\n", "-152.4\n"] {
            let keys: Vec<(char, i64)> = text.chars().zip(0..).map(|(c, n)| (c, n * 5)).collect();
            assert_eq!(typed(&mut Gate::default(), &keys), ["ignored"], "{text:?}");
        }
    }

    #[test]
    fn a_burst_without_enter_is_dropped_whole() {
        let keys: Vec<(char, i64)> = "125a9".chars().zip(0..).map(|(c, n)| (c, n * 10)).collect();
        assert_eq!(typed(&mut Gate::default(), &keys), ["ignored"]);
    }

    #[test]
    fn garbage_with_other_keys_than_a_tags_is_dropped_whole() {
        for text in ["12/;.5a", "/12", "\n12", "1.\n"] {
            let keys: Vec<(char, i64)> = text.chars().zip(0..).map(|(c, n)| (c, n * 10)).collect();
            assert_eq!(typed(&mut Gate::default(), &keys), ["ignored"], "{text:?}");
        }
    }

    #[test]
    fn a_held_key_acts_once() {
        let mut keys = vec![('1', 0)];
        keys.extend((0..60).map(|n| ('1', 500 + n * 33)));
        let heard = typed(&mut Gate::default(), &keys);
        assert_eq!(heard.iter().filter(|h| h.starts_with('1')).count(), 1, "{heard:?}");
        assert_eq!(heard.iter().filter(|h| *h == "ignored").count(), 1, "said once: {heard:?}");
    }

    #[test]
    fn the_deafness_is_per_key() {
        let heard = typed(&mut Gate::default(), &[('1', 0), ('2', 200), ('1', 400), ('1', 1200)]);
        assert_eq!(heard, ["1 0", "2 200", "ignored", "1 1200"]);
    }

    #[test]
    fn with_a_prefix_nothing_is_held_back() {
        let mut gate = Gate::new(Some('~'));
        assert_eq!(gate.key(key('1'), 0, Mode::Acts), [Heard::Key(key('1'), 0)]);
        let keys: Vec<(char, i64)> = "~A17-03\n".chars().zip(1000..).collect();
        assert_eq!(typed(&mut gate, &keys), ["scan A17-03"]);
    }

    #[test]
    fn a_text_field_gets_every_key() {
        let mut gate = Gate::default();
        let heard: Vec<Heard> =
            (0..9).flat_map(|n| gate.key(key('1'), n * MS, Mode::Types)).collect();
        assert_eq!(heard.len(), 9);
    }
}
