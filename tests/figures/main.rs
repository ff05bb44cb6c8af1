//! Figures that the program works out or ships, held against values from outside.
//!
//! Each check names its source. "Common practice, no source" and "M" (from memory) say so.

mod boundaries;
mod calendar;
mod colour;
mod contrast;
mod control;
mod fastness;
mod figure_laws;
mod funnel;
mod kpi;
mod practice;
mod process;
mod sprays;
mod steam_fits;
mod trial_coverage;
mod trials;
mod units;
mod wear;

/// A file of check values; tests/data/README.md names their sources.
fn reference(name: &str) -> String {
    let path = format!("{}/tests/data/{name}", env!("CARGO_MANIFEST_DIR"));
    std::fs::read_to_string(&path).unwrap_or_else(|wrong| panic!("{path}: {wrong}"))
}

/// The rows of a comma-separated file without its head, cut into their first `fields` fields. None of
/// those holds a comma; a later one may, and is left in one piece at the end.
fn rows(text: &str, fields: usize) -> Vec<Vec<&str>> {
    text.lines().skip(1).map(|row| row.splitn(fields + 1, ',').collect()).collect()
}

/// Whether two numbers agree to so many parts of the greater.
fn agree(found: f64, wanted: f64, parts: f64) -> bool {
    (found - wanted).abs() <= parts * found.abs().max(wanted.abs())
}
