//! A heat press as it stands: what it is shut on, since when, and how far it has come.

use std::sync::Arc;

use serde::{Deserialize, Serialize};

use crate::figures::units::Temperature;
use crate::shop::facts::coat::CoatEstimate;
use crate::shop::facts::fact::{PlatenChecked, PressureChecked};
use crate::shop::facts::ids::{RecipeHash, SheetNo, Tag};
use crate::shop::facts::moment::{Elapsed, Moment};
use crate::shop::facts::outage::OutOfUse;
use crate::shop::facts::recipe::Pressing;
use crate::shop::facts::step::{Pressure, Step};

/// What is known of a press beside its profile.
#[derive(Debug, Clone, Default, PartialEq, Serialize, Deserialize)]
pub struct Press {
    pub load: Option<Load>,
    /// When it was last opened.
    pub opened: Option<Moment>,
    /// Why it is out of use, if it is.
    pub out_of_use: Option<OutOfUse>,
    /// The dial and pressure as they were last set by hand; None: as the profile says.
    pub set: Option<Setting>,
    /// The pressure that its last step wanted, where it was not set by hand since: what is named before the next one.
    pub pressed: Option<Pressure>,
    /// Since it was switched on, or turned to another heat: what it does until it can be used.
    pub heat: Option<Heat>,
    /// What heating and settling have taken, by what was said.
    pub learned: HeatTimes,
    /// When its platen was last probed, and what that said.
    pub probed: Option<Arc<(Moment, PlatenChecked)>>,
    /// When strips of paper were last laid under it, and which held.
    pub strips: Option<(Moment, PressureChecked)>,
}

/// A press that was switched on, or turned to another heat.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize)]
pub struct Heat {
    pub since: Moment,
    /// What it was set to before; None: it was switched on.
    pub from: Option<Temperature>,
    /// When its light showed that it has reached its heat.
    pub light: Option<Moment>,
}

/// The last spans that heat took on a press, newest last: seconds from switching on to the light, and seconds a degree
/// Celsius of settling upwards and downwards.
#[derive(Debug, Clone, Default, PartialEq, Serialize, Deserialize)]
pub struct HeatTimes {
    pub start: Vec<f64>,
    pub up: Vec<f64>,
    pub down: Vec<f64>,
}

/// Degrees Celsius by which two settings differ that are not of one heat.
pub const OTHER_HEAT_C: f64 = 2.0;

/// How a press is set.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize)]
pub struct Setting {
    pub dial: Temperature,
    pub pressure: Pressure,
}

impl Setting {
    /// Whether a press set so has the heat that the recipe wants. Two degrees Celsius cover the rounding between
    /// scales ("340 F" and "171 C") and are finer than any dial. Pressure is turned in a moment and needs no settling: a
    /// change of it is named when the press is loaded ([`crate::shop::Shop::pressure_to_turn`]), and makes no press unfit.
    pub fn suits(&self, wanted: &Pressing) -> bool {
        let off = self.dial.as_celsius() - wanted.set_point.as_celsius();
        off.abs() < OTHER_HEAT_C
    }
}

/// What a press is shut on.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct Load {
    pub garment: Tag,
    pub step: Step,
    /// The short press of a garment from the shelf.
    pub again: bool,
    pub recipe: RecipeHash,
    pub shut: Moment,
    /// How the press was set then.
    pub set: Setting,
    /// The event that shut it: names the load for alarms.
    pub seq: u64,
    pub sheet: Option<SheetNo>,
    /// Seconds after the shut at which the steam stopped, where somebody noted it.
    pub steam: Option<f64>,
    /// What that second says of the coat, where the press has been learned.
    pub estimate: Option<CoatEstimate>,
    /// Presses under fluid that the sheet had seen before this one.
    pub sheet_presses: u32,
    /// False once somebody has said that the shut was not at the moment of the key.
    pub timed: bool,
    /// The room was damp.
    pub damp: bool,
}

/// How far a load has come.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub enum Progress {
    /// Before the recipe's shortest time.
    Young,
    /// Between the shortest time and the target.
    Running,
    /// At the target or past it: open it.
    Due,
    /// Past the longest time.
    Overdue,
}

impl Load {
    /// The time since it was shut.
    pub fn elapsed(&self, now: Moment) -> Elapsed {
        now.since(self.shut)
    }

    /// How far it has come by `now`.
    pub fn progress(&self, pressing: &Pressing, now: Moment) -> Progress {
        let span = self.elapsed(now).span;
        if span > pressing.longest.0 {
            Progress::Overdue
        } else if span >= pressing.target.0 {
            Progress::Due
        } else if span >= pressing.shortest.0 {
            Progress::Running
        } else {
            Progress::Young
        }
    }
}
