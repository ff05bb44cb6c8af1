//! Trials on made-up garments whose edges are known, round by round through the program: how many garments they take,
//! and how often the edges lie in what is said of them.
//!
//! A small seeded number of trials here; `DWELL_TRIALS=300 cargo test --release --test figures coverage -- --nocapture`
//! runs as many as one likes and holds each edge's share to 86 to 97 %.

use std::fs;

use rand::{RngExt, SeedableRng};
use rand_distr::{Distribution, StandardNormal};
use rand_pcg::Pcg64;
use serde_json::Value;
use tempfile::TempDir;

use crate::process::answer;

/// The recipe's window, in g/m2, and the limit's cut: half of the garments get grade 4 where the mean is 3.75.
const RECIPE: [f64; 2] = [138.0, 270.0];
const CUT: f64 = 3.75;

/// How grades fall off: none of the program's own curves but the first.
#[derive(Clone, Copy)]
enum Shape {
    Capped,
    Bent,
    Drawn,
}

/// One side of a garment's window.
#[derive(Clone, Copy)]
struct Side {
    shape: Shape,
    slope: f64,
    rise: f64,
}

impl Side {
    fn made_up(rng: &mut Pcg64) -> Self {
        let shapes = [Shape::Capped, Shape::Bent, Shape::Drawn];
        Self {
            shape: shapes[rng.random_range(0..3)],
            slope: rng.random_range(2.5..9.0),
            rise: rng.random_range(0.5..1.25),
        }
    }

    /// The mean grade so far inside the edge, in ln(coat).
    fn mean(self, inside: f64) -> f64 {
        let straight = self.slope * inside;
        match self.shape {
            Shape::Capped => CUT + straight.min(self.rise),
            Shape::Bent if inside > 0.0 => CUT + self.rise * (straight / self.rise).tanh(),
            Shape::Bent => CUT + straight,
            // From 1 up to the top in an S, through the cut with its slope.
            Shape::Drawn => {
                let top = CUT + self.rise - 1.0;
                let at = (CUT - 1.0) / top;
                let steep = self.slope / (top * at * (1.0 - at));
                1.0 + top / (1.0 + (1.0 - at) / at * (-steep * inside).exp())
            }
        }
    }
}

/// A shop with a garment: what is not known there, and what its hands and eyes do. In figures of common practice and
/// from memory, as those by which the method was chosen.
struct World {
    /// ln of both edges.
    edges: [f64; 2],
    sides: [Side; 2],
    /// Standard deviations, in grades, of garment and eye.
    noise: f64,
    /// ln(coat / aim): its mean and standard deviation.
    off: f64,
    scatter: f64,
    /// A thin coat loses its print in the wash too.
    thin_washes_out: bool,
}

fn normal(rng: &mut Pcg64) -> f64 {
    StandardNormal.sample(rng)
}

impl World {
    fn made_up(rng: &mut Pcg64) -> Self {
        const RECIPE_OFF: f64 = 0.32;
        const NARROWEST: f64 = 0.2;
        let edges = loop {
            let edges = RECIPE.map(|edge| edge.ln() + RECIPE_OFF * normal(rng));
            if edges[1] - edges[0] > NARROWEST {
                break edges;
            }
        };
        let (garment, eye): (f64, f64) = (rng.random_range(0.2..0.4), rng.random_range(0.2..0.35));
        Self {
            edges,
            sides: [Side::made_up(rng), Side::made_up(rng)],
            noise: garment.hypot(eye),
            off: 0.05 * normal(rng),
            scatter: rng.random_range(0.08..0.15),
            thin_washes_out: rng.random_range(0..2) == 0,
        }
    }

    /// A grade as somebody gives it; one in twenty says nothing.
    fn graded(&self, rng: &mut Pcg64, mean: f64) -> f64 {
        if rng.random_range(0..20) == 0 {
            return f64::from(rng.random_range(2..=10)) / 2.0;
        }
        ((2.0 * (mean + self.noise * normal(rng))).round() / 2.0).clamp(1.0, 5.0)
    }

    /// A row of the trial's file: sprayed, weighed, graded, and washed where its white passed. `off` is by how many grades
    /// the eye of that round and its load of the wash are off.
    fn sample(&self, rng: &mut Pcg64, aimed: f64, off: [f64; 2]) -> String {
        let ln_coat = aimed.ln() + self.off + self.scatter * normal(rng);
        let weighed = (ln_coat + 0.02 * normal(rng)).exp();
        let white_mean = self.sides[0].mean(ln_coat - self.edges[0]);
        let white = self.graded(rng, white_mean + off[0]);
        let mut wash = String::new();
        if white >= 4.0 {
            let mut mean = self.sides[1].mean(self.edges[1] - ln_coat);
            if self.thin_washes_out {
                mean = mean.min(white_mean + 0.5);
            }
            wash = self.graded(rng, mean + off[1]).to_string();
        }
        format!("{aimed:.0},{weighed:.1},{white},{wash}\n")
    }

    /// What the program says at the end of a trial.
    fn tried(&self, rng: &mut Pcg64, directory: &TempDir) -> Value {
        let path = directory.path().join("samples.csv");
        let mut text = String::from("aimed,coat,white,wash\n");
        loop {
            fs::write(&path, &text).unwrap();
            let [low, high] = RECIPE.map(|edge| edge.to_string());
            let said = answer(&["trial", path.to_str().unwrap(), "--low", &low, "--high", &high]);
            if !said["stop"].is_null() {
                return said;
            }
            let off = [0.15 * normal(rng), 0.25 * normal(rng)];
            for aim in said["next_aims"].as_array().unwrap() {
                text += &self.sample(rng, aim.as_f64().unwrap().round(), off);
            }
        }
    }
}

/// Every trial ends within 24 garments, on the average of about twelve (11.8 with a standard error of about 0.3 in the study
/// that chose the method), and each edge lies within its 90 % as often as that says: of 300 in 86 to 97 %, of the few
/// here within four standard errors.
#[test]
fn coverage_and_length_of_trials() {
    let asked = std::env::var("DWELL_TRIALS").ok().and_then(|asked| asked.parse().ok());
    let trials: u32 = asked.unwrap_or(24);
    let directory = TempDir::new().unwrap();
    let mut rng = Pcg64::seed_from_u64(1138);
    let (mut garments, mut at_eight, mut refused) = (0, 0, 0);
    let mut held = [0_u32; 2];
    for _ in 0..trials {
        let world = World::made_up(&mut rng);
        let said = world.tried(&mut rng, &directory);
        let count = said["garments"].as_u64().unwrap();
        assert!((8..=24).contains(&count), "{said}");
        garments += count;
        at_eight += u32::from(count == 8);
        refused += u32::from(said["stop"] != "edges known" && said["stop"] != "target safe");
        for ((name, edge), held) in
            ["low_90", "high_90"].into_iter().zip(world.edges).zip(&mut held)
        {
            let [from, upto] = [0, 1].map(|end| said[name][end].as_f64().unwrap());
            *held += u32::from((from..=upto).contains(&edge.exp()));
        }
    }
    let of_all = |count: u32| f64::from(count) / f64::from(trials);
    let mean = garments as f64 / f64::from(trials);
    println!(
        "{trials} trials: {mean:.1} garments, {:.0} % end at 8, {refused} without a window; held {:.1} and {:.1} %",
        100.0 * of_all(at_eight),
        100.0 * of_all(held[0]),
        100.0 * of_all(held[1])
    );
    let slack = 4.0 * (0.9 * 0.1 / f64::from(trials)).sqrt();
    let (least, most) = if trials >= 300 { (0.86, 0.97) } else { (0.9 - slack, 1.0) };
    for held in held {
        assert!((least..=most).contains(&of_all(held)), "{held} of {trials}");
    }
    assert!(mean < 11.8 + 4.0 * 5.0 / f64::from(trials).sqrt(), "{mean}");
}
