//! The one table of what a shop can have: between which two each quantity lies, by its name.
//!
//! Wider than any shop (common practice, no source): what lies outside is a slip of the finger or of the unit.
//! Commands, profiles and forms ask here, and say it in the unit that was typed.

use super::number::{self, plain};
use super::rates::Share;
use super::size::Rectangle;
use super::typed::{Measured, Typed};
use super::{GramsPerSquareMetre, HeatSpan, NotAQuantity, Temperature};

/// Something that a person writes and that has a size.
pub trait Written: Copy + Send + Sync + 'static {
    /// Reads it.
    ///
    /// # Errors
    /// A text that is none.
    fn read(text: &str) -> Result<Self, NotAQuantity>;
    /// In the unit in which its bounds are stated.
    fn size(self) -> f64;
    /// In the unit in which it was written: 3 F is above zero, though in Celsius it is below.
    fn as_typed(self) -> f64 {
        self.size()
    }
    /// So much, in the unit of this one.
    fn in_its_unit(self, size: f64) -> String;
}

/// Between which two a quantity lies.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Bounds {
    /// What it is, as in "which is no width of a fan".
    pub what: &'static str,
    /// In the quantity's own unit: centimetres, grams, g/m2, g/s, degrees Celsius, seconds, shares of 1.
    pub least: f64,
    pub most: f64,
}

const fn bounds(what: &'static str, least: f64, most: f64) -> Bounds {
    Bounds { what, least, most }
}

/// Wider than any fabric or ink wants.
pub const PLATE: Bounds = bounds("heat for a press", 60.0, 230.0);
pub const PROBED: Bounds = bounds("platen's heat", 0.0, 300.0);
pub const TOLERANCE: Bounds = bounds("tolerance of a platen", 0.1, 60.0);
pub const ALTITUDE: Bounds = bounds("height of a shop", -50_000.0, 500_000.0);
pub const FAN: Bounds = bounds("width of a fan", 0.5, 100.0);
pub const FAN_ANGLE: Bounds = bounds("angle of a fan", 1.0, 150.0);
pub const DISTANCE: Bounds = bounds("distance of a sprayer", 1.0, 200.0);
pub const PAST: Bounds = bounds("way past the edge", 0.0, 100.0);
pub const SIDE: Bounds = bounds("side of a print, an area or a platen", 1.0, 200.0);
pub const FLOW: Bounds = bounds("flow of a sprayer", 0.01, 100.0);
/// Cloth holds no more.
pub const COAT: Bounds = bounds("coat", 1.0, 2000.0);
/// From gauze to the thickest fleece (from memory).
pub const CLOTH: Bounds = bounds("weight of cloth", 30.0, 1200.0);
/// What fits under a heat press.
pub const GARMENT: Bounds = bounds("garment's weight", 20.0, 5000.0);
/// A garment, or a piece of cloth on which a coat is tried.
pub const WEIGHED: Bounds = bounds("weight of a garment", 0.1, 5000.0);
pub const FILL: Bounds = bounds("fill of a sprayer", 1.0, 5000.0);
pub const CAUGHT: Bounds = bounds("weight of what was caught", 0.1, 5000.0);
pub const CATCHING: Bounds = bounds("time of catching", 0.5, 3600.0);
pub const OVERLAP: Bounds = bounds("overlap", 0.0, 0.95);
pub const KEPT: Bounds = bounds("share that stays on", 0.01, 1.0);
/// The share of a print that decides.
pub const DECIDING: Bounds = bounds("share that decides", 0.0, 0.999);
pub const STEAMED: Bounds = bounds("second at which steam stops", 0.0, 3600.0);
pub const FLUSHED: Bounds = bounds("time between flushes", 60.0, 366.0 * 86_400.0);
/// A hand's work, or a print.
pub const HAND: Bounds = bounds("time of a hand or a printer", 0.0, 4.0 * 3600.0);
/// How long something may wait wet.
pub const WET: Bounds = bounds("wait of a wet garment", 10.0, 7.0 * 86_400.0);
/// How long a garment rests before its next step.
pub const REST: Bounds = bounds("time of resting", 10.0, 7.0 * 86_400.0);
/// A platen that hovers, or that is lifted half-way; from memory: by then it has cooled.
pub const HOVER: Bounds = bounds("time to hover or lift", 1.0, 60.0);
/// From memory.
pub const PAD: Bounds = bounds("thickness of a pad", 0.1, 10.0);
/// How long a hot press is left to itself before it is used.
pub const SOAK: Bounds = bounds("time of soaking", 0.0, 4.0 * 3600.0);
pub const BREAK: Bounds = bounds("length of a break", 60.0, 6.0 * 3600.0);
/// Between two probes of a platen.
pub const PROBING: Bounds = bounds("time between probes", 3600.0, 366.0 * 86_400.0);
pub const LIGHTER: Bounds = bounds("difference of L*", 0.0, 100.0);
pub const SPEED: Bounds = bounds("speed", 0.25, 500.0);
/// Back to the first day of any journal, and no further.
pub const BACK: Bounds = bounds("time back", 1.0, 10.0 * 366.0 * 86_400.0);

impl Bounds {
    /// Reads a quantity that lies within.
    ///
    /// # Errors
    /// A text that is none, or one that lies outside.
    pub fn read<T: Written>(self, text: &str) -> Result<T, NotAQuantity> {
        let found = T::read(text)?;
        self.refuse(found, text).map_or(Ok(found), Err)
    }

    /// The same, as the command line wants it.
    pub fn reader<T: Written>(
        self,
    ) -> impl Fn(&str) -> Result<T, NotAQuantity> + Clone + Send + Sync + 'static {
        move |text| self.read(text)
    }

    /// Checks what was read before.
    ///
    /// # Errors
    /// A quantity that lies outside.
    pub fn check<T: Written>(self, found: T) -> Result<(), NotAQuantity> {
        self.refuse(found, &found.in_its_unit(found.size())).map_or(Ok(()), Err)
    }

    /// Whether a size lies within; the ends do.
    pub fn holds(self, size: f64) -> bool {
        let slack = 1e-9 * self.most.abs();
        size >= self.least - slack && size <= self.most + slack
    }

    fn refuse<T: Written>(self, found: T, text: &str) -> Option<NotAQuantity> {
        let size = found.size();
        if self.holds(size) {
            return None;
        }
        let what = self.what;
        let why = if found.as_typed() < 0.0 && self.least >= 0.0 {
            format!("which is below zero and no {what}")
        } else if found.as_typed() == 0.0 {
            format!("which is zero and no {what}")
        } else {
            format!("which is no {what}")
        };
        let (least, most) = (found.in_its_unit(self.least), found.in_its_unit(self.most));
        Some(NotAQuantity::because(text, &why, &format!("{least} to {most}")))
    }
}

/// To three figures, as a bound is told: 0.197, 39.4, 2000.
fn figures(number: f64) -> String {
    let places = match number.abs() {
        0.0..0.1 => 4,
        0.1..10.0 => 2,
        10.0..100.0 => 1,
        _ => 0,
    };
    plain(number, places)
}

impl<Q: Measured + Send + Sync + 'static> Written for Typed<Q> {
    fn read(text: &str) -> Result<Self, NotAQuantity> {
        text.parse()
    }
    fn size(self) -> f64 {
        self.number()
    }
    fn in_its_unit(self, size: f64) -> String {
        self.unit().behind(&figures(size / self.unit().worth))
    }
}

impl Written for GramsPerSquareMetre {
    fn read(text: &str) -> Result<Self, NotAQuantity> {
        text.parse()
    }
    fn size(self) -> f64 {
        self.0
    }
    fn in_its_unit(self, size: f64) -> String {
        format!("{} g/m2", figures(size))
    }
}

impl Written for Temperature {
    fn read(text: &str) -> Result<Self, NotAQuantity> {
        text.parse()
    }
    fn size(self) -> f64 {
        self.as_celsius()
    }
    fn in_its_unit(self, size: f64) -> String {
        let told = self.of_celsius(size);
        format!("{} {}", figures(told.degrees()), told.letter())
    }
    fn as_typed(self) -> f64 {
        self.degrees()
    }
}

impl Written for HeatSpan {
    fn read(text: &str) -> Result<Self, NotAQuantity> {
        text.parse()
    }
    fn size(self) -> f64 {
        self.as_celsius()
    }
    fn in_its_unit(self, size: f64) -> String {
        let told = self.of_celsius(size);
        format!("{} {}", figures(told.degrees()), told.letter())
    }
}

impl Written for Share {
    fn read(text: &str) -> Result<Self, NotAQuantity> {
        text.parse()
    }
    fn size(self) -> f64 {
        self.0
    }
    fn in_its_unit(self, size: f64) -> String {
        format!("{}%", figures(size * 100.0))
    }
}

impl Written for f64 {
    fn read(text: &str) -> Result<Self, NotAQuantity> {
        number::number(text)
    }
    fn size(self) -> f64 {
        self
    }
    fn in_its_unit(self, size: f64) -> String {
        figures(size)
    }
}

/// A rectangle is as long as its side that is furthest off.
impl Written for Rectangle {
    fn read(text: &str) -> Result<Self, NotAQuantity> {
        text.parse()
    }
    fn size(self) -> f64 {
        let (width, height) = (self.width.0, self.height.0);
        if SIDE.holds(width) { height } else { width }
    }
    fn in_its_unit(self, size: f64) -> String {
        self.unit().behind(&figures(size / self.unit().worth))
    }
}
