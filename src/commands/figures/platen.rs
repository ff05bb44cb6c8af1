//! Whether a platen is what its dial says.

use std::path::PathBuf;

use clap::Args;
use serde_json::json;

use super::input;
use super::table::{at, each_row, text};
use crate::commands::{Failure, Places, output};
use crate::figures::platen::Grid;
use crate::figures::units::{HeatSpan, Temperature, bounds};

/// No platen is further off its dial, in degrees Celsius: a scale was mixed up, or a figure left out.
const MOST_OFF_C: f64 = 60.0;

/// Readings of a probe.
#[derive(Debug, Args)]
pub struct PlatenOptions {
    /// CSV of temperatures, row by row as they lie on the platen; plain numbers are in the dial's own scale
    file: PathBuf,
    /// What the dial says
    #[arg(long, value_parser = bounds::PLATE.reader::<Temperature>())]
    dial: Temperature,
    /// How far a reading may be off, "5 C" or "9 F"; the station's without it
    #[arg(long, value_parser = bounds::TOLERANCE.reader::<HeatSpan>())]
    tolerance: Option<HeatSpan>,
    /// As JSON
    #[arg(long)]
    json: bool,
}

/// Prints what a platen's readings say.
pub fn platen(places: &Places, options: &PlatenOptions) -> Result<(), Failure> {
    let tolerance = match options.tolerance {
        Some(tolerance) => tolerance,
        None => places.profiles()?.station.platen.tolerance,
    };
    let mut rows = Vec::new();
    each_row(&options.file, |line, record| {
        let mut row = Vec::new();
        for (column, cell) in (1..).zip(record) {
            let cell = text(cell);
            let heat = options
                .dial
                .read_alike(&cell)
                .map_err(|wrong| at(&options.file, line, column, wrong))?;
            let off = heat.as_celsius() - options.dial.as_celsius();
            if off.abs() > MOST_OFF_C {
                let reason = format!(
                    "{heat} is {} from the dial at {}: is it in the right scale? Expected within {}",
                    options.dial.difference(off),
                    options.dial,
                    options.dial.difference(MOST_OFF_C)
                );
                return Err(at(&options.file, line, column, reason));
            }
            row.push(heat.as_celsius());
        }
        rows.push(row);
        Ok(())
    })?;
    let finding = Grid::new(rows)
        .map_err(|wrong| input(format!("{}: {wrong}", options.file.display())))?
        .against(options.dial, tolerance);
    let verdict = if finding.within { "within" } else { "outside" };
    let place = |spot: crate::figures::platen::Spot| json!({ "row": spot.row, "column": spot.column, "celsius": spot.celsius });
    if options.json {
        return output::json(&json!({
            "mean_c": finding.mean_c, "spread_c": finding.spread_c, "coldest": place(finding.coldest),
            "hottest": place(finding.hottest), "correction_c": finding.correction_c,
            "tolerance_c": tolerance.as_celsius(), "verdict": verdict,
        }));
    }
    let shown = |celsius: f64| {
        let heat = options.dial.of_celsius(celsius);
        format!("{:.1} {}", heat.degrees(), heat.letter())
    };
    let spread = options.dial.span_of(finding.spread_c);
    output::lines([
        format!("mean         {} against {} on the dial", shown(finding.mean_c), options.dial),
        format!("spread       {:.1} {}", spread.degrees(), spread.letter()),
        format!(
            "coldest      {} in row {}, column {}",
            shown(finding.coldest.celsius),
            finding.coldest.row,
            finding.coldest.column
        ),
        format!(
            "hottest      {} in row {}, column {}",
            shown(finding.hottest.celsius),
            finding.hottest.row,
            finding.hottest.column
        ),
        format!("correction   {} on the dial", options.dial.difference(finding.correction_c)),
        format!("verdict      {verdict} a tolerance of {tolerance}"),
    ])
}
