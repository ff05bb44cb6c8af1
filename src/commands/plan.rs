//! When it will be done, what holds it back, what would help.

mod asked;
mod bare;
mod jobs;

use std::path::PathBuf;

use clap::Args;
use serde_json::{Value, json};

use asked::{Asked, Ready, real};

use super::history::rfc3339;
use super::{Failure, Places, output};
use crate::forecast::habit::Habit;
use crate::forecast::outlook::{self, seconds};
use crate::forecast::plan::{BRISK, Dwell, Group, Move, NoPlan, Part, Phase, Plan, THOROUGH};
use crate::screen::words;
use crate::shop::hands::{ENOUGH, Work};
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
    /// The garments of the files come only then, "2026-12-04T13:00"
    #[arg(long, value_name = "TIME", requires = "orders")]
    arrive: Option<Due>,
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
    /// A job shop from a file in the text format of published instances
    #[arg(long, value_name = "FILE", conflicts_with_all = ["orders", "presses", "operators", "until", "bench", "drawn"])]
    jobs: Option<PathBuf>,
    /// How long to search for it: 1 is about a third of a second
    #[arg(long, default_value_t = 10, requires = "jobs", value_parser = clap::value_parser!(u8).range(1..=100))]
    effort: u8,
    /// The moves with their times
    #[arg(long)]
    steps: bool,
    /// The moves of one draw of this seed instead of the plan's own, counted from 1, in the plan's order
    #[arg(long, value_name = "K", requires = "steps", value_parser = clap::value_parser!(u16).range(1..=1000))]
    drawn: Option<u16>,
    /// As JSON
    #[arg(long)]
    json: bool,
}

/// Plans and prints what came of it.
pub fn run(places: &Places, options: &Options) -> Result<(), Failure> {
    if let Some(path) = &options.jobs {
        return jobs::run(path, options);
    }
    let asked = match &options.bench {
        Some(text) => Asked::bare(bare::read(text)?),
        None => real(places, options)?,
    };
    let wrong = |reason: NoPlan| Failure::Input(reason.to_string());
    let problem = &asked.work.problem;
    let plan = problem.best(THOROUGH).map_err(wrong)?;
    let busy = outlook::busy(problem, &plan);
    let habit = Habit::of(&asked.work.past, problem);
    let draw = |no| outlook::drawn(problem, &plan, habit.scatter, options.seed, usize::from(no));
    let answer = Answer {
        drawn: options.drawn.map(draw),
        finish: outlook::finish(problem, &plan, &habit, options.seed),
        what_if: outlook::what_if(problem, &plan, BRISK).map_err(wrong)?,
        orders: asked.orders(options.seed).map_err(wrong)?,
        busy,
        habit,
        plan,
        asked,
    };
    if options.json {
        return output::json(&answer.json(options));
    }
    output::lines(answer.told(options))
}

/// A plan with all that follows from it.
struct Answer {
    asked: Asked,
    plan: Plan,
    habit: Habit,
    /// The moves of the draw that was asked for.
    drawn: Option<Vec<Move<f64>>>,
    finish: outlook::Finish,
    busy: outlook::Busy,
    what_if: Vec<outlook::WhatIf>,
    orders: Vec<Ready>,
}

impl Answer {
    fn garments(&self) -> usize {
        self.asked.work.problem.kinds.iter().map(|kind| kind.count).sum::<usize>()
            + self.asked.work.problem.begun.len()
    }

    fn gap(&self) -> f64 {
        let bound = seconds(self.asked.work.problem.lower_bound());
        if bound > 0.0 { (seconds(self.plan.makespan) / bound - 1.0) * 100.0 } else { 0.0 }
    }

    #[expect(clippy::cast_precision_loss, reason = "some thousand garments")]
    fn per_hour(&self) -> f64 {
        let time = seconds(self.plan.makespan);
        if time > 0.0 { self.garments() as f64 * 3600.0 / time } else { 0.0 }
    }

    fn at(&self, after: f64) -> Option<i64> {
        self.asked.at(after)
    }

    /// The order that is latest against its due time, with what would meet it, the least change first.
    fn late(&self) -> Option<(f64, &Ready, Option<&'static str>)> {
        let latest = self.orders.iter().filter_map(|order| Some((order.late()?, order)));
        let (late, order) = latest.max_by(|a, b| a.0.total_cmp(&b.0))?;
        // A plan is as far from its median with a change as without it.
        let meets = |change: &&outlook::WhatIf| change.saves_s >= late;
        Some((late, order, self.what_if.iter().rev().find(meets).map(|change| change.change)))
    }

    /// Where the hand times come from, in words.
    fn hands(&self) -> Vec<String> {
        let Some(known) = &self.asked.known else { return vec!["as given".to_owned()] };
        let mut lines: Vec<String> = known
            .learned
            .iter()
            .map(|one| {
                format!(
                    "{} {:.1} s, learned from {}",
                    one.work.words(),
                    one.typical.as_seconds(),
                    one.gaps
                )
            })
            .collect();
        let others: Vec<&str> = Work::ALL
            .into_iter()
            .filter(|work| known.learned.iter().all(|one| one.work != *work))
            .map(Work::words)
            .collect();
        if !others.is_empty() {
            lines.push(format!(
                "{}: the station's, fewer than {ENOUGH} to learn from",
                others.join(", ")
            ));
        }
        let out = known.left_out;
        for (count, why) in [
            (out.clock, "a clock was set or the machine started again"),
            (out.pause, "a pause lay between"),
            (out.shared, "several people were at the bench"),
        ] {
            if count > 0 {
                lines.push(format!("{count} left out: {why}"));
            }
        }
        lines
    }

    /// How many are done by a moment of the wall clock.
    fn done_by(&self, until: i64) -> usize {
        let ways = self.asked.work.problem.ways();
        let last = |one: &&Move| {
            ways.get(one.garment).is_some_and(|way| one.phase + 1 == way.len())
                && one.part != Part::Load
        };
        let done = |one: &&Move| self.at(seconds(one.end)).is_some_and(|at| at <= until);
        self.plan.moves.iter().filter(last).filter(done).count()
    }

    fn steps(&self) -> Vec<Value> {
        let ways = self.asked.work.problem.ways();
        let step = |one: &Move<f64>| {
            let phase = ways.get(one.garment)?.get(one.phase)?;
            let (name, machine, runs) = match phase {
                Phase::Arrival { .. } => return None,
                Phase::Hand { name, .. } => (name, None, None),
                Phase::Machine { name, group, run, .. } => {
                    (name, Some((*group, one.machine + 1)), Some(seconds(*run)))
                }
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
                "start_s": one.start, "end_s": one.end,
                // How long the machine runs after it.
                "run_s": runs.filter(|_| one.part == Part::Load),
            }))
        };
        let planned = |one: &Move| Move {
            garment: one.garment,
            phase: one.phase,
            part: one.part,
            machine: one.machine,
            operator: one.operator,
            start: seconds(one.start),
            end: seconds(one.end),
        };
        match &self.drawn {
            Some(moves) => moves.iter().filter_map(step).collect(),
            None => self.plan.moves.iter().map(planned).filter_map(|one| step(&one)).collect(),
        }
    }

    fn json(&self, options: &Options) -> Value {
        let (bottleneck, share) = self.busy.bottleneck();
        let time = |after| self.at(after).map(rfc3339);
        let mut answer = json!({
            "garments": self.garments(), "presses": self.asked.work.problem.presses,
            "printers": self.asked.work.problem.printers, "operators": self.asked.work.problem.operators,
            "makespan_s": seconds(self.plan.makespan),
            "lower_bound_s": seconds(self.asked.work.problem.lower_bound()), "gap": self.gap(),
            "finish_p10": self.finish.p10, "finish_p50": self.finish.p50, "finish_p90": self.finish.p90,
            "finish_p50_at": time(self.finish.p50), "finish_p90_at": time(self.finish.p90),
            "bottleneck": { "resource": bottleneck, "share": share },
            "per_hour": self.per_hour(), "busy": self.busy, "what_if": self.what_if,
            "late_s": self.late().map(|(late, ..)| late),
            "meets_due": self.late().and_then(|(.., change)| change),
            "orders": self.orders.iter().map(|order| json!({
                "name": order.name, "due": rfc3339(order.due), "finish_p50_at": rfc3339(order.p50),
                "finish_p90_at": rfc3339(order.p90), "late_s": order.late(),
            })).collect::<Vec<Value>>(),
            "expected_s": self.habit.expected(), "hand_scatter": self.habit.scatter,
            "longest_dwell_s": seconds(self.asked.work.problem.longest_dwell(&self.plan)),
            "hand_times": self.hands(),
        });
        if let Some(until) = options.until.and_then(|until| self.until(until)) {
            answer["done_until"] = self.done_by(until).into();
        }
        if options.steps {
            answer["drawn"] = options.drawn.into();
            answer["steps"] = self.steps().into();
        }
        answer
    }

    /// A time of the shop's clock as a moment in microseconds.
    fn until(&self, until: Due) -> Option<i64> {
        until.at(&self.asked.zone)
    }

    /// A moment as day and clock.
    fn clock(&self, at: i64) -> String {
        format!("{} {}", words::day(at, &self.asked.zone), words::clock(at, &self.asked.zone))
    }

    fn told(&self, options: &Options) -> Vec<String> {
        if self.garments() == 0 {
            return vec!["nothing is left to be done".to_owned()];
        }
        let clock = |after: f64| {
            self.at(after).map_or_else(|| format!("after {after:.0} s"), |at| self.clock(at))
        };
        let (bottleneck, share) = self.busy.bottleneck();
        let mut lines = vec![
            format!(
                "{} garments, {} presses, {} operators: planned in {:.0} s, no plan can be under {:.0} s ({:.1} % apart)",
                self.garments(),
                self.asked.work.problem.presses,
                self.asked.work.problem.operators,
                seconds(self.plan.makespan),
                seconds(self.asked.work.problem.lower_bound()),
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
        lines.extend(self.orders.iter().map(|order| {
            format!(
                "{:<28} due {}, ready {}",
                order.name,
                self.clock(order.due),
                self.clock(order.p50)
            )
        }));
        if let Some((late, order, change)) = self.late() {
            let meets = change
                .map_or("nothing planned here meets it".to_owned(), |c| format!("{c} meets it"));
            lines.push(format!("! {} is late by {:.0} min; {meets}", order.name, late / 60.0));
        }
        if let Some(until) = options.until.and_then(|until| self.until(until)) {
            lines.push(format!("until then   {} done", self.done_by(until)));
        }
        lines.extend(self.habit.expected().map(|expected| {
            format!(
                "the plan takes {:.0} s; by the plain rule, as the last hours went, {expected:.0} s",
                seconds(self.plan.makespan)
            )
        }));
        let dwell = seconds(self.asked.work.problem.longest_dwell(&self.plan));
        if let Dwell::AtMost(most) = self.asked.work.problem.dwell
            && dwell > seconds(most)
        {
            lines.push(format!(
                "! no plan was found that keeps every press within its longest time: one stays shut {dwell:.0} s past its target"
            ));
        }
        for (n, line) in self.hands().into_iter().enumerate() {
            lines.push(format!("{:<12} {line}", if n == 0 { "hand times" } else { "" }));
        }
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
