//! How fast to move the hand: a flat fan over a print, half the coat across, half of it up and down.

use super::fan::Layer;
use super::strokes::{Aim, Motion, Strokes};
use super::units::{CM2_PER_M2, Centimetres, Grams, GramsPerSquareMetre};

/// The fastest and the slowest that a hand can hold, in centimetres a second (common practice, no source).
pub const FASTEST_CM_S: f64 = 150.0;
pub const SLOWEST_CM_S: f64 = 5.0;

/// What is known of the sprayer and wanted of the coat.
#[derive(Debug, Clone, Copy)]
pub struct Task {
    /// Grams a second out of the nozzle.
    pub flow_g_s: f64,
    /// Share of the fluid aimed at the garment that stays on it, above 0 to 1.
    pub kept: f64,
    pub motion: Motion,
    pub aim: Aim,
    pub coat: GramsPerSquareMetre,
}

/// How to move.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Pace {
    pub speed_cm_s: f64,
    pub strokes: Strokes,
    pub seconds_a_stroke_across: f64,
    pub seconds_a_stroke_down: f64,
    pub seconds: f64,
    pub used: Grams,
    /// What lies on the area that the coat is counted over.
    pub counted: Grams,
    /// What lies on the cloth: what the scale will show.
    pub on_scale: Grams,
}

/// A coat over the area that it is counted over.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Coat {
    pub mean: GramsPerSquareMetre,
    pub low: GramsPerSquareMetre,
    pub high: GramsPerSquareMetre,
    /// Coefficient of variation: standard deviation over mean.
    pub cv: f64,
}

/// How evenly a pace lays its coat.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Evenness {
    pub across: Coat,
    pub down: Coat,
    pub both: Coat,
    /// At the very middle.
    pub middle: GramsPerSquareMetre,
    /// The coefficient of variation that is to be expected of a hand, whose strokes wander and whose pace differs.
    pub cv_by_hand: f64,
}

/// A value with which no pace can be worked out.
#[derive(Debug, Clone, Copy, PartialEq, thiserror::Error)]
#[error("{name} of {found}: expected {expected}")]
pub struct NoPace {
    pub name: &'static str,
    pub found: f64,
    pub expected: &'static str,
}

/// Width of a flat fan: W = 2 d tan(angle / 2).
///
/// Geometry; checked against the table of a nozzle maker that tests/figures names. Real coverage is narrower.
pub fn fan_width(degrees: f64, distance: Centimetres) -> Centimetres {
    Centimetres(2.0 * distance.0 * (degrees.to_radians() / 2.0).tan())
}

/// Works the pace out: one speed at which the strokes lay the coat, half of it across and half up and down as nearly
/// as whole strokes allow.
///
/// A stroke of speed v lays flow * kept / v grams on each centimetre of its way. Over a print the mean coat is what
/// was asked for; where no print is known, all that the scale will show is counted over the recipe's area.
///
/// # Errors
/// A share outside 0 to 1, or a quantity that is not above 0.
pub fn pace(task: &Task) -> Result<Pace, NoPace> {
    task.check()?;
    Ok(paced(task, Strokes::covering(task.aim, &task.motion)))
}

/// The pace of the strokes that lay the most even coat.
///
/// # Errors
/// As `pace`.
pub fn evenest(task: &Task) -> Result<Pace, NoPace> {
    task.check()?;
    Ok(paced(task, Strokes::evenest(task.aim, &task.motion)))
}

fn paced(task: &Task, strokes: Strokes) -> Pace {
    let wanted = task.coat.0 * task.aim.counted().area().0 / CM2_PER_M2;
    let (counted, on_cloth) = (strokes.way_counted(), strokes.way_on_cloth());
    let way = match task.aim {
        Aim::Print { .. } => counted,
        Aim::Area(_) => on_cloth,
    };
    let speed = task.flow_g_s * task.kept * way / wanted;
    let (across, down) = strokes.lengths();
    let seconds = strokes.way() / speed;
    Pace {
        speed_cm_s: speed,
        strokes,
        seconds_a_stroke_across: across / speed,
        seconds_a_stroke_down: down / speed,
        seconds,
        used: Grams(seconds * task.flow_g_s),
        counted: Grams(wanted * counted / way),
        on_scale: Grams(wanted * on_cloth / way),
    }
}

/// The coat that a pace lays, from its real strokes: exact, since the strokes of one direction are alike all along
/// the other, so that means and mean squares of both add up, and so do the extremes.
pub fn evenness(task: &Task, pace: &Pace) -> Evenness {
    let size = task.aim.counted();
    let (width, height) = (size.width.0, size.height.0);
    let (across, down) = (pace.strokes.across, pace.strokes.down);
    let (a, d) = (across.layer(height), down.layer(width));
    let both = Layer {
        mean: a.mean + d.mean,
        low: a.low + d.low,
        high: a.high + d.high,
        variance: a.variance + d.variance,
    };
    let laid = task.flow_g_s * task.kept / pace.speed_cm_s * CM2_PER_M2;
    let coat = |layer: Layer| Coat {
        mean: GramsPerSquareMetre(laid * layer.mean),
        low: GramsPerSquareMetre(laid * layer.low),
        high: GramsPerSquareMetre(laid * layer.high),
        cv: layer.variance.sqrt() / layer.mean,
    };
    let middle = across.in_the_middle(height) + down.in_the_middle(width);
    let by_hand = across.by_hand(height) + down.by_hand(width);
    Evenness {
        across: coat(a),
        down: coat(d),
        both: coat(both),
        middle: GramsPerSquareMetre(laid * middle),
        cv_by_hand: by_hand.sqrt() / both.mean,
    }
}

impl Task {
    fn check(&self) -> Result<(), NoPace> {
        let (size, motion) = (self.aim.counted(), &self.motion);
        let above_nothing = [
            ("flow", self.flow_g_s),
            ("fan", motion.fan.0),
            ("coat", self.coat.0),
            ("width", size.width.0),
            ("height", size.height.0),
        ];
        for (name, found) in above_nothing {
            if !(found.is_finite() && found > 0.0) {
                return Err(NoPace { name, found, expected: "more than 0" });
            }
        }
        if !(0.0..=0.95).contains(&motion.overlap) {
            return Err(NoPace { name: "overlap", found: motion.overlap, expected: "0 % to 95 %" });
        }
        if !(self.kept > 0.0 && self.kept <= 1.0) {
            return Err(NoPace { name: "kept", found: self.kept, expected: "above 0 % to 100 %" });
        }
        for (name, length) in [("past", motion.past), ("margin", self.aim.margin())] {
            if !(0.0..=1000.0).contains(&length.0) {
                return Err(NoPace { name, found: length.0, expected: "0 to 10 m" });
            }
        }
        let pitch = motion.fan.0 * (1.0 - motion.overlap);
        let (width, height) = self.aim.sprayed();
        if width.max(height) / pitch > 10_000.0 {
            let (found, expected) = (motion.fan.0, "a fan wider than a hair");
            return Err(NoPace { name: "fan", found, expected });
        }
        Ok(())
    }
}

/// What to change where no hand can hold the speed.
pub fn advice(speed_cm_s: f64) -> Option<&'static str> {
    if speed_cm_s > FASTEST_CM_S {
        return Some(
            "too fast for a hand: open the trigger less, or go further away for a wider fan",
        );
    }
    (speed_cm_s < SLOWEST_CM_S)
        .then_some("too slow for a hand: open the trigger more, or take a narrower fan")
}
