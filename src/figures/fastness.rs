//! Colour fastness: how much a print changed in the wash, as a grade of the grey scale.
//!
//! The grey scale for change in colour of ISO 105-A02 gives each grade a CIELAB difference with a tolerance, by
//! the publisher's preview of EN 20105-A02:1994. A difference between two grades goes to the nearer one. It is a
//! reading by instrument of the older, plain difference: no claim of conformity to any part of ISO 105.

use std::fmt;
use std::str::FromStr;

use serde::{Deserialize, Serialize};

use super::colour::Lab;
use super::units;
use super::units::compare::{QUANTUM, above};

/// A grade of the grey scale, in halves: 2 is "1", 10 is "5".
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Serialize, Deserialize)]
#[serde(try_from = "String", into = "String")]
pub struct Grade(u8);

/// A text that is no grade.
#[derive(Debug, Clone, PartialEq, thiserror::Error)]
#[error("found \"{0}\", expected a grade of the grey scale: 1, 1-2, 2, ... 4-5, 5")]
pub struct NotAGrade(String);

/// CIELAB differences of the grades 1, 1-2, 2, ... 5 (ISO 105-A02).
const DIFFERENCES: [f64; 9] = [13.6, 9.6, 6.8, 4.8, 3.4, 2.5, 1.7, 0.8, 0.0];
/// The lowest grade, in halves.
const LOWEST: u8 = 2;
const HIGHEST: u8 = 10;

impl Grade {
    /// Everything has changed.
    pub const WORST: Grade = Grade(LOWEST);

    /// Every grade, from the lowest up.
    pub fn all() -> impl Iterator<Item = Grade> {
        (LOWEST..=HIGHEST).map(Grade)
    }

    /// The grade of a number: 4.5 is 4-5. None where it is no half between 1 and 5.
    pub fn of_number(number: f64) -> Option<Grade> {
        Grade::all().find(|grade| grade.number() == number)
    }

    /// A grade as it is written, "4-5", or as a number, "4.5".
    ///
    /// # Errors
    /// A text that is neither.
    pub fn read_half(text: &str) -> Result<Grade, NotAGrade> {
        let as_number = || units::number(text).ok().and_then(Grade::of_number);
        text.parse().or_else(|wrong| as_number().ok_or(wrong))
    }

    /// The grade of a CIELAB difference: the nearest step of the scale; of two equally near ones the lower grade.
    ///
    /// Twice the difference is held against the sum of two neighbours, told apart by a quantum: so a difference that
    /// was written halfway between two steps goes one way, whatever arithmetic has left over.
    pub fn of(delta_e: f64) -> Grade {
        let between = DIFFERENCES.windows(2).map(|steps| steps[0] + steps[1]);
        let passed = between.take_while(|sum| above(*sum, 2.0 * delta_e, QUANTUM)).count();
        let halves = u8::try_from(passed).map_or(HIGHEST, |passed| LOWEST + passed);
        Grade(halves.min(HIGHEST))
    }

    /// The grade as a number: 4-5 is 4.5.
    pub fn number(self) -> f64 {
        f64::from(self.0) / 2.0
    }
}

impl FromStr for Grade {
    type Err = NotAGrade;
    fn from_str(text: &str) -> Result<Self, NotAGrade> {
        let wrong = || NotAGrade(text.chars().filter(|c| !c.is_control()).take(20).collect());
        let whole = |text: &str| {
            let digit = Some(text).filter(|text| text.len() == 1)?;
            digit.parse::<u8>().ok().filter(|n| (1..=5).contains(n))
        };
        let halves = match text.trim().split_once('-') {
            None => whole(text.trim()).map(|grade| grade * 2),
            Some((low, high)) => whole(low)
                .zip(whole(high))
                .filter(|(low, high)| low + 1 == *high)
                .map(|(low, _)| low * 2 + 1),
        };
        halves.map(Grade).ok_or_else(wrong)
    }
}

impl fmt::Display for Grade {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        let halves = self.0.clamp(LOWEST, HIGHEST);
        if halves.is_multiple_of(2) {
            return f.pad(&(halves / 2).to_string());
        }
        f.pad(&format!("{}-{}", halves / 2, halves / 2 + 1))
    }
}

impl TryFrom<String> for Grade {
    type Error = NotAGrade;
    fn try_from(text: String) -> Result<Self, NotAGrade> {
        text.parse()
    }
}

impl From<Grade> for String {
    fn from(grade: Grade) -> String {
        grade.to_string()
    }
}

/// The difference of two colours in CIELAB, dE*ab: the distance between them (ISO/CIE 11664-4).
pub fn difference(one: Lab, other: Lab) -> f64 {
    let (l, a, b) = (one.lightness - other.lightness, one.a - other.a, one.b - other.b);
    (l * l + a * a + b * b).sqrt()
}
