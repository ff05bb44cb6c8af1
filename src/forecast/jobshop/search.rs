//! A local search: operations of a critical path are moved in the order, or given another of their choices.
//!
//! Only what stands on a critical path can shorten a schedule. A longer schedule is kept with a probability that
//! falls with how much longer it is and with the heat, and the heat falls round by round (simulated annealing:
//! Kirkpatrick, Gelatt and Vecchi, Science 220, 1983), so that the search leaves dead ends.

use rand::{RngExt, SeedableRng};
use rand_pcg::Pcg64;

use super::{Instance, Millis, Run, Schedule};

/// The heat at the beginning of a round and at its end, as a share of the mean time of an operation.
const HOT: f64 = 1.0;
const COLD: f64 = 0.02;
/// Each round begins with the best schedule found so far.
const ROUNDS: usize = 4;
/// A block of a critical path is looked at so far on either side of an operation.
const REACH: usize = 12;

impl Instance {
    /// A good schedule, from nothing: by dispatch rules, then the local search with so much work (operations
    /// gone through). None where holds stand in each other's way.
    pub fn solve(&self, work: usize, seed: u64) -> Option<Schedule> {
        let start = self.dispatched(&mut Pcg64::seed_from_u64(seed))?;
        Some(self.improve(start, work, self.lower_bound(), seed))
    }

    /// The best schedule that the local search finds from a given one; it ends early where it meets `bound`.
    pub fn improve(&self, start: Schedule, work: usize, bound: Millis, seed: u64) -> Schedule {
        let mut search = Search::new(self, start, seed);
        let tries = work / self.operations.len().max(1);
        let round = (tries / ROUNDS).max(1);
        let mean = self.mean_time(&search.now);
        for tried in 0..tries {
            if search.best.0 <= bound || search.path.is_empty() {
                break;
            }
            if tried % round == 0 {
                search.back_to_best();
            }
            #[expect(clippy::cast_precision_loss, reason = "a share of some million")]
            let gone = (tried % round) as f64 / round as f64;
            search.step(mean * HOT * (COLD / HOT).powf(gone));
        }
        search.best.1
    }

    /// The mean time of an operation, in milliseconds.
    fn mean_time(&self, schedule: &Schedule) -> f64 {
        let sum: Millis = schedule.takes.iter().sum();
        #[expect(clippy::cast_precision_loss, reason = "a temperature, not a time")]
        let mean = sum as f64 / schedule.takes.len().max(1) as f64;
        mean.max(1.0)
    }
}

/// The search under way.
struct Search<'a> {
    instance: &'a Instance,
    rng: Pcg64,
    /// The present schedule, its makespan and a critical path of it, from its end.
    now: Schedule,
    makespan: Millis,
    path: Vec<(usize, bool)>,
    best: (Millis, Schedule),
    run: Run<Millis>,
    next: Schedule,
    at: Vec<usize>,
}

impl<'a> Search<'a> {
    fn new(instance: &'a Instance, start: Schedule, seed: u64) -> Self {
        let mut search = Self {
            instance,
            rng: Pcg64::seed_from_u64(seed),
            next: start.clone(),
            best: (Millis::MAX, start.clone()),
            now: start,
            makespan: 0,
            path: Vec::new(),
            run: Run::new(instance),
            at: vec![0; instance.operations.len()],
        };
        if search.try_next() {
            search.accept();
        }
        search
    }

    fn try_next(&mut self) -> bool {
        let next = &self.next;
        self.run.go(self.instance, next, |number| next.takes[number])
    }

    /// The best schedule is the present one again.
    fn back_to_best(&mut self) {
        self.next.clone_from(&self.best.1);
        if self.try_next() {
            self.accept();
        }
    }

    /// One try: a neighbour of the present schedule, kept or not; `heat` is in milliseconds.
    fn step(&mut self, heat: f64) {
        self.next.clone_from(&self.now);
        if self.propose() && self.try_next() {
            #[expect(clippy::cast_precision_loss, reason = "some weeks in milliseconds")]
            let longer = (self.run.makespan - self.makespan) as f64;
            if longer <= 0.0 || self.rng.random::<f64>() < (-longer / heat).exp() {
                self.accept();
            }
        }
    }

    /// The schedule that was tried last is the present one, in the order of its operations' starts.
    fn accept(&mut self) {
        std::mem::swap(&mut self.now, &mut self.next);
        self.makespan = self.run.makespan;
        let start = &self.run.start;
        // Stable: what begins at one moment keeps its order, so nothing comes before what it waits for.
        self.now.order.sort_by_key(|number| start[*number]);
        for (place, number) in self.now.order.iter().enumerate() {
            self.at[*number] = place;
        }
        self.run.critical(self.instance, &mut self.path);
        if self.makespan < self.best.0 {
            self.best = (self.makespan, self.now.clone());
        }
    }

    /// Changes the next schedule into a neighbour. False where nothing was changed.
    fn propose(&mut self) -> bool {
        let place = self.rng.random_range(0..self.path.len());
        let (number, _) = self.path[place];
        let holds = self.instance.operations[number].opens.clone();
        let flexible = |hold: &usize| self.instance.holds[*hold].choices.len() > 1;
        let hold = holds.into_iter().find(flexible);
        if let Some(hold) = hold
            && self.rng.random::<bool>()
        {
            return self.choose_other(number, hold);
        }
        self.shift_in_block(place)
    }

    /// A critical operation elsewhere, as another of its choices, at any place between those of its job.
    fn choose_other(&mut self, number: usize, hold: usize) -> bool {
        let choices = self.instance.holds[hold].choices.len();
        let other = (self.now.choices[hold] + self.rng.random_range(1..choices)) % choices;
        self.next.choose(self.instance, hold, other);
        let low = self.instance.before(number).map_or(0, |before| self.at[before] + 1);
        let last = self.now.order.len() - 1;
        let high = self.instance.after(number).map_or(last, |after| self.at[after] - 1);
        let place = self.rng.random_range(low..=high);
        self.shift(number, place);
        true
    }

    /// A critical operation before or after another of its block: those that a resource binds to one another.
    fn shift_in_block(&mut self, place: usize) -> bool {
        // The path goes from the end: later operations stand first.
        let later = self.path[..place].iter().rev().take(REACH);
        let later = later.take_while(|(_, by_resource)| *by_resource).count();
        let earlier = self.path[place..].iter().take(REACH);
        let earlier = earlier.take_while(|(_, by_resource)| *by_resource).count();
        if later + earlier == 0 {
            return false;
        }
        let other = place - later + self.rng.random_range(0..later + earlier);
        let other = if other >= place { other + 1 } else { other };
        let (Some((number, _)), Some((other, _))) = (self.path.get(place), self.path.get(other))
        else {
            return false;
        };
        self.shift(*number, self.at[*other]);
        true
    }

    /// Moves an operation to another place of the order; those of its job that would be passed go with it.
    fn shift(&mut self, number: usize, place: usize) {
        let from = self.at[number];
        let job = self.instance.operations[number].job;
        let own = |other: &usize| self.instance.operations[*other].job == job;
        let order = &mut self.next.order;
        let (span, others_first) = if place < from {
            (&mut order[place..=from], false)
        } else {
            (&mut order[from..=place], true)
        };
        // Stable, so each half keeps its order.
        span.sort_by_key(|other| own(other) == others_first);
    }
}
