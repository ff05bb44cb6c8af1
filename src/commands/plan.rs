//! When it will be done, what holds it back, what would help.

mod asked;
mod bare;
mod jobs;
mod text;

use std::path::PathBuf;

use clap::Args;
use serde_json::{Value, json};

use asked::{Asked, real};

use super::everywhere::Over;
use super::output::Form;
use super::{Failure, Places, output};
use crate::figures::units::whole_reader;
use crate::forecast::habit::Habit;
use crate::forecast::jobshop::seconds;
use crate::forecast::outlook::{self, Ahead, SEED};
use crate::forecast::plan::presses::Laid;
use crate::forecast::plan::{BRISK, Group, Move, NoPlan, Part, Phase, Plan, THOROUGH};
use crate::shop::books::hands::Known;
use crate::shop::books::outlook::Ready;
use crate::shop::facts::moment::Wall;
use crate::shop::facts::moment::rfc3339;
use crate::shop::facts::when::When;

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
    /// The garments of the files come only then, "2026-12-04T13:00" or "13:00"
    #[arg(long, value_name = "TIME", requires = "orders")]
    arrive: Option<When>,
    /// How many presses, instead of the station's
    #[arg(long, value_parser = whole_reader::<u8>("presses", 1, 9))]
    presses: Option<u8>,
    /// How many printers, instead of the station's
    #[arg(long, value_parser = whole_reader::<u8>("printers", 0, 9))]
    printers: Option<u8>,
    /// How many operators, instead of those who are signed in
    #[arg(long, value_parser = whole_reader::<u8>("operators", 1, 9))]
    operators: Option<u8>,
    /// How many will be done by then, "2026-12-04T16:00" or "16:00"
    #[arg(long, value_name = "TIME")]
    until: Option<When>,
    /// The same seed draws the same hand times
    #[arg(long, default_value_t = SEED, value_parser = whole_reader::<u64>("a seed", 0, u64::MAX))]
    seed: u64,
    /// A bare problem: 'presses=2 garments=12 load=6 press1=15 unload=6 spray=25 roll=8 press2=40 dwell=free'
    #[arg(long, conflicts_with_all = ["orders", "presses", "operators", "until"])]
    bench: Option<String>,
    /// A job shop from a file in the text format of published instances
    #[arg(long, value_name = "FILE", conflicts_with_all = ["orders", "presses", "operators", "until", "bench", "drawn"])]
    jobs: Option<PathBuf>,
    /// How long to search for it: 1 is about a third of a second
    #[arg(long, default_value_t = 10, requires = "jobs", value_parser = whole_reader::<u8>("an effort", 1, 100))]
    effort: u8,
    /// The moves with their times
    #[arg(long)]
    steps: bool,
    /// The moves of one draw of this seed instead of the plan's own, counted from 1, in the plan's order
    #[arg(long, value_name = "K", requires = "steps", value_parser = whole_reader::<u16>("the number of a draw", 1, 1000))]
    drawn: Option<u16>,
    /// As JSON
    #[arg(long)]
    json: bool,
    #[command(flatten)]
    over: Over,
}

/// Plans and prints what came of it.
pub fn run(places: &Places, options: &Options) -> Result<(), Failure> {
    if let Some(path) = &options.jobs {
        return jobs::run(path, options);
    }
    if let Some(all) = options.over.everywhere(places)? {
        let own = options.orders.is_empty() && options.bench.is_none();
        if !own {
            let text = "--hub plans what the stations have under way: leave files and --bench out";
            return Err(Failure::Input(text.to_owned()));
        }
        let form = if options.json { Form::Json } else { Form::Text };
        let bytes = all.joined(form, |one| planned(&places.with_data(&one.data), options))?;
        output::raw(&bytes)?;
        return all.is_whole();
    }
    output::raw(&planned(places, options)?)
}

/// The plan of a station, or of a bare problem, as it is printed.
fn planned(places: &Places, options: &Options) -> Result<Vec<u8>, Failure> {
    let asked = match &options.bench {
        Some(text) => Asked::bare(bare::read(text)?),
        None => real(places, options)?,
    };
    let wrong = |reason: NoPlan| Failure::Input(reason.to_string());
    let problem = &asked.work.problem;
    let plan = problem.best(THOROUGH).map_err(wrong)?;
    let scatter = asked.work.past.scatter;
    let draw = |no| outlook::drawn(problem, &plan, scatter, options.seed, usize::from(no));
    let drawn = options.drawn.map(draw);
    // A bare problem is a plan and its draws; in a shop people go by the rule, and it is as slow as it is.
    let habit = asked.known.as_ref().map(|_| Habit::of(&asked.work.past));
    let (finish, busy, what_if, ahead);
    match habit.as_ref().zip(asked.now) {
        Some((habit, now)) => {
            let own = Ahead::of(&asked.work, habit, now, options.seed);
            finish = own.foreseen.finish();
            busy = outlook::busy_by_rule(problem);
            what_if = own.what_if();
            ahead = Some(own);
        }
        None => {
            finish = outlook::by_plan(problem, &plan, scatter, options.seed);
            busy = outlook::busy(problem, &plan);
            what_if = outlook::what_if(problem, &plan, BRISK).map_err(wrong)?;
            ahead = None;
        }
    }
    let orders = ahead.as_ref().map(Ahead::ready).unwrap_or_default();
    let late = ahead.as_ref().and_then(|ahead| late(ahead, &orders));
    let known = asked.known.as_ref();
    let asked = &asked;
    let habit = habit.as_ref();
    let answer =
        Answer { drawn, finish, what_if, orders, late, busy, habit, ahead, plan, asked, known };
    match options.json {
        true => output::json_bytes(&answer.json(options)),
        false => Ok(output::line_bytes(answer.lines(options))),
    }
}

/// The order that is latest against its due time, and what would meet it.
fn late(ahead: &Ahead<'_>, orders: &[Ready]) -> Option<Late> {
    let all = orders.iter().enumerate();
    let latest = all.filter_map(|(n, order)| Some((order.late()?, n)));
    let (late_s, order) = latest.max_by(|a, b| a.0.total_cmp(&b.0))?;
    let meets = ahead.owner_of(order).zip(orders[order].due);
    Some(Late { late_s, order, meets: meets.and_then(|(owner, due)| ahead.meets(owner, due)) })
}

/// A plan with all that follows from it.
struct Answer<'a> {
    asked: &'a Asked,
    known: Option<&'a Known>,
    plan: Plan,
    /// None for a bare problem.
    habit: Option<&'a Habit>,
    ahead: Option<Ahead<'a>>,
    /// The moves of the draw that was asked for.
    drawn: Option<Vec<Move<f64>>>,
    finish: outlook::Finish,
    busy: outlook::Busy,
    what_if: Vec<outlook::WhatIf>,
    orders: Vec<Ready>,
    late: Option<Late>,
}

/// The order that is latest against its due time.
struct Late {
    late_s: f64,
    /// Its place among the orders.
    order: usize,
    /// The least change that meets it; None where no single one does.
    meets: Option<&'static str>,
}

impl Answer<'_> {
    fn garments(&self) -> usize {
        self.asked.work.problem.garments()
    }

    fn gap(&self) -> f64 {
        let bound = seconds(self.asked.work.problem.lower_bound());
        if bound > 0.0 { (seconds(self.plan.makespan) / bound - 1.0) * 100.0 } else { 0.0 }
    }

    #[expect(clippy::cast_precision_loss, reason = "some thousand garments")]
    fn per_hour(&self) -> f64 {
        let waits = self.asked.work.problem.nothing_before();
        let time = seconds(self.plan.makespan - waits);
        if time > 0.0 { self.garments() as f64 * 3600.0 / time } else { 0.0 }
    }

    fn at(&self, after: f64) -> Option<Wall> {
        Some(self.ahead.as_ref()?.at(after))
    }

    /// How many are done by a moment: in nine draws of ten at least the first, in half at least the second.
    fn done_by(&self, options: &Options) -> Option<(usize, usize)> {
        let (ahead, now) = (self.ahead.as_ref()?, self.asked.now?);
        let until = options.until?.at(now, &self.asked.zone)?;
        Some(ahead.foreseen.done_within(ahead.work_until(until)))
    }

    /// What no plan or forecast knows of such a shop.
    fn left_out(&self) -> impl Iterator<Item = &'static str> {
        let turns = self.asked.work.problem.turns_presses();
        turns.then_some("the hands that turn a dial: only its settling is counted").into_iter()
    }

    fn steps(&self) -> Vec<Value> {
        let ways = self.asked.work.problem.ways();
        let laid = self.asked.work.problem.laid(&self.plan);
        let turned_to = |one: &Move<f64>| {
            let its = |laid: &&Laid| (laid.garment, laid.phase) == (one.garment, one.phase);
            laid.iter().find(its).filter(|_| one.part == Part::Load)?.turned_to
        };
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
                "turned_to_c": turned_to(one),
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
            "late_s": self.late.as_ref().map(|late| late.late_s),
            "meets_due": self.late.as_ref().and_then(|late| late.meets),
            "orders": self.orders.iter().map(|order| json!({
                "name": order.name, "due": order.due.map(rfc3339), "finish_p50_at": rfc3339(order.likely),
                "finish_p90_at": rfc3339(order.latest), "late_s": order.late(), "short": order.short,
            })).collect::<Vec<Value>>(),
            "kept_on_shelf": self.asked.work.kept, "left_out": self.left_out().collect::<Vec<_>>(),
            "longer_than_rule": self.habit.map(Habit::factor),
            "history_hours": self.habit.map(|habit| habit.hours),
            "hand_scatter": self.asked.work.past.scatter,
            "longest_dwell_s": seconds(self.asked.work.problem.longest_dwell(&self.plan)),
            "hand_times": self.hands(),
        });
        if let Some((surely, likely)) = self.done_by(options) {
            answer["done_until"] = likely.into();
            answer["done_until_p90"] = surely.into();
        }
        if options.steps {
            answer["drawn"] = options.drawn.into();
            answer["steps"] = self.steps().into();
        }
        answer
    }
}
