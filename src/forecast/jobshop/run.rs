//! Going through a schedule's order: each operation begins as soon as its job and its resources are there.

use std::ops::Add;

use super::{Instance, Millis, Schedule};

/// A time, whole or not: plans are made in whole milliseconds, drawn hand times are not whole.
pub trait Time: Copy + Default + PartialOrd + Add<Output = Self> {
    /// The time of a whole number of milliseconds.
    fn of(time: Millis) -> Self;
}

impl Time for Millis {
    fn of(time: Millis) -> Self {
        time
    }
}

/// Seconds.
impl Time for f64 {
    fn of(time: Millis) -> Self {
        #[expect(clippy::cast_precision_loss, reason = "some weeks in milliseconds")]
        let millis = time as f64;
        millis / 1000.0
    }
}

/// None: no operation, no unit.
const NONE: usize = usize::MAX;

/// When each operation begins and ends, and in which unit each hold is. One value serves for many runs.
#[derive(Debug, Clone)]
pub struct Run<T> {
    pub start: Vec<T>,
    pub end: Vec<T>,
    /// The unit of each hold, and the operation that left it free before.
    unit: Vec<usize>,
    freed_by: Vec<usize>,
    /// When each job is ready for its next operation.
    ready: Vec<T>,
    /// For each unit: when it is free, by which operation, and whether it is held.
    free: Vec<T>,
    last: Vec<usize>,
    held: Vec<bool>,
    /// What each run begins with: when jobs come, the units that are held already; and each operation's lag.
    releases: Vec<T>,
    begun: Vec<usize>,
    lags: Vec<T>,
    pub makespan: T,
}

impl<T: Time> Run<T> {
    /// For runs of one instance.
    pub fn new(instance: &Instance) -> Self {
        let (operations, holds) = (instance.operations.len(), instance.holds.len());
        let units = instance.pools.last().map_or(0, |pool| pool.end);
        Self {
            start: vec![T::default(); operations],
            end: vec![T::default(); operations],
            unit: vec![NONE; holds],
            freed_by: vec![NONE; holds],
            ready: Vec::new(),
            free: vec![T::default(); units],
            last: vec![NONE; units],
            held: vec![false; units],
            releases: instance.jobs.iter().map(|(_, release)| T::of(*release)).collect(),
            begun: instance.holds.iter().filter_map(|hold| hold.unit).collect(),
            lags: instance.operations.iter().map(|operation| T::of(operation.lag)).collect(),
            makespan: T::default(),
        }
    }

    /// Goes through an order, with the time that each operation takes. Of a pool's units the one that is free
    /// first is taken, first come first served in the order. False where an operation finds every unit held:
    /// nothing could free one.
    pub fn go(
        &mut self,
        instance: &Instance,
        schedule: &Schedule,
        mut takes: impl FnMut(usize) -> T,
    ) -> bool {
        self.reset();
        for &number in &schedule.order {
            let operation = &instance.operations[number];
            let mut start = self.ready[operation.job];
            for hold in operation.opens.clone() {
                let Some(unit) = self.first_free(instance, schedule, hold) else { return false };
                self.unit[hold] = unit;
                self.freed_by[hold] = self.last[unit];
                self.held[unit] = true;
                let free = self.ready_unit(schedule, hold, unit);
                if free > start {
                    start = free;
                }
            }
            let end = start + takes(number);
            self.start[number] = start;
            self.end[number] = end;
            self.ready[operation.job] = end + self.lags[number];
            for &hold in &instance.closing[operation.closes.clone()] {
                let unit = self.unit[hold];
                self.free[unit] = end;
                self.last[unit] = number;
                self.held[unit] = false;
            }
            if end > self.makespan {
                self.makespan = end;
            }
        }
        true
    }

    /// From when on a hold can begin in its unit.
    fn ready_unit(&self, schedule: &Schedule, hold: usize, unit: usize) -> T {
        let free = self.free[unit];
        let Some(kept) = schedule.kept(hold) else { return free };
        let from = T::of(kept.from);
        (if from > free { from } else { free }) + T::of(kept.settles)
    }

    fn reset(&mut self) {
        self.ready.clone_from(&self.releases);
        self.free.fill(T::default());
        self.last.fill(NONE);
        self.held.fill(false);
        for unit in &self.begun {
            self.held[*unit] = true;
        }
        self.makespan = T::default();
    }

    fn first_free(&self, instance: &Instance, schedule: &Schedule, hold: usize) -> Option<usize> {
        let known = &instance.holds[hold];
        if known.unit.is_some() {
            return known.unit;
        }
        let pool = instance.pools[known.choices[schedule.choices[hold]].pool].clone();
        if let Some(kept) = schedule.kept(hold) {
            let unit = pool.start + kept.unit;
            return (kept.unit < pool.len() && !self.held[unit]).then_some(unit);
        }
        if pool.len() == 1 {
            return (!self.held[pool.start]).then_some(pool.start);
        }
        let mut best: Option<usize> = None;
        for unit in pool {
            if !self.held[unit] && best.is_none_or(|best| self.free[unit] < self.free[best]) {
                best = Some(unit);
            }
        }
        best
    }

    /// The place in its pool of the unit that an operation has there: from its own hold, or from one that began
    /// with an earlier operation of its job.
    pub fn unit(
        &self,
        instance: &Instance,
        schedule: &Schedule,
        operation: usize,
        pool: usize,
    ) -> Option<usize> {
        let mut number = Some(operation);
        while let Some(at) = number {
            let holds = instance.operations[at].opens.clone();
            let there = |hold: &usize| {
                schedule.pool(instance, *hold) == pool && instance.holds[*hold].last >= operation
            };
            if let Some(hold) = holds.into_iter().find(there) {
                return Some(instance.unit_in_pool(self.unit[hold]));
            }
            number = instance.before(at);
        }
        None
    }

    /// A critical path from its end to its beginning: each operation with whether a resource (true) or its job
    /// (false) made the one before it in time, which stands after it here.
    pub(super) fn critical(&self, instance: &Instance, path: &mut Vec<(usize, bool)>) {
        path.clear();
        let ends = |number: &usize| self.end[*number] == self.makespan;
        let mut number = (0..self.end.len()).find(ends);
        while let Some(at) = number {
            let operation = &instance.operations[at];
            let by_resource = operation
                .opens
                .clone()
                .map(|hold| self.freed_by[hold])
                .find(|by| *by != NONE && self.end[*by] == self.start[at]);
            path.push((at, by_resource.is_some()));
            number = by_resource.or_else(|| {
                let by_job =
                    |before: &usize| self.end[*before] + self.lags[*before] == self.start[at];
                instance.before(at).filter(by_job)
            });
        }
    }
}
