//! How fast to move the hand: a flat fan over an area, half the coat across, half of it up and down.

use super::units::{CM2_PER_M2, Centimetres, Grams, GramsPerSquareMetre, Rectangle};

/// The fastest and the slowest that a hand can hold, in centimetres a second (common practice, no source).
pub const FASTEST_CM_S: f64 = 150.0;
pub const SLOWEST_CM_S: f64 = 5.0;

/// What is known of the sprayer and wanted of the coat.
#[derive(Debug, Clone, Copy)]
pub struct Task {
    /// Grams a second out of the nozzle.
    pub flow_g_s: f64,
    /// Width of the fan on the garment.
    pub fan: Centimetres,
    pub area: Rectangle,
    pub coat: GramsPerSquareMetre,
    /// Share of a fan's width that the next stroke covers again, 0 to below 1.
    pub overlap: f64,
    /// Share of the fluid aimed at the garment that stays on it, above 0 to 1.
    pub kept: f64,
    /// How far each stroke runs on past the edge, on either side.
    pub past: Centimetres,
}

/// How to move.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Pace {
    pub speed_cm_s: f64,
    pub strokes_across: u32,
    pub strokes_down: u32,
    pub seconds_a_stroke_across: f64,
    pub seconds_a_stroke_down: f64,
    pub seconds: f64,
    pub used: Grams,
    /// What the strokes lay on the area: the coat, as a scale finds it.
    pub on: Grams,
    /// How heavy the coat is in the middle, where strokes overlap fully; the edges get less.
    pub middle: GramsPerSquareMetre,
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

/// Works the pace out: one speed at which the strokes lay the coat, as a scale finds it over the whole area, half
/// of it across and half up and down as nearly as whole strokes allow.
///
/// A stroke of speed v lays flow * kept / v grams on each centimetre of its way; the strokes are laid about the
/// middle, a pitch apart, the pitch being the part of the fan that the next stroke does not cover again. What of
/// a fan lies beyond the edge is lost, and near an edge fewer strokes overlap: the middle gets more than the mean.
///
/// # Errors
/// A share outside 0 to 1, or a quantity that is not above 0.
pub fn pace(task: &Task) -> Result<Pace, NoPace> {
    task.check()?;
    let pitch = task.fan.0 * (1.0 - task.overlap);
    let (width, height) = (task.area.width.0, task.area.height.0);
    let (across, down) = (strokes(height, task.fan.0, pitch), strokes(width, task.fan.0, pitch));
    let reach = |side, strokes| inside(side, task.fan.0, pitch, strokes);
    // Centimetres of way over the area, of strokes as whole as they lie within it.
    let way = reach(height, across) * width + reach(width, down) * height;
    let on = Grams(task.coat.0 * task.area.area().0 / CM2_PER_M2);
    let speed = task.flow_g_s * task.kept * way / on.0;
    let length = |side: f64| side + 2.0 * task.past.0;
    let (a, d) = (length(width) / speed, length(height) / speed);
    let seconds = f64::from(across) * a + f64::from(down) * d;
    // Both directions overlap fully in the middle.
    let middle = 2.0 * task.flow_g_s * task.kept / (speed * pitch) * CM2_PER_M2;
    Ok(Pace {
        speed_cm_s: speed,
        strokes_across: across,
        strokes_down: down,
        seconds_a_stroke_across: a,
        seconds_a_stroke_down: d,
        seconds,
        used: Grams(seconds * task.flow_g_s),
        on,
        middle: GramsPerSquareMetre(middle),
    })
}

/// How many whole fans of all strokes fall within a side, the strokes being laid about its middle.
fn inside(side: f64, fan: f64, pitch: f64, strokes: u32) -> f64 {
    let first = side / 2.0 - pitch * f64::from(strokes - 1) / 2.0;
    let within = |n: u32| {
        let middle = first + pitch * f64::from(n);
        let (from, to) = ((middle - fan / 2.0).max(0.0), (middle + fan / 2.0).min(side));
        (to - from).max(0.0) / fan
    };
    (0..strokes).map(within).sum()
}

/// How many strokes cover a side: the first covers a fan, each further one a pitch.
fn strokes(side: f64, fan: f64, pitch: f64) -> u32 {
    /// A hair short of the edge is the edge.
    const SLACK: f64 = 1e-9;
    let further = ((side - fan) / pitch - SLACK).ceil().max(0.0);
    // A garment is some strokes wide; a nozzle of a hair's width on a sail is refused by `check`.
    #[expect(
        clippy::cast_possible_truncation,
        clippy::cast_sign_loss,
        reason = "0 to 10,000 by check"
    )]
    let further = further as u32;
    further + 1
}

impl Task {
    fn check(&self) -> Result<(), NoPace> {
        let above_nothing = [
            ("flow", self.flow_g_s),
            ("fan", self.fan.0),
            ("coat", self.coat.0),
            ("width", self.area.width.0),
            ("height", self.area.height.0),
        ];
        for (name, found) in above_nothing {
            if !(found.is_finite() && found > 0.0) {
                return Err(NoPace { name, found, expected: "more than 0" });
            }
        }
        if !(0.0..=0.95).contains(&self.overlap) {
            return Err(NoPace { name: "overlap", found: self.overlap, expected: "0 % to 95 %" });
        }
        if !(self.kept > 0.0 && self.kept <= 1.0) {
            return Err(NoPace { name: "kept", found: self.kept, expected: "above 0 % to 100 %" });
        }
        if !(0.0..=1000.0).contains(&self.past.0) {
            return Err(NoPace { name: "past", found: self.past.0, expected: "0 to 10 m" });
        }
        let pitch = self.fan.0 * (1.0 - self.overlap);
        if self.area.width.0.max(self.area.height.0) / pitch > 10_000.0 {
            return Err(NoPace {
                name: "fan",
                found: self.fan.0,
                expected: "a fan wider than a hair",
            });
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
