//! How heavy a coat was, from two weights.

use clap::Args;
use serde_json::json;

use super::input;
use super::written::read_onto;
use crate::commands::no_recipe;
use crate::commands::{Failure, Places, output};
use crate::figures::coat::{self, Verdict};
use crate::figures::coverage::Coverage;
use crate::figures::strokes::{Aim, Onto, USUAL_MARGIN};
use crate::figures::units::{Centimetres, Grams, Rectangle, Typed, bounds};
use crate::shop::facts::station::Sprayer;

/// Two weights, and the print or the area.
#[derive(Debug, Args)]
pub struct CoatOptions {
    /// The garment's weight before the spray, "152.4 g"
    #[arg(long, value_parser = bounds::WEIGHED.reader::<Typed<Grams>>())]
    before: Typed<Grams>,
    /// Its weight after
    #[arg(long, value_parser = bounds::WEIGHED.reader::<Typed<Grams>>())]
    after: Typed<Grams>,
    /// The print, "4 in x 4 in": the coat is counted under it
    #[arg(long, required_unless_present = "area", conflicts_with = "area", value_parser = bounds::SIDE.reader::<Rectangle>())]
    print: Option<Rectangle>,
    /// How far around the print it is sprayed; 0.5 in if nothing is said
    #[arg(long, requires = "print", value_parser = bounds::PAST.reader::<Typed<Centimetres>>())]
    margin: Option<Typed<Centimetres>>,
    /// What lies past the edge: garment, mask or board; as the station's sprayer says if nothing is said
    #[arg(long, requires = "print", value_parser = read_onto)]
    onto: Option<Onto>,
    /// How far each stroke runs on past the edge; as the station's sprayer says if nothing is said
    #[arg(long, requires = "print", value_parser = bounds::PAST.reader::<Typed<Centimetres>>())]
    past: Option<Typed<Centimetres>>,
    /// Without a print: the area that was sprayed, "14 in x 16 in"; all that the scale shows counts
    #[arg(long, value_parser = bounds::SIDE.reader::<Rectangle>())]
    area: Option<Rectangle>,
    /// Whose window the coat is held against
    #[arg(long, default_value = "dark-cotton")]
    recipe: String,
    /// As JSON
    #[arg(long)]
    json: bool,
}

/// Prints how heavy a coat was, and what to do about it.
pub fn coat(places: &Places, options: &CoatOptions) -> Result<(), Failure> {
    let profiles = places.profiles()?;
    let recipe = profiles.recipes.get(&options.recipe).ok_or_else(|| {
        input(no_recipe(&options.recipe, profiles.recipes.keys().map(String::as_str)))
    })?;
    let coverage = options.coverage(profiles.station.sprayer)?;
    let grams = coat::picked_up(*options.before, *options.after).map_err(input)?;
    let per_area = coverage.per_area(grams);
    if per_area.0 > bounds::COAT.most {
        let text = format!("{per_area} is more than cloth can hold: was a weight mistyped?");
        return Err(input(text));
    }
    let window = recipe.coat;
    let verdict = Verdict::of(per_area, window.low, window.high);
    let right = coverage.grams(window.target);
    let mend = coat::mend(verdict, grams, right);
    let confirmed = recipe.confirmed.is_some();
    if options.json {
        return output::json(&json!({
            "grams": grams.0, "sprayed_cm2": coverage.sprayed().0, "under_print": coverage.share,
            "grams_right": right.0, "per_area_g_m2": per_area.0, "verdict": verdict, "mend": mend,
            "low_g_m2": window.low.0, "high_g_m2": window.high.0, "window_confirmed": confirmed,
        }));
    }
    let verdict = match verdict {
        Verdict::Under => "under the window: too little",
        Verdict::Inside => "inside the window",
        Verdict::Over => "over the window: too much",
    };
    // As many places as a scale in that unit shows.
    let shown = |grams: Grams| {
        let grams = options.before.alike(grams);
        let places = if grams.unit().worth > 10.0 { 2 } else { 1 };
        format!("{grams:.places$}")
    };
    let on = shown(grams);
    let unconfirmed = if confirmed { "" } else { " (unconfirmed window)" };
    let mut lines = vec![match coverage.aim {
        Aim::Area(area) => format!("{on} on {area}: {:.0} g/m2", per_area.0),
        Aim::Print { size, .. } => format!(
            "{on} on the cloth, {:.0} % of it under the {size} print: {:.0} g/m2",
            coverage.share * 100.0,
            per_area.0
        ),
    }];
    lines.push(format!("{verdict}, {} to {}{unconfirmed}", window.low, window.high));
    lines.push(format!("{} on the scale would be right", shown(right)));
    lines.extend(mend);
    output::lines(lines)
}

impl CoatOptions {
    /// The share of what the scale shows that counts: by the strokes of the station's sprayer with what was said
    /// otherwise, by areas where the station has none.
    fn coverage(&self, sprayer: Option<Sprayer>) -> Result<Coverage, Failure> {
        let Some(size) = self.print else {
            let area = self.area.ok_or_else(|| input("--print or --area: expected one of them"))?;
            return Ok(Coverage::of(Aim::Area(area), None));
        };
        let margin = self.margin.map_or(USUAL_MARGIN, Typed::quantity);
        let aim = Aim::Print { size, margin };
        let Some(sprayer) = sprayer else {
            let past = self.past.map_or(Centimetres(0.0), Typed::quantity);
            return Ok(Coverage::by_areas(aim, self.onto.unwrap_or_default(), past));
        };
        let sprayer = Sprayer {
            past: self.past.unwrap_or(sprayer.past),
            onto: self.onto.unwrap_or(sprayer.onto),
            ..sprayer
        };
        crate::figures::spray::pace(
            &sprayer.task(aim, crate::figures::units::GramsPerSquareMetre(1.0)),
        )
        .map_err(input)?;
        Ok(Coverage::by_strokes(aim, &sprayer.motion()))
    }
}
