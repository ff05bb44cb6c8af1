//! Laws of plans, over problems that nobody chose: never below the lower bound, never later with more presses or
//! operators, and nothing that hands or presses cannot do.

use dwell::forecast::habit::{Habit, Past};
use dwell::forecast::jobshop::text;
use dwell::forecast::jobshop::{Millis, Run};
use dwell::forecast::plan::{Begun, Dwell, Group, Kind, Move, Part, Phase, Plan, Problem};
use proptest::prelude::*;
use proptest::strategy::ValueTree;
use proptest::test_runner::TestRunner;

/// Little work: the laws hold for any.
const WORK: usize = 300;

fn phase(printer: bool) -> impl Strategy<Value = Phase> {
    let time = || (0i64..40).prop_map(|s| s * 1000);
    let hand = time().prop_map(|takes| Phase::Hand { name: "spray", takes });
    let machine = (any::<bool>(), time(), time(), time(), 0i64..2).prop_map(
        move |(print, load, run, unload, rests)| {
            let group = if printer && print { Group::Printer } else { Group::Press };
            let rest = rests * 25_000;
            // A press that is held for no time at all is no press.
            Phase::Machine {
                name: "dry",
                group,
                load: load + 1000,
                run,
                unload: unload + 1000,
                rest,
            }
        },
    );
    prop_oneof![hand, machine]
}

fn kind(printer: bool) -> impl Strategy<Value = Kind> {
    let route = proptest::collection::vec(phase(printer), 1..4);
    (route, 0i64..3, 1usize..4).prop_map(|(mut route, comes, count)| {
        if comes > 0 {
            route.insert(0, Phase::Arrival { at: comes * 40_000 });
        }
        Kind::new(route, count)
    })
}

fn problem() -> impl Strategy<Value = Problem> {
    let kinds = proptest::collection::vec(kind(true), 1..3);
    let begun = proptest::option::of((kind(false), 0i64..60_000));
    (1usize..4, 1usize..3, 1usize..3, kinds, begun).prop_map(
        |(presses, printers, operators, kinds, begun)| {
            let mut problem = Problem {
                presses,
                printers,
                operators,
                dwell: Dwell::Unlimited,
                kinds,
                begun: Vec::new(),
                stands: Vec::new(),
                paces: Vec::new(),
            };
            if let Some((kind, left)) = begun {
                let is_press = |phase: &Phase| matches!(phase, Phase::Machine { .. });
                if let Some(phase) = kind.route.iter().position(is_press) {
                    problem.begun.push(Begun {
                        kind: problem.kinds.len(),
                        phase,
                        left,
                        machine: 0,
                    });
                    problem.kinds.push(Kind { count: 0, ..kind });
                }
            }
            problem
        },
    )
}

/// Holds a plan to what hands and machines can do, from its moves alone.
fn check(problem: &Problem, plan: &Plan) {
    let mut garments: Vec<(&Kind, Option<&Begun>)> = Vec::new();
    for kind in &problem.kinds {
        garments.extend(std::iter::repeat_n((kind, None), kind.count));
    }
    garments.extend(problem.begun.iter().map(|begun| (&problem.kinds[begun.kind], Some(begun))));
    let mut seen = 0;
    let mut held: Vec<((Group, usize), (Millis, Millis))> = Vec::new();
    for (garment, (kind, begun)) in garments.iter().enumerate() {
        let mut own = plan.moves.iter().filter(|one| one.garment == garment);
        let mut next = |phase: usize, part: Part, takes: Millis| -> &Move {
            let one = own.next().expect("a move is missing");
            assert_eq!((one.phase, one.part, one.end - one.start), (phase, part, takes), "{one:?}");
            seen += 1;
            one
        };
        let mut ready = begun.map_or(0, |begun| begun.left);
        for (no, phase) in kind.route.iter().enumerate().skip(begun.map_or(0, |begun| begun.phase))
        {
            match *phase {
                Phase::Arrival { at } => ready = at,
                Phase::Hand { takes, .. } => {
                    let one = next(no, Part::Hand, takes);
                    assert!(one.start >= ready, "{one:?} before {ready}");
                    ready = one.end;
                }
                Phase::Machine { group, load, run, unload, rest, .. } => {
                    let mut from = 0;
                    let mut machine = None;
                    if begun.is_none_or(|begun| begun.phase != no) {
                        let one = next(no, Part::Load, load);
                        assert!(one.start >= ready, "{one:?} before {ready}");
                        (ready, from, machine) = (one.end + run, one.start, Some(one.machine));
                    }
                    let one = next(no, Part::Unload, unload);
                    assert!(one.start >= ready, "{one:?} before {ready}");
                    assert!(machine.is_none_or(|machine| machine == one.machine));
                    let count =
                        if group == Group::Press { problem.presses } else { problem.printers };
                    assert!(one.machine < count);
                    held.push(((group, one.machine), (from, one.end)));
                    ready = one.end + rest;
                }
            }
        }
    }
    assert_eq!(seen, plan.moves.len(), "moves that belong to nothing");
    let hands = plan.moves.iter().map(|one| (one.operator, (one.start, one.end)));
    apart(hands.collect());
    apart(held);
    assert!(plan.moves.iter().all(|one| one.operator < problem.operators));
    assert_eq!(plan.makespan, plan.moves.iter().map(|one| one.end).max().unwrap_or(0));
}

/// No two spans of one owner overlap. One of no length takes nobody's time.
fn apart<O: Ord + std::fmt::Debug>(mut spans: Vec<(O, (Millis, Millis))>) {
    spans.retain(|(_, (from, to))| from < to);
    spans.sort();
    for two in spans.windows(2) {
        assert!(two[0].0 != two[1].0 || two[0].1.1 <= two[1].1.0, "{two:?} overlap");
    }
}

/// One garment is waited for once: the wait before its run is over is that after its load.
#[test]
fn the_bound_of_few_garments_is_not_over_what_they_take() {
    let press = Phase::Machine {
        name: "dry",
        group: Group::Press,
        load: 1_000,
        run: 26_000,
        unload: 1_000,
        rest: 0,
    };
    for (count, wanted) in [(1, 28_000), (2, 29_000)] {
        let problem = Problem {
            presses: 2,
            printers: 1,
            operators: 1,
            dwell: Dwell::Unlimited,
            kinds: vec![Kind::new(vec![press], count)],
            begun: Vec::new(),
            stands: Vec::new(),
            paces: Vec::new(),
        };
        assert_eq!(problem.best(WORK).unwrap().makespan, wanted);
        assert!(problem.lower_bound() <= wanted, "{} over {wanted}", problem.lower_bound());
    }
}

/// Of one way, whatever stands first is done first: orders are dealt their turns by due time.
#[test]
fn of_one_way_the_kind_that_stands_first_is_done_first() {
    let press = Phase::Machine {
        name: "dry",
        group: Group::Press,
        load: 6000,
        run: 40_000,
        unload: 6000,
        rest: 0,
    };
    let kind = |count| Kind::new(vec![Phase::Hand { name: "spray", takes: 25_000 }, press], count);
    let (dwell, begun) = (Dwell::Unlimited, Vec::new());
    let kinds = vec![kind(3), kind(4), kind(5)];
    let problem = Problem {
        presses: 2,
        printers: 1,
        operators: 1,
        dwell,
        kinds,
        begun,
        stands: Vec::new(),
        paces: Vec::new(),
    };
    let plan = problem.best(WORK).unwrap();
    check(&problem, &plan);
    let end = |garments: std::ops::Range<usize>| {
        let own = plan.moves.iter().filter(move |one| garments.contains(&one.garment));
        let mut ends = std::collections::BTreeMap::new();
        for one in own {
            ends.insert(one.garment, one.end);
        }
        (*ends.values().min().unwrap(), *ends.values().max().unwrap())
    };
    let (first, second, third) = (end(0..3), end(3..7), end(7..12));
    assert!(first.1 <= second.0 && second.1 <= third.0, "{first:?} {second:?} {third:?}");
}

/// The best makespan of an instance of a few operations, by every order and every choice.
fn by_trying_all(jobs: &[Vec<Vec<(usize, i64)>>], machines: usize) -> i64 {
    fn go(
        jobs: &[Vec<Vec<(usize, i64)>>],
        at: &mut Vec<usize>,
        ready: &mut Vec<i64>,
        free: &mut Vec<i64>,
        best: &mut i64,
    ) {
        let end = *ready.iter().max().unwrap();
        if end >= *best {
            return;
        }
        if at.iter().zip(jobs).all(|(at, job)| *at == job.len()) {
            *best = end;
            return;
        }
        for job in 0..jobs.len() {
            let Some(choices) = jobs[job].get(at[job]) else { continue };
            for &(machine, takes) in choices {
                let before = (ready[job], free[machine]);
                let end = before.0.max(before.1) + takes;
                (ready[job], free[machine]) = (end, end);
                at[job] += 1;
                go(jobs, at, ready, free, best);
                at[job] -= 1;
                (ready[job], free[machine]) = before;
            }
        }
    }
    let mut best = i64::MAX;
    let count = jobs.len();
    go(jobs, &mut vec![0; count], &mut vec![0; count], &mut vec![0; machines], &mut best);
    best
}

/// Up to eight operations on three machines, each with one to three choices.
fn jobs() -> impl Strategy<Value = Vec<Vec<Vec<(usize, i64)>>>> {
    let choices = proptest::sample::subsequence(vec![0usize, 1, 2], 1..=3);
    let operation = choices.prop_flat_map(|machines| {
        let count = machines.len();
        let times = proptest::collection::vec(0i64..12, count);
        times.prop_map(move |times| machines.iter().copied().zip(times).collect::<Vec<_>>())
    });
    let sizes = prop_oneof![Just((2usize, 4usize)), Just((3, 2)), Just((4, 2))];
    sizes.prop_flat_map(move |(jobs, operations)| {
        let job = proptest::collection::vec(operation.clone(), 1..=operations);
        proptest::collection::vec(job, jobs)
    })
}

fn written(jobs: &[Vec<Vec<(usize, i64)>>]) -> String {
    let mut text = format!("{} 3\n", jobs.len());
    for job in jobs {
        text += &job.len().to_string();
        for choices in job {
            text += &format!(" {}", choices.len());
            for (machine, takes) in choices {
                text += &format!(" {machine} {takes}");
            }
        }
        text += "\n";
    }
    text
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(96))]

    /// What is of one way is one work, however many orders ask for it and in whatever order they stand.
    #[test]
    fn an_order_that_is_split_makes_no_other_plan(problem in problem(), cut in 0usize..4) {
        let whole = problem.best(WORK).unwrap();
        let (mut first, mut rest) = (problem.clone(), problem.clone());
        for (first, rest) in first.kinds.iter_mut().zip(&mut rest.kinds) {
            first.count = first.count.min(cut);
            rest.count -= first.count;
        }
        rest.kinds.reverse();
        first.kinds.extend(rest.kinds);
        let split = first.best(WORK).unwrap();
        check(&first, &split);
        prop_assert_eq!(split.makespan, whole.makespan);
        let habit = Habit::of(&Past::default());
        prop_assert_eq!(habit.finish(&first, 1), habit.finish(&problem, 1));
    }

    #[test]
    fn plans_keep_their_bound_their_hands_and_their_presses(problem in problem()) {
        let bound = problem.lower_bound();
        let plan = problem.best(WORK).unwrap();
        check(&problem, &plan);
        prop_assert!(plan.makespan >= bound, "{} under {bound}", plan.makespan);
        for more in [
            Problem { presses: problem.presses + 1, ..problem.clone() },
            Problem { operators: problem.operators + 1, ..problem.clone() },
        ] {
            let other = more.best(WORK).unwrap();
            check(&more, &other);
            prop_assert!(other.makespan <= plan.makespan, "{} after {}", other.makespan, plan.makespan);
        }
    }

    /// The bound of a random job shop is under the best of all its schedules, and what is found is not.
    #[test]
    fn a_random_job_shop_lies_between_its_bound_and_what_is_found(jobs in jobs()) {
        let text = written(&jobs);
        let published = text::read(&text).unwrap();
        let instance = published.instance;
        let best = by_trying_all(&jobs, 3) * 1000;
        let bound = instance.lower_bound();
        prop_assert!(bound <= best, "bound {bound}, best {best}\n{text}");
        let schedule = instance.solve(2000, 1).unwrap();
        let mut run = Run::<Millis>::new(&instance);
        prop_assert!(run.go(&instance, &schedule, |number| schedule.takes(number)));
        prop_assert!(run.makespan >= best, "found {}, best {best}\n{text}", run.makespan);
    }
}

/// Of job shops so small that all schedules can be tried, the best of all is found in at least 95 of 100.
#[test]
fn the_best_of_small_job_shops_is_found() {
    let mut runner = TestRunner::deterministic();
    let found = (0..100).filter(|_| {
        let jobs = jobs().new_tree(&mut runner).unwrap().current();
        let instance = text::read(&written(&jobs)).unwrap().instance;
        let schedule = instance.solve(50_000, 1).unwrap();
        let mut run = Run::<Millis>::new(&instance);
        assert!(run.go(&instance, &schedule, |number| schedule.takes(number)));
        run.makespan == by_trying_all(&jobs, 3) * 1000
    });
    let found = found.count();
    assert!(found >= 95, "{found} of 100");
}
