//! What is wrong with a garment, and what becomes of it: two short lists, answered by digits.

use crate::screen::input::{Key, KeyCode};

use super::{Typed, place};
use crate::screen::View;
use crate::screen::act::Effect;
use crate::screen::paint::Line;
use crate::screen::theme::Role;
use crate::screen::ui::Tone;
use crate::shop::Shop;
use crate::shop::facts::ids::Tag;
use crate::shop::facts::step::Step;
use crate::shop::facts::trouble::{Outcome, Trouble};
use crate::shop::floor::garment::Place;
use crate::shop::rules::command::Command;

/// The lists for one garment.
pub struct TroubleList {
    tag: Tag,
    step: Option<Step>,
    choices: &'static [Trouble],
    named: Option<Trouble>,
}

impl TroubleList {
    pub fn new(tag: Tag, shop: &Shop) -> Self {
        let garment = shop.garment(tag);
        let in_press = garment.and_then(|garment| match garment.place {
            Place::InPress(press) => shop.load(press).map(|load| load.step),
            _ => None,
        });
        let last = garment.and_then(|garment| garment.last_step).map(|(step, _)| step);
        let step = in_press.or(last);
        let at_printer = garment.is_some_and(|g| g.place == Place::Waiting(Step::Print));
        let dried = at_printer && step == Some(Step::Dry);
        let choices = if dried { Trouble::around_print() } else { Trouble::after(step) };
        Self { tag, step, choices, named: None }
    }

    pub fn key(&mut self, key: &Key) -> Typed {
        let KeyCode::Char(letter) = key.code else {
            return if key.code == KeyCode::Esc {
                Typed::Closed(self.unnoted())
            } else {
                Typed::Open
            };
        };
        match (self.named, place(letter)) {
            (None, Some(place)) => {
                self.named = self.choices.get(place).copied();
                Typed::Open
            }
            (Some(trouble), Some(place)) => match Outcome::CHOICES.get(place) {
                Some(outcome) => Typed::Closed(self.note(trouble, *outcome)),
                None => Typed::Open,
            },
            (_, None) => Typed::Said(Tone::Note, "a number from the list".into()),
        }
    }

    fn note(&self, trouble: Trouble, outcome: Outcome) -> Vec<Effect> {
        vec![Effect::Do(Command::NoteTrouble { garment: self.tag, trouble, outcome })]
    }

    fn unnoted(&self) -> Vec<Effect> {
        self.named.map_or_else(Vec::new, |trouble| self.note(trouble, Outcome::NotNoted))
    }

    /// A trouble that was named happened, whether or not anybody said what became of the garment.
    pub fn abandoned(self) -> Vec<Effect> {
        self.unnoted()
    }

    pub fn lines(&self, view: &View<'_>) -> (String, Vec<Line>) {
        let after = self.step.map_or_else(String::new, |step| format!(" ({step})"));
        let row = |(n, words): (usize, &str)| {
            Line::of(Role::Strong, (n + 1).to_string()).and(Role::Plain, format!("  {words}"))
        };
        match self.named {
            None => {
                let troubles = self.choices.iter().map(|trouble| trouble.words());
                (
                    format!("What is wrong with {}{after}?", self.tag),
                    troubles.enumerate().map(row).collect(),
                )
            }
            Some(trouble) => {
                let mut lines = vec![Line::of(Role::Strong, format!("{} {trouble}", self.tag))];
                lines.extend(Outcome::CHOICES.iter().map(|o| o.words()).enumerate().map(row));
                if trouble.is_of_sheet() {
                    lines.push(Line::default());
                    lines.extend(super::reasons::ranked(&view.shop.suspects(self.tag, view.now)));
                }
                ("What becomes of it?".into(), lines)
            }
        }
    }
}
