//! What the sprayer has laid over the weeks, day by day: what its health is judged by.

use std::collections::VecDeque;
use std::sync::Arc;
use std::time::Duration;

use serde::{Deserialize, Serialize};

use super::Book;
use super::entry::{Entry, Laid};
use crate::figures::wear::{self, Course, Day, Health};
use crate::shop::facts::moment::Moment;
use crate::shop::facts::words::counted;

/// A day's work begins anew after so long without a weight, or at last so long after its first.
const PAUSE: Duration = Duration::from_secs(8 * 3600);
const LONGEST: Duration = Duration::from_secs(16 * 3600);
/// The most days that are kept.
const MOST_DAYS: usize = 90;

/// One day's coats, of all hands and of each.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct DayLaid {
    pub from: Moment,
    upto: Moment,
    pub flow: f64,
    coats: Day,
    hands: Vec<(Vec<String>, Day)>,
}

/// The days since the flow was last set in the profile, and the last two coats.
#[derive(Debug, Clone, Default, PartialEq, Serialize, Deserialize)]
pub struct SprayerBook {
    days: Arc<VecDeque<DayLaid>>,
    last: VecDeque<f64>,
}

impl SprayerBook {
    /// The days, oldest first.
    pub fn days(&self) -> impl Iterator<Item = (&DayLaid, Day)> {
        self.days.iter().map(|one| (one, one.coats))
    }

    /// What the days say that are over: what is said of them stays so for the whole shift.
    pub fn health(&self, now: Moment) -> Option<Health> {
        wear::health(&self.over(now))
    }

    /// The days that are over.
    pub fn over(&self, now: Moment) -> Vec<Day> {
        let is_over = |one: &DayLaid| now.since(one.upto).span >= PAUSE;
        self.days().filter(|(one, _)| is_over(one)).map(|(_, day)| day).collect()
    }

    /// By how much the last two coats lie below the usual, where that is no chance.
    pub fn fell(&self) -> Option<f64> {
        let [first, second] = [*self.last.front()?, *self.last.get(1)?];
        let mut days: Vec<Day> = self.days().map(|(_, day)| day).collect();
        // The two are no part of what is usual.
        for off in [second, first] {
            let newest = days.iter_mut().rev().find(|day| day.count > 0)?;
            *newest = newest.without(off);
        }
        wear::fell(&days, [first, second])
    }

    /// What is to be said of its course now, if it drifts.
    pub fn drift(&self, now: Moment) -> Option<String> {
        drift_told(self.health(now)?.course)
    }

    /// That the last two coats fell below what is usual by more than chance takes them, where they did.
    pub fn fall_told(&self) -> Option<String> {
        let by = (100.0 * self.fell()?).abs();
        Some(format!(
            "the last two coats are {by:.0} % under the usual: clean the tip, look at trigger and filling"
        ))
    }

    /// The days of each hand, by its initials.
    pub fn hands(&self) -> Vec<(Vec<String>, Vec<Day>)> {
        let mut hands: Vec<(Vec<String>, Vec<Day>)> = Vec::new();
        for (people, coats) in self.days.iter().flat_map(|one| &one.hands) {
            match hands.iter_mut().find(|(known, _)| known == people) {
                Some((_, days)) => days.push(*coats),
                None => hands.push((people.clone(), vec![*coats])),
            }
        }
        hands.sort_by(|a, b| a.0.cmp(&b.0));
        hands
    }

    fn lay(&mut self, laid: &Laid, at: Moment) {
        // Another flow in the profile: what was usual before says nothing of it.
        if self.days.back().is_some_and(|newest| newest.flow.to_bits() != laid.flow.to_bits()) {
            *self = Self::default();
        }
        let days = Arc::make_mut(&mut self.days);
        let goes_on = days.back().is_some_and(|newest| {
            at.since(newest.upto).span < PAUSE && at.since(newest.from).span < LONGEST
        });
        if !goes_on {
            if days.len() == MOST_DAYS {
                days.pop_front();
            }
            let (flow, hands) = (laid.flow, Vec::new());
            days.push_back(DayLaid { from: at, upto: at, flow, coats: Day::default(), hands });
        }
        let Some(newest) = days.back_mut() else { return };
        newest.upto = at;
        newest.coats.add(laid.off);
        match newest.hands.iter_mut().find(|(people, _)| *people == laid.people) {
            Some((_, coats)) => coats.add(laid.off),
            None => {
                let mut coats = Day::default();
                coats.add(laid.off);
                newest.hands.push((laid.people.clone(), coats));
            }
        }
        if self.last.len() == 2 {
            self.last.pop_front();
        }
        self.last.push_back(laid.off);
    }
}

impl Book for SprayerBook {
    fn take(&mut self, entry: &Entry) {
        if let Some(laid) = &entry.laid {
            self.lay(laid, entry.moment);
        }
    }
}

/// That the sprayer lays another coat than it did, over days that chance does not explain; and the likeliest causes
/// (common practice, no source). The scale cannot tell sprayer from hand: a cup does. None where it does not drift.
pub fn drift_told(course: Course) -> Option<String> {
    let Course::Drifts { days, by } = course else { return None };
    let (side, causes) = match by > 0.0 {
        true => ("more", "a worn tip, or a slower hand"),
        false => ("less", "a tip that clogs, or a faster hand"),
    };
    let (days, by) = (counted(days, "day"), (100.0 * by).abs());
    Some(format!(
        "over {days} the sprayer lays {by:.0} % {side} than it did: {causes}. Catch a cup for 10 s and weigh it"
    ))
}
