//! Who is at the bench. Initials, no passwords: this is a shop floor.

use super::command::Refusal;
use super::decide::Facts;
use super::morning::Morning;
use crate::shop::facts::fact::{FanSaid, ShiftClosed, SignedIn, SignedOut};
use crate::shop::facts::moment::Moment;
use crate::shop::facts::step::Step;
use crate::shop::facts::words::{clean, counted};
use crate::shop::floor::garment::Queue;
use crate::shop::{Desk, Shop};

/// The most people at one bench, and the most letters of their initials.
const MOST_PEOPLE: usize = 6;
const LETTERS: usize = 4;

/// What stands wherever somebody is about to spray, and at the end of the shift.
pub const FAN_OFF: &str = "the fan at the spray booth does not run";

/// Initials as they are kept: letters and digits, in capitals.
pub(super) fn initials(text: &str) -> Option<String> {
    let letters: String =
        text.trim().chars().filter(|c| c.is_alphanumeric()).take(LETTERS + 1).collect();
    let initials = clean(&letters.to_uppercase(), LETTERS + 1);
    (1..=LETTERS).contains(&initials.chars().count()).then_some(initials)
}

impl Shop {
    /// Signs somebody in, or out where they are in.
    pub(in crate::shop) fn sign(&self, who: &str) -> Result<Facts, Refusal> {
        let who = initials(who).ok_or(Refusal::NoInitials)?;
        let people = &self.desk().people;
        if people.contains(&who) {
            return Ok(vec![SignedOut { who }.into()]);
        }
        if people.len() == MOST_PEOPLE {
            return Err(Refusal::BenchIsFull);
        }
        Ok(vec![SignedIn { who, opens_shift: people.is_empty() && !self.desk().shift_open }.into()])
    }

    pub(in crate::shop) fn close_shift(&self, now: Moment) -> Result<Facts, Refusal> {
        if !self.desk().shift_open {
            return Err(Refusal::NoShift);
        }
        let left = self.left_lying(now);
        Ok(vec![ShiftClosed { who: self.desk().people.clone(), left }.into()])
    }

    pub(in crate::shop) fn say_fan(&self, running: Option<bool>) -> Result<Facts, Refusal> {
        if !self.desk().fan_asked && !self.desk().fan_off {
            return Err(Refusal::FanNotAsked);
        }
        Ok(vec![FanSaid { running }.into()])
    }

    /// What must not be left at the end of a shift, each in a line.
    pub fn left_lying(&self, now: Moment) -> Vec<String> {
        let mut left: Vec<String> = self
            .loads()
            .map(|(press, load)| format!("press {press} is shut on {}", load.garment))
            .collect();
        let floor = self.floor();
        for (queue, what) in [
            (Queue::Step(Step::Dry), "wet garments wait for the dryer"),
            (Queue::Step(Step::Cure), "prints wait for their cure"),
        ] {
            match floor.count(queue) {
                0 => {}
                count => left.push(format!("{what}: {count}")),
            }
        }
        let rule = self.station().map_or(u32::MAX, |station| station.sheet.wipe_at);
        let unwiped = self
            .sheets()
            .all()
            .filter(|sheet| sheet.presses >= rule || sheet.at.is_none() && sheet.presses > 0);
        left.extend(unwiped.map(|sheet| {
            format!("sheet {} is not wiped: {}", sheet.no, counted(sheet.presses, "press"))
        }));
        let filling = &self.supplies().filling;
        if !filling.lots.is_empty() {
            left.push(format!(
                "the sprayer is filled: {} of {}",
                filling.left(),
                filling.lots.join(" and ")
            ));
        }
        left.extend(self.desk().fan_off.then(|| FAN_OFF.to_owned()));
        let unsure = self.clock_is_wrong(now);
        left.extend(unsure.then(|| "the machine's clock is wrong".to_owned()));
        left
    }
}

impl Desk {
    pub(in crate::shop) fn sign_in(&mut self, fact: &SignedIn) {
        self.people.push(fact.who.clone());
        if fact.opens_shift {
            self.shift_open = true;
            self.shifts_used = true;
            self.fan_asked = true;
            self.morning = Morning::default();
        }
    }

    /// What was said of the fan stands until somebody says otherwise: not to have seen it says nothing.
    pub(in crate::shop) fn say_fan(&mut self, fact: &FanSaid) {
        self.fan_asked = false;
        self.fan_off = fact.running.map_or(self.fan_off, |running| !running);
    }

    pub(in crate::shop) fn sign_out(&mut self, fact: &SignedOut) {
        self.people.retain(|who| *who != fact.who);
    }

    pub(in crate::shop) fn end_shift(&mut self) {
        self.people.clear();
        self.shift_open = false;
        self.fan_asked = false;
    }
}
