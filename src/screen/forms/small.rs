//! The small ones: a count, the moment of an act.

use crate::screen::input::{Key, KeyCode, Mode, Takes};

use super::Typed;
use super::entry::{At, Entry};
use super::text::Text;
use crate::screen::View;
use crate::screen::act::Effect;
use crate::screen::keymap::{Deed, Keymap};
use crate::screen::paint::Line;
use crate::screen::theme::Role;
use crate::screen::ui::Tone;
use crate::shop::facts::step::Step;
use crate::shop::facts::words::counted;
use crate::shop::floor::garment::Queue;
use crate::shop::rules::command::{Command, Which};
use crate::shop::{Correctable, Shop, Timed};

/// A number, and what is done to that many.
#[derive(Default)]
pub struct CountEntry(Text);

impl Entry for CountEntry {
    fn mode(&self) -> Mode {
        Mode::Field(Takes::Figures)
    }

    fn text(&mut self) -> Option<&mut Text> {
        Some(&mut self.0)
    }

    fn key(&mut self, at: &At<'_>, key: &Key) -> Typed {
        count_key(&mut self.0, at.sight.shop, at.keys, key)
    }

    fn lines(&self, view: &View<'_>) -> (String, Vec<Line>) {
        count_lines(view, &self.0)
    }
}

/// Digits, then the key of what is done to that many.
///
/// The figure 0 is also the key for "printed": it is a figure as long as that many garments wait, else the key.
/// So of twelve that wait, `n 1 0` begins a ten and `n 3 0` prints three.
fn count_key(input: &mut Text, shop: &Shop, keys: &Keymap, key: &Key) -> Typed {
    let count: u16 = input.value().parse().unwrap_or(0);
    let waits = |step| shop.floor().count(Queue::Step(step));
    let most = waits(Step::Spray).max(waits(Step::Print));
    let deed = match key.code {
        KeyCode::Char('0') if usize::from(count) * 10 <= most => None,
        KeyCode::Char('1'..='9') => None,
        _ => keys.deed(key),
    };
    let command = |command: Command| Typed::Closed(vec![Effect::Do(command)]);
    match deed {
        Some(Deed::Sprayed) if count > 0 => command(Command::HandworkDone(Which::First(count))),
        Some(Deed::Printed | Deed::Trouble) if count > 0 => {
            command(Command::Printed(Which::First(count)))
        }
        Some(Deed::Store | Deed::Undo) if count > 0 => command(Command::Store(Which::First(count))),
        _ => match key.code {
            KeyCode::Char(digit) if digit.is_ascii_digit() && input.value().len() < 3 => {
                input.key(key);
                Typed::Open
            }
            KeyCode::Backspace => {
                input.key(key);
                Typed::Open
            }
            _ => Typed::Said(
                Tone::Note,
                "a number, then the key of what is done to that many".into(),
            ),
        },
    }
}

/// What the count says.
fn count_lines(view: &View<'_>, input: &Text) -> (String, Vec<Line>) {
    let keys = &view.ui.keys;
    let says = format!(
        "then {} sprayed, {} printed, {} to the shelf",
        keys.key(Deed::Sprayed),
        keys.key(Deed::Trouble),
        keys.key(Deed::Undo)
    );
    ("How many?".into(), vec![input.line("number", true, ""), Line::of(Role::Plain, says)])
}

/// The moment of an act: of the last one, or of one before.
pub struct TimeEntry {
    /// What can be corrected, the newest first; and the one that is.
    acts: Vec<Correctable>,
    chosen: usize,
    input: Text,
}

impl TimeEntry {
    /// Of these acts the `chosen`; None where there is no such act.
    pub fn new(acts: Vec<Correctable>, chosen: usize) -> Option<Self> {
        (chosen < acts.len()).then(|| Self { acts, chosen, input: Text::default() })
    }

    fn correct(&self, ago: Option<f64>) -> Typed {
        let act = self.acts[self.chosen].act;
        Typed::Closed(vec![Effect::Do(Command::CorrectTimeOf { act, ago })])
    }
}

impl Entry for TimeEntry {
    fn mode(&self) -> Mode {
        Mode::Field(Takes::Figures)
    }

    fn text(&mut self) -> Option<&mut Text> {
        Some(&mut self.input)
    }

    /// In an empty field it goes back one: to the act before.
    fn erase(&mut self, _: &At<'_>) -> Typed {
        if self.input.erase() {
            return Typed::Open;
        }
        if self.chosen + 1 == self.acts.len() {
            return Typed::Left;
        }
        self.chosen += 1;
        Typed::Open
    }

    fn key(&mut self, _: &At<'_>, key: &Key) -> Typed {
        match key.code {
            KeyCode::Char('u') => self.correct(None),
            KeyCode::Char('.') if self.input.is_fresh() => {
                self.input = Text::given(".");
                Typed::Open
            }
            KeyCode::Enter | KeyCode::Char('+') if self.input.value() == "." => self.correct(None),
            KeyCode::Enter | KeyCode::Char('+') => match self.input.value().parse::<u32>() {
                Ok(seconds) => self.correct(Some(f64::from(seconds))),
                Err(_) => {
                    self.input.enter();
                    Typed::Said(Tone::Refused, "seconds, as digits; or . alone: not timed".into())
                }
            },
            KeyCode::Char(letter) if !letter.is_ascii_digit() => Typed::Open,
            _ => {
                self.input.key(key);
                Typed::Open
            }
        }
    }

    fn lines(&self, _: &View<'_>) -> (String, Vec<Line>) {
        let act = &self.acts[self.chosen];
        let tag = match act.garments.as_slice() {
            [one] => one.to_string(),
            several => counted(several.len(), "garment"),
        };
        let what = match act.what {
            Timed::Shut(press) => format!("press {press} was shut on {tag}"),
            Timed::Opened { press, .. } => format!("press {press} was opened, {tag} taken out"),
            Timed::Waits => format!("{tag} was done"),
        };
        let mut lines = vec![
            Line::of(Role::Strong, what),
            self.input.line("seconds", true, "before you pressed the key; Enter"),
            Line::of(Role::Plain, ". alone: nobody knows when (not timed)"),
        ];
        if self.chosen + 1 < self.acts.len() {
            lines.push(Line::of(Role::Plain, "/ the act before"));
        }
        ("When was it really?".into(), lines)
    }
}
