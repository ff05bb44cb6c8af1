//! When it will be done, what holds it back, what would help.

use std::path::PathBuf;

use clap::Args;
use serde_json::{Value, json};

use super::history::rfc3339;
use super::{Failure, Places, output, read};
use crate::forecast::outlook::{self, seconds};
use crate::forecast::plan::{Dwell, Group, Kind, Part, Phase, Plan, Problem, THOROUGH};
use crate::forecast::workload;
use crate::screen::words;
use crate::shell::profiles;
use crate::shop::moment::Moment;
use crate::shop::order::Due;

/// The most presses, printers and operators that a plan is made for.
const MOST: usize = 9;

/// What is planned.
#[derive(Debug, Args)]
pub struct Options {
    /// Orders beside what the shop has under way
    orders: Vec<PathBuf>,
    /// Plan the files alone, as if nothing else were there
    #[arg(long, requires = "orders")]
    from_nothing: bool,
    /// How many presses, instead of the station's
    #[arg(long, value_parser = clap::value_parser!(u8).range(1..=9))]
    presses: Option<u8>,
    /// How many printers
    #[arg(long, default_value_t = 1, value_parser = clap::value_parser!(u8).range(0..=9))]
    printers: u8,
    /// How many operators, instead of those who are signed in
    #[arg(long)]
    operators: Option<u8>,
    /// How many will be done by then, "2026-12-04T16:00"
    #[arg(long, value_name = "TIME")]
    until: Option<Due>,
    /// The same seed draws the same hand times
    #[arg(long, default_value_t = 1)]
    seed: u64,
    /// A bare problem: 'presses=2 garments=12 load=6 press1=15 unload=6 spray=25 roll=8 press2=40 dwell=free'
    #[arg(long, conflicts_with_all = ["orders", "presses", "operators", "until"])]
    bench: Option<String>,
    /// The moves with their times
    #[arg(long)]
    steps: bool,
    /// As JSON
    #[arg(long)]
    json: bool,
}

/// Plans and prints what came of it.
pub fn run(places: &Places, options: &Options) -> Result<(), Failure> {
    let (problem, now, zone, due) = match &options.bench {
        Some(text) => (bare(text)?, None, jiff::tz::TimeZone::UTC, None),
        None => {
            let (problem, now, zone, due) = real(places, options)?;
            (problem, Some(now), zone, due)
        }
    };
    let wrong = |reason: crate::forecast::plan::NoPlan| Failure::Input(reason.to_string());
    let plan = problem.best(THOROUGH).map_err(wrong)?;
    let answer = Answer {
        finish: outlook::finish(&problem, &plan, options.seed),
        busy: outlook::busy(&problem, &plan),
        what_if: outlook::what_if(&problem, &plan, THOROUGH).map_err(wrong)?,
        problem,
        plan,
        now,
        due,
        zone,
    };
    if options.json {
        return output::json(&answer.json(options));
    }
    output::lines(answer.told(options))
}

/// A plan with all that follows from it.
struct Answer {
    problem: Problem,
    plan: Plan,
    finish: outlook::Finish,
    busy: outlook::Busy,
    what_if: Vec<outlook::WhatIf>,
    /// None for a bare problem, which has no clock.
    now: Option<Moment>,
    /// The earliest due time, as a moment of the wall clock in microseconds.
    due: Option<i64>,
    zone: jiff::tz::TimeZone,
}

impl Answer {
    fn garments(&self) -> usize {
        self.problem.kinds.iter().map(|kind| kind.count).sum::<usize>() + self.problem.begun.len()
    }

    fn gap(&self) -> f64 {
        let bound = seconds(self.problem.lower_bound());
        if bound > 0.0 { (seconds(self.plan.makespan) / bound - 1.0) * 100.0 } else { 0.0 }
    }

    #[expect(clippy::cast_precision_loss, reason = "some thousand garments")]
    fn per_hour(&self) -> f64 {
        let time = seconds(self.plan.makespan);
        if time > 0.0 { self.garments() as f64 * 3600.0 / time } else { 0.0 }
    }

    /// A moment so many seconds from now; None without a clock.
    fn at(&self, after: f64) -> Option<i64> {
        #[expect(clippy::cast_possible_truncation, reason = "some weeks in microseconds")]
        let micros = (after * 1e6) as i64;
        Some(self.now?.at.saturating_add(micros))
    }

    /// Seconds by which the earliest due time is missed, with what would meet it.
    fn late(&self) -> Option<(f64, Option<&'static str>)> {
        let finish = self.at(self.finish.p50)?;
        #[expect(clippy::cast_precision_loss, reason = "some weeks in microseconds")]
        let late = (finish - self.due?) as f64 / 1e6;
        // A plan is as far from its median with a change as without it.
        let meets = |change: &&outlook::WhatIf| change.saves_s >= late;
        (late > 0.0).then(|| (late, self.what_if.iter().rev().find(meets).map(|c| c.change)))
    }

    /// How many are done by a moment of the wall clock.
    fn done_by(&self, until: i64) -> usize {
        let routes: Vec<usize> = self.lengths();
        let last = |one: &&crate::forecast::plan::Move| {
            routes.get(one.garment).is_some_and(|length| one.phase + 1 == *length)
                && one.part != Part::Load
        };
        let done = |one: &&crate::forecast::plan::Move| {
            self.at(seconds(one.end)).is_some_and(|at| at <= until)
        };
        self.plan.moves.iter().filter(last).filter(done).count()
    }

    fn lengths(&self) -> Vec<usize> {
        let counted = self.problem.kinds.iter().flat_map(|kind| vec![kind.route.len(); kind.count]);
        let begun = self.problem.begun.iter().map(|one| self.problem.kinds[one.kind].route.len());
        counted.chain(begun).collect()
    }

    fn steps(&self) -> Vec<Value> {
        let mut names: Vec<&[Phase]> = Vec::new();
        for kind in &self.problem.kinds {
            names.extend(std::iter::repeat_n(kind.route.as_slice(), kind.count));
        }
        names.extend(
            self.problem.begun.iter().map(|one| self.problem.kinds[one.kind].route.as_slice()),
        );
        let step = |one: &crate::forecast::plan::Move| {
            let phase = names.get(one.garment)?.get(one.phase)?;
            let (name, machine) = match phase {
                Phase::Hand { name, .. } => (name, None),
                Phase::Machine { name, group, .. } => (name, Some((*group, one.machine + 1))),
            };
            let part = match one.part {
                Part::Hand => "hand",
                Part::Load => "load",
                Part::Unload => "unload",
            };
            let number = |wanted| machine.filter(|(group, _)| *group == wanted).map(|(_, no)| no);
            Some(json!({
                "garment": one.garment + 1, "step": name, "part": part,
                "press": number(Group::Press), "printer": number(Group::Printer),
                "operator": one.operator + 1,
                "start_s": seconds(one.start), "end_s": seconds(one.end),
            }))
        };
        self.plan.moves.iter().filter_map(step).collect()
    }

    fn json(&self, options: &Options) -> Value {
        let (bottleneck, share) = self.busy.bottleneck();
        let time = |after| self.at(after).map(rfc3339);
        let mut answer = json!({
            "garments": self.garments(), "presses": self.problem.presses,
            "printers": self.problem.printers, "operators": self.problem.operators,
            "makespan_s": seconds(self.plan.makespan),
            "lower_bound_s": seconds(self.problem.lower_bound()), "gap": self.gap(),
            "finish_p10": self.finish.p10, "finish_p50": self.finish.p50, "finish_p90": self.finish.p90,
            "finish_p50_at": time(self.finish.p50), "finish_p90_at": time(self.finish.p90),
            "bottleneck": { "resource": bottleneck, "share": share },
            "per_hour": self.per_hour(), "busy": self.busy, "what_if": self.what_if,
            "late_s": self.late().map(|(late, _)| late),
            "meets_due": self.late().and_then(|(_, change)| change),
            "hand_times": "the station's, from memory",
        });
        if let Some(until) = options.until.and_then(|until| self.until(until)) {
            answer["done_until"] = self.done_by(until).into();
        }
        if options.steps {
            answer["steps"] = self.steps().into();
        }
        answer
    }

    /// A time of the shop's clock as a moment in microseconds.
    fn until(&self, until: Due) -> Option<i64> {
        let zoned = until.0.to_zoned_datetime(self.zone.clone()).ok()?;
        Some(zoned.timestamp().as_microsecond())
    }

    fn told(&self, options: &Options) -> Vec<String> {
        if self.garments() == 0 {
            return vec!["nothing is left to be done".to_owned()];
        }
        let clock = |after: f64| {
            let at = self.at(after);
            at.map_or_else(
                || format!("after {:.0} s", after),
                |at| format!("{} {}", words::day(at, &self.zone), words::clock(at, &self.zone)),
            )
        };
        let (bottleneck, share) = self.busy.bottleneck();
        let mut lines = vec![
            format!(
                "{} garments, {} presses, {} operators: planned in {:.0} s, no plan can be under {:.0} s ({:.1} % apart)",
                self.garments(),
                self.problem.presses,
                self.problem.operators,
                seconds(self.plan.makespan),
                seconds(self.problem.lower_bound()),
                self.gap()
            ),
            format!(
                "ready        {} (half of all draws), {} (nine of ten)",
                clock(self.finish.p50),
                clock(self.finish.p90)
            ),
            format!("rate         {:.1} an hour", self.per_hour()),
            format!("bottleneck   {bottleneck}, busy {:.0} %", share * 100.0),
            format!(
                "busy         operators {:.0} %, presses {:.0} %, printer {:.0} %",
                self.busy.operators * 100.0,
                self.busy.presses * 100.0,
                self.busy.printers * 100.0
            ),
        ];
        lines.extend(self.what_if.iter().map(|one| match one.saves_s {
            saves if saves < 1.0 => format!("{:<12} would save nothing", one.change),
            saves => format!("{:<12} would save {:.0} min", one.change, saves / 60.0),
        }));
        if let Some((late, change)) = self.late() {
            let meets = change
                .map_or("nothing planned here meets it".to_owned(), |c| format!("{c} meets it"));
            lines.push(format!("! the due time is missed by {:.0} min; {meets}", late / 60.0));
        }
        if let Some(until) = options.until.and_then(|until| self.until(until)) {
            lines.push(format!("until then   {} done", self.done_by(until)));
        }
        lines.push("hand times   the station's, from memory; nothing is learned yet".into());
        if options.steps {
            lines.extend(self.steps().iter().map(|step| {
                format!(
                    "  {:>9} to {:>9}  garment {} {} {}",
                    step["start_s"],
                    step["end_s"],
                    step["garment"],
                    step["part"].as_str().unwrap_or_default(),
                    step["step"].as_str().unwrap_or_default()
                )
            }));
        }
        lines
    }
}

type Real = (Problem, Moment, jiff::tz::TimeZone, Option<i64>);

/// The shop as it stands, with the orders of the files.
fn real(places: &Places, options: &Options) -> Result<Real, Failure> {
    let known = places.profiles()?;
    let read = read(&places.data()?)?;
    let printers = usize::from(options.printers);
    let hands = known.station.hands;
    let mut problem = workload::of_shop(&read.shop, read.now, printers);
    let mut dues: Vec<Due> = read
        .shop
        .orders()
        .filter(|order| read.shop.garments_of(order.no).any(|garment| !garment.is_done()))
        .filter_map(|order| order.form.due)
        .collect();
    if options.from_nothing || read.shop.station().is_none() {
        problem = Problem {
            kinds: Vec::new(),
            begun: Vec::new(),
            presses: known.station.presses.len(),
            ..problem
        };
        dues.clear();
    }
    for path in &options.orders {
        let form = profiles::read_order(path, &known.recipes)?;
        let recipe = |name: &str| known.recipes.get(name).map(|recipe| recipe.as_ref().clone());
        problem.kinds.extend(workload::of_order(&form, recipe, &hands));
        dues.extend(form.due);
    }
    if let Some(presses) = options.presses {
        problem.presses = usize::from(presses).max(problem.begun.len());
    }
    if let Some(operators) = options.operators {
        problem.operators = usize::from(operators).min(MOST);
    }
    let due =
        dues.into_iter().min().and_then(|due| due.0.to_zoned_datetime(read.zone.clone()).ok());
    Ok((problem, read.now, read.zone, due.map(|due| due.timestamp().as_microsecond())))
}

/// A bare problem as a text of names and numbers.
fn bare(text: &str) -> Result<Problem, Failure> {
    const KNOWN: &str =
        "presses, operators, garments, load, unload, press1, press2, spray, roll, dwell";
    let wrong = |what: String| Failure::Input(format!("--bench: {what}"));
    let mut problem = Problem {
        presses: 1,
        printers: 0,
        operators: 1,
        dwell: Dwell::Free,
        kinds: Vec::new(),
        begun: Vec::new(),
    };
    let (mut garments, mut load, mut unload) = (0usize, 6000, 6000);
    let (mut press1, mut press2, mut spray, mut roll) = (15_000, 40_000, 25_000, 8000);
    for word in text.split_whitespace() {
        let (name, value) = word.split_once('=').ok_or_else(|| {
            wrong(format!("found \"{}\", expected name=value", crate::shop::words::clean(word, 20)))
        })?;
        let number = || -> Result<f64, Failure> {
            let found = value.parse::<f64>().ok().filter(|n| (0.0..=100_000.0).contains(n));
            found.ok_or_else(|| {
                wrong(format!(
                    "{name}={}: expected a number, 0 to 100000",
                    crate::shop::words::clean(value, 20)
                ))
            })
        };
        #[expect(clippy::cast_possible_truncation, reason = "at most 100,000 seconds")]
        let millis = || number().map(|n| (n * 1000.0).round() as i64);
        #[expect(clippy::cast_possible_truncation, clippy::cast_sign_loss, reason = "0 to 100,000")]
        let count = |most: usize| -> Result<usize, Failure> {
            let n = number()? as usize;
            if n > most {
                Err(wrong(format!("{name}={n}: expected at most {most}")))
            } else {
                Ok(n)
            }
        };
        match name {
            "presses" => problem.presses = count(MOST)?,
            "operators" => problem.operators = count(MOST)?,
            "garments" => garments = count(2000)?,
            "load" => load = millis()?,
            "unload" => unload = millis()?,
            "press1" => press1 = millis()?,
            "press2" => press2 = millis()?,
            "spray" => spray = millis()?,
            "roll" => roll = millis()?,
            "dwell" if value == "free" => problem.dwell = Dwell::Free,
            "dwell" if value == "0" => problem.dwell = Dwell::None,
            "dwell" => return Err(wrong("dwell: expected free or 0".into())),
            _ => {
                let name = crate::shop::words::clean(name, 20);
                return Err(wrong(format!("nothing is called \"{name}\"; there are: {KNOWN}")));
            }
        }
    }
    let machine = |name, run| Phase::Machine { name, group: Group::Press, load, run, unload };
    let hand = |name, takes| Phase::Hand { name, takes };
    let route = vec![
        machine("press1", press1),
        hand("spray", spray),
        hand("roll", roll),
        machine("press2", press2),
    ];
    problem.kinds.push(Kind { route, count: garments });
    Ok(problem)
}
