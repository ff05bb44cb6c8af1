//! What a corrected time changes in the shop: everything is as if the act had had that time in the first place.

use std::time::Duration;

use super::decide::to_millis;
use crate::shop::Shop;
use crate::shop::books::entry::{Done, Entry};
use crate::shop::facts::fact::{TimeCorrected, Timing};
use crate::shop::facts::ids::{PressNo, Tag};
use crate::shop::facts::step::Step;

impl Shop {
    pub(in crate::shop) fn correct(&mut self, fact: &TimeCorrected) {
        let ago = fact.ago.and_then(|s| Duration::try_from_secs_f64(s).ok());
        let shut_on = |press| self.load(press).map(|load| load.garment);
        match fact.press {
            Some(press) if shut_on(press) == Some(fact.garment) => {
                self.correct_shut(press, fact.garment, ago)
            }
            Some(press) => self.correct_opened(press, fact, ago),
            None => {
                if let Some(span) = ago {
                    self.with_garment(fact.garment, |garment| {
                        garment.since = garment.since.minus(span);
                    });
                }
            }
        }
        self.desk.correctable = None;
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

    fn correct_opened(&mut self, press: PressNo, fact: &TimeCorrected, ago: Option<Duration>) {
        let its = |entry: &&Entry| entry.garment == Some(fact.garment);
        let Some((seq, opened)) =
            self.ledger.of_act(fact.corrects).filter(its).find_map(|entry| match entry.done {
                Done::Opened(opened) => Some((entry.seq, opened.opening)),
                _ => None,
            })
        else {
            return;
        };
        let kind = (opened.step, opened.again);
        let timing =
            fact.timing.unwrap_or_else(|| self.timing_of(fact.garment, kind, fact.seconds));
        if let Some(span) = ago {
            self.with_press(press, |press| press.opened = press.opened.map(|at| at.minus(span)));
        }
        self.with_garment(fact.garment, |garment| {
            // Something may have been done with it since.
            if let Some(span) = ago.filter(|_| garment.since_seq == seq) {
                garment.since = garment.since.minus(span);
            }
            if opened.step == Step::Cure {
                garment.overcured = fact.seconds.filter(|_| timing == Timing::Late);
            }
            if let Some(drying) = garment.dried.as_deref_mut().filter(|_| opened.step == Step::Dry)
            {
                (drying.seconds, drying.timing) = (fact.seconds, timing);
            }
        });
    }
}
