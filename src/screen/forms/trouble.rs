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

use super::entry::{At, Entry};
use super::{Typed, place};
use crate::screen::View;
use crate::screen::act::Effect;
use crate::screen::input::{Key, KeyCode};
use crate::screen::keymap::List;
use crate::screen::paint::Line;
use crate::screen::theme::Role;
use crate::screen::ui::Tone;
use crate::shop::Shop;
use crate::shop::facts::ids::Tag;
use crate::shop::facts::trouble::{Outcome, Seen, Trouble};
use crate::shop::rules::command::Command;

/// The keys of what can be done beside naming a trouble.
const OTHERS: [&str; 3] = ["0", "-", "Enter"];

/// Turns to the other list of troubles.
const OTHER_LIST: char = '5';

/// The lists for one garment; without one, what can be done beside.
pub struct TroubleList {
    tag: Option<Tag>,
    seen: Seen,
    /// Whether the second list is shown.
    more: bool,
    named: Option<Trouble>,
}

impl TroubleList {
    pub fn new(tag: Option<Tag>, shop: &Shop) -> Self {
        let seen = tag.map(|tag| shop.seen(tag)).unwrap_or_default();
        Self { tag, seen, more: false, named: None }
    }

    fn listed(&self) -> impl Iterator<Item = Trouble> {
        let (seen, more) = (self.seen, self.more);
        self.tag.into_iter().flat_map(move |_| Trouble::seen(seen, more))
    }

    /// Names a trouble by its key; one that can come to one thing alone is noted at once. None: no such key.
    fn name(&mut self, letter: char) -> Option<Typed> {
        if letter == OTHER_LIST && self.tag.is_some() {
            self.more = !self.more;
            return Some(Typed::Open);
        }
        let trouble = self.listed().find(|one| one.row().digit == letter)?;
        if let [outcome] = trouble.row().becomes {
            return Some(Typed::Closed(self.note(trouble, *outcome)));
        }
        self.named = Some(trouble);
        Some(Typed::Open)
    }

    fn settle(&self, trouble: Trouble, letter: char) -> Option<Typed> {
        let outcome = place(letter).and_then(|place| Outcome::CHOICES.get(place))?;
        Some(match trouble.row().becomes.contains(outcome) {
            true => Typed::Closed(self.note(trouble, *outcome)),
            false => {
                let text = format!("{trouble}: cannot be \"{}\"", outcome.words());
                Typed::Said(Tone::Refused, text)
            }
        })
    }

    fn note(&self, trouble: Trouble, outcome: Outcome) -> Vec<Effect> {
        let note = |garment| Effect::Do(Command::NoteTrouble { garment, trouble, outcome });
        self.tag.map(note).into_iter().collect()
    }
}

impl Entry for TroubleList {
    fn key(&mut self, at: &At<'_>, key: &Key) -> Typed {
        match key.code {
            KeyCode::Char('/') if self.named.take().is_some() => return Typed::Open,
            KeyCode::Char('/') => return Typed::Left,
            _ => {}
        }
        let typed = match (self.named, key.code) {
            (None, KeyCode::Char(letter)) => self.name(letter),
            (Some(trouble), KeyCode::Char(letter)) => self.settle(trouble, letter),
            _ => None,
        };
        if let Some(typed) = typed {
            return typed;
        }
        let listed = at.keys.listed(List::Trouble, key);
        match listed.filter(|_| self.named.is_none() && !self.more) {
            Some(entry) => Typed::Deed(entry.deed),
            None => Typed::Said(Tone::Note, "a number from the list".into()),
        }
    }

    /// A trouble that was named happened, whether or not anybody said what became of the garment.
    fn abandoned(&self) -> Vec<Effect> {
        self.named.map_or_else(Vec::new, |trouble| self.note(trouble, Outcome::NotNoted))
    }

    fn lines(&self, view: &View<'_>) -> (String, Vec<Line>) {
        let row = |key: String, words: &str| {
            Line::of(Role::Strong, key).and(Role::Plain, format!("  {words}"))
        };
        let tag = self.tag.map_or_else(String::new, |tag| tag.to_string());
        let Some(trouble) = self.named else {
            let after = self.seen.step.map_or_else(String::new, |step| format!(" ({step})"));
            let mut lines: Vec<Line> = Vec::new();
            if self.tag.is_none() {
                lines.push(Line::of(Role::Abnormal, "no garment has been handled yet"));
            }
            lines.extend(self.listed().map(|one| row(one.row().digit.to_string(), one.words())));
            if self.tag.is_some() {
                let other = if self.more { "the usual ones" } else { "more" };
                lines.push(row(OTHER_LIST.to_string(), other));
            }
            let keys = &view.ui.keys;
            let others = OTHERS.iter().filter(|_| !self.more);
            lines.extend(others.filter_map(|key| {
                Some(row((*key).to_owned(), keys.listed(List::Trouble, &Key::read(key)?)?.word))
            }));
            let of = if self.tag.is_some() { format!(" with {tag}") } else { String::new() };
            return (format!("What is wrong{of}{after}?"), lines);
        };
        let mut lines = vec![Line::of(Role::Strong, format!("{tag} {trouble}"))];
        let known = trouble.row();
        let outcomes = (1..).zip(Outcome::CHOICES.iter());
        let outcomes = outcomes.filter(|(_, outcome)| known.becomes.contains(outcome));
        lines.extend(outcomes.map(|(n, outcome): (u8, _)| row(n.to_string(), outcome.words())));
        lines.push(Line::default());
        match self.tag.filter(|_| trouble.is_of_sheet()) {
            Some(tag) => {
                lines.extend(super::reasons::ranked(&view.shop.suspects(tag, view.now)));
            }
            None => {
                lines.push(Line::of(Role::Plain, format!("causes: {}", known.causes)));
                lines.push(Line::of(Role::Strong, format!("do: {}", known.remedy)));
            }
        }
        ("What becomes of it?".into(), lines)
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::shop::facts::step::Step;

    #[test]
    fn no_two_troubles_of_one_garment_have_the_same_key() {
        let steps = [Step::PrePress, Step::Spray, Step::Dry, Step::Print, Step::Cure];
        let steps = steps.into_iter().map(Some).chain([None]);
        let seen = steps.flat_map(|step| {
            [(false, false), (true, false), (false, true)].map(|(in_press, at_printer)| Seen {
                step,
                in_press,
                at_printer,
            })
        });
        for (seen, more) in seen.flat_map(|seen| [(seen, false), (seen, true)]) {
            let listed: Vec<Trouble> = Trouble::seen(seen, more).collect();
            let mut keys: Vec<char> = listed.iter().map(|one| one.row().digit).collect();
            keys.sort_unstable();
            let before = keys.len();
            keys.dedup();
            assert_eq!(keys.len(), before, "{seen:?}: {listed:?}");
            assert!(!keys.contains(&OTHER_LIST), "{listed:?}");
            let other = |key: &char| OTHERS.contains(&key.to_string().as_str());
            assert!(more || !keys.iter().any(other), "{listed:?}");
            assert!(listed.iter().all(|one| !one.row().becomes.is_empty()));
        }
    }

    /// Every trouble can be named somewhere, but for what nobody sees of a garment.
    #[test]
    fn every_trouble_stands_on_a_list() {
        let steps = [Step::PrePress, Step::Spray, Step::Dry, Step::Print, Step::Cure];
        for trouble in Trouble::ALL.iter().filter(|one| **one != Trouble::Cancelled) {
            let seen = steps.iter().flat_map(|step| {
                [true, false].map(|in_press| Seen {
                    step: Some(*step),
                    in_press,
                    at_printer: false,
                })
            });
            let mut lists = seen.flat_map(|seen| [(seen, false), (seen, true)]);
            let on = |(seen, more)| Trouble::seen(seen, more).any(|one| one == *trouble);
            assert!(lists.any(on), "{trouble}");
        }
    }
}
