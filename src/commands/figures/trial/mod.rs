//! The trial that finds a garment's window of coats, from a file of samples.

mod samples;

use std::path::PathBuf;

use clap::Args;
use serde_json::{Value, json};

use super::input;
use crate::commands::{Failure, output};
use crate::figures::fastness::Grade;
use crate::figures::trial::answer::{Answer, Found};
use crate::figures::trial::{Asked, Origin, Sample, Trial};
use crate::figures::units::{GramsPerSquareMetre, whole_reader};

/// The samples, and where the edges are thought to lie.
#[derive(Debug, Args)]
pub struct TrialOptions {
    /// CSV with a head: aimed, coat (g/m2), white, wash (grade 1 to 5 in halves, yes or no, or empty). With a head alone
    /// it says what to spray first. More columns are welcome: `from` (trial, work or return), and what must be the same
    /// for all: garment, fluid, lot, dilution, cure, cycles, scale, eye
    file: PathBuf,
    /// Where the low edge is thought to lie: the recipe's lightest coat, "138 g/m2"
    #[arg(long, value_name = "COAT", value_parser = samples::read_coat)]
    low: GramsPerSquareMetre,
    /// Where the high edge is thought to lie: its heaviest
    #[arg(long, value_name = "COAT", value_parser = samples::read_coat)]
    high: GramsPerSquareMetre,
    /// The grade that must be reached, after the cure and after the wash
    #[arg(long, value_name = "GRADE", default_value = "4", value_parser = samples::read_grade)]
    limit: Grade,
    /// How often each garment was washed
    #[arg(long, default_value = "5", value_parser = whole_reader::<u32>("washes", 1, 200))]
    cycles: u32,
    /// As JSON
    #[arg(long)]
    json: bool,
}

/// Prints what the samples say of the window, what to spray next, and whether it is enough.
pub fn trial(options: &TrialOptions) -> Result<(), Failure> {
    let asked = Asked::new(options.low, options.high, options.limit).map_err(input)?;
    let samples = samples::read(&options.file, options.cycles)?;
    let trial = Trial::of(asked, &samples)
        .map_err(|wrong| input(format!("{}: {wrong}", options.file.display())))?;
    let answer = trial.answer();
    if options.json {
        return output::json(&as_json(&answer));
    }
    let rows = answer.rows(asked, options.cycles);
    let rows = rows.into_iter().chain(bias(&samples).map(|text| ("counted", text)));
    output::lines(rows.map(|(name, text)| format!("{name:<12} {text}")))
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
