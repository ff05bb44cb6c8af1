//! A flexible job shop: jobs whose operations follow one another and hold resources, of which there may be a
//! choice.
//!
//! Each operation takes its time and may be followed by a lag in which its job rests (a press that runs by
//! itself). A hold spans one operation or several of one job and takes one unit of a pool from the start of its
//! first operation to the end of its last: an operator for a move of the hands, a press from load to unload, a
//! machine of a published instance, where each choice has a time of its own.
//!
//! A schedule is an order of the operations and a choice for each hold. [`run`](Run) goes through the order and
//! begins each operation as soon as it can be; the planner's search, the finish times with drawn hand times and
//! the queue of `tests/plans` all go through it.

mod bound;
mod run;
mod search;
mod start;
pub mod text;

use std::ops::Range;

pub use run::{Run, Time};

/// Milliseconds; for an instance from a file, thousandths of its own unit.
pub type Millis = i64;

/// Seconds of a time in milliseconds.
pub fn seconds(time: Millis) -> f64 {
    Time::of(time)
}

/// Work for one step of effort: operations that the search goes through in about a third of a second.
pub const EFFORT: usize = 18_000_000;

/// One operation of a job.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Operation {
    pub job: usize,
    /// How long it takes, unless a choice of one of its holds says otherwise.
    pub takes: Millis,
    /// How long its job rests afterwards.
    pub lag: Millis,
    /// The holds that begin with it, and those that end with it.
    opens: Range<usize>,
    closes: Range<usize>,
}

/// A resource that is taken from the start of one operation to the end of the same or a later one.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Hold {
    pub first: usize,
    pub last: usize,
    pub choices: Vec<Choice>,
    /// A unit of the pool that is held already at the beginning.
    pub unit: Option<usize>,
}

/// Where a hold may be.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Choice {
    pub pool: usize,
    /// How long its first operation takes there; None where that does not depend on the choice.
    pub takes: Option<Millis>,
}

/// What is to be scheduled.
#[derive(Debug, Clone, PartialEq, Eq, Default)]
pub struct Instance {
    /// The units of each pool, numbered through all pools.
    pools: Vec<Range<usize>>,
    operations: Vec<Operation>,
    holds: Vec<Hold>,
    /// The holds in the order of the operations that end them.
    closing: Vec<usize>,
    /// The operations of each job, and the moment at which it becomes there.
    jobs: Vec<(Range<usize>, Millis)>,
}

/// A schedule, as an order of operations and a choice for each hold.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Schedule {
    pub order: Vec<usize>,
    choices: Vec<usize>,
    /// How long each operation takes by those choices.
    takes: Vec<Millis>,
    /// The holds that are in a unit of their own, by their number; empty where none is.
    kept: Vec<Option<Kept>>,
}

/// The unit of a hold, where it is not whichever is free first: that is made ready for it once it is free and a moment has
/// come, and this takes so long.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Kept {
    /// Its place in its pool.
    pub unit: usize,
    pub from: Millis,
    pub settles: Millis,
}

impl Instance {
    /// An instance with pools of so many units each, and no jobs yet.
    pub fn new(pools: &[usize]) -> Self {
        let mut first = 0;
        let pools = pools.iter().map(|units| {
            first += units;
            first - units..first
        });
        Self { pools: pools.collect(), ..Self::default() }
    }

    /// A job begins: what follows belongs to it.
    pub fn job(&mut self, release: Millis) {
        let next = self.operations.len();
        self.jobs.push((next..next, release));
    }

    /// The next operation of the job, with the holds that begin with it; each with the number of operations of
    /// the job that it spans. Gives its number.
    pub fn operation(
        &mut self,
        takes: Millis,
        lag: Millis,
        holds: impl IntoIterator<Item = (Vec<Choice>, usize)>,
    ) -> usize {
        let number = self.operations.len();
        let opens = self.holds.len();
        self.holds.extend(holds.into_iter().map(|(choices, spans)| Hold {
            first: number,
            last: number + spans.max(1) - 1,
            choices,
            unit: None,
        }));
        let job = self.jobs.len().saturating_sub(1);
        let begins = self.jobs.last().map_or(0, |(operations, _)| operations.start);
        let own = (0..self.holds.len()).rev().take_while(|hold| self.holds[*hold].first >= begins);
        let ended: Vec<usize> = own.filter(|hold| self.holds[*hold].last == number).collect();
        let closes = self.closing.len()..self.closing.len() + ended.len();
        self.closing.extend(ended);
        let opens = opens..self.holds.len();
        self.operations.push(Operation { job, takes, lag, opens, closes });
        if let Some((operations, _)) = self.jobs.last_mut() {
            operations.end = number + 1;
        }
        number
    }

    /// The last operation ends a hold that began before all else, in this unit of the pool.
    pub fn held_before(&mut self, choice: Choice, unit: usize) {
        let Some(operation) = self.operations.len().checked_sub(1) else { return };
        let hold = Hold {
            first: operation,
            last: operation,
            choices: vec![choice],
            unit: Some(self.pools[choice.pool].start + unit),
        };
        self.holds.push(hold);
        self.operations[operation].opens.end += 1;
        self.closing.push(self.holds.len() - 1);
        self.operations[operation].closes.end += 1;
    }

    pub fn operations(&self) -> &[Operation] {
        &self.operations
    }

    pub fn jobs(&self) -> usize {
        self.jobs.len()
    }

    /// The place of an operation in its job.
    pub fn place(&self, operation: usize) -> usize {
        operation - self.jobs[self.operations[operation].job].0.start
    }

    /// The place of a unit in its pool.
    fn unit_in_pool(&self, unit: usize) -> usize {
        let pool = self.pools.iter().find(|pool| pool.contains(&unit));
        pool.map_or(0, |pool| unit - pool.start)
    }

    /// The operation of the same job before one; None for the first.
    fn before(&self, operation: usize) -> Option<usize> {
        let first = self.jobs[self.operations[operation].job].0.start;
        (operation > first).then(|| operation - 1)
    }

    /// The operation of the same job after one; None for the last.
    fn after(&self, operation: usize) -> Option<usize> {
        let end = self.jobs[self.operations[operation].job].0.end;
        (operation + 1 < end).then_some(operation + 1)
    }

    /// The schedule of an order of operations, each hold by its first choice.
    pub fn schedule(&self, order: Vec<usize>) -> Schedule {
        let takes = self.operations.iter().map(|operation| operation.takes).collect();
        let mut schedule =
            Schedule { order, choices: vec![0; self.holds.len()], takes, kept: Vec::new() };
        for hold in 0..self.holds.len() {
            schedule.choose(self, hold, 0);
        }
        schedule
    }
}

impl Schedule {
    /// How long an operation takes by the choices made.
    pub fn takes(&self, operation: usize) -> Millis {
        self.takes[operation]
    }

    /// The pool that a hold is in.
    pub fn pool(&self, instance: &Instance, hold: usize) -> usize {
        instance.holds[hold].choices[self.choices[hold]].pool
    }

    /// The pool in which an operation's first hold is; None where it holds nothing.
    pub fn machine(&self, instance: &Instance, operation: usize) -> Option<usize> {
        let holds = instance.operations[operation].opens.clone();
        holds.into_iter().next().map(|hold| self.pool(instance, hold))
    }

    /// The hold that begins with an operation in a pool is in this unit.
    pub fn keep(&mut self, instance: &Instance, (operation, pool): (usize, usize), kept: Kept) {
        let opens = instance.operations[operation].opens.clone();
        if let Some(hold) = opens.into_iter().find(|hold| self.pool(instance, *hold) == pool) {
            self.kept.resize(instance.holds.len(), None);
            self.kept[hold] = Some(kept);
        }
    }

    fn kept(&self, hold: usize) -> Option<Kept> {
        self.kept.get(hold).copied().flatten()
    }

    fn choose(&mut self, instance: &Instance, hold: usize, choice: usize) {
        self.choices[hold] = choice;
        let hold = &instance.holds[hold];
        if let Some(takes) = hold.choices[choice].takes {
            self.takes[hold.first] = takes;
        }
    }
}
