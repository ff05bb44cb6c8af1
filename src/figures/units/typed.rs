//! A quantity together with the unit in which somebody wrote it, so that the answer comes back in that unit.

use std::fmt;
use std::ops::Deref;
use std::str::FromStr;

use serde::{Deserialize, Serialize};

use super::NotAQuantity;
use super::number::{in_plain_letters, plain, split};
use super::table::{Kind, Unit, find, symbols};

/// A quantity that is so many of one unit.
pub trait Measured: Copy {
    const KIND: Kind;
    /// The unit of a bare number, where only one can be meant.
    const BARE: Option<&'static Unit> = None;
    /// From the kind's own unit.
    fn of(number: f64) -> Self;
    /// In the kind's own unit.
    fn number(self) -> f64;
}

/// A quantity as it was written: 6 and "in", and what that is.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Typed<Q> {
    quantity: Q,
    number: f64,
    unit: &'static Unit,
}

impl<Q: Measured> Typed<Q> {
    /// So many of a unit. The unit is one of the quantity's kind.
    pub fn new(number: f64, unit: &'static Unit) -> Self {
        Self { quantity: Q::of(number * unit.worth), number, unit }
    }

    /// Another quantity of the same kind, in the unit of this one.
    pub fn alike(self, quantity: Q) -> Self {
        Self { quantity, number: quantity.number() / self.unit.worth, unit: self.unit }
    }

    /// The quantity by itself.
    pub fn quantity(self) -> Q {
        self.quantity
    }

    /// The unit in which it was written.
    pub fn unit(self) -> &'static Unit {
        self.unit
    }

    /// What its unit's worth rests on, where that has to be said.
    pub fn assumes(self) -> Option<&'static str> {
        self.unit.assumes
    }

    /// Reads a text in which a bare number is of `bare`.
    ///
    /// # Errors
    /// No number, or a unit of something else.
    pub fn read_in(text: &str, bare: Option<&'static Unit>) -> Result<Self, NotAQuantity> {
        let wanted = Q::KIND.wanted();
        let letters = in_plain_letters(text);
        let (number, name) = split(&letters).map_err(|reason| reason.error(text, wanted))?;
        if name.is_empty() {
            let unit = bare.or(Q::BARE);
            let none = || NotAQuantity::because(text, "which has no unit", wanted);
            return Ok(Self::new(number, unit.ok_or_else(none)?));
        }
        let unit = find(Q::KIND, name).ok_or_else(|| {
            let why = format!("where \"{}\" is no unit of {}", super::shown(name), Q::KIND.name());
            let wanted = format!("{wanted}, in {}", symbols(Q::KIND));
            NotAQuantity::because(text, &why, &wanted)
        })?;
        Ok(Self::new(number, unit))
    }
}

impl<Q> Deref for Typed<Q> {
    type Target = Q;
    fn deref(&self) -> &Q {
        &self.quantity
    }
}

impl<Q: Measured> FromStr for Typed<Q> {
    type Err = NotAQuantity;
    fn from_str(text: &str) -> Result<Self, NotAQuantity> {
        Self::read_in(text, None)
    }
}

/// To three places behind the point, or to as many as are asked for.
impl<Q> fmt::Display for Typed<Q> {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        let number = match f.precision() {
            Some(places) => format!("{:.places$}", self.number),
            None => plain(self.number, 3),
        };
        f.write_str(&self.unit.behind(&number))
    }
}

/// In files and in the journal it is as exact as it was written.
impl<Q> Serialize for Typed<Q> {
    fn serialize<S: serde::Serializer>(&self, serializer: S) -> Result<S::Ok, S::Error> {
        self.unit.behind(&self.number.to_string()).serialize(serializer)
    }
}

impl<'de, Q: Measured> Deserialize<'de> for Typed<Q> {
    fn deserialize<D: serde::Deserializer<'de>>(deserializer: D) -> Result<Self, D::Error> {
        String::deserialize(deserializer)?.parse().map_err(serde::de::Error::custom)
    }
}
