//! Who is at the bench, and the end of a shift: what must not be left lying is asked for first.

use crate::screen::input::{Key, KeyCode, Mode, Takes};

use super::Typed;
use super::entry::{At, Entry};
use super::text::Text;
use crate::screen::View;
use crate::screen::act::Effect;
use crate::screen::meaning::Sight;
use crate::screen::paint::Line;
use crate::screen::theme::Role;
use crate::screen::ui::Tone;
use crate::shop::rules::command::{Command, Refusal};

/// Initials, or the closing of the shift.
#[derive(Default)]
pub struct People {
    who: Text,
    closing: bool,
}

impl Entry for People {
    fn text(&mut self) -> Option<&mut Text> {
        (!self.closing).then_some(&mut self.who)
    }

    fn field_name(&self) -> &'static str {
        "initials"
    }

    /// Whoever is there, and whoever was.
    fn list(&self, sight: &Sight<'_>) -> Option<Vec<String>> {
        Some(sight.shop.desk().people.iter().map(ToString::to_string).collect())
    }

    fn key(&mut self, at: &At<'_>, key: &Key) -> Typed {
        match key.code {
            KeyCode::Char('y' | '9') if self.closing => {
                Typed::Closed(vec![Effect::Do(Command::CloseShift)])
            }
            _ if self.closing => {
                self.closing = false;
                Typed::Open
            }
            KeyCode::Enter => {
                Typed::Closed(vec![Effect::Do(Command::Sign(self.who.value().to_owned()))])
            }
            KeyCode::Char('+') if at.sight.shop.desk().shift_open => {
                self.closing = true;
                Typed::Open
            }
            KeyCode::Char('+') => {
                Typed::Said(Tone::Note, "no shift is open: initials, then Enter".into())
            }
            _ => {
                self.who.key(key);
                Typed::Open
            }
        }
    }

    /// What the keys are for as it stands.
    fn mode(&self) -> Mode {
        if self.closing { Mode::Acts } else { Mode::Field(Takes::Text) }
    }

    fn refused(&mut self, _: &Refusal) {
        self.closing = false;
        self.who.enter();
    }

    fn lines(&self, view: &View<'_>) -> (String, Vec<Line>) {
        if self.closing {
            return closing(view);
        }
        let people = &view.shop.desk().people;
        let there = if people.is_empty() { "nobody".to_owned() } else { people.join(", ") };
        let lines = vec![
            self.who.line("initials", true, "Enter signs in or out; . a list"),
            Line::of(Role::Plain, format!("at the bench: {there}")),
            Line::of(Role::Strong, "+ close the shift   * . leaves this"),
        ];
        ("Who is at the bench?".into(), lines)
    }
}

fn closing(view: &View<'_>) -> (String, Vec<Line>) {
    let left = view.shop.left_lying(view.now);
    let mut lines: Vec<Line> = if left.is_empty() {
        vec![Line::of(Role::Good, "nothing is left lying, as far as this board knows")]
    } else {
        left.into_iter().map(|text| Line::of(Role::Abnormal, text)).collect()
    };
    lines.push(Line::default());
    lines.push(Line::of(Role::Plain, "Presses off and open? Sprayer flushed? No uncured prints?"));
    lines.push(Line::of(Role::Plain, "Rags in a lidded bin?"));
    lines.push(Line::of(Role::Strong, "9 or y closes the shift, any other key goes back"));
    ("Close the shift?".into(), lines)
}
