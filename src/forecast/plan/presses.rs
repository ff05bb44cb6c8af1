//! The presses of a station, one by one: what each serves, how it is set, from when on it can be used.
//!
//! The plain rule goes by it ([`crate::forecast::dispatch`]). The search does not: to a plan every press is like any other.

use super::Millis;
use crate::figures::units::Temperature;
use crate::shop::floor::press::OTHER_HEAT_C;

/// The heat of a press, in tenths of a degree Celsius.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash, PartialOrd, Ord)]
pub struct Heat(i32);

impl Heat {
    #[expect(clippy::cast_possible_truncation, reason = "some hundred degrees")]
    pub fn of(temperature: Temperature) -> Self {
        Self((temperature.as_celsius() * 10.0).round() as i32)
    }

    /// As [`crate::shop::floor::press::Setting::suits`] has it.
    fn suits(self, wanted: Heat) -> bool {
        f64::from((self.0 - wanted.0).abs()) < 10.0 * OTHER_HEAT_C
    }
}

/// What a phase asks of its press beside being one. Nothing: any press will do, as it is set.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash, PartialOrd, Ord, Default)]
pub struct Asks {
    /// The presses of the station that it cannot be in, a bit each. One that comes beside them serves everything.
    not_in: u16,
    heat: Option<Heat>,
}

impl Asks {
    /// Of a phase at a heat that the presses of the station serve or do not.
    pub fn of(heat: Temperature, serves: impl Iterator<Item = bool>) -> Self {
        let bit =
            |(no, serves): (u32, bool)| if serves { 0 } else { 1u16.checked_shl(no).unwrap_or(0) };
        let not_in = (0..).zip(serves).map(bit).fold(0, |all, one| all | one);
        Self { not_in, heat: Some(Heat::of(heat)) }
    }

    /// Whether a press serves it, counted from 0, whatever its heat.
    pub fn is_served_by(&self, press: usize) -> bool {
        let bit = u32::try_from(press).ok().and_then(|no| 1u16.checked_shl(no)).unwrap_or(0);
        self.not_in & bit == 0
    }
}

/// A press as it stands.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub struct Stands {
    /// How it is set; None: as whatever is laid into it first wants it.
    pub heat: Option<Heat>,
    /// From when on it can be used.
    pub ready: Millis,
    /// How long it settles for a degree Celsius hotter, and colder.
    pub up: Millis,
    pub down: Millis,
}

impl Stands {
    /// Whether it is set for a phase.
    pub fn suits(&self, asks: &Asks) -> bool {
        self.heat.zip(asks.heat).is_none_or(|(set, wanted)| set.suits(wanted))
    }

    /// Something is laid into it.
    pub fn load(&mut self, asks: &Asks) {
        self.heat = self.heat.or(asks.heat);
    }

    /// It is turned at a moment to the heat that a phase asks for, and settles.
    pub fn turn(&mut self, asks: &Asks, now: Millis) {
        if let (Some(set), Some(wanted)) = (self.heat, asks.heat) {
            let by = Millis::from(wanted.0 - set.0);
            let degree = if by < 0 { self.down } else { self.up };
            self.ready = now + by.abs() * degree / 10;
        }
        self.heat = asks.heat.or(self.heat);
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_press_serves_what_it_is_used_for_and_one_that_comes_beside_it_serves_all() {
        let asks = Asks::of(Temperature::celsius(171.0), [true, false, true].into_iter());
        let served: Vec<bool> = (0..20).map(|no| asks.is_served_by(no)).collect();
        assert!(!served[1] && served.iter().filter(|one| !**one).count() == 1, "{served:?}");
    }

    #[test]
    fn a_press_settles_by_the_degrees_that_it_is_turned_by() {
        let asks = |celsius: f64| Asks::of(Temperature::celsius(celsius), [true].into_iter());
        let heat = Some(Heat::of(Temperature::celsius(170.0)));
        let mut press = Stands { heat, up: 6000, down: 20_000, ready: 0 };
        assert!(press.suits(&asks(171.0)) && !press.suits(&asks(150.0)));
        press.turn(&asks(150.0), 1000);
        assert_eq!(press.ready, 1000 + 20 * 20_000);
        press.turn(&asks(160.5), press.ready);
        assert_eq!(press.ready, 1000 + 400_000 + 63_000);
        assert!(press.suits(&asks(160.0)));
    }
}
