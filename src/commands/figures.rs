//! Figures asked for on the command line: the coat, the hand's speed, the steam, the chart, the platen.

use std::path::{Path, PathBuf};

use clap::Args;
use serde_json::json;

use super::{Failure, Places, output};
use crate::figures::chart::{self, Chart};
use crate::figures::coat::{self, Verdict};
use crate::figures::platen::Grid;
use crate::figures::spray::{self, Task};
use crate::figures::steam::Bench;
use crate::figures::units::{
    Centimetres, Grams, GramsPerSquareMetre, Rectangle, Span, Temperature,
};

fn input(wrong: impl std::fmt::Display) -> Failure {
    Failure::Input(wrong.to_string())
}

/// A share written as "30%" or "0.3".
fn share(text: &str) -> Result<f64, String> {
    let (number, by) = match text.trim().strip_suffix('%') {
        Some(number) => (number, 100.0),
        None => (text, 1.0),
    };
    let number: f64 = number.trim().parse().unwrap_or(f64::NAN);
    let share = number / by;
    if (0.0..=1.0).contains(&share) {
        return Ok(share);
    }
    Err(format!(
        "found \"{}\", expected a share such as \"30%\"",
        crate::shop::words::clean(text, 20)
    ))
}

/// A flow written as "1.9 g/s".
fn flow(text: &str) -> Result<f64, String> {
    let number = text.trim().strip_suffix("g/s").map(str::trim).and_then(|n| n.parse().ok());
    match number {
        Some(flow) if (0.0..f64::INFINITY).contains(&flow) => Ok(flow),
        _ => Err(format!(
            "found \"{}\", expected a flow such as \"1.9 g/s\"",
            crate::shop::words::clean(text, 20)
        )),
    }
}

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

/// The sprayer, the area and the coat.
#[derive(Debug, Args)]
pub struct SprayOptions {
    /// What comes out, "1.9 g/s"; or give --caught and --in
    #[arg(long, value_parser = flow, required_unless_present = "caught")]
    flow: Option<f64>,
    /// What was caught in a vessel, "19 g"
    #[arg(long, requires = "seconds")]
    caught: Option<Grams>,
    /// In what time it was caught, "10s"
    #[arg(long = "in", id = "seconds")]
    caught_in: Option<Span>,
    /// The fan's angle in degrees; or give --fan
    #[arg(long, required_unless_present = "fan")]
    angle: Option<f64>,
    /// The fan's width on the garment, "6 in"
    #[arg(long)]
    fan: Option<Centimetres>,
    /// How far away, "11 in"
    #[arg(long, default_value = "11 in")]
    distance: Centimetres,
    /// The area, "14 in x 16 in"
    #[arg(long)]
    area: Rectangle,
    /// The coat, "230 g/m2"
    #[arg(long)]
    coat: GramsPerSquareMetre,
    /// How much of a fan's width the next stroke covers again
    #[arg(long, default_value = "30%", value_parser = share)]
    overlap: f64,
    /// How much of what is aimed at the garment stays on it
    #[arg(long, default_value = "85%", value_parser = share)]
    kept: f64,
    /// How far each stroke runs on past the edge
    #[arg(long, default_value = "2 in")]
    past: Centimetres,
    /// As JSON
    #[arg(long)]
    json: bool,
}

/// Prints how fast to move the hand.
pub fn spray(options: &SprayOptions) -> Result<(), Failure> {
    let flow_g_s = match (options.caught, options.caught_in) {
        (Some(caught), Some(span)) => caught.0 / span.as_seconds(),
        _ => options.flow.unwrap_or_default(),
    };
    let fan = match (options.fan, options.angle) {
        (Some(fan), _) => fan,
        (None, Some(angle)) if (1.0..=150.0).contains(&angle) => {
            spray::fan_width(angle, options.distance)
        }
        (None, angle) => {
            let found = angle.unwrap_or(f64::NAN);
            return Err(input(format!("--angle {found}: expected 1 to 150 degrees")));
        }
    };
    let task = Task {
        flow_g_s,
        fan,
        area: options.area,
        coat: options.coat,
        overlap: options.overlap,
        kept: options.kept,
        past: options.past,
    };
    let pace = spray::pace(&task).map_err(input)?;
    let advice = spray::advice(pace.speed_cm_s);
    let lost = pace.used.0 - pace.on.0;
    if options.json {
        return output::json(&json!({
            "fan_width_cm": fan.0, "fan_width_in": fan.as_inches(), "flow_g_s": flow_g_s,
            "speed_cm_s": pace.speed_cm_s, "speed_in_s": Centimetres(pace.speed_cm_s).as_inches(),
            "strokes": pace.strokes_across + pace.strokes_down,
            "strokes_across": pace.strokes_across, "strokes_down": pace.strokes_down,
            "seconds_a_stroke_across": pace.seconds_a_stroke_across,
            "seconds_a_stroke_down": pace.seconds_a_stroke_down, "seconds": pace.seconds,
            "grams_used": pace.used.0, "grams_on": pace.on.0, "grams_lost": lost, "advice": advice,
        }));
    }
    let mut lines = vec![
        format!("fan          {:.1} cm ({:.1} in) wide", fan.0, fan.as_inches()),
        format!(
            "hand         {:.0} cm/s ({:.1} in/s)",
            pace.speed_cm_s,
            Centimetres(pace.speed_cm_s).as_inches()
        ),
        format!(
            "across       {} strokes of {:.1} s",
            pace.strokes_across, pace.seconds_a_stroke_across
        ),
        format!(
            "up and down  {} strokes of {:.1} s",
            pace.strokes_down, pace.seconds_a_stroke_down
        ),
        format!("in all       {:.1} s", pace.seconds),
        format!("fluid        {:.1} g used, {:.1} g on, {lost:.1} g lost", pace.used.0, pace.on.0),
    ];
    lines.extend(advice.map(|advice| format!("! {advice}")));
    output::lines(lines)
}

/// Weighed coats and their steam.
#[derive(Debug, Args)]
pub struct SteamOptions {
    /// CSV with the columns grams, seconds
    #[arg(long, value_name = "PAIRS.csv")]
    fit: Option<PathBuf>,
    /// The platen
    #[arg(long)]
    plate: Temperature,
    /// The area that was sprayed
    #[arg(long)]
    area: Rectangle,
    /// Height above sea level
    #[arg(long, default_value = "0 m")]
    altitude: Centimetres,
    /// A second at which the steam stopped
    #[arg(long)]
    seconds: Option<f64>,
    /// As JSON
    #[arg(long)]
    json: bool,
}

/// Prints what the steam says.
pub fn steam(options: &SteamOptions) -> Result<(), Failure> {
    let altitude_m = options.altitude.0 / 100.0;
    if !(-500.0..=5000.0).contains(&altitude_m) {
        return Err(input(format!("--altitude {altitude_m} m: expected -500 m to 5000 m")));
    }
    if options.seconds.is_some_and(|s| !(0.0..=3600.0).contains(&s)) {
        return Err(input("--seconds: expected 0 to 3600"));
    }
    let bench = Bench { plate: options.plate, area: options.area.area(), altitude_m };
    let (boiling, latent) = (bench.boiling_c(), bench.latent());
    let Some(path) = &options.fit else {
        // Says so rather than guess: only the bounds of a believable coefficient are known.
        bench.balance(Grams(1.0), 100.0).map_err(input)?;
        let text = "without weighed pairs there is only a range: h 50 to 1000 W/(m2 K); the rule of the trade is \
                    that steam is gone by 35 s";
        if options.json {
            return output::json(&json!({
                "h_w_m2k": null, "h_range_w_m2k": [50.0, 1000.0], "boiling_c": boiling,
                "latent_kj_kg": latent, "says": text,
            }));
        }
        return output::lines([format!("water boils at {boiling:.2} C here"), text.to_owned()]);
    };
    let columns = read_columns(path, &["grams", "seconds"])?;
    let pairs: Vec<(Grams, f64)> = columns[0]
        .iter()
        .zip(&columns[1])
        .map(|(grams, seconds)| (Grams(*grams), *seconds))
        .collect();
    let learned = bench.learn(&pairs).map_err(input)?;
    let estimate = match options.seconds {
        Some(seconds) => Some(learned.estimate(seconds).map_err(input)?),
        None => None,
    };
    let heaviest = pairs.iter().map(|(grams, _)| grams.0).fold(0.0, f64::max);
    let dry = learned.seconds(Grams(heaviest)).map_err(input)?;
    if options.json {
        return output::json(&json!({
            "h_w_m2k": learned.h(), "h_believable": learned.is_believable(), "boiling_c": boiling,
            "latent_kj_kg": latent, "pairs": pairs.len(), "dry_at_least_s": dry,
            "grams": estimate.map(|e| e.grams.0), "low": estimate.map(|e| e.low.0),
            "high": estimate.map(|e| e.high.0),
        }));
    }
    let flag = if learned.is_believable() { "" } else { "  ! outside 50 to 1000: check the pairs" };
    let mut lines = vec![
        format!("contact      {:.0} W/(m2 K){flag}", learned.h()),
        format!("water boils  at {boiling:.2} C here, {latent:.0} kJ/kg"),
        format!("dry          at least {dry:.0} s for the heaviest of the weighed coats"),
    ];
    lines.extend(estimate.map(|e| {
        format!("coat         {:.1} g ({:.1} to {:.1} g with 95 %)", e.grams.0, e.low.0, e.high.0)
    }));
    output::lines(lines)
}

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

/// Readings of a probe.
#[derive(Debug, Args)]
pub struct PlatenOptions {
    /// CSV of temperatures, row by row as they lie on the platen; plain numbers are in the dial's own scale
    file: PathBuf,
    /// What the dial says
    #[arg(long)]
    dial: Temperature,
    /// How far a reading may be off, in Celsius degrees (common practice, no source)
    #[arg(long, default_value_t = 5.0)]
    tolerance: f64,
    /// As JSON
    #[arg(long)]
    json: bool,
}

/// Prints what a platen's readings say.
pub fn platen(options: &PlatenOptions) -> Result<(), Failure> {
    if !(options.tolerance > 0.0 && options.tolerance < 100.0) {
        return Err(input(format!("--tolerance {}: expected above 0 to 100", options.tolerance)));
    }
    let fahrenheit = options.dial.to_string().ends_with('F');
    let plain =
        |n: f64| if fahrenheit { Temperature::fahrenheit(n) } else { Temperature::celsius(n) };
    let mut rows = Vec::new();
    for record in csv_rows(&options.file, false)? {
        let mut row = Vec::new();
        for (column, cell) in record.1.iter().enumerate() {
            let heat = match cell.trim().parse::<f64>() {
                Ok(number) if number.is_finite() => Ok(plain(number)),
                _ => cell.parse::<Temperature>(),
            };
            row.push(
                heat.map_err(|wrong| at(&options.file, record.0, column + 1, wrong))?.as_celsius(),
            );
        }
        rows.push(row);
    }
    let finding = Grid::new(rows).map_err(input)?.against(options.dial, options.tolerance);
    let verdict = if finding.within { "within" } else { "outside" };
    let place = |spot: crate::figures::platen::Spot| json!({ "row": spot.row, "column": spot.column, "celsius": spot.celsius });
    if options.json {
        return output::json(&json!({
            "mean_c": finding.mean_c, "spread_c": finding.spread_c, "coldest": place(finding.coldest),
            "hottest": place(finding.hottest), "correction_c": finding.correction_c,
            "tolerance_c": options.tolerance, "verdict": verdict,
        }));
    }
    let shown = |celsius: f64| {
        let heat = Temperature::celsius(celsius);
        if fahrenheit {
            format!("{:.1} F", heat.as_fahrenheit())
        } else {
            format!("{celsius:.1} C")
        }
    };
    let degrees = |celsius: f64| if fahrenheit { celsius * 1.8 } else { celsius };
    output::lines([
        format!("mean         {} against {} on the dial", shown(finding.mean_c), options.dial),
        format!("spread       {:.1} degrees", degrees(finding.spread_c)),
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
        format!("correction   {:+.1} degrees on the dial", degrees(finding.correction_c)),
        format!("verdict      {verdict} a tolerance of {} C", options.tolerance),
    ])
}

/// Something wrong in a cell, with its place.
fn at(path: &Path, line: u64, column: usize, wrong: impl std::fmt::Display) -> Failure {
    input(format!("{}: line {line}, column {column}: {wrong}", path.display()))
}

/// The rows of a CSV file with the lines on which they stand.
fn csv_rows(path: &Path, head: bool) -> Result<Vec<(u64, csv::StringRecord)>, Failure> {
    let reader = csv::ReaderBuilder::new()
        .has_headers(head)
        .flexible(true)
        .comment(Some(b'#'))
        .from_path(path);
    let mut reader = reader.map_err(|wrong| input(format!("{}: {wrong}", path.display())))?;
    let mut rows = Vec::new();
    for record in reader.records() {
        let record = record.map_err(|wrong| input(format!("{}: {wrong}", path.display())))?;
        let line = record.position().map_or(0, csv::Position::line);
        rows.push((line, record));
    }
    Ok(rows)
}

/// A number in a cell.
fn number(path: &Path, line: u64, column: usize, cell: &str) -> Result<f64, Failure> {
    match cell.trim().parse::<f64>() {
        Ok(number) if number.is_finite() => Ok(number),
        _ => {
            let found = crate::shop::words::clean(cell, 30);
            Err(at(path, line, column, format!("found \"{found}\", expected a number")))
        }
    }
}

/// Named columns of a CSV file with a head.
fn read_columns(path: &Path, names: &[&str]) -> Result<Vec<Vec<f64>>, Failure> {
    let rows = csv_rows(path, false)?;
    let Some(((_, head), body)) = rows.split_first() else {
        return Err(input(format!("{}: the file is empty", path.display())));
    };
    let mut columns = Vec::new();
    for name in names {
        let place = head.iter().position(|cell| cell.trim().eq_ignore_ascii_case(name));
        let place = place.ok_or_else(|| {
            let there: Vec<&str> = head.iter().collect();
            let there = crate::shop::words::clean(&there.join(", "), 120);
            input(format!("{}: no column \"{name}\"; there are: {there}", path.display()))
        })?;
        let cells = body
            .iter()
            .map(|(line, row)| number(path, *line, place + 1, row.get(place).unwrap_or_default()));
        columns.push(cells.collect::<Result<Vec<f64>, Failure>>()?);
    }
    Ok(columns)
}

/// The first column, under a head or without one.
fn read_first(path: &Path) -> Result<Vec<f64>, Failure> {
    let rows = csv_rows(path, false)?;
    let is_head = |row: &csv::StringRecord| {
        row.get(0).is_some_and(|cell| {
            cell.chars().any(|c| c.is_ascii_alphabetic()) && cell.trim().parse::<f64>().is_err()
        })
    };
    let skip = usize::from(rows.first().is_some_and(|(_, row)| is_head(row)));
    let cells = rows.iter().skip(skip);
    cells.map(|(line, row)| number(path, *line, 1, row.get(0).unwrap_or_default())).collect()
}
