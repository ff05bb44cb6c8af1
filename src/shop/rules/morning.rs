//! What is looked at once a shift, before the first garment: a list that costs nobody a minute and stops nothing.

use serde::{Deserialize, Serialize};

use super::command::Refusal;
use super::decide::Facts;
use crate::shop::facts::day::Day;
use crate::shop::facts::fact::{MorningSaid, SampleSaid};
use crate::shop::facts::ids::{OrderId, Tag};
use crate::shop::facts::moment::Moment;
use crate::shop::facts::morning::MorningCheck;
use crate::shop::facts::step::Step;
use crate::shop::floor::garment::{Garment, Place};
use crate::shop::{Desk, Shop};

/// Above so many per cent the room is damp (from memory).
const DAMP: u8 = 60;

/// What was said this shift.
#[derive(Debug, Clone, Default, PartialEq, Serialize, Deserialize)]
pub struct Morning {
    pub day: Option<Day>,
    pub said: Vec<MorningSaid>,
}

impl Shop {
    /// Whether the station's list has something.
    pub fn asks_for(&self, check: MorningCheck) -> bool {
        self.station().is_some_and(|station| station.morning.contains(&check))
    }

    /// What the station's list holds, and what was said of each this shift.
    pub fn morning(&self, now: Moment) -> Vec<(MorningCheck, Option<&MorningSaid>)> {
        let listed = MorningCheck::ALL.into_iter().filter(|check| self.asks_for(*check));
        let holds = self.desk.shift_open || self.desk.morning.day == Some(self.today(now));
        let said =
            move |check| self.desk.morning.said.iter().find(|one| one.check == check && holds);
        listed.map(|check| (check, said(check))).collect()
    }

    /// How many lines of the list are open. The first sample is asked after when there is one.
    pub fn morning_left(&self, now: Moment) -> usize {
        let open = |(check, said): &(MorningCheck, Option<&MorningSaid>)| {
            said.is_none() && *check != MorningCheck::FirstSample
        };
        self.morning(now).iter().filter(|line| open(line)).count()
    }

    /// Whether the room was said to be damp.
    pub fn is_damp(&self) -> bool {
        let said = &self.desk.morning.said;
        said.iter().filter_map(|one| one.percent).any(|percent| percent > DAMP)
    }

    pub(in crate::shop) fn say_morning(
        &self,
        check: MorningCheck,
        (percent, skipped): (Option<u8>, bool),
        now: Moment,
    ) -> Result<Facts, Refusal> {
        if !self.asks_for(check) {
            return Err(Refusal::NotOnTheList(check));
        }
        if let Some(percent) = percent.filter(|percent| *percent > 100) {
            return Err(Refusal::NoHumidity(percent));
        }
        Ok(vec![MorningSaid { check, skipped, percent, day: self.today(now) }.into()])
    }

    /// The garment that is looked at before the rest of its order is printed: the first that is done, where nobody has
    /// said anything of it yet.
    pub fn sample_of(&self, order: OrderId) -> Option<&Garment> {
        let known = self.order(order)?;
        if !self.asks_for(MorningCheck::FirstSample) || known.sample.is_some() {
            return None;
        }
        let done = |garment: &&Garment| garment.place == Place::Finished;
        self.floor().of_order(order).filter(done).min_by_key(|garment| garment.since_seq)
    }

    /// Why the next print of an order waits for a look at its first: "A1-01 is not approved yet".
    pub fn lacks_sample(&self, tag: Tag) -> Option<String> {
        let order = self.order(tag.order_id())?;
        let first = |garment: &&Garment| {
            garment.tag != tag
                && matches!(
                    garment.place,
                    Place::Finished | Place::InPress(_) | Place::Waiting(Step::Cure)
                )
                && garment.last_step.is_some_and(|(step, _)| step >= Step::Print)
        };
        if !self.asks_for(MorningCheck::FirstSample) || order.sample == Some(true) {
            return None;
        }
        let first =
            self.floor().of_order(tag.order_id()).filter(first).min_by_key(|one| one.tag)?;
        Some(match order.sample {
            Some(_) => "the first of its order was NOT approved".to_owned(),
            None => format!("{} is the first of its order: look at it before the rest", first.tag),
        })
    }

    pub(in crate::shop) fn say_sample(&self, tag: Tag, approved: bool) -> Result<Facts, Refusal> {
        self.known_garment(tag)?;
        Ok(vec![SampleSaid { garment: tag, approved }.into()])
    }
}

impl Desk {
    pub(in crate::shop) fn say_morning(&mut self, fact: &MorningSaid) {
        // Where no shifts are opened, a day is one.
        if !self.shift_open && self.morning.day != Some(fact.day) {
            self.morning.said.clear();
        }
        self.morning.day = Some(fact.day);
        self.morning.said.retain(|one| one.check != fact.check);
        self.morning.said.push(fact.clone());
    }
}
