//! The platen: is it what the dial says, and everywhere?

use super::units::compare::within;
use super::units::{HeatSpan, Temperature};

/// Readings of a probe over the platen, row by row from the back left, in degrees Celsius.
#[derive(Debug, Clone, PartialEq)]
pub struct Grid {
    rows: Vec<Vec<f64>>,
}

/// Readings that make no grid.
#[derive(Debug, Clone, PartialEq, thiserror::Error)]
pub enum NoGrid {
    #[error("no reading at all: expected a grid of temperatures")]
    Empty,
    #[error("row {row} has {found} readings, row 1 has {expected}")]
    Ragged { row: usize, found: usize, expected: usize },
}

/// A place on the platen, row and column counted from 1, and its temperature in degrees Celsius.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Spot {
    pub row: usize,
    pub column: usize,
    pub celsius: f64,
}

/// What the readings say.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Finding {
    pub mean_c: f64,
    /// Hottest less coldest.
    pub spread_c: f64,
    pub coldest: Spot,
    pub hottest: Spot,
    /// What to turn the dial by so that the mean is what the dial says now.
    pub correction_c: f64,
    /// Whether every reading lies within the tolerance of the dial.
    pub within: bool,
}

impl Grid {
    /// Takes readings that form full rows.
    ///
    /// # Errors
    /// None at all, or rows of different length.
    pub fn new(rows: Vec<Vec<f64>>) -> Result<Self, NoGrid> {
        let expected = rows.first().map_or(0, Vec::len);
        if expected == 0 {
            return Err(NoGrid::Empty);
        }
        match rows.iter().position(|row| row.len() != expected) {
            Some(n) => Err(NoGrid::Ragged { row: n + 1, found: rows[n].len(), expected }),
            None => Ok(Self { rows }),
        }
    }

    /// Compares the readings with the dial; every reading within `tolerance` of it or not.
    pub fn against(&self, dial: Temperature, tolerance: HeatSpan) -> Finding {
        let spots = || {
            let rows = self.rows.iter().enumerate();
            rows.flat_map(|(r, row)| {
                let spot = move |(c, celsius): (usize, &f64)| Spot {
                    row: r + 1,
                    column: c + 1,
                    celsius: *celsius,
                };
                row.iter().enumerate().map(spot)
            })
        };
        let first = Spot { row: 1, column: 1, celsius: self.rows[0][0] };
        let colder = |a: Spot, b: Spot| if b.celsius < a.celsius { b } else { a };
        let hotter = |a: Spot, b: Spot| if b.celsius > a.celsius { b } else { a };
        let (coldest, hottest) = (spots().fold(first, colder), spots().fold(first, hotter));
        let count = spots().count() as f64;
        let mean = spots().map(|spot| spot.celsius).sum::<f64>() / count;
        let dial = dial.as_celsius();
        Finding {
            mean_c: mean,
            spread_c: hottest.celsius - coldest.celsius,
            coldest,
            hottest,
            correction_c: dial - mean,
            within: spots().all(|spot| within(spot.celsius, dial, tolerance.as_celsius())),
        }
    }
}
