//! How fast to move the hand with the sprayer.

use clap::Args;
use serde_json::{Map, Value, json};

use super::input;
use super::written::{read_onto, read_profile};
use crate::commands::{Failure, output};
use crate::figures::fan::Profile;
use crate::figures::spray::{self, Coat, Evenness, Pace, Task};
use crate::figures::strokes::{Aim, Motion, Onto, USUAL_MARGIN};
use crate::figures::units::{
    Centimetres, Degrees, Grams, GramsPerSecond, GramsPerSquareMetre, Rectangle, Seconds, Share,
    Typed, bounds,
};

/// The sprayer, the area and the coat.
#[derive(Debug, Args)]
pub struct SprayOptions {
    /// What comes out, "1.9 g/s"; or give --caught and --in
    #[arg(long, required_unless_present = "caught", conflicts_with = "caught", value_parser = bounds::FLOW.reader::<Typed<GramsPerSecond>>())]
    flow: Option<Typed<GramsPerSecond>>,
    /// What was caught in a vessel, "19 g"
    #[arg(long, requires = "seconds", value_parser = bounds::CAUGHT.reader::<Typed<Grams>>())]
    caught: Option<Typed<Grams>>,
    /// In what time it was caught, "10s"
    #[arg(long = "in", id = "seconds", value_parser = bounds::CATCHING.reader::<Seconds>())]
    caught_in: Option<Seconds>,
    /// The fan's angle in degrees; or give --fan
    #[arg(long, required_unless_present = "fan", conflicts_with = "fan", value_parser = bounds::FAN_ANGLE.reader::<Typed<Degrees>>())]
    angle: Option<Typed<Degrees>>,
    /// The fan's width on the garment, "6 in"
    #[arg(long, value_parser = bounds::FAN.reader::<Typed<Centimetres>>())]
    fan: Option<Typed<Centimetres>>,
    /// How far away, "11 in"
    #[arg(long, default_value = "11 in", value_parser = bounds::DISTANCE.reader::<Typed<Centimetres>>())]
    distance: Typed<Centimetres>,
    /// The print, "4 in x 4 in"
    #[arg(long, required_unless_present = "area", conflicts_with = "area", value_parser = bounds::SIDE.reader::<Rectangle>())]
    print: Option<Rectangle>,
    /// How far around the print is sprayed; 0.5 in if nothing is said
    #[arg(long, requires = "print", value_parser = bounds::PAST.reader::<Typed<Centimetres>>())]
    margin: Option<Typed<Centimetres>>,
    /// Instead of a print: an area that is sprayed with nothing around it, "14 in x 16 in"
    #[arg(long, value_parser = bounds::SIDE.reader::<Rectangle>())]
    area: Option<Rectangle>,
    /// What lies past the edge: garment, mask or board; around a print the garment, around an area the board
    #[arg(long, value_parser = read_onto)]
    onto: Option<Onto>,
    /// How the fan's fluid lies across a stroke: tapered or even
    #[arg(long, default_value = "tapered", value_parser = read_profile)]
    profile: Profile,
    /// The coat, "230 g/m2"
    #[arg(long, value_parser = bounds::COAT.reader::<Typed<GramsPerSquareMetre>>())]
    coat: Typed<GramsPerSquareMetre>,
    /// How much of a fan's width the next stroke covers again
    #[arg(long, default_value = "30%", value_parser = bounds::OVERLAP.reader::<Share>())]
    overlap: Share,
    /// How much of what is aimed at the garment stays on it
    #[arg(long, default_value = "85%", value_parser = bounds::KEPT.reader::<Share>())]
    kept: Share,
    /// How far each stroke runs on past the edge
    #[arg(long, default_value = "2 in", value_parser = bounds::PAST.reader::<Typed<Centimetres>>())]
    past: Typed<Centimetres>,
    /// As JSON
    #[arg(long)]
    json: bool,
}

/// Prints how fast to move the hand.
pub fn spray(options: &SprayOptions) -> Result<(), Failure> {
    let flow_g_s = match (options.caught, options.caught_in) {
        (Some(caught), Some(span)) => caught.0 / span.0,
        _ => options.flow.map_or(0.0, |flow| flow.0),
    };
    let fan = match (options.fan, options.angle) {
        (Some(fan), _) => *fan,
        (None, angle) => spray::fan_width(angle.map_or(0.0, |angle| angle.0), *options.distance),
    };
    let motion = Motion {
        fan,
        overlap: options.overlap.0,
        past: *options.past,
        profile: options.profile,
        onto: options.onto.unwrap_or(match options.print {
            Some(_) => Onto::Garment,
            None => Onto::Board,
        }),
    };
    let (aim, coat) = (options.aim()?, *options.coat);
    let task = Task { flow_g_s, kept: options.kept.0, motion, aim, coat };
    let pace = spray::pace(&task).map_err(input)?;
    let even = spray::evenness(&task, &pace);
    let best = spray::evenest(&task).map_err(input)?;
    if options.json {
        let mut said = paced(fan, &task, &pace);
        said.append(&mut coats(&even));
        said.insert("evenest".into(), evenest(&task, &best));
        return output::json(&Value::Object(said));
    }
    if let Some(assumes) = options.flow.and_then(Typed::assumes) {
        output::complain(assumes);
    }
    output::lines(lines(options, fan, (&pace, &even), (&best, &spray::evenness(&task, &best))))
}

impl SprayOptions {
    /// What the coat is counted over: an area is a print without a margin.
    fn aim(&self) -> Result<Aim, Failure> {
        let margin = self.margin.map_or(USUAL_MARGIN, Typed::quantity);
        let print = self.print.map(|size| Aim::Print { size, margin });
        let area = self.area.map(|size| Aim::Print { size, margin: Centimetres(0.0) });
        print.or(area).ok_or_else(|| input("--print or --area: expected one of them"))
    }
}

/// How to move, and what becomes of the fluid.
fn paced(fan: Centimetres, task: &Task, pace: &Pace) -> Map<String, Value> {
    let (across, down) = (pace.strokes.across.count, pace.strokes.down.count);
    let said = json!({
        "fan_width_cm": fan.0, "fan_width_in": fan.as_inches(), "flow_g_s": task.flow_g_s,
        "speed_cm_s": pace.speed_cm_s, "speed_in_s": Centimetres(pace.speed_cm_s).as_inches(),
        "strokes": across + down, "strokes_across": across, "strokes_down": down,
        "seconds_a_stroke_across": pace.seconds_a_stroke_across,
        "seconds_a_stroke_down": pace.seconds_a_stroke_down, "seconds": pace.seconds,
        "grams_used": pace.used.0, "grams_on": pace.counted.0,
        "grams_lost": pace.used.0 - pace.counted.0, "grams_scale": pace.on_scale.0,
        "under_print": pace.counted.0 / pace.on_scale.0,
        "advice": spray::advice(pace.speed_cm_s),
    });
    into_map(said)
}

fn into_map(said: Value) -> Map<String, Value> {
    match said {
        Value::Object(map) => map,
        _ => Map::new(),
    }
}

/// The coat over the print: of both directions, and of each alone.
fn coats(even: &Evenness) -> Map<String, Value> {
    let one = |coat: &Coat| {
        json!({
            "mean": coat.mean.0, "low": coat.low.0, "high": coat.high.0, "cv": coat.cv,
        })
    };
    let (across, down, both) = (&even.across, &even.down, &even.both);
    into_map(json!({
        "coat_mean": both.mean.0, "coat_low": both.low.0, "coat_high": both.high.0,
        "coat_cv": both.cv, "coat_cv_by_hand": even.cv_by_hand,
        "one_way_low": across.low.0.min(down.low.0), "one_way_high": across.high.0.max(down.high.0),
        "across": one(across), "down": one(down), "middle_coat_g_m2": even.middle.0,
    }))
}

/// The most even strokes; their places are counted from the middle of the print.
fn evenest(task: &Task, best: &Pace) -> Value {
    let even = spray::evenness(task, best);
    let strokes = &best.strokes;
    json!({
        "strokes_across": strokes.across.count, "strokes_down": strokes.down.count,
        "overlap": strokes.overlap, "coat_cv": even.both.cv, "coat_cv_by_hand": even.cv_by_hand,
        "places_across_cm": strokes.across.places().collect::<Vec<f64>>(),
        "places_down_cm": strokes.down.places().collect::<Vec<f64>>(),
        "speed_cm_s": best.speed_cm_s, "seconds": best.seconds,
        "grams_used": best.used.0, "grams_scale": best.on_scale.0,
    })
}

/// The same in words.
fn lines(
    options: &SprayOptions,
    fan: Centimetres,
    (pace, even): (&Pace, &Evenness),
    (best, best_even): (&Pace, &Evenness),
) -> Vec<String> {
    let counts = |pace: &Pace| (pace.strokes.across.count, pace.strokes.down.count);
    let ((across, down), (best_across, best_down)) = (counts(pace), counts(best));
    let per_cent = |part: f64| format!("{:.0} %", part * 100.0);
    let (both, one) = (&even.both, &even.across);
    let mut lines = vec![
        format!("fan          {:.1} cm ({:.1} in) wide", fan.0, fan.as_inches()),
        format!(
            "hand         {:.0} cm/s ({:.1} in/s)",
            pace.speed_cm_s,
            Centimetres(pace.speed_cm_s).as_inches()
        ),
        format!("across       {} of {:.1} s", strokes(across), pace.seconds_a_stroke_across),
        format!("up and down  {} of {:.1} s", strokes(down), pace.seconds_a_stroke_down),
        format!("in all       {:.1} s", pace.seconds),
        format!(
            "fluid        {:.1} g used, {:.1} g under the print, {:.1} g more on the scale",
            pace.used.0, pace.counted.0, pace.on_scale.0
        ),
        format!(
            "coat         {} on the whole, {:.0} to {:.0} g/m2, {:.0} in the middle; it varies by {}",
            options.coat,
            both.low.0,
            both.high.0,
            even.middle.0,
            per_cent(both.cv)
        ),
        format!(
            "across alone {:.0} to {:.0} g/m2; it varies by {}",
            one.low.0,
            one.high.0,
            per_cent(one.cv)
        ),
        format!(
            "most even    {} across, {} up and down, overlap {}: it varies by {}, by hand about {}",
            best_across,
            best_down,
            per_cent(best.strokes.overlap),
            per_cent(best_even.both.cv),
            per_cent(best_even.cv_by_hand)
        ),
    ];
    lines.extend(spray::advice(pace.speed_cm_s).map(|advice| format!("! {advice}")));
    lines
}

fn strokes(count: u32) -> String {
    if count == 1 { "1 stroke".to_owned() } else { format!("{count} strokes") }
}
