//! A schedule to begin the search with: by dispatch rules, the best of several.

use rand::RngExt;
use rand_pcg::Pcg64;

use super::{Instance, Millis, Run, Schedule};

/// So many schedules are dispatched; the first by the plain rule, the others with drawn weights.
const STARTS: usize = 40;

/// A hold, which of its choices, and the unit there.
type Taken = (usize, usize, usize);

impl Instance {
    /// The best of some schedules by dispatch rules: the job with most work before it goes first, weighed against
    /// how soon its operation would end. None where holds stand in each other's way.
    pub(super) fn dispatched(&self, rng: &mut Pcg64) -> Option<Schedule> {
        let tails = self.tails();
        let mut run = Run::<Millis>::new(self);
        let mut best: Option<(Millis, Schedule)> = None;
        for start in 0..STARTS {
            let weight = if start == 0 { 1.0 } else { rng.random_range(0.0..3.0) };
            let Some(schedule) = self.dispatch(&tails, weight, rng) else { continue };
            if run.go(self, &schedule, |number| schedule.takes(number))
                && best.as_ref().is_none_or(|(makespan, _)| run.makespan < *makespan)
            {
                best = Some((run.makespan, schedule));
            }
        }
        best.map(|(_, schedule)| schedule)
    }

    /// The shortest time from each operation's start to its job's end.
    fn tails(&self) -> Vec<Millis> {
        let mut tails = vec![0; self.operations.len()];
        for number in (0..self.operations.len()).rev() {
            let later = self.after(number).map_or(0, |next| tails[next]);
            tails[number] = self.shortest(number) + self.operations[number].lag + later;
        }
        tails
    }

    /// The shortest time that an operation takes by any choice.
    pub(super) fn shortest(&self, number: usize) -> Millis {
        let operation = &self.operations[number];
        let times = |hold: usize| self.holds[hold].choices.iter().filter_map(|choice| choice.takes);
        operation.opens.clone().flat_map(times).min().unwrap_or(operation.takes)
    }

    fn dispatch(&self, tails: &[Millis], weight: f64, rng: &mut Pcg64) -> Option<Schedule> {
        let mut schedule = self.schedule(Vec::with_capacity(self.operations.len()));
        let units = self.pools.last().map_or(0, |pool| pool.end);
        let mut free = vec![0; units];
        let mut held: Vec<bool> = vec![false; units];
        let mut at = vec![0; self.holds.len()];
        for unit in self.holds.iter().filter_map(|hold| hold.unit) {
            held[unit] = true;
        }
        let mut next: Vec<Option<usize>> =
            self.jobs.iter().map(|(own, _)| (!own.is_empty()).then_some(own.start)).collect();
        let mut ready: Vec<Millis> = self.jobs.iter().map(|(_, release)| *release).collect();
        while schedule.order.len() < self.operations.len() {
            let mut best: Option<(f64, usize, Vec<Taken>, Millis)> = None;
            for (job, number) in next.iter().enumerate().filter_map(|(job, n)| Some((job, (*n)?))) {
                let Some((taken, end)) = self.soonest(number, ready[job], &free, &held) else {
                    continue;
                };
                #[expect(clippy::cast_precision_loss, reason = "a weight, not a time")]
                let rank = end as f64 - weight * tails[number] as f64 + rng.random::<f64>();
                if best.as_ref().is_none_or(|(other, ..)| rank < *other) {
                    best = Some((rank, number, taken, end));
                }
            }
            let (_, number, taken, end) = best?;
            for (hold, choice, unit) in taken {
                schedule.choose(self, hold, choice);
                at[hold] = unit;
                held[unit] = true;
            }
            let operation = &self.operations[number];
            for &hold in &self.closing[operation.closes.clone()] {
                free[at[hold]] = end;
                held[at[hold]] = false;
            }
            ready[operation.job] = end + operation.lag;
            next[operation.job] = self.after(number);
            schedule.order.push(number);
        }
        Some(schedule)
    }

    /// The choices (hold, choice, unit) by which an operation would end soonest, and when. None where every unit
    /// is held.
    fn soonest(
        &self,
        number: usize,
        ready: Millis,
        free: &[Millis],
        held: &[bool],
    ) -> Option<(Vec<Taken>, Millis)> {
        let operation = &self.operations[number];
        let (mut start, mut takes) = (ready, operation.takes);
        let mut taken = Vec::new();
        for hold in operation.opens.clone() {
            let known = &self.holds[hold];
            let choices = known.choices.iter().enumerate().filter_map(|(no, choice)| {
                let open = self.pools[choice.pool].clone().filter(|unit| !held[*unit]);
                let unit = known.unit.or_else(|| open.min_by_key(|unit| free[*unit]))?;
                Some((free[unit].max(start) + choice.takes.unwrap_or(takes), no, unit))
            });
            let (_, choice, unit) = choices.min()?;
            start = start.max(free[unit]);
            takes = known.choices[choice].takes.unwrap_or(takes);
            taken.push((hold, choice, unit));
        }
        Some((taken, start + takes))
    }
}
