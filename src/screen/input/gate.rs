//! From keys as they come to keys that count: scans are told from keys, held keys act once.
//!
//! Plain terminals report a held key as many presses and a scanner as a very fast typist. Keys less than 60 ms
//! apart are a burst: one that ends in Enter is a scan, repeats of one key are a hold, two different keys are
//! two keys, anything else was something dropped on the keyboard. Pure: moments of the boot clock come in.

use std::collections::HashMap;
use std::time::Duration;

use super::key::{Key, KeyCode};
use crate::screen::star::STAR;
use crate::screen::ui::{Pane, Ui};
use crate::screen::words::is_weight;
use crate::shop::facts::moment::Up;

/// Keys closer than this are a burst.
const BURST: Duration = Duration::from_millis(60);
/// After a key has acted it is deaf for this long.
const DEAF: Duration = Duration::from_millis(700);
/// Repeats closer than this keep a key deaf.
const REPEAT: Duration = Duration::from_millis(150);
/// The same scan within this time counts once.
const SAME_SCAN: Duration = Duration::from_secs(2);
/// A scan has at least so many characters before its Enter.
const SCAN_LEAST: usize = 4;
/// So long after a `*` the next key belongs to it.
const STAR_SPAN: Duration = Duration::from_secs(3);
/// The most keys of a burst that are kept.
const SCAN_MOST: usize = 64;

/// What came through.
#[derive(Debug, Clone, PartialEq)]
pub enum Heard {
    /// A key, and when it arrived.
    Key(Key, Up),
    Scan(String, Up),
    /// Something that does not count, and why.
    Ignored(String),
}

/// What the keys are for at the moment.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub enum Mode {
    /// Each key may be an act.
    #[default]
    Acts,
    /// Cursor keys scroll, and may be held.
    Scrolls,
    /// The same on a page that stands where the presses' keys would act.
    Pages,
    /// A list whose digits are its own: each key may be an act.
    Lists,
    /// A field of a form.
    Field(Takes),
}

/// What a field takes.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Takes {
    /// Figures, or one choice of a list.
    Figures,
    /// Letters.
    Text,
    /// A tag, a lot or a weight: letters, a scan, or what a scale sends.
    Scan,
}

impl Mode {
    /// What they are for on a screen as it stands.
    pub fn of(ui: &Ui) -> Self {
        match (&ui.form, ui.pane) {
            (Some(form), _) => form.mode(),
            (None, Pane::Bench) => Mode::Acts,
            (None, _) => Mode::Scrolls,
        }
    }
}

/// The gate that keys pass.
#[derive(Debug, Default)]
pub struct Gate {
    /// Keys that may yet turn out to be a scan, with their arrivals.
    held: Vec<(Key, Up)>,
    /// How many more the burst has than are kept.
    beyond: usize,
    /// When the last key of the burst arrived, kept or not.
    last: Up,
    /// What the keys that are held back were struck for.
    mode: Mode,
    acted: HashMap<Key, Acted>,
    /// The last key that acted outside a field: held on, it types nothing in the field that it has opened.
    opener: Option<Key>,
    /// The last key that came through at all.
    newest: Option<Key>,
    /// When a `*` came through: the key after it acts, also where others are typed.
    starred: Option<Up>,
    last_scan: Option<(String, Up)>,
    /// The character that a scanner sends before a tag, where it does: then nothing is held back outside fields.
    prefix: Option<char>,
}

#[derive(Debug, Clone, Copy)]
struct Acted {
    at: Up,
    seen: Up,
    /// It was typed into a field, and did nothing else.
    typed: bool,
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
    pub fn deadline(&self) -> Option<Up> {
        let last = self.held.last()?.1.max(self.last);
        // Repeats of one key are no beginning of a scan: the first of them need not wait for the last.
        let from = if self.all_alike() { self.held.first()?.1 } else { last };
        Some(from.plus(BURST))
    }

    /// Takes one key, struck for what `mode` says. What time has let through by then is to be asked for before, by
    /// `lapse`: it may change what this key is for.
    pub fn key(&mut self, key: Key, at: Up, mode: Mode) -> Vec<Heard> {
        let mut heard = self.lapse(at);
        if self.mode != mode {
            heard.extend(self.release());
            self.mode = mode;
        }
        if key.alt {
            heard.extend(self.release());
            heard.push(Heard::Ignored(format!("{key} is not a key here: ignored")));
            return heard;
        }
        self.last = at;
        let may_be_held = !key.ctrl && matches!(key.code, KeyCode::Char(_) | KeyCode::Enter);
        let holds_all = self.prefix.is_none() || matches!(mode, Mode::Field(_));
        match key.code {
            KeyCode::Enter if self.is_scan() => heard.extend(self.scanned(at)),
            KeyCode::Char(letter) if Some(letter) == self.prefix && !holds_all => {
                heard.extend(self.release());
                self.held.push((key, at));
            }
            _ if may_be_held && (holds_all || self.in_prefixed_scan()) => {
                if self.held.len() < SCAN_MOST {
                    self.held.push((key, at));
                } else {
                    self.beyond += 1;
                }
            }
            _ => {
                heard.extend(self.release());
                heard.extend(self.pass(key, at));
            }
        }
        heard
    }

    /// Lets time pass: what was held back and is no scan comes through.
    pub fn lapse(&mut self, at: Up) -> Vec<Heard> {
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

    /// The letters that are held back, without the scanner's prefix, where they may be a scan: on the Bench those of
    /// a tag, or a weight from a scale that types; in a field any that a label may have.
    fn letters(&self) -> Option<String> {
        let letter = |code| match code {
            KeyCode::Char(letter) if letter.is_ascii() => Some(letter),
            _ => None,
        };
        let in_field = matches!(self.mode, Mode::Field(_));
        let skip =
            usize::from(if in_field { self.in_prefixed_scan() } else { self.prefix.is_some() });
        let text: Option<String> =
            self.held.iter().skip(skip).map(|(key, _)| letter(key.code)).collect();
        let of_tag = |text: &String| text.chars().all(|c| c.is_ascii_alphanumeric() || c == '-');
        text.filter(|text| in_field || of_tag(text) || is_weight(text))
    }

    /// Whether an Enter now would end a scan.
    fn is_scan(&self) -> bool {
        let long = |text: String| text.len() >= SCAN_LEAST;
        self.beyond == 0
            && !self.held.is_empty()
            && !self.all_alike()
            && self.letters().is_some_and(long)
    }

    /// A burst that ended in Enter.
    fn scanned(&mut self, at: Up) -> Vec<Heard> {
        let text = self.letters().unwrap_or_default();
        let held = std::mem::take(&mut self.held);
        let first = held.first().map_or(at, |(_, at)| *at);
        let same = |(last, when): &(String, Up)| *last == text && at.since(*when) < SAME_SCAN;
        if self.last_scan.as_ref().is_some_and(same) {
            return vec![Heard::Ignored(format!("{text} scanned twice: repeat ignored"))];
        }
        self.last_scan = Some((text.clone(), at));
        vec![Heard::Scan(text, first)]
    }

    /// Lets go of a burst that was no scan.
    fn release(&mut self) -> Vec<Heard> {
        let alike = self.all_alike();
        let held = std::mem::take(&mut self.held);
        let beyond = std::mem::take(&mut self.beyond);
        // A hold: the first acts, the repeats only keep it deaf. Two unlike keys are two keys; in a field, where none
        // shuts a press, so are as many as a scan has not.
        // No hand is so quick with a `*` and two more: what looks like a press's number there is none.
        let starred = held.iter().any(|(key, _)| *key == STAR);
        let few = if matches!(self.mode, Mode::Field(_)) && !starred { SCAN_LEAST } else { 2 };
        if alike || held.len() <= few {
            return held
                .into_iter()
                .flat_map(|(key, at)| self.pass_one_of(key, at, alike))
                .collect();
        }
        let is_letter = |key: &Key| match key.code {
            KeyCode::Char(letter) => !key.ctrl && !matches!(letter, '+' | '*'),
            _ => false,
        };
        let typed = matches!(self.mode, Mode::Field(Takes::Text | Takes::Scan));
        // A scanner that sends no Enter, or a quick hand: letters, and none that would take the form in.
        if typed && beyond == 0 && held.iter().all(|(key, _)| is_letter(key)) {
            return held.into_iter().map(|(key, at)| self.let_through(key, at)).collect();
        }
        vec![Heard::Ignored(format!("{} keys at once: ignored", held.len() + beyond))]
    }

    /// One of a burst: a letter of a text comes again in a word, and is a hold only among its like.
    fn pass_one_of(&mut self, key: Key, at: Up, alike: bool) -> Vec<Heard> {
        match self.mode {
            Mode::Field(_) if !alike && !acts_in_field(key) => vec![self.let_through(key, at)],
            _ => self.pass(key, at),
        }
    }

    fn let_through(&mut self, key: Key, at: Up) -> Heard {
        let types = matches!(self.mode, Mode::Field(_)) && !self.follows_star(key, at);
        self.opener = (!types).then_some(key);
        self.newest = Some(key);
        self.starred = (key == STAR).then_some(at);
        // Held down beyond the end of the form, it stays deaf.
        let typed = types && !acts_in_field(key);
        self.acted.insert(key, Acted { at, seen: at, typed });
        Heard::Key(key, at)
    }

    /// Whether a key is the one after a `*`.
    fn follows_star(&self, key: Key, at: Up) -> bool {
        key != STAR && self.starred.is_some_and(|starred| at.since(starred) < STAR_SPAN)
    }

    /// A `*` in a form is heard at any time but as a repeat of itself: on the Bench alone it is an act by itself.
    fn is_never_deaf(&self, key: Key) -> bool {
        key == STAR && !matches!(self.mode, Mode::Acts | Mode::Scrolls)
    }

    /// A key on its own: it passes unless it is still deaf from having acted, or from being held.
    fn pass(&mut self, key: Key, at: Up) -> Vec<Heard> {
        if may_be_held_down(key, self.mode) {
            return vec![Heard::Key(key, at)];
        }
        let after_star = self.follows_star(key, at);
        let types = matches!(self.mode, Mode::Field(_))
            && !acts_in_field(key)
            && !after_star
            && self.opener != Some(key);
        let hears_all = types || self.is_never_deaf(key);
        // In lists a way may lead through a key twice: with another between them it is neither held nor doubled.
        let on_its_way = matches!(self.mode, Mode::Lists | Mode::Pages) && self.newest != Some(key);
        if let Some(acted) = self.acted.get_mut(&key) {
            let deaf = if hears_all {
                at.since(acted.seen) < BURST
            } else {
                let excused = (after_star && acted.typed) || on_its_way;
                let acted_lately = at.since(acted.at) < DEAF && !excused;
                acted_lately || at.since(acted.seen) < REPEAT
            };
            let told = acted.seen > acted.at;
            acted.seen = at;
            if deaf {
                return match told {
                    true => Vec::new(),
                    false => vec![Heard::Ignored(format!("{key} again at once: repeat ignored"))],
                };
            }
        }
        vec![self.let_through(key, at)]
    }
}

/// Whether a key acts in a field too, rather than being typed into it or moving in the form.
fn acts_in_field(key: Key) -> bool {
    match key.code {
        KeyCode::Enter | KeyCode::Esc | KeyCode::F(_) | KeyCode::Char('+') => true,
        _ => key.ctrl,
    }
}

/// Whether a key may be held down: what scrolls where there is something to scroll, and what erases.
fn may_be_held_down(key: Key, mode: Mode) -> bool {
    use KeyCode::{Backspace, Down, End, Home, PageDown, PageUp, Up};
    match mode {
        Mode::Acts | Mode::Lists => false,
        Mode::Scrolls | Mode::Pages => {
            matches!(key.code, Up | Down | PageUp | PageDown | Home | End)
        }
        Mode::Field(_) => key.code == Backspace,
    }
}

#[cfg(test)]
mod tests;
