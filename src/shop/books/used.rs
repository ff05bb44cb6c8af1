//! What work used up, in time and material, and what that costs by the shop's prices.
//!
//! Hand time and printer time are what the profiles say of an act, press time is what was recorded, and fluid is
//! what the sprayer's plan took out of it. What has no price costs no zero: it is named.

use std::ops::AddAssign;

use serde::{Deserialize, Serialize};

use super::entry::{Done, SheetWork};
use crate::figures::money::Money;
use crate::shop::facts::station::Costs;

const HOUR_S: f64 = 3600.0;
const GRAMS_PER_KG: f64 = 1000.0;

/// Time and material.
#[derive(Debug, Clone, Copy, Default, PartialEq, Serialize, Deserialize)]
pub struct Used {
    pub blanks: u32,
    pub prints: u32,
    pub sprays: u32,
    /// Those of which nobody knows the grams, since no fill was recorded.
    pub unknown_sprays: u32,
    pub fluid_g: f64,
    /// Cover sheets that were changed for new ones.
    pub sheets: u32,
    pub hand_s: f64,
    pub press_s: f64,
    pub printer_s: f64,
}

impl AddAssign for Used {
    fn add_assign(&mut self, other: Self) {
        self.blanks += other.blanks;
        self.prints += other.prints;
        self.sprays += other.sprays;
        self.unknown_sprays += other.unknown_sprays;
        self.fluid_g += other.fluid_g;
        self.sheets += other.sheets;
        self.hand_s += other.hand_s;
        self.press_s += other.press_s;
        self.printer_s += other.printer_s;
    }
}

/// One kind of what was used, and what it cost.
#[derive(Debug, Clone, Copy, PartialEq, Serialize)]
pub struct Part {
    pub what: &'static str,
    pub quantity: f64,
    pub unit: &'static str,
    /// The name of its price in the profile.
    pub price_of: &'static str,
    /// Of one unit; None: no price, or nobody knows the quantity.
    pub price: Option<f64>,
}

impl Part {
    /// What it cost; None without a price.
    pub fn cost(&self) -> Option<f64> {
        self.price.map(|price| price * self.quantity)
    }
}

/// What something cost, as far as prices are known.
#[derive(Debug, Clone, Default, PartialEq, Serialize)]
pub struct Cost {
    /// All of it; None where a price is missing.
    pub cost: Option<f64>,
    /// The sum of what has a price; None where nothing of it has one.
    pub at_least: Option<f64>,
    /// What has no price, by its name in the profile.
    pub no_price: Vec<&'static str>,
}

impl Used {
    /// What an act used, with the press time of an opening.
    pub fn by(done: &Done) -> Self {
        match done {
            Done::Opened(opened) => Self {
                hand_s: opened.load.as_secs_f64() + opened.unload.as_secs_f64(),
                press_s: opened.opening.seconds.or(opened.opening.target).unwrap_or(0.0),
                ..Self::default()
            },
            Done::Handwork { hand_s, fluid_g, .. } => Self {
                hand_s: *hand_s,
                sprays: 1,
                unknown_sprays: u32::from(fluid_g.is_none()),
                fluid_g: fluid_g.unwrap_or(0.0),
                ..Self::default()
            },
            Done::Printed { hand_s, own, .. } => {
                Self { hand_s: *hand_s, prints: 1, printer_s: own.as_secs_f64(), ..Self::default() }
            }
            Done::Sheet { work: SheetWork::Changed | SheetWork::Renewed, .. } => {
                Self { sheets: 1, ..Self::default() }
            }
            Done::Order(_)
            | Done::Shut { .. }
            | Done::Trouble { .. }
            | Done::Renewed
            | Done::Stored
            | Done::Weighed
            | Done::CoatWeighed(_)
            | Done::CoatMended
            | Done::Sheet { .. }
            | Done::Filled { .. }
            | Done::Flushed
            | Done::OutOfUse { .. }
            | Done::InUse(_)
            | Done::SignedIn { .. }
            | Done::SignedOut(_)
            | Done::ShiftClosed
            | Done::Fan(_)
            | Done::Tap
            | Done::Other => Self::default(),
        }
    }

    /// Grams of fluid for a spray; None where not all are known.
    pub fn each_g(&self) -> Option<f64> {
        let known = self.sprays > 0 && self.unknown_sprays == 0;
        known.then(|| self.fluid_g / f64::from(self.sprays))
    }

    /// What there is of each kind, and its price. Press and printer hours that have none are the shop's to leave out.
    pub fn parts(&self, costs: &Costs) -> Vec<Part> {
        let part = |what, quantity: f64, unit, price_of, price: Option<Money>| Part {
            what,
            quantity,
            unit,
            price_of,
            price: price.map(|price| price.0),
        };
        let grams_known = costs.fluid_kg.filter(|_| self.unknown_sprays == 0);
        let sprayed = if self.sprays > 0 && self.unknown_sprays == self.sprays {
            part("fluid", self.sprays.into(), "sprays of unknown weight", "fluid_kg", None)
        } else {
            part("fluid", self.fluid_g / GRAMS_PER_KG, "kg", "fluid_kg", grams_known)
        };
        let mut parts = vec![
            part("blanks", self.blanks.into(), "garments", "blank", costs.blank),
            part("ink", self.prints.into(), "prints", "print", costs.print),
            sprayed,
            part("sheets", self.sheets.into(), "sheets", "sheet", costs.sheet),
            part("hands", self.hand_s / HOUR_S, "h", "hour", costs.hour),
        ];
        let machines = [
            ("presses", self.press_s, "press_hour", costs.press_hour),
            ("printers", self.printer_s, "printer_hour", costs.printer_hour),
        ];
        let priced = machines.into_iter().filter(|(.., price)| price.is_some());
        parts.extend(
            priced.map(|(what, seconds, of, price)| part(what, seconds / HOUR_S, "h", of, price)),
        );
        parts.retain(|part| part.quantity > 0.0);
        parts
    }

    /// What it cost.
    pub fn cost(&self, costs: &Costs) -> Cost {
        Cost::of(&self.parts(costs))
    }
}

impl Cost {
    /// The sum of parts.
    pub fn of(parts: &[Part]) -> Self {
        let known: Vec<f64> = parts.iter().filter_map(Part::cost).collect();
        let unpriced = parts.iter().filter(|part| part.price.is_none());
        let no_price: Vec<&str> = unpriced.map(|part| part.price_of).collect();
        // Not a bare sum: that of nothing is -0.
        let sum = known.iter().fold(0.0, |sum, cost| sum + cost);
        Self {
            cost: no_price.is_empty().then_some(sum),
            at_least: (no_price.is_empty() || !known.is_empty()).then_some(sum),
            no_price,
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn costs() -> Costs {
        let price = |text: &str| Some(text.parse().unwrap());
        Costs {
            blank: price("3.20"),
            fluid_kg: price("24"),
            hour: price("22"),
            print: price("0.90"),
            ..Costs::default()
        }
    }

    #[test]
    fn each_kind_costs_its_price_and_nothing_without_one_is_a_zero() {
        let used = Used {
            blanks: 2,
            prints: 3,
            sprays: 2,
            fluid_g: 50.0,
            hand_s: 1800.0,
            ..Used::default()
        };
        let cost = used.cost(&costs());
        assert!((cost.cost.unwrap() - (6.4 + 2.7 + 1.2 + 11.0)).abs() < 1e-9, "{cost:?}");
        let without = Costs { blank: None, ..costs() };
        let cost = used.cost(&without);
        assert_eq!((cost.cost, cost.no_price), (None, vec!["blank"]));
        assert!((cost.at_least.unwrap() - 14.9).abs() < 1e-9);
        let none = used.cost(&Costs::default());
        assert_eq!((none.cost, none.at_least), (None, None));
        // What was not used needs no price.
        assert_eq!(Used::default().cost(&Costs::default()).cost, Some(0.0));
    }

    #[test]
    fn fluid_of_unknown_weight_has_no_price_though_a_kilogram_has_one() {
        let used = Used { sprays: 2, unknown_sprays: 1, fluid_g: 25.0, ..Used::default() };
        assert_eq!(used.cost(&costs()).no_price, ["fluid_kg"]);
    }
}
