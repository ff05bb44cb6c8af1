//! Who works in a made-up shop and how quick it really is, whatever its profile says.

use std::time::Duration;

use crate::shop::books::hands::SCATTER;
use crate::shop::facts::station::HandTimes;

/// The people of a made-up shop, and its printers.
#[derive(Debug, Clone, PartialEq)]
pub struct Crew {
    /// How slow each pair of hands is: 1 takes the times as they are.
    pub people: Vec<f64>,
    /// What moves and prints really take, as medians.
    pub times: HandTimes,
    /// Sigma of the logarithm of a hand time about its median; of a print likewise.
    pub scatter: f64,
    pub print_scatter: f64,
    pub printers: usize,
    pub rests: Rests,
}

/// When nobody works.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct Rests {
    /// All together: so long after the beginning, for so long as a median.
    pub together: Vec<(Duration, Duration)>,
    /// One by one, unannounced: about so far apart, for about so long.
    pub now_and_then: Option<(Duration, Duration)>,
}

impl Default for Crew {
    /// One person beside one printer, just as the default profile has them.
    fn default() -> Self {
        Self {
            people: vec![1.0],
            times: HandTimes::default(),
            scatter: SCATTER,
            print_scatter: SCATTER,
            printers: 1,
            rests: Rests::default(),
        }
    }
}
