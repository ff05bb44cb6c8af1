//! A report in money: what was used, what was spoiled, what an hour of the bottleneck is worth. Nothing of it is stored: it
//! is counted when the report is read, by the prices of that day.

use serde::Serialize;

use super::{Cost, Report};
use crate::shop::books::used::{Part, Used};
use crate::shop::facts::station::{Costs, Station};

const HOUR_S: f64 = 3600.0;

/// The money of a report.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Bill {
    /// What the shop calls its money.
    pub money: String,
    /// What was used, each kind with its price; hands by the hours that people were signed in, where they were.
    pub parts: Vec<Part>,
    pub cost: Cost,
    /// For each garment that came out; None where a price is missing or none came out.
    pub per_garment: Option<f64>,
    /// What was lost.
    pub spoiled: Cost,
    /// What a garment brings.
    pub sale: Option<f64>,
    /// What the material of a garment costs, as far as it has prices, on the average of those that came out.
    pub material: Option<f64>,
    /// What an hour of the bottleneck brings: its garments at their sale, less the material.
    pub hour_worth: Option<f64>,
}

impl Report {
    /// Puts today's prices to what was used.
    #[must_use]
    pub fn priced(mut self, station: &Station) -> Self {
        let costs = station.costs;
        if costs.is_unknown() {
            return self;
        }
        let made = self.output.finished as f64;
        for order in &mut self.orders {
            order.cost = order.used.cost(&costs);
            order.cost_per_garment = order
                .cost
                .cost
                .filter(|_| order.finished > 0)
                .map(|cost| cost / order.finished as f64);
        }
        let mut spoiled = Used::default();
        for loss in &mut self.losses {
            loss.cost = loss.used.cost(&costs);
            spoiled += loss.used;
        }
        let signed: f64 = self.people.iter().map(|row| row.hours).sum();
        let used = Used { hand_s: self.used.hand_s.max(signed * HOUR_S), ..self.used };
        let parts = used.parts(&costs);
        let cost = Cost::of(&parts);
        let each = |sum: f64| (made > 0.0).then(|| sum / made);
        let material = material(&used, &costs).and_then(each);
        let sale = costs.sale.map(|sale| sale.0);
        let garments = self.held_back.as_ref().and_then(|held| held.garments_an_hour);
        let hour_worth = garments.zip(sale).map(|(n, sale)| n * (sale - material.unwrap_or(0.0)));
        self.bill = Some(Bill {
            money: station.money.clone(),
            per_garment: cost.cost.and_then(each),
            parts,
            cost,
            spoiled: spoiled.cost(&costs),
            sale,
            material,
            hour_worth,
        });
        self
    }
}

/// What the material cost, as far as it has prices.
fn material(used: &Used, costs: &Costs) -> Option<f64> {
    let material = Used { hand_s: 0.0, press_s: 0.0, printer_s: 0.0, ..*used };
    material.cost(costs).at_least
}
