//! A control chart of a column of values.

use std::path::PathBuf;

use clap::Args;
use serde::{Serialize, Serializer};

use super::table::{read_columns, read_first};
use super::{input, plot};
use crate::commands::{Failure, Places, output};
use crate::figures::chart::{self, Chart, Signal};
use crate::figures::units;

/// A column of values.
#[derive(Debug, Args)]
pub struct ChartOptions {
    /// CSV; a first line without numbers is the head
    #[arg(required_unless_present = "sprayer")]
    file: Option<PathBuf>,
    /// Instead of a file: the sprayer over the weeks, from coats that were paced and weighed on the board, and each hand's
    /// scatter
    #[arg(long, conflicts_with_all = ["file", "column", "low", "high", "plot"])]
    sprayer: bool,
    /// Which column; the first without it
    #[arg(long)]
    column: Option<String>,
    /// The lower limit of what is wanted
    #[arg(long, requires = "high", value_parser = units::number)]
    low: Option<f64>,
    /// The upper limit of what is wanted
    #[arg(long, requires = "low", value_parser = units::number)]
    high: Option<f64>,
    /// Draw the chart into a file
    #[arg(long, value_name = "OUT.svg")]
    plot: Option<PathBuf>,
    /// As JSON
    #[arg(long)]
    json: bool,
}

/// Prints a control chart's figures, and draws it.
pub fn chart(places: &Places, options: &ChartOptions) -> Result<(), Failure> {
    let Some(from) = &options.file else { return super::sprayer::sprayer(places, options.json) };
    let wanted = options.low.zip(options.high);
    if let Some((low, high)) = wanted
        && !(low < high && (high - low).is_finite())
    {
        return Err(input(format!("--low {low} --high {high}: expected a low below a high")));
    }
    let values = match &options.column {
        Some(name) => {
            let [column] = read_columns(from, [name.as_str()])?;
            column
        }
        None => read_first(from)?,
    };
    let file = from.display();
    let chart = chart::individuals(&values).map_err(|wrong| input(format!("{file}: {wrong}")))?;
    if let Some(path) = &options.plot {
        let name = from.file_name().unwrap_or_default().to_string_lossy();
        let column = options.column.as_deref();
        let picture = plot::Picture { name: &name, column, values: &values, chart, wanted };
        picture.write(path, from)?;
    }
    let capable = wanted
        .filter(|_| chart.sd > 0.0)
        .map(|(low, high)| chart::capability(chart.mean, chart.sd, low, high));
    if options.json {
        return output::json(&Answer::new(chart, capable, &values));
    }
    let figures = [
        format!("n            {}", chart.n),
        format!("mean         {:.4}", chart.mean),
        format!("limits       {:.4} to {:.4}", chart.lower, chart.upper),
        format!("moving range {:.4} on average, at most {:.4}", chart.mr_mean, chart.mr_upper),
    ];
    let capable = capable.map(|(cp, cpk)| format!("Cp {cp:.3}   Cpk {cpk:.3}"));
    let signals = chart.signals(&values).map(|Signal { index, rule, above }| {
        let side = if above { "above" } else { "below" };
        format!("signal       at {index}: {} ({side})", rule.words())
    });
    output::lines(figures.into_iter().chain(capable).chain(signals))
}

/// The answer in JSON.
#[derive(Serialize)]
struct Answer<'a> {
    n: usize,
    mean: f64,
    mr_mean: f64,
    upper: f64,
    lower: f64,
    mr_upper: f64,
    sd: f64,
    cp: Option<f64>,
    cpk: Option<f64>,
    signals: Signals<'a>,
}

impl<'a> Answer<'a> {
    fn new(chart: Chart, capable: Option<(f64, f64)>, values: &'a [f64]) -> Self {
        let Chart { n, mean, mr_mean, upper, lower, mr_upper, sd } = chart;
        let (cp, cpk) = capable.unzip();
        let signals = Signals { chart, values };
        Self { n, mean, mr_mean, upper, lower, mr_upper, sd, cp, cpk, signals }
    }
}

/// The signals, written as they are found: of millions of values thousands are signals.
struct Signals<'a> {
    chart: Chart,
    values: &'a [f64],
}

#[derive(Serialize)]
struct Said {
    index: usize,
    rule: &'static str,
    above: bool,
}

impl Serialize for Signals<'_> {
    fn serialize<S: Serializer>(&self, serializer: S) -> Result<S::Ok, S::Error> {
        serializer.collect_seq(self.chart.signals(self.values).map(|signal| {
            let Signal { index, rule, above } = signal;
            Said { index, rule: rule.words(), above }
        }))
    }
}
