//! What is wrong with a garment, and what becomes of it: two short lists, answered by digits.
//!
//! ```text
//! ══ What is wrong with A1-02 (dry)? ══════ presses: * then 1 to 9 ══
//!  1 scorched        2 stained          3 sheet stuck
//!  4 sheet clung     6 still steaming   9 wrong blank
//!  0 why it clings   - it was earlier   Enter look up
//! ```
//!
//! A trouble has the same digit after every step: hands learn it.

use super::{Typed, place};
use crate::screen::View;
use crate::screen::act::Effect;
use crate::screen::input::{Key, KeyCode};
use crate::screen::keymap::{Keymap, List};
use crate::screen::paint::Line;
use crate::screen::theme::Role;
use crate::screen::ui::Tone;
use crate::shop::Shop;
use crate::shop::facts::ids::Tag;
use crate::shop::facts::step::Step;
use crate::shop::facts::trouble::{Outcome, Trouble};
use crate::shop::floor::garment::Place;
use crate::shop::rules::command::Command;

/// The keys of what can be done beside naming a trouble.
const OTHERS: [&str; 3] = ["0", "-", "Enter"];

/// The key of a trouble. Two that cannot be told of the same garment may share one.
fn key_of(trouble: Trouble) -> char {
    match trouble {
        Trouble::Scorched => '1',
        Trouble::Stained => '2',
        Trouble::SheetStuck => '3',
        Trouble::SheetClung | Trouble::Undercured => '4',
        Trouble::StillSteaming | Trouble::Banding => '6',
        Trouble::Smear => '7',
        Trouble::Crooked => '8',
        Trouble::Misprint => '9',
        Trouble::WrongBlank => '+',
    }
}

/// The lists for one garment; without one, what can be done beside.
pub struct TroubleList {
    tag: Option<Tag>,
    step: Option<Step>,
    choices: &'static [Trouble],
    named: Option<Trouble>,
}

impl TroubleList {
    pub fn new(tag: Option<Tag>, shop: &Shop) -> Self {
        let garment = tag.and_then(|tag| shop.garment(tag));
        let in_press = garment.and_then(|garment| match garment.place {
            Place::InPress(press) => shop.load(press).map(|load| load.step),
            _ => None,
        });
        let last = garment.and_then(|garment| garment.last_step).map(|(step, _)| step);
        let step = in_press.or(last);
        let at_printer = garment.is_some_and(|g| g.place == Place::Waiting(Step::Print));
        let dried = at_printer && step == Some(Step::Dry);
        let choices = match tag {
            None => &[],
            Some(_) if dried => Trouble::around_print(),
            Some(_) => Trouble::after(step),
        };
        Self { tag, step, choices, named: None }
    }

    pub fn key(&mut self, keys: &Keymap, key: &Key) -> Typed {
        let figure = key.with_figures();
        match figure.code {
            KeyCode::Char('/') if self.named.take().is_some() => return Typed::Open,
            KeyCode::Esc | KeyCode::Char('/') => return Typed::Closed(self.unnoted()),
            _ => {}
        }
        match (self.named, figure.code) {
            (None, KeyCode::Char(letter)) => {
                self.named = self.choices.iter().copied().find(|one| key_of(*one) == letter);
                if self.named.is_some() {
                    return Typed::Open;
                }
            }
            (Some(trouble), KeyCode::Char(letter)) => {
                let outcome = place(letter).and_then(|place| Outcome::CHOICES.get(place));
                if let Some(outcome) = outcome {
                    return Typed::Closed(self.note(trouble, *outcome));
                }
            }
            _ => {}
        }
        match keys.listed(List::Trouble, &figure).filter(|_| self.named.is_none()) {
            Some(entry) => Typed::Deed(entry.deed),
            None => Typed::Said(Tone::Note, "a number from the list".into()),
        }
    }

    fn note(&self, trouble: Trouble, outcome: Outcome) -> Vec<Effect> {
        let note = |garment| Effect::Do(Command::NoteTrouble { garment, trouble, outcome });
        self.tag.map(note).into_iter().collect()
    }

    fn unnoted(&self) -> Vec<Effect> {
        self.named.map_or_else(Vec::new, |trouble| self.note(trouble, Outcome::NotNoted))
    }

    /// A trouble that was named happened, whether or not anybody said what became of the garment.
    pub fn abandoned(self) -> Vec<Effect> {
        self.unnoted()
    }

    pub fn lines(&self, view: &View<'_>) -> (String, Vec<Line>) {
        let row = |key: String, words: &str| {
            Line::of(Role::Strong, key).and(Role::Plain, format!("  {words}"))
        };
        let tag = self.tag.map_or_else(String::new, |tag| tag.to_string());
        let Some(trouble) = self.named else {
            let after = self.step.map_or_else(String::new, |step| format!(" ({step})"));
            let mut choices = self.choices.to_vec();
            // The wrong blank's key has no place among the digits.
            choices.sort_by_key(|one| (!key_of(*one).is_ascii_digit(), key_of(*one)));
            let mut lines: Vec<Line> = Vec::new();
            if self.tag.is_none() {
                lines.push(Line::of(Role::Abnormal, "no garment has been handled yet"));
            }
            lines.extend(choices.iter().map(|one| row(key_of(*one).to_string(), one.words())));
            let keys = &view.ui.keys;
            lines.extend(OTHERS.iter().filter_map(|key| {
                Some(row((*key).to_owned(), keys.listed(List::Trouble, &Key::read(key)?)?.word))
            }));
            let of = if self.tag.is_some() { format!(" with {tag}") } else { String::new() };
            return (format!("What is wrong{of}{after}?"), lines);
        };
        let mut lines = vec![Line::of(Role::Strong, format!("{tag} {trouble}"))];
        let outcomes = (1..).zip(Outcome::CHOICES.iter());
        lines.extend(outcomes.map(|(n, outcome): (u8, _)| row(n.to_string(), outcome.words())));
        if let Some(tag) = self.tag.filter(|_| trouble.is_of_sheet()) {
            lines.push(Line::default());
            lines.extend(super::reasons::ranked(&view.shop.suspects(tag, view.now)));
        }
        ("What becomes of it?".into(), lines)
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn no_two_troubles_of_one_garment_have_the_same_key() {
        let steps = [Step::PrePress, Step::Spray, Step::Dry, Step::Print, Step::Cure];
        let lists = steps.iter().map(|step| Trouble::after(Some(*step)));
        for list in lists.chain([Trouble::around_print(), Trouble::after(None)]) {
            let mut keys: Vec<char> = list.iter().map(|one| key_of(*one)).collect();
            keys.sort_unstable();
            let before = keys.len();
            keys.dedup();
            assert_eq!(keys.len(), before, "{list:?}");
            assert!(keys.iter().all(|key| !OTHERS.contains(&key.to_string().as_str())));
        }
    }
}
