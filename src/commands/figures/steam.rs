//! What the second at which the steam stops says of the coat.

use std::path::{Path, PathBuf};

use clap::Args;
use serde_json::{Value, json};

use super::input;
use super::table::read_columns;
use crate::commands::{Failure, output};
use crate::figures::steam::{BELIEVABLE_H, NoSteam, SteamConditions, USUAL_CLOTH};
use crate::figures::units::{
    Centimetres, Grams, GramsPerSquareMetre, Rectangle, Seconds, Temperature, Typed, bounds,
};

/// Weighed coats and their steam.
#[derive(Debug, Args)]
pub struct SteamOptions {
    /// CSV with the columns grams, seconds: of one press, one cloth and one kind of sheet
    #[arg(long, value_name = "PAIRS.csv")]
    fit: Option<PathBuf>,
    /// The platen
    #[arg(long, value_parser = bounds::PLATE.reader::<Temperature>())]
    plate: Temperature,
    /// The area that was sprayed
    #[arg(long, value_parser = bounds::SIDE.reader::<Rectangle>())]
    area: Rectangle,
    /// What the cloth itself weighs
    #[arg(long, default_value_t = USUAL_CLOTH, value_parser = bounds::CLOTH.reader::<GramsPerSquareMetre>())]
    cloth: GramsPerSquareMetre,
    /// Height above sea level
    #[arg(long, default_value = "0 m", value_parser = bounds::ALTITUDE.reader::<Typed<Centimetres>>())]
    altitude: Typed<Centimetres>,
    /// A second at which the steam stopped
    #[arg(long, value_parser = bounds::STEAMED.reader::<Seconds>())]
    seconds: Option<Seconds>,
    /// As JSON
    #[arg(long)]
    json: bool,
}

/// The bounds of a believable coefficient.
const BELIEVABLE: [f64; 2] = [BELIEVABLE_H.0, BELIEVABLE_H.1];

/// Prints what the steam says.
pub fn steam(options: &SteamOptions) -> Result<(), Failure> {
    let altitude_m = options.altitude.0 / 100.0;
    let asked = options.seconds.map(|seconds| seconds.0);
    let bench = SteamConditions {
        plate: options.plate,
        area: options.area.area(),
        cloth: options.cloth,
        altitude_m,
    };
    match &options.fit {
        Some(path) => fitted(&bench, path, asked, options.json),
        None => believable(&bench, asked, options.json),
    }
}

/// Without weighed pairs: the range that can be believed.
fn believable(bench: &SteamConditions, asked: Option<f64>, as_json: bool) -> Result<(), Failure> {
    // Says so rather than guess: only the bounds of a believable coefficient are known.
    bench.balance(Grams(1.0), 100.0).map_err(input)?;
    let (boiling, latent) = (bench.boiling_c(), bench.latent());
    let range = asked
        .map(|second| BELIEVABLE.map(|h| bench.grams(second, h).map_or(f64::NAN, |grams| grams.0)));
    let text = "without weighed pairs there is only a range: h 50 to 1000 W/(m2 K); the rule of the trade is \
                    that steam is gone by 35 s";
    if as_json {
        return output::json(&json!({
            "h_w_m2k": null, "h_range_w_m2k": [50.0, 1000.0], "boiling_c": boiling,
            "latent_kj_kg": latent, "grams": null, "low": range.map(|[low, _]| low),
            "high": range.map(|[_, high]| high), "says": text,
        }));
    }
    let mut lines = vec![format!("water boils at {boiling:.2} C here"), text.to_owned()];
    lines.extend(
        range.map(|[low, high]| format!("coat         somewhere between {low:.0} and {high:.0} g")),
    );
    output::lines(lines)
}

/// What the weighed pairs of a file teach.
fn fitted(
    bench: &SteamConditions,
    path: &Path,
    asked: Option<f64>,
    as_json: bool,
) -> Result<(), Failure> {
    let (boiling, latent) = (bench.boiling_c(), bench.latent());
    let [grams, seconds] = read_columns(path, ["grams", "seconds"])?;
    let pairs: Vec<(Grams, f64)> = grams.into_iter().map(Grams).zip(seconds).collect();
    let wrong = |reason: NoSteam| input(format!("{}: {reason}", path.display()));
    let learned = bench.learn(&pairs).map_err(wrong)?;
    let estimate = match asked {
        Some(seconds) => Some(learned.estimate(seconds).map_err(input)?),
        None => None,
    };
    let heaviest = pairs.iter().map(|(grams, _)| grams.0).fold(0.0, f64::max);
    let dry = learned.seconds(Grams(heaviest)).map_err(input)?;
    let left_out: Vec<Value> = learned
        .far_off()
        .iter()
        .filter_map(|n| Some((n + 1, *pairs.get(*n)?)))
        .map(|(row, (grams, seconds))| {
            json!({
                "row": row, "grams": grams.0, "seconds": seconds,
                "seconds_expected": learned.seconds(grams).ok(),
            })
        })
        .collect();
    if as_json {
        return output::json(&json!({
            "h_w_m2k": learned.h(), "h_believable": learned.is_believable(), "boiling_c": boiling,
            "latent_kj_kg": latent, "pairs": pairs.len(), "dry_at_least_s": dry,
            "grams": estimate.map(|e| e.grams.0), "low": estimate.map(|e| e.low.0),
            "high": estimate.map(|e| e.high.0), "left_out": left_out,
        }));
    }
    let flag = if learned.is_believable() { "" } else { "  ! outside 50 to 1000: check the pairs" };
    let mut lines = vec![
        format!("contact      {:.0} W/(m2 K){flag}", learned.h()),
        format!("water boils  at {boiling:.2} C here, {latent:.0} kJ/kg"),
        format!("dry          at least {dry:.0} s for the heaviest of the weighed coats"),
    ];
    lines.extend(learned.far_off().iter().filter_map(|n| {
        let (grams, seconds) = *pairs.get(*n)?;
        let expected = learned.seconds(grams).ok()?;
        let text = "it is far off the others; check its weight and its second";
        Some(format!(
            "left out     pair {}, {grams} with {seconds} s where {expected:.0} s fit: {text}",
            n + 1
        ))
    }));
    lines.extend(estimate.map(|e| {
        format!("coat         {:.1} g ({:.1} to {:.1} g with 95 %)", e.grams.0, e.low.0, e.high.0)
    }));
    output::lines(lines)
}
