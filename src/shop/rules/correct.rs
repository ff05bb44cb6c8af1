//! Which times can be corrected, and what that changes in the shop: everything is as if the act had had that time in the
//! first place.

use std::time::Duration;

use super::command::Refusal;
use super::decide::{Facts, to_millis};
use crate::shop::books::entry::{Done, Entry, Opened};
use crate::shop::books::opening::Opening;
use crate::shop::facts::fact::{TimeCorrected, Timing};
use crate::shop::facts::ids::{ActNo, PressNo, Tag};
use crate::shop::facts::moment::Moment;
use crate::shop::facts::step::Step;
use crate::shop::floor::garment::LONGEST_CORRECTION;
use crate::shop::{Correctable, Shop, Timed};

impl Shop {
    /// What can be corrected of an act; None where it has no moment of its own, has been corrected already, or can no
    /// longer be taken back. Of a press that was opened since, its opening is what is corrected.
    pub fn correctable(&self, act: ActNo) -> Option<Correctable> {
        // Only what could still be taken back can be corrected.
        self.trail.oldest().filter(|oldest| act >= *oldest)?;
        if let Some(last) = self.desk.correctable.as_ref().filter(|last| last.act == act) {
            return Some(last.clone());
        }
        if self.ledger.is_corrected(act) {
            return None;
        }
        let mut found: Option<Correctable> = None;
        for entry in self.ledger.of_act(act) {
            let Some((garment, what)) = entry.garment.zip(self.timed(entry)) else { continue };
            match &mut found {
                Some(found) if found.what == what => found.garments.insert(0, garment),
                // The step that a press implies comes before it in its act.
                Some(_) => {}
                None => found = Some(Correctable { act, garments: vec![garment], what }),
            }
        }
        found
    }

    /// The acts whose times can be corrected, the newest first.
    pub fn correctables(&self) -> impl Iterator<Item = Correctable> {
        self.ledger.acts().into_iter().filter_map(|act| self.correctable(act))
    }

    fn timed(&self, entry: &Entry) -> Option<Timed> {
        match &entry.done {
            Done::Shut { press, .. } => {
                let still = self.load(*press).is_some_and(|load| load.seq == entry.seq);
                still.then_some(Timed::Shut(*press))
            }
            // How long one stood open that opens by itself is known of the last act alone.
            Done::Opened(Opened { opening, .. }) if !self.opens_itself(opening.press) => {
                let (press, step, again) = (opening.press, opening.step, opening.again);
                Some(Timed::Opened { press, step, again, seconds: opening.seconds, waited: None })
            }
            Done::Handwork { implied: false, .. } | Done::Printed { implied: false, .. } => {
                Some(Timed::Waits)
            }
            _ => None,
        }
    }

    /// What is said later of the time of an act.
    pub(in crate::shop) fn correct_time(
        &self,
        act: ActNo,
        ago: Option<f64>,
    ) -> Result<Facts, Refusal> {
        let longest = LONGEST_CORRECTION.as_secs_f64();
        let last = self.correctable(act).ok_or(Refusal::NothingToCorrect)?;
        // A press that opens by itself stood open for a while: that goes first, the time shut after it.
        let (press, most, shut_for, stood) = match last.what {
            Timed::Shut(press) => (Some(press), self.open_before(press), None, 0.0),
            Timed::Opened { press, seconds, waited, .. } => {
                let stood = waited.unwrap_or(0.0);
                (Some(press), seconds.map(|seconds| seconds + stood), seconds, stood)
            }
            Timed::Waits => (None, None, None, 0.0),
        };
        let most = most.unwrap_or(longest).min(longest);
        if let Some(ago) = ago.filter(|ago| !(0.0..=most).contains(ago)) {
            return Err(Refusal::TooLongAgo(ago));
        }
        let seconds = shut_for.zip(ago).map(|(shut, ago)| to_millis(shut - (ago - stood).max(0.0)));
        let corrects = last.act;
        let opening = self.ledger.of_act(corrects).find_map(|entry| match &entry.done {
            Done::Opened(opened) => Some(opened.opening),
            _ => None,
        });
        let fact = |garment: &Tag| {
            let garment = *garment;
            let timing = match last.what {
                Timed::Opened { .. } => opening.map(|opening| self.timing_of(&opening, seconds)),
                Timed::Shut(_) | Timed::Waits => None,
            };
            TimeCorrected { corrects, garment, press, ago, seconds, timing }.into()
        };
        Ok(last.garments.iter().map(fact).collect())
    }

    /// For how many seconds a press stood open before it was shut, where both are known.
    fn open_before(&self, press: PressNo) -> Option<f64> {
        let state = self.presses.get(&press)?;
        Some(state.load.as_ref()?.shut.since(state.opened?).seconds())
    }

    pub(in crate::shop) fn correct(&mut self, fact: &TimeCorrected) {
        let ago = fact.ago.and_then(|s| Duration::try_from_secs_f64(s).ok());
        // Beside what was done, its act may say more of the garment.
        let its = |entry: &&Entry| {
            let timed = match &entry.done {
                Done::Shut { .. } | Done::Opened(_) => true,
                Done::Handwork { implied, .. } | Done::Printed { implied, .. } => !implied,
                _ => false,
            };
            timed && entry.garment == Some(fact.garment)
        };
        let entry = self.ledger.of_act(fact.corrects).find(its).cloned();
        match (fact.press, entry) {
            (Some(press), Some(Entry { done: Done::Opened(opened), seq, moment, .. })) => {
                self.correct_opened((press, opened.opening, seq, moment), fact, ago);
            }
            (Some(press), _)
                if self.load(press).is_some_and(|load| load.garment == fact.garment) =>
            {
                self.correct_shut(press, fact.garment, ago);
            }
            (Some(_), _) => {}
            (None, entry) => {
                let span = ago.filter(|_| entry.is_none() || self.came_by(fact));
                self.came_earlier(fact.garment, span);
            }
        }
        self.desk.correctable =
            self.desk.correctable.take().filter(|last| last.act != fact.corrects);
    }

    /// Whether its garment came where it is by the corrected act: something may have been done with it since. The act may
    /// have taken it further than what was done: one that is cancelled is stored as soon as it is opened.
    fn came_by(&self, fact: &TimeCorrected) -> bool {
        let since = self.garment(fact.garment).map(|garment| garment.since_seq);
        let mut its = self.ledger.of_act(fact.corrects);
        its.any(|entry| entry.garment == Some(fact.garment) && Some(entry.seq) == since)
    }

    fn came_earlier(&mut self, garment: Tag, span: Option<Duration>) {
        if let Some(span) = span {
            self.with_garment(garment, |garment| garment.since = garment.since.minus(span));
        }
    }

    fn correct_shut(&mut self, press: PressNo, garment: Tag, ago: Option<Duration>) {
        // The steam's second counts from the shutting, and the coat is told from that.
        let later = |second: f64| to_millis(second + ago.unwrap_or_default().as_secs_f64());
        let steam = self.load(press).and_then(|load| load.steam).map(later);
        let estimate = steam.and_then(|second| self.coat_by_steam(press, garment, second));
        self.with_press(press, |press| {
            if let Some(load) = &mut press.load {
                match ago {
                    Some(span) => load.shut = load.shut.minus(span),
                    None => load.timed = false,
                }
                (load.steam, load.estimate) = (steam, estimate);
            }
        });
        if let Some(span) = ago {
            self.with_garment(garment, |garment| {
                let since = garment.since.minus(span);
                garment.begun =
                    garment.begun.map(|at| if at == garment.since.at { since.at } else { at });
                garment.since = since;
            });
        }
    }

    fn correct_opened(
        &mut self,
        (press, opening, seq, moment): (PressNo, Opening, u64, Moment),
        fact: &TimeCorrected,
        ago: Option<Duration>,
    ) {
        let timing = fact.timing.unwrap_or_else(|| self.timing_of(&opening, fact.seconds));
        if let Some(span) = ago {
            // It may have been opened again since.
            self.with_press(press, |press| {
                press.opened =
                    press.opened.map(|at| if at == moment { at.minus(span) } else { at });
            });
        }
        // So may the garment have had the same step again: what is known of it is of the last one.
        let later = |entry: &Entry| match &entry.done {
            Done::Opened(other) => {
                entry.seq > seq
                    && entry.garment == Some(fact.garment)
                    && other.opening.step == opening.step
            }
            _ => false,
        };
        let is_last = !self.ledger.tail().any(later);
        self.came_earlier(fact.garment, ago.filter(|_| self.came_by(fact)));
        self.with_garment(fact.garment, |garment| {
            if opening.step == Step::Cure && is_last {
                garment.overcured = fact.seconds.filter(|_| timing == Timing::Late);
            }
            let dried = garment.dried.as_deref_mut();
            if let Some(drying) = dried.filter(|_| opening.step == Step::Dry && is_last) {
                (drying.seconds, drying.timing) = (fact.seconds, timing);
            }
        });
    }
}
