//! How heavy a coat was, from two weights.

use clap::Args;
use serde_json::json;

use super::input;
use crate::commands::{Failure, Places, output};
use crate::figures::coat::{self, Verdict};
use crate::figures::units::{Grams, Rectangle};

/// Two weights and an area.
#[derive(Debug, Args)]
pub struct CoatOptions {
    /// The garment's weight before the spray, "152.4 g"
    #[arg(long)]
    before: Grams,
    /// Its weight after
    #[arg(long)]
    after: Grams,
    /// The area that was sprayed, "14 in x 16 in"
    #[arg(long)]
    area: Rectangle,
    /// Whose window the coat is held against
    #[arg(long, default_value = "dark-cotton")]
    recipe: String,
    /// As JSON
    #[arg(long)]
    json: bool,
}

/// More fluid than cloth can hold, in g/m2 (common practice, no source).
const MOST_COAT: f64 = 2000.0;

/// Prints how heavy a coat was.
pub fn coat(places: &Places, options: &CoatOptions) -> Result<(), Failure> {
    let profiles = places.profiles()?;
    let recipe = profiles.recipes.get(&options.recipe).ok_or_else(|| {
        let names: Vec<&str> = profiles.recipes.keys().map(String::as_str).collect();
        let name = crate::shop::words::clean(&options.recipe, 40);
        input(format!("there is no recipe \"{name}\"; there are: {}", names.join(", ")))
    })?;
    let grams = coat::picked_up(options.before, options.after).map_err(input)?;
    let per_area = coat::per_area(grams, options.area.area());
    if per_area.0 > MOST_COAT {
        let text = format!("{per_area} is more than cloth can hold: was a weight mistyped?");
        return Err(input(text));
    }
    let window = recipe.coat;
    let verdict = Verdict::of(per_area, window.low, window.high);
    let confirmed = recipe.confirmed.is_some();
    if options.json {
        return output::json(&json!({
            "grams": grams.0, "per_area_g_m2": per_area.0, "verdict": verdict,
            "low_g_m2": window.low.0, "high_g_m2": window.high.0, "window_confirmed": confirmed,
        }));
    }
    let verdict = match verdict {
        Verdict::Under => "under the window: too little",
        Verdict::Inside => "inside the window",
        Verdict::Over => "over the window: too much",
    };
    let unconfirmed = if confirmed { "" } else { " (unconfirmed window)" };
    output::lines([
        format!("{:.1} g on {}: {:.0} g/m2", grams.0, options.area, per_area.0),
        format!("{verdict}, {} to {}{unconfirmed}", window.low, window.high),
    ])
}
