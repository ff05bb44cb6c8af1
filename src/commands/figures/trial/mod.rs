//! The trial that finds a garment's window of coats, from a file of samples or as the board runs it.

mod samples;

use std::path::PathBuf;

use clap::Args;
use serde_json::{Value, json};

use super::input;
use crate::commands::{Failure, Places, no_recipe, output, read};
use crate::figures::fastness::Grade;
use crate::figures::trial::answer::{Answer, Found};
use crate::figures::trial::text::{Row, in_a_line};
use crate::figures::trial::{Asked, Origin, Sample};
use crate::figures::units::{GramsPerSquareMetre, whole_reader};
use crate::shell::evidence::{self, Wanted};
use crate::shell::journal::Reader;
use crate::shop::facts::words::counted;

/// The samples, and where the edges are thought to lie.
#[derive(Debug, Args)]
#[command(group = clap::ArgGroup::new("asked").args(["file", "recipe"]))]
pub struct TrialOptions {
    /// CSV with a head: aimed, coat (g/m2), white, wash (grade 1 to 5 in halves, yes or no, or empty). With a head alone
    /// it says what to spray first. More columns are welcome: `from` (trial, work or return), and what must be the same
    /// for all: garment, fluid, lot, dilution, cure, cycles, scale, eye. Without a file: the trial that runs on the board
    #[arg(requires = "low", requires = "high")]
    file: Option<PathBuf>,
    /// Without a file: what the journal's own garments of this recipe say, weighed in ordinary work, washed as samples or
    /// brought back, beside a trial of it that runs
    #[arg(long, value_name = "NAME", conflicts_with = "file")]
    recipe: Option<String>,
    /// With --recipe: only garments that were sprayed with fluid of this lot
    #[arg(long, requires = "recipe")]
    lot: Option<String>,
    /// Where the low edge is thought to lie: the recipe's lightest coat, "138 g/m2"; with --recipe its window if nothing is said
    #[arg(long, value_name = "COAT", requires = "asked", requires = "high", value_parser = samples::read_coat)]
    low: Option<GramsPerSquareMetre>,
    /// Where the high edge is thought to lie: its heaviest
    #[arg(long, value_name = "COAT", requires = "asked", requires = "low", value_parser = samples::read_coat)]
    high: Option<GramsPerSquareMetre>,
    /// The grade that must be reached, after the cure and after the wash
    #[arg(long, value_name = "GRADE", default_value = "4", value_parser = Grade::read_half)]
    limit: Grade,
    /// How often each garment was washed
    #[arg(long, default_value = "5", value_parser = whole_reader::<u32>("washes", 1, 200))]
    cycles: u32,
    /// As JSON
    #[arg(long)]
    json: bool,
}

/// Prints what the samples say of the window, what to spray next, and whether it is enough.
pub fn trial(places: &Places, options: &TrialOptions) -> Result<(), Failure> {
    if let Some(recipe) = &options.recipe {
        return of_the_journal(places, options, recipe);
    }
    let (Some(file), Some(low), Some(high)) = (&options.file, options.low, options.high) else {
        return on_the_board(places, options.json);
    };
    let asked = Asked::new(low, high, options.limit).map_err(input)?;
    let samples = samples::read(file, options.cycles)?;
    let answer = Answer::of(asked, &samples)
        .map_err(|wrong| input(format!("{}: {wrong}", file.display())))?;
    if options.json {
        return output::json(&as_json(&answer));
    }
    let rows = answer.rows(asked, options.cycles);
    tell(rows.into_iter().chain(bias(&samples).map(|text| ("counted", text))))
}

/// The same of what the journal holds of a recipe.
fn of_the_journal(places: &Places, options: &TrialOptions, recipe: &str) -> Result<(), Failure> {
    let data = places.data()?;
    let known = read(&data)?;
    let window = known
        .shop
        .recipes()
        .named(recipe)
        .map(|recipe| recipe.coat)
        .ok_or_else(|| input(no_recipe(recipe, known.shop.recipes().names())))?;
    let (low, high) = (options.low.unwrap_or(window.low), options.high.unwrap_or(window.high));
    let asked = Asked::new(low, high, options.limit).map_err(input)?;
    let lot = options.lot.as_deref();
    let wanted = Wanted { recipe, lot, limit: options.limit, cycles: options.cycles };
    let found = evidence::of(&Reader::of(&data)?, wanted)?;
    let mut samples = found.samples;
    let run = known.shop.trial().filter(|run| run.begun.recipe == recipe && lot.is_none());
    samples.extend(run.iter().flat_map(|run| run.samples()));
    if samples.is_empty() {
        let text = "no garment of it was weighed and came to its end yet: m weighs on the board";
        return Err(Failure::NoJournal(text.to_owned()));
    }
    let answer = Answer::of(asked, &samples).map_err(input)?;
    if options.json {
        return output::json(&as_json(&answer));
    }
    let washed = samples.iter().filter(|sample| sample.wash.is_some()).count();
    let seen = counted(samples.len(), "garment");
    let first = ("journal of", format!("{recipe}: {seen} weighed and seen, {washed} washed"));
    let lots: Vec<String> = found.lots.into_iter().collect();
    let mixed = (lots.len() > 1).then(|| {
        let text = format!("{}: a window is of one fluid; --lot takes one alone", lots.join(", "));
        ("lots", text)
    });
    let rows = answer.rows(asked, options.cycles).into_iter();
    tell(
        [first]
            .into_iter()
            .chain(rows)
            .chain(bias(&samples).map(|text| ("counted", text)))
            .chain(mixed)
            .chain(
                known.shop.recipes().set_aside(recipe).map(|one| ("not in force", one.in_words())),
            ),
    )
}

/// The same of the trial that runs on the board, as it was known when its last round was graded.
fn on_the_board(places: &Places, as_json_too: bool) -> Result<(), Failure> {
    let known = read(&places.data()?)?;
    if known.shop.trial().is_none() && known.shop.recipes().all_set_aside().next().is_some() {
        if as_json_too {
            let set_aside: Vec<String> =
                known.shop.recipes().all_set_aside().map(|one| one.in_words()).collect();
            return output::json(&json!({ "set_aside": set_aside }));
        }
        return tell(
            known.shop.recipes().all_set_aside().map(|one| ("not in force", one.in_words())),
        );
    }
    let run = known.shop.trial().ok_or_else(|| {
        let text = "no trial runs on this board: f begins one there, or name a file of samples, --low and --high";
        Failure::NoJournal(text.to_owned())
    })?;
    let asked = run.asked().map_err(input)?;
    if as_json_too {
        return output::json(&as_json(&run.answer));
    }
    let garments = run.garments.iter().filter(|one| one.coat.is_some()).count();
    let first = ("trial of", format!("{}, {garments} garments sprayed", run.begun.recipe));
    let aside = known.shop.recipes().all_set_aside().map(|one| ("not in force", one.in_words()));
    tell([first].into_iter().chain(run.answer.rows(asked, run.begun.cycles)).chain(aside))
}

fn tell(rows: impl Iterator<Item = Row>) -> Result<(), Failure> {
    output::lines(rows.map(|row| in_a_line(&row)))
}

/// How samples that were not sprayed for the trial lean, where there are some.
fn bias(samples: &[Sample]) -> impl Iterator<Item = String> {
    let count = |origin| samples.iter().filter(|sample| sample.from == origin).count();
    let (work, returns) = (count(Origin::Work), count(Origin::Return));
    let work = (work > 0).then(|| {
        format!("{work} of ordinary work at half weight: all near the target, they say little of the edges")
    });
    let returns = (returns > 0).then(|| {
        format!("{returns} returned at half weight: only what fails comes back, so the window looks narrower than it is")
    });
    work.into_iter().chain(returns)
}

fn as_json(answer: &Answer) -> Value {
    let (low, high) = (&answer.low, &answer.high);
    json!({
        "garments": answer.garments,
        "low": low.at.0, "high": high.at.0,
        "low_90": [low.from.0, low.upto.0], "high_90": [high.from.0, high.upto.0],
        "found_low": low.found == Found::Found, "found_high": high.found == Found::Found,
        "target": answer.target.0,
        "window": answer.window().map(|(low, high)| [low.0, high.0]),
        "working_low": answer.working.0.0, "working_high": answer.working.1.0,
        "share": answer.share, "scatter": answer.scatter, "offset": answer.offset,
        "p_none": answer.p_none, "p_safe": answer.p_safe, "ln_bf": answer.ln_bf,
        "next_aims": answer.next.map(|aim| aim.0),
        "stop": answer.stop, "doubtful": answer.doubtful,
        "advice": answer.advice(),
    })
}
