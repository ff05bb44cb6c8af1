//! The heat of a press: switched on and soaking, turned to another heat and settling. Counted down from what was said
//! before, else from what is from memory; until then a press is not offered, and is used all the same where somebody
//! chooses a garment for it.

use std::time::Duration;

use super::command::Refusal;
use super::decide::Facts;
use crate::figures::units::Temperature;
use crate::shop::Shop;
use crate::shop::facts::fact::{DialSet, HeatSaid};
use crate::shop::facts::ids::PressNo;
use crate::shop::facts::moment::Moment;
use crate::shop::facts::morning::HeatWord;
use crate::shop::facts::step::Pressure;
use crate::shop::floor::press::{Heat, HeatTimes, Press, Setting};

/// Seconds from switching on to the light, and seconds a degree Celsius of settling: cooling takes longest. From memory,
/// until they are learned.
const START_S: f64 = 900.0;
const UP_S: f64 = 6.0;
const DOWN_S: f64 = 20.0;
/// So many of the last spans are kept; what is longer than two hours was not watched.
const KEPT: usize = 5;
const WATCHED_S: f64 = 7200.0;

/// Why a press is not offered yet.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Unready {
    Heating,
    Soaking,
    Settling,
}

impl Unready {
    /// As the board says it.
    pub fn words(self) -> &'static str {
        match self {
            Unready::Heating => "heating",
            Unready::Soaking => "soaking",
            Unready::Settling => "settling",
        }
    }
}

impl HeatTimes {
    fn keep(list: &mut Vec<f64>, span: f64) {
        if (0.0..=WATCHED_S).contains(&span) {
            if list.len() == KEPT {
                list.remove(0);
            }
            list.push(span);
        }
    }

    /// The middle one of the last; what is from memory where there is none.
    fn typical(list: &[f64], else_s: f64) -> f64 {
        let mut sorted = list.to_vec();
        sorted.sort_by(f64::total_cmp);
        sorted.get(sorted.len() / 2).copied().unwrap_or(else_s)
    }

    /// Seconds that settling from one heat to another takes.
    fn settling(&self, from: Temperature, to: Temperature) -> f64 {
        let by = to.as_celsius() - from.as_celsius();
        let (list, else_s) = if by < 0.0 { (&self.down, DOWN_S) } else { (&self.up, UP_S) };
        Self::typical(list, else_s) * by.abs()
    }

    fn learn(&mut self, heat: &Heat, to: Temperature, seconds: f64) {
        let Some(from) = heat.from else { return Self::keep(&mut self.start, seconds) };
        let by = to.as_celsius() - from.as_celsius();
        // By a degree or two nothing is learned.
        if by.abs() >= 5.0 && seconds <= WATCHED_S {
            Self::keep(if by < 0.0 { &mut self.down } else { &mut self.up }, seconds / by.abs());
        }
    }
}

fn span(seconds: f64) -> Duration {
    Duration::try_from_secs_f64(seconds).unwrap_or_default()
}

impl Shop {
    /// Why a press cannot be used yet, and for how long; None where it can, or nobody has said anything of its heat.
    pub fn unready(&self, press: PressNo, now: Moment) -> Option<(Unready, Duration)> {
        let state = self.presses.get(&press)?;
        let heat = state.heat?;
        let gone = now.since(heat.since);
        if !gone.sure {
            return None;
        }
        let left =
            |of: Duration, gone: Duration| of.checked_sub(gone).filter(|left| !left.is_zero());
        if let Some(from) = heat.from {
            let settles = span(state.learned.settling(from, self.setting(press)?.dial));
            return left(settles, gone.span).map(|left| (Unready::Settling, left));
        }
        let soak = self.station()?.soak.0;
        if let Some(light) = heat.light {
            return left(soak, now.since(light).span).map(|left| (Unready::Soaking, left));
        }
        let heats = span(HeatTimes::typical(&state.learned.start, START_S));
        if let Some(left) = left(heats, gone.span) {
            return Some((Unready::Heating, left));
        }
        // Nobody has said that its light shows: it is taken to have come when it usually does.
        left(soak, gone.span.saturating_sub(heats)).map(|left| (Unready::Soaking, left))
    }

    /// How long a press would take to settle at another heat.
    pub fn settling(&self, press: PressNo, to: Temperature) -> Option<Duration> {
        let from = self.setting(press)?.dial;
        let none = HeatTimes::default();
        let learned = self.presses.get(&press).map_or(&none, |press| &press.learned);
        Some(span(learned.settling(from, to)))
    }

    /// How long a press settles for a degree Celsius hotter, and colder.
    pub fn settles_a_degree(&self, press: PressNo) -> [Duration; 2] {
        let none = HeatTimes::default();
        let learned = self.presses.get(&press).map_or(&none, |press| &press.learned);
        let from = Temperature::celsius(100.0);
        [101.0, 99.0].map(|to| span(learned.settling(from, Temperature::celsius(to))))
    }

    /// When a press becomes ready, for the next look at the shop.
    pub(in crate::shop) fn readies(&self, now: Moment) -> impl Iterator<Item = Duration> {
        self.press_numbers().into_iter().filter_map(move |press| Some(self.unready(press, now)?.1))
    }

    /// Something is said of the heat of a press, or of all that it can be said of.
    pub(in crate::shop) fn say_heat(
        &self,
        press: Option<PressNo>,
        said: HeatWord,
        now: Moment,
    ) -> Result<Facts, Refusal> {
        let waits = |press: &PressNo| match said {
            HeatWord::On => true,
            HeatWord::Light => {
                let heat = self.presses.get(press).and_then(|press| press.heat);
                heat.is_some_and(|heat| heat.light.is_none()) && self.unready(*press, now).is_some()
            }
            _ => self.unready(*press, now).is_some(),
        };
        let all = self.press_numbers().into_iter();
        let presses: Vec<PressNo> =
            all.filter(|one| press.is_none_or(|press| press == *one)).filter(waits).collect();
        if presses.is_empty() {
            return Err(Refusal::HeatNotAwaited);
        }
        let fact = |press| HeatSaid { press, said, dial: None, pressure: None }.into();
        Ok(presses.into_iter().map(fact).collect())
    }

    /// A press was turned to another heat, and settles.
    pub(in crate::shop) fn turn_press(
        &self,
        press: PressNo,
        dial: Temperature,
        pressure: Pressure,
    ) -> Result<Facts, Refusal> {
        self.setting(press).ok_or(Refusal::NoSuchPress(press))?;
        let (dial, pressure) = (Some(dial.as_written()), Some(pressure));
        Ok(vec![HeatSaid { press, said: HeatWord::Turned, dial, pressure }.into()])
    }

    pub(in crate::shop) fn heat_said(&mut self, fact: &HeatSaid, at: Moment) {
        let before = self.setting(fact.press);
        self.with_press(fact.press, |press| match fact.said {
            HeatWord::On => press.heat = Some(Heat { since: at, from: None, light: None }),
            HeatWord::UsedNow => press.heat = None,
            HeatWord::Light => {
                let Some(heat) = press.heat else { return };
                let dial = before.map_or(Temperature::celsius(0.0), |set| set.dial);
                press.learn_heat(&heat, dial, at);
                let soaks = heat.from.is_none();
                press.heat = soaks.then_some(Heat { light: Some(at), ..heat });
            }
            HeatWord::Turned => {
                let Some((before, (dial, pressure))) = before.zip(fact.dial.zip(fact.pressure))
                else {
                    return;
                };
                (press.set, press.pressed) = (Some(Setting { dial, pressure }), None);
                press.heat = Some(Heat { since: at, from: Some(before.dial), light: None });
            }
        });
    }

    /// A press was set, and has settled.
    pub(in crate::shop) fn dial_set(&mut self, fact: &DialSet, at: Moment) {
        let set = Setting { dial: fact.dial, pressure: fact.pressure };
        self.with_press(fact.press, |press| {
            // What had soaked only is still to soak.
            if let Some(heat) = press.heat.filter(|heat| heat.from.is_some()) {
                press.learn_heat(&heat, fact.dial, at);
                press.heat = None;
            }
            (press.set, press.pressed) = (Some(set), None);
        });
    }
}

impl Press {
    fn learn_heat(&mut self, heat: &Heat, to: Temperature, at: Moment) {
        let gone = at.since(heat.since);
        if gone.sure {
            self.learned.learn(heat, to, gone.seconds());
        }
    }
}
