//! What a plan leaves out: how much longer the work really takes, told by the shop's own last hours.
//!
//! Nobody works by the best plan, and a plan knows no troubles, looks and answers. Each stretch of work that lies
//! behind shows how long it took, and how long what was done in it holds the resource that was busiest with it.
//! Each such ratio stretches the times of its resource ahead, where the work is then run by the plain rule: hands
//! that were behind all morning hold nothing back in the afternoon, when everything waits for the printer.

use rand::RngExt;
use rand_distr::{Distribution, LogNormal};
use rand_pcg::Pcg64;

use super::dispatch;
use super::outlook::seconds;
use super::plan::{Group as Machines, Kind, Millis, Phase, Problem};
use crate::shop::hands::{SCATTER, Stretch};
use crate::shop::ids::RecipeHash;
use crate::shop::step::Step;

/// From so many stretches the history speaks; of fewer it would say more of chance.
const LEAST: usize = 3;
/// The most groups that stretches are gathered into: single ones end in the middle of too many garments.
const GROUPS: usize = 8;
/// A resource that was busiest for less than this says nothing of its pace: what was in it at either end weighs too
/// much.
const ENOUGH_S: f64 = 3600.0;
/// Sigma of the logarithm of what the rule itself may be off by, from memory: people do not quite go by it.
const RULE_SCATTER: f64 = 0.035;

/// What there is a limited number of.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
enum Resource {
    Hands,
    Presses,
    Printers,
}

impl Resource {
    const ALL: [Resource; 3] = [Resource::Hands, Resource::Presses, Resource::Printers];

    fn held_by(self, phase: &Phase) -> Millis {
        match self {
            Resource::Hands => phase.work(),
            Resource::Presses => phase.holds(Machines::Press),
            Resource::Printers => phase.holds(Machines::Printer),
        }
    }

    fn count(self, problem: &Problem) -> usize {
        match self {
            Resource::Hands => problem.operators,
            Resource::Presses => problem.presses,
            Resource::Printers => problem.printers,
        }
    }
}

/// What lies behind: the last stretches of work, and the way of a garment of each recipe in them.
#[derive(Debug, Clone, PartialEq)]
pub struct Past {
    /// Sigma of the logarithm of a hand time about its median.
    pub scatter: f64,
    pub stretches: Vec<Stretch>,
    /// For each recipe the phases of each step.
    pub ways: Vec<(RecipeHash, [Vec<Phase>; Step::ALL.len()])>,
}

impl Default for Past {
    fn default() -> Self {
        Self { scatter: SCATTER, stretches: Vec::new(), ways: Vec::new() }
    }
}

impl Past {
    /// Seconds for which some stretches hold each resource, shared among as many as there are.
    fn held(&self, stretches: &[Stretch], problem: &Problem) -> Option<[f64; 3]> {
        let mut held = [0.0; 3];
        for (recipe, done) in stretches.iter().flat_map(|stretch| &stretch.done) {
            let (_, steps) = self.ways.iter().find(|(known, _)| known == recipe)?;
            for (phases, done) in steps.iter().zip(done) {
                for (held, resource) in held.iter_mut().zip(Resource::ALL) {
                    let each = phases.iter().map(|phase| resource.held_by(phase)).sum();
                    #[expect(clippy::cast_precision_loss, reason = "a handful")]
                    let count = resource.count(problem).max(1) as f64;
                    *held += seconds(each) * f64::from(*done) / count;
                }
            }
        }
        Some(held)
    }

    /// For each group of stretches the resource that was busiest in it, how long it took and held that.
    fn groups(&self, problem: &Problem) -> Option<Vec<Group>> {
        let size = self.stretches.len().div_ceil(GROUPS).max(1);
        let group = |stretches: &[Stretch]| {
            let held = self.held(stretches, problem)?;
            let busiest = (0..held.len()).max_by(|a, b| held[*a].total_cmp(&held[*b]))?;
            #[expect(clippy::cast_precision_loss, reason = "some hours in microseconds")]
            let real = stretches.iter().map(|one| one.span_us).sum::<i64>() as f64 / 1e6;
            Some(Group { resource: Resource::ALL[busiest], real, held: held[busiest] })
        };
        self.stretches.chunks(size).map(group).collect()
    }
}

/// Some stretches of work: seconds that they took, and for which they held the resource that was busiest in them.
#[derive(Debug, Clone, Copy, PartialEq)]
struct Group {
    resource: Resource,
    real: f64,
    held: f64,
}

/// How the shop works, beside its plan.
#[derive(Debug, Clone, PartialEq)]
pub struct Habit {
    /// Sigma of the logarithm of a hand time about its median.
    pub scatter: f64,
    /// None while too little is known.
    known: Option<Known>,
}

#[derive(Debug, Clone, PartialEq)]
struct Known {
    groups: Vec<Group>,
    /// Seconds that the work ahead takes by the rule: as it is, and with each resource stretched by the ratio of
    /// the groups in which it was busiest.
    plain: f64,
    stretched: f64,
}

impl Default for Habit {
    fn default() -> Self {
        Self { scatter: SCATTER, known: None }
    }
}

impl Habit {
    /// Learns from what lies behind, for what lies ahead.
    pub fn of(past: &Past, problem: &Problem) -> Self {
        let known = || {
            let groups = past.groups(problem)?;
            // The mean of a scattered time lies above its median.
            let mean = (past.scatter * past.scatter / 2.0).exp();
            let plain = stretched(problem, Resource::Hands, mean);
            let longer = Resource::ALL.into_iter().fold(plain.clone(), |problem, resource| {
                let own = groups.iter().copied().filter(|group| group.resource == resource);
                let enough = own.clone().map(|group| group.real).sum::<f64>() >= ENOUGH_S;
                let factor = ratio(own).filter(|_| enough).unwrap_or(1.0);
                let factor = if resource == Resource::Hands { factor / mean } else { factor };
                stretched(&problem, resource, factor.max(1.0))
            });
            let plain = seconds(dispatch::makespan(&plain));
            let stretched = seconds(dispatch::makespan(&longer));
            Some(Known { groups, plain, stretched: stretched.max(plain) })
        };
        let enough = past.stretches.len() >= LEAST;
        Self { scatter: past.scatter, known: enough.then(known).flatten() }
    }

    /// How long what lies ahead takes, in seconds, as the shop works. None while nothing is known.
    pub fn expected(&self) -> Option<f64> {
        self.known.as_ref().map(|known| known.stretched)
    }

    /// Drawn runs of a plan, each as much longer as a draw of what lies behind says. The history holds the delays
    /// that scatter alone brings, so of the runs only their own scatter is taken over.
    pub fn applied(&self, mut runs: Vec<f64>, rng: &mut Pcg64) -> Vec<f64> {
        let Some(known) = &self.known else { return runs };
        runs.sort_by(f64::total_cmp);
        let middle = runs.get(runs.len() / 2).copied().unwrap_or(1.0).max(1e-9);
        let off = LogNormal::new(0.0, RULE_SCATTER).ok();
        runs.iter()
            .map(|run| {
                let off = off.map_or(1.0, |off| off.sample(rng));
                run / middle * known.draw(rng) * off
            })
            .collect()
    }
}

impl Known {
    /// Draws how long it takes: which ratio this shop tends to, and how far the groups ahead fall from it.
    fn draw(&self, rng: &mut Pcg64) -> f64 {
        let Some(all) = ratio(self.groups.iter().copied()) else { return self.stretched };
        let mut resampled = |count: usize| {
            let one = |_| self.groups[rng.random_range(0..self.groups.len())];
            ratio((0..count).map(one)).unwrap_or(all)
        };
        let (real, count) =
            self.groups.iter().fold((0.0, 0.0), |(sum, count), one| (sum + one.real, count + 1.0));
        #[expect(
            clippy::cast_possible_truncation,
            clippy::cast_sign_loss,
            reason = "between one and a thousand groups"
        )]
        let ahead = (self.stretched * count / real).round().clamp(1.0, 1000.0) as usize;
        let drawn = resampled(self.groups.len()) * resampled(ahead) / all;
        // Between the two runs by the rule, and on beyond, as far as the draw lies between 1 and the ratio of all.
        let share = if (all - 1.0).abs() < 0.01 { 1.0 } else { (drawn - 1.0) / (all - 1.0) };
        self.plain + (self.stretched - self.plain) * share.clamp(-1.0, 3.0)
    }
}

/// A problem with the times of one resource longer by a factor.
fn stretched(problem: &Problem, resource: Resource, factor: f64) -> Problem {
    #[expect(
        clippy::cast_possible_truncation,
        clippy::cast_precision_loss,
        reason = "some minutes in milliseconds"
    )]
    let longer = |time: Millis| (time as f64 * factor).round() as Millis;
    let phase = |phase: &Phase| match phase {
        Phase::Hand { name, takes } if resource == Resource::Hands => {
            Phase::Hand { name, takes: longer(*takes) }
        }
        Phase::Machine { name, group, load, run, unload } if resource == Resource::Hands => {
            let (load, unload) = (longer(*load), longer(*unload));
            Phase::Machine { name, group: *group, load, run: *run, unload }
        }
        Phase::Machine { name, group, load, run, unload } if resource.held_by(phase) > 0 => {
            let more = longer(load + run + unload) - (load + run + unload);
            let run = (run + more).max(0);
            Phase::Machine { name, group: *group, load: *load, run, unload: *unload }
        }
        other => *other,
    };
    let kind = |kind: &Kind| Kind { route: kind.route.iter().map(phase).collect(), ..kind.clone() };
    Problem { kinds: problem.kinds.iter().map(kind).collect(), ..problem.clone() }
}

fn ratio(groups: impl Iterator<Item = Group>) -> Option<f64> {
    let (real, held) =
        groups.fold((0.0, 0.0), |(real, held), one| (real + one.real, held + one.held));
    (held > 0.0).then(|| real / held)
}
