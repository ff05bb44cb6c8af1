//! What can be added up of the reports of all stations of a shop. Ratios are made of the sums, never added.

use std::collections::BTreeMap;

use serde::Serialize;

use super::section::{Datum, Figure, Part, Section};
use super::words::{percent, tenths};
use super::{Form, table, text};
use crate::commands::{Failure, output};
use crate::shop::books::shift_report::Report;
use crate::shop::facts::words::counted;

/// The sums.
#[derive(Debug, Default, Serialize)]
pub struct Sums {
    stations: usize,
    finished: usize,
    second: usize,
    out: usize,
    /// Of the garments that came out the share that was right at once; None where none came.
    first_pass_yield: Option<f64>,
    lost_minutes: f64,
    losses: Vec<Lost>,
    sprayed: u32,
    sprayed_g: f64,
}

/// What was lost by a cause.
#[derive(Debug, Serialize)]
struct Lost {
    cause: &'static str,
    garments: usize,
    minutes: f64,
}

impl Sums {
    /// Of these reports.
    pub fn of(reports: &[Report]) -> Self {
        let mut sums = Self { stations: reports.len(), ..Self::default() };
        let (mut good, mut came) = (0.0, 0.0);
        let mut losses: BTreeMap<&'static str, (usize, f64)> = BTreeMap::new();
        for report in reports {
            sums.finished += report.output.finished;
            sums.second += report.output.second;
            sums.out += report.output.out;
            sums.lost_minutes += report.output.lost_minutes;
            sums.sprayed += report.fluid.sprayed;
            sums.sprayed_g += report.fluid.sprayed_g;
            good += report.elements.gp;
            came += report.elements.ip;
            for loss in &report.losses {
                let (garments, minutes) = losses.entry(loss.cause).or_default();
                *garments += loss.garments;
                *minutes += loss.minutes;
            }
        }
        let lost = |(cause, (garments, minutes))| Lost { cause, garments, minutes };
        sums.losses = losses.into_iter().map(lost).collect();
        sums.losses.sort_by(|one, other| other.minutes.total_cmp(&one.minutes));
        sums.first_pass_yield = (came > 0.0).then(|| good / came);
        sums
    }

    /// The sums in a report's form.
    ///
    /// # Errors
    /// None in practice: they are written to memory.
    pub fn bytes(&self, form: Form) -> Result<Vec<u8>, Failure> {
        Ok(match form {
            Form::Text | Form::Html => text::lines(Vec::new(), &[self.section()]).join("\n").into(),
            Form::Csv => table::csv(Vec::new(), &[self.section()])?,
            Form::Json => output::json_bytes(self)?,
        })
    }

    fn section(&self) -> Section {
        let figure = |name, shown, says| Figure { name, shown, says };
        let rejects = counted(self.out, "reject");
        let of_all = counted(self.stations, "station");
        let figures = vec![
            figure("finished", self.finished.to_string(), format!("by {of_all}, added up")),
            figure(
                "first-pass yield",
                percent(self.first_pass_yield),
                format!("{rejects}, {} second quality", self.second),
            ),
            figure("minutes lost", tenths(self.lost_minutes), "by cause below".to_owned()),
            figure(
                "fluid, g",
                tenths(self.sprayed_g),
                format!("on {}", counted(u64::from(self.sprayed), "garment")),
            ),
        ];
        let lost = |loss: &Lost| {
            let (garments, minutes) = (counted(loss.garments, "garment"), tenths(loss.minutes));
            format!("{}: {garments}, {minutes} min", loss.cause)
        };
        let count = |name, value: usize| Datum::of("output", "", name, value, "garments");
        let by_cause = self.losses.iter().flat_map(|loss| {
            [
                Datum::of("losses", loss.cause, "garments", loss.garments, "garments"),
                Datum::of("losses", loss.cause, "minutes", loss.minutes, "min"),
            ]
        });
        let data = [
            count("finished", self.finished),
            count("second quality", self.second),
            count("out", self.out),
            Datum::figure("output", "first-pass yield", self.first_pass_yield, "share"),
            Datum::of("output", "", "lost", self.lost_minutes, "min"),
            Datum::of("fluid", "", "sprayed", self.sprayed, "garments"),
            Datum::of("fluid", "", "used", self.sprayed_g, "g"),
        ];
        let parts = vec![
            Part::Figures(figures),
            Part::Says(self.losses.iter().map(lost).collect()),
            Part::Data(data.into_iter().chain(by_cause).collect()),
        ];
        Section { id: "all", title: "All stations", parts }
    }
}
