//! A control chart of a column of values.

use std::path::PathBuf;

use clap::Args;
use serde_json::json;

use super::input;
use super::table::{read_columns, read_first};
use crate::commands::{Failure, output};
use crate::figures::chart::{self, Chart};

/// A column of values.
#[derive(Debug, Args)]
pub struct ChartOptions {
    /// CSV; a first line without numbers is the head
    file: PathBuf,
    /// Which column; the first without it
    #[arg(long)]
    column: Option<String>,
    /// The lower limit of what is wanted
    #[arg(long, requires = "high", allow_negative_numbers = true)]
    low: Option<f64>,
    /// The upper limit of what is wanted
    #[arg(long, requires = "low", allow_negative_numbers = true)]
    high: Option<f64>,
    /// As JSON
    #[arg(long)]
    json: bool,
}

/// Prints a control chart's figures.
pub fn chart(options: &ChartOptions) -> Result<(), Failure> {
    let values = match &options.column {
        Some(name) => read_columns(&options.file, &[name])?.remove(0),
        None => read_first(&options.file)?,
    };
    let chart = chart::individuals(&values).map_err(input)?;
    let limits = options.low.zip(options.high);
    if let Some((low, high)) = limits
        && low >= high
    {
        return Err(input(format!("--low {low} is not below --high {high}")));
    }
    let capable = limits
        .filter(|_| chart.sd > 0.0)
        .map(|(low, high)| chart::capability(chart.mean, chart.sd, low, high));
    if options.json {
        return output::json(&chart_json(&chart, capable));
    }
    let mut lines = vec![
        format!("n            {}", chart.n),
        format!("mean         {:.4}", chart.mean),
        format!("limits       {:.4} to {:.4}", chart.lower, chart.upper),
        format!("moving range {:.4} on average, at most {:.4}", chart.mr_mean, chart.mr_upper),
    ];
    lines.extend(capable.map(|(cp, cpk)| format!("Cp {cp:.3}   Cpk {cpk:.3}")));
    lines.extend(chart.signals.iter().map(|s| {
        let side = if s.above { "above" } else { "below" };
        format!("signal       at {}: {} ({side})", s.index, s.rule.words())
    }));
    output::lines(lines)
}

fn chart_json(chart: &Chart, capable: Option<(f64, f64)>) -> serde_json::Value {
    let signals: Vec<_> = chart
        .signals
        .iter()
        .map(|s| json!({ "index": s.index, "rule": s.rule.words(), "above": s.above }))
        .collect();
    json!({
        "n": chart.n, "mean": chart.mean, "mr_mean": chart.mr_mean, "upper": chart.upper,
        "lower": chart.lower, "mr_upper": chart.mr_upper, "sd": chart.sd,
        "cp": capable.map(|(cp, _)| cp), "cpk": capable.map(|(_, cpk)| cpk), "signals": signals,
    })
}
