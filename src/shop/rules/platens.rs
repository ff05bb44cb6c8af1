//! A press that is checked: its platen probed, strips of paper laid under it.

use super::command::Refusal;
use super::decide::{Facts, to_millis};
use crate::figures::platen::Grid;
use crate::figures::units::{Temperature, bounds};
use crate::shop::Shop;
use crate::shop::facts::fact::{PlatenChecked, PressureChecked};
use crate::shop::facts::ids::PressNo;

impl Shop {
    /// What was said of a press, the worse news last: it stands on the message line.
    pub(in crate::shop) fn check_press(
        &self,
        press: PressNo,
        readings: &[Vec<Temperature>],
        held: Option<[bool; 4]>,
    ) -> Result<Facts, Refusal> {
        let set = self.setting(press).ok_or(Refusal::NoSuchPress(press))?;
        let strips = held.map(|held| PressureChecked { press, pressure: set.pressure, held });
        let slipped = held.is_some_and(|held| held.contains(&false));
        let platen = if readings.is_empty() { None } else { Some(self.probed(press, readings)?) };
        let platen_first = platen.as_ref().is_some_and(|platen| platen.within) && slipped;
        let mut facts: Facts = strips.map(Into::into).into_iter().collect();
        if let Some(platen) = platen {
            facts.insert(if platen_first { 0 } else { facts.len() }, platen.into());
        }
        if facts.is_empty() { Err(Refusal::NothingChecked(press)) } else { Ok(facts) }
    }

    fn probed(
        &self,
        press: PressNo,
        readings: &[Vec<Temperature>],
    ) -> Result<PlatenChecked, Refusal> {
        let station = self.station().ok_or(Refusal::NoStation)?;
        let dial = self.setting(press).ok_or(Refusal::NoSuchPress(press))?.dial;
        let wrong = |heat: &&Temperature| !bounds::PROBED.holds(heat.as_celsius());
        if let Some(heat) = readings.iter().flatten().find(wrong) {
            return Err(Refusal::NoPlatensHeat(*heat));
        }
        let as_written =
            |row: &Vec<Temperature>| row.iter().map(|heat| heat.as_written()).collect::<Vec<_>>();
        let readings: Vec<_> = readings.iter().map(as_written).collect();
        let rows = readings.iter().map(|row| row.iter().map(|heat| heat.as_celsius()).collect());
        let grid = Grid::new(rows.collect()).map_err(Refusal::Grid)?;
        let tolerance = station.platen.tolerance;
        let found = grid.against(dial, tolerance);
        Ok(PlatenChecked {
            press,
            dial,
            readings,
            tolerance,
            mean_c: to_millis(found.mean_c),
            spread_c: to_millis(found.spread_c),
            correction_c: to_millis(found.correction_c),
            within: found.within,
        })
    }
}
