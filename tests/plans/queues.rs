//! The program's simulation against the theory of queues: a queue is a plan with one kind of move, as many
//! operators as servers, and garments that come at drawn moments.
//!
//! Sources (tests/data/README.md, section 7): Erlang C, `tests/data/erlang_c.csv`, V by three formulas, with Trueman's
//! worked example of 1977 (three tellers), S; the mean wait of M/D/1, rho / (2 mu (1 - rho)), S, V by the embedded
//! chain. Little's law is exact for a run that begins and ends empty.

use dwell::forecast::plan::{Dwell, Kind, Move, Part, Phase, Plan, Problem};
use dwell::forecast::simulation::Simulation;
use rand::SeedableRng;
use rand_distr::{Distribution, Exp1};
use rand_pcg::Pcg64;
use statrs::distribution::{ContinuousCDF, StudentsT};

/// Seconds that a service takes on the average: long beside the millisecond that arrivals are rounded to.
const SERVICE: f64 = 1000.0;
const RUNS: usize = 12;
/// All intervals together hold with at least 99 %: each of so many with the rest shared out (Bonferroni).
const INTERVALS: f64 = 60.0;

/// What a run of a queue came to: the share that waited, the mean wait in services.
struct Queue {
    waited: f64,
    wait: f64,
}

/// Runs a queue of so many garments from empty; the first fifth warms it up.
fn run(servers: usize, rho: f64, garments: usize, fixed: bool, seed: u64) -> Queue {
    let mut rng = Pcg64::seed_from_u64(seed);
    let mut at = 0.0;
    let between = SERVICE / (rho * servers as f64);
    let arrivals: Vec<i64> = (0..garments)
        .map(|_| {
            let gap: f64 = Exp1.sample(&mut rng);
            at += gap * between;
            (at * 1000.0).round() as i64
        })
        .collect();
    let takes = SERVICE as i64 * 1000;
    let kind = |at: &i64| {
        let hand = Phase::Hand { name: "spray", takes };
        Kind::new(vec![Phase::Arrival { at: *at }, hand], 1)
    };
    let problem = Problem {
        presses: 0,
        printers: 0,
        operators: servers,
        dwell: Dwell::Unlimited,
        kinds: arrivals.iter().map(kind).collect(),
        begun: Vec::new(),
        stands: Vec::new(),
        paces: Vec::new(),
    };
    // First come, first served.
    let one = |(garment, at): (usize, &i64)| Move {
        garment,
        phase: 1,
        part: Part::Hand,
        machine: 0,
        operator: 0,
        start: *at,
        end: at + takes,
    };
    let moves = arrivals.iter().enumerate().map(one).collect();
    let mut simulation = Simulation::new(&problem, &Plan { moves, makespan: 0 });
    simulation.run(|planned| {
        if fixed {
            return planned;
        }
        let share: f64 = Exp1.sample(&mut rng);
        planned * share
    });
    let moves = simulation.moves();
    let there = |one: &Move<f64>| arrivals[one.garment] as f64 / 1000.0;
    little(&moves, there);
    let kept = moves.iter().filter(|one| one.garment >= garments / 5);
    let waits: Vec<f64> = kept.map(|one| one.start - there(one)).collect();
    let count = waits.len() as f64;
    Queue {
        waited: waits.iter().filter(|wait| **wait > 1e-9).count() as f64 / count,
        wait: waits.iter().sum::<f64>() / count / SERVICE,
    }
}

/// Little's law: the mean number there, by counting through all comings and goings, is the rate times the mean stay.
fn little(moves: &[Move<f64>], there: impl Fn(&Move<f64>) -> f64) {
    let mut changes: Vec<(f64, i64)> =
        moves.iter().flat_map(|one| [(there(one), 1), (one.end, -1)]).collect();
    changes.sort_by(|a, b| a.0.total_cmp(&b.0));
    let (mut number, mut before, mut area) = (0i64, 0.0, 0.0);
    for (at, change) in &changes {
        area += number as f64 * (at - before);
        (number, before) = (number + change, *at);
    }
    let last = before;
    let stay = moves.iter().map(|one| one.end - there(one)).sum::<f64>() / moves.len() as f64;
    let rate = moves.len() as f64 / last;
    assert!(
        (area / last / (rate * stay) - 1.0).abs() < 1e-9,
        "{} and {}",
        area / last,
        rate * stay
    );
}

/// The mean of some runs and half its interval, by Student's t.
fn interval(values: &[f64]) -> (f64, f64) {
    let count = values.len() as f64;
    let mean = values.iter().sum::<f64>() / count;
    let squares: f64 = values.iter().map(|value| (value - mean).powi(2)).sum();
    let deviation = (squares / (count - 1.0)).sqrt();
    let quantile =
        StudentsT::new(0.0, 1.0, count - 1.0).unwrap().inverse_cdf(1.0 - 0.01 / INTERVALS / 2.0);
    (mean, quantile * deviation / count.sqrt())
}

fn runs(servers: usize, rho: f64, garments: usize, fixed: bool) -> Vec<Queue> {
    let seed = |no: usize| (servers * 1000 + no) as u64 + (rho * 1e6) as u64;
    (0..RUNS).map(|no| run(servers, rho, garments, fixed, seed(no))).collect()
}

/// What theory says lies in the interval of the runs; half of it does not, so the interval says something.
fn holds(what: &str, values: &[f64], theory: f64) {
    let (mean, half) = interval(values);
    assert!((mean - theory).abs() <= half, "{what}: {mean} +- {half}, theory {theory}");
    assert!((mean - theory / 2.0).abs() > half, "{what}: +- {half} says nothing");
}

#[test]
fn exponential_times_wait_as_erlang_says() {
    let mut seen = 0;
    for line in include_str!("../data/erlang_c.csv").lines().skip(1) {
        let field: Vec<f64> = line.split(',').map(|field| field.parse().unwrap()).collect();
        let (servers, rho) = (field[0] as usize, field[1]);
        // The busier, the longer a queue remembers.
        let garments = match rho {
            rho if rho <= 0.81 => 10_000,
            rho if rho <= 0.91 => 20_000,
            _ => 150_000,
        };
        let runs = runs(servers, rho, garments, false);
        let waited: Vec<f64> = runs.iter().map(|queue| queue.waited).collect();
        let wait: Vec<f64> = runs.iter().map(|queue| queue.wait).collect();
        holds(&format!("P(wait), {line}"), &waited, field[3]);
        holds(&format!("Wq, {line}"), &wait, field[4]);
        seen += 1;
    }
    assert_eq!(seen, 30);
}

/// 1.2 come a minute to three tellers who each serve 0.5 a minute: 2.16 minutes, from a table factor of 1.079.
#[test]
fn a_published_worked_example_of_three_servers() {
    let wait: Vec<f64> = runs(3, 0.8, 20_000, false).iter().map(|queue| queue.wait * 2.0).collect();
    holds("Trueman", &wait, 2.16);
}

#[test]
fn fixed_service_waits_half_as_long() {
    for (rho, theory) in [(0.5f64, 0.5f64), (0.7, 1.166_67), (0.8, 2.0), (0.9, 4.5)] {
        assert!((rho / (2.0 * (1.0 - rho)) - theory).abs() < 1e-5);
        let garments = if rho < 0.85 { 6000 } else { 20_000 };
        let wait: Vec<f64> = runs(1, rho, garments, true).iter().map(|queue| queue.wait).collect();
        holds(&format!("M/D/1, rho {rho}"), &wait, theory);
        // Twice as long is M/M/1: that it is told apart shows that the interval says something.
        let (mean, half) = interval(&wait);
        assert!(mean + half < 2.0 * theory, "rho {rho}: {mean} +- {half}");
    }
}
