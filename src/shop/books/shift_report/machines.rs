//! What held the work back: presses, printers and hands, each by the share of its time that it was at work.
//!
//! The busiest of them is the bottleneck: an hour that it stands idle is an hour that the whole bench has lost, and an
//! hour that another one stands idle costs nothing (Goldratt and Cox, The Goal: A Process of Ongoing Improvement, 1984).
//! Presses are at work while they run and while a garment or a sheet is changed, as recorded; a printer for as long as its
//! prints take by what was learned of it, else as recipe and station say; hands as the station says.

use std::time::Duration;

use serde::Serialize;

use super::book::{Item, ShiftBook};
use super::{PersonRow, PressRow};
use crate::shop::Shop;
use crate::shop::books::entry::SheetWork;

const HOUR_S: f64 = 3600.0;
const HOUR_MIN: f64 = 60.0;

/// The printers together.
#[derive(Debug, Clone, Copy, Default, PartialEq, Serialize)]
pub struct PrinterRow {
    pub printers: u8,
    pub prints: usize,
    pub busy_minutes: f64,
    pub idle_minutes: f64,
}

/// One of the things that a garment needs.
#[derive(Debug, Clone, Copy, PartialEq, Serialize)]
pub struct Resource {
    pub what: &'static str,
    /// How long it was there to be used, breaks and outages left out; several count each.
    pub hours: f64,
    pub busy_hours: f64,
    /// Of its hours; at most 1.
    pub share: f64,
}

/// The busiest of them.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct HeldBack {
    pub what: &'static str,
    pub hours: f64,
    pub busy_hours: f64,
    pub idle_hours: f64,
    pub share: f64,
    /// Garments that came out for each hour that it was at work; None where none came out.
    pub garments_an_hour: Option<f64>,
    /// All of them, the busiest first.
    pub all: Vec<Resource>,
}

pub const PRESSES: &str = "presses";
pub const PRINTERS: &str = "printers";
pub const HANDS: &str = "hands";

impl ShiftBook {
    pub(super) fn printer_row(&self, shop: &Shop, working_s: f64) -> PrinterRow {
        let hands = shop.station().map(|station| station.hands).unwrap_or_default();
        let usual = hands.print_load.0 + hands.print.0;
        let each = |(recipe, count): (&Option<_>, &u32)| {
            let print: Duration = recipe.as_ref().map_or(usual, |recipe| shop.print_time(recipe));
            (print + hands.print_unload.0).as_secs_f64() * f64::from(*count)
        };
        let printers = shop.station().map_or(1, |station| station.printers);
        let there = working_s * f64::from(printers);
        let busy = self.prints.iter().map(each).fold(0.0, |sum, s| sum + s).min(there);
        let prints = self.prints.values().map(|count| *count as usize).sum();
        let (busy_minutes, idle_minutes) = (busy / HOUR_MIN, (there - busy) / HOUR_MIN);
        PrinterRow { printers, prints, busy_minutes, idle_minutes }
    }

    /// Seconds of hands: what the acts took, and sheets, weights and fills.
    pub(super) fn hands_busy_s(&self, shop: &Shop) -> f64 {
        let hands = shop.station().map(|station| station.hands).unwrap_or_default();
        let other = |item: &Item| match item {
            Item::Sheet { work: SheetWork::Wiped | SheetWork::Changed, .. } => {
                hands.wipe.as_seconds()
            }
            // Before and after its coat.
            Item::WeighIn(..) => 2.0 * hands.weigh.as_seconds(),
            Item::Filled(..) => hands.fill.as_seconds(),
            _ => 0.0,
        };
        self.items().map(other).fold(self.used.hand_s, |sum, seconds| sum + seconds)
    }

    /// Who or what was busiest; `working_s` is how long work was planned, `finished` how many came out.
    pub(super) fn held_back(
        &self,
        shop: &Shop,
        working_s: f64,
        (presses, printer, people): (&[PressRow], &PrinterRow, &[PersonRow]),
        finished: usize,
    ) -> Option<HeldBack> {
        let sum = |of: fn(&PressRow) -> f64| {
            presses.iter().map(of).fold(0.0, |sum, minutes| sum + minutes) / HOUR_MIN
        };
        let at_work = sum(|row| row.running_minutes + row.changing_minutes + row.sheet_minutes);
        let there = working_s / HOUR_S * presses.len() as f64 - sum(|row| row.out_of_use_minutes);
        let signed: f64 = people.iter().map(|row| row.hours).sum();
        // Where nobody signs in, somebody was there.
        let hands = if signed > 0.0 { signed } else { working_s / HOUR_S };
        let mut all = vec![
            resource(PRESSES, there, at_work),
            resource(
                PRINTERS,
                working_s / HOUR_S * f64::from(printer.printers),
                printer.busy_minutes / HOUR_MIN,
            ),
            resource(HANDS, hands, self.hands_busy_s(shop) / HOUR_S),
        ];
        all.sort_by(|one, other| other.share.total_cmp(&one.share));
        let first = *all.first().filter(|first| first.busy_hours > 0.0)?;
        Some(HeldBack {
            what: first.what,
            hours: first.hours,
            busy_hours: first.busy_hours,
            idle_hours: first.hours - first.busy_hours,
            share: first.share,
            garments_an_hour: (finished > 0).then(|| finished as f64 / first.busy_hours),
            all,
        })
    }
}

/// What is at work for longer than it is there was there for longer.
fn resource(what: &'static str, hours: f64, busy_hours: f64) -> Resource {
    let hours = hours.max(busy_hours);
    let share = if hours > 0.0 { busy_hours / hours } else { 0.0 };
    Resource { what, hours, busy_hours, share }
}
