//! Verdicts are taken on quantities as they were written.
//!
//! "347 F" is 7 F off "340 F", but in floating point it may be 7.000000000000014 F off, and 152.4 g and 33.6 g are
//! not 186 g. So whatever decides between within and outside asks here: two quantities are told apart only where they
//! differ by more than a quantum that lies far under what anybody writes, and far above what arithmetic leaves over.

/// Of a degree, a gram, a centimetre, a second, a difference of colours: a millionth. Nobody writes so many places.
pub const QUANTUM: f64 = 1e-6;

/// Of a coat, in g/m2: half of the last place to which a coat is kept and printed.
pub const COAT_QUANTUM: f64 = 0.000_5;

/// Whether `one` is more than `other`, told apart by a quantum.
pub fn above(one: f64, other: f64, quantum: f64) -> bool {
    one - other > quantum
}

/// Whether a reading lies within a tolerance of what was wanted; exactly so far off is within.
pub fn within(reading: f64, wanted: f64, tolerance: f64) -> bool {
    !above((reading - wanted).abs(), tolerance, QUANTUM)
}
