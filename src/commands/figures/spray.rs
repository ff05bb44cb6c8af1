//! How fast to move the hand with the sprayer.

use clap::Args;
use serde_json::json;

use super::input;
use crate::commands::{Failure, output};
use crate::figures::spray::{self, Task};
use crate::figures::units::{
    Centimetres, Grams, GramsPerSecond, GramsPerSquareMetre, Rectangle, Share, Span,
};

/// The sprayer, the area and the coat.
#[derive(Debug, Args)]
pub struct SprayOptions {
    /// What comes out, "1.9 g/s"; or give --caught and --in
    #[arg(long, required_unless_present = "caught", conflicts_with = "caught")]
    flow: Option<GramsPerSecond>,
    /// What was caught in a vessel, "19 g"
    #[arg(long, requires = "seconds")]
    caught: Option<Grams>,
    /// In what time it was caught, "10s"
    #[arg(long = "in", id = "seconds")]
    caught_in: Option<Span>,
    /// The fan's angle in degrees; or give --fan
    #[arg(long, required_unless_present = "fan", conflicts_with = "fan")]
    angle: Option<f64>,
    /// The fan's width on the garment, "6 in"
    #[arg(long)]
    fan: Option<Centimetres>,
    /// How far away, "11 in"
    #[arg(long, default_value = "11 in")]
    distance: Centimetres,
    /// The area, "14 in x 16 in"
    #[arg(long)]
    area: Rectangle,
    /// The coat, "230 g/m2"
    #[arg(long)]
    coat: GramsPerSquareMetre,
    /// How much of a fan's width the next stroke covers again
    #[arg(long, default_value = "30%")]
    overlap: Share,
    /// How much of what is aimed at the garment stays on it
    #[arg(long, default_value = "85%")]
    kept: Share,
    /// How far each stroke runs on past the edge
    #[arg(long, default_value = "2 in")]
    past: Centimetres,
    /// As JSON
    #[arg(long)]
    json: bool,
}

/// Prints how fast to move the hand.
pub fn spray(options: &SprayOptions) -> Result<(), Failure> {
    let flow_g_s = match (options.caught, options.caught_in) {
        (Some(caught), Some(span)) => caught.0 / span.as_seconds(),
        _ => options.flow.map_or(0.0, |flow| flow.0),
    };
    let fan = match (options.fan, options.angle) {
        (Some(fan), _) => fan,
        (None, Some(angle)) if (1.0..=150.0).contains(&angle) => {
            spray::fan_width(angle, options.distance)
        }
        (None, angle) => {
            let found = angle.unwrap_or(f64::NAN);
            return Err(input(format!("--angle {found}: expected 1 to 150 degrees")));
        }
    };
    let task = Task {
        flow_g_s,
        fan,
        area: options.area,
        coat: options.coat,
        overlap: options.overlap.0,
        kept: options.kept.0,
        past: options.past,
    };
    let pace = spray::pace(&task).map_err(input)?;
    let advice = spray::advice(pace.speed_cm_s);
    let lost = pace.used.0 - pace.on.0;
    if options.json {
        return output::json(&json!({
            "fan_width_cm": fan.0, "fan_width_in": fan.as_inches(), "flow_g_s": flow_g_s,
            "speed_cm_s": pace.speed_cm_s, "speed_in_s": Centimetres(pace.speed_cm_s).as_inches(),
            "strokes": pace.strokes_across + pace.strokes_down,
            "strokes_across": pace.strokes_across, "strokes_down": pace.strokes_down,
            "seconds_a_stroke_across": pace.seconds_a_stroke_across,
            "seconds_a_stroke_down": pace.seconds_a_stroke_down, "seconds": pace.seconds,
            "grams_used": pace.used.0, "grams_on": pace.on.0, "grams_lost": lost,
            "middle_coat_g_m2": pace.middle.0, "advice": advice,
        }));
    }
    let mut lines = vec![
        format!("fan          {:.1} cm ({:.1} in) wide", fan.0, fan.as_inches()),
        format!(
            "hand         {:.0} cm/s ({:.1} in/s)",
            pace.speed_cm_s,
            Centimetres(pace.speed_cm_s).as_inches()
        ),
        format!(
            "across       {} of {:.1} s",
            strokes(pace.strokes_across),
            pace.seconds_a_stroke_across
        ),
        format!(
            "up and down  {} of {:.1} s",
            strokes(pace.strokes_down),
            pace.seconds_a_stroke_down
        ),
        format!("in all       {:.1} s", pace.seconds),
        format!("fluid        {:.1} g used, {:.1} g on, {lost:.1} g lost", pace.used.0, pace.on.0),
        format!(
            "coat         {} on the whole, {:.0} g/m2 in the middle: edges get fewer strokes",
            options.coat, pace.middle.0
        ),
    ];
    lines.extend(advice.map(|advice| format!("! {advice}")));
    output::lines(lines)
}

fn strokes(count: u32) -> String {
    if count == 1 { "1 stroke".to_owned() } else { format!("{count} strokes") }
}
