//! What is worth a word is said once, when it begins, on the message line, with one sound: none of its kind twice a
//! minute, and nothing over an answer to a key that was only just given.

use std::collections::{BTreeSet, HashMap};
use std::mem::{Discriminant, discriminant};
use std::time::Duration;

use super::Board;
use crate::screen::ui::{Standing, Tone};
use crate::shell::messenger::News;
use crate::shop::books::outlook::Ready;
use crate::shop::facts::ids::OrderId;
use crate::shop::facts::moment::{Moment, Up};
use crate::shop::rules::notices::Notice;

/// None of a kind is said sooner after another.
const APART: Duration = Duration::from_secs(60);
/// What a key was answered by stands at least so long.
const ANSWER_STAYS: Duration = Duration::from_secs(3);

/// What has been said.
#[derive(Debug, Default)]
pub struct Said {
    there: BTreeSet<Notice>,
    /// When one of a kind was.
    last: HashMap<Discriminant<Notice>, Up>,
    /// The late orders that somebody elsewhere was told of: each once, however often it is late and in time again.
    told: BTreeSet<OrderId>,
}

impl Said {
    /// What is to be said now, `notices` being all that is so.
    pub fn next(&mut self, notices: &[Notice], up: Up) -> Option<Notice> {
        self.there.retain(|notice| notices.contains(notice));
        let may = |notice: &&Notice| {
            let last = self.last.get(&discriminant(*notice));
            !self.there.contains(notice) && last.is_none_or(|last| up.since(*last) >= APART)
        };
        let next = *notices.iter().find(may)?;
        self.there.insert(next);
        self.last.insert(discriminant(&next), up);
        Some(next)
    }
}

impl Board {
    /// Says what has begun and nobody has been told of.
    pub(super) fn say_notices(&mut self, now: Moment) {
        let answers = self.ui.message.as_ref();
        let busy = answers.is_some_and(|message| now.since(message.since).span < ANSWER_STAYS);
        if self.ui.standing != Standing::Writes || busy {
            return;
        }
        let notices = self.shop.notices(&self.foreseen_late(), now);
        let up = crate::shell::clock::up();
        let Some(notice) = self.notices.next(&notices, up) else { return };
        let text = self.shop.notice_in_words(notice, now);
        if let Notice::Late(order) = notice
            && self.notices.told.insert(order)
        {
            self.messenger.tell(News::Late(text.clone()));
        }
        self.ui.say(Tone::Note, text, now);
        if !self.ui.quieted {
            self.sound();
        }
    }

    /// The orders that the last forecast has late.
    fn foreseen_late(&self) -> Vec<OrderId> {
        let Ok(Some(outlook)) = &self.ui.outlook else { return Vec::new() };
        let late = |order: &&Ready| order.late().is_some();
        outlook.orders.iter().filter(late).filter_map(|order| order.order).collect()
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn nothing_is_said_twice_a_minute() {
        let at = |seconds| Up::default().plus(Duration::from_secs(seconds));
        let tag = |tag: &str| Notice::PrinterWaits(tag.parse().unwrap());
        let late = Notice::Late("A1".to_owned().try_into().unwrap());
        let (first, second) = (tag("A1-01"), tag("A1-02"));
        let mut said = Said::default();
        assert_eq!(said.next(&[first], at(0)), Some(first));
        assert_eq!(said.next(&[first], at(200)), None, "it is known");
        // Another garment at the same printer, and at once the order that is late for it.
        assert_eq!(said.next(&[second], at(201)), Some(second));
        assert_eq!(said.next(&[late, first], at(202)), Some(late));
        assert_eq!(said.next(&[late, first], at(230)), None);
        assert_eq!(said.next(&[late, first], at(262)), Some(first));
        // Gone, and come back.
        assert_eq!(said.next(&[], at(270)), None);
        assert_eq!(said.next(&[late], at(280)), Some(late));
    }
}
