//! The garments that wait for a phase, as the search keeps them: those that became ready at one moment and follow one another
//! stand as one run, so that a stack of blanks is as cheap to copy as a single garment.

use super::Millis;

/// Garments with numbers that follow one another, all ready at one moment.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
struct Run {
    ready: Millis,
    first: usize,
    count: usize,
}

/// The garments that wait for a phase of a kind, the earliest first.
#[derive(Debug, Clone, Default)]
pub(super) struct Queue {
    runs: Vec<Run>,
    len: usize,
}

impl Queue {
    /// So many garments that are ready at one moment, from this number on.
    pub fn of(ready: Millis, first: usize, count: usize) -> Self {
        let runs = if count > 0 { vec![Run { ready, first, count }] } else { Vec::new() };
        Self { runs, len: count }
    }

    pub fn len(&self) -> usize {
        self.len
    }

    pub fn is_empty(&self) -> bool {
        self.len == 0
    }

    /// When the first became ready, and which it is.
    pub fn front(&self) -> Option<(Millis, usize)> {
        self.runs.first().map(|run| (run.ready, run.first))
    }

    /// The first goes on.
    pub fn pop_front(&mut self) {
        let Some(run) = self.runs.first_mut() else { return };
        run.first += 1;
        run.count -= 1;
        self.len -= 1;
        if run.count == 0 {
            self.runs.remove(0);
        }
    }

    /// One more waits. Several may become ready out of turn: the earliest goes first, of those of one moment the one that came
    /// first.
    pub fn insert(&mut self, ready: Millis, garment: usize) {
        self.len += 1;
        let place = self.runs.partition_point(|run| run.ready <= ready);
        let before = place.checked_sub(1).and_then(|last| self.runs.get_mut(last));
        match before {
            Some(run) if run.ready == ready && run.first + run.count == garment => run.count += 1,
            _ => self.runs.insert(place, Run { ready, first: garment, count: 1 }),
        }
    }

    /// All that counts of it from a moment on, into a row: how many entries, and of each the moment and how many garments.
    pub fn tell(&self, from: Millis, row: &mut Vec<Millis>) {
        let head = row.len();
        row.push(0);
        let mut last = None;
        for run in &self.runs {
            let ready = run.ready.max(from);
            match row.last_mut() {
                Some(count) if last == Some(ready) => *count += whole(run.count),
                _ => {
                    row.extend([ready, whole(run.count)]);
                    row[head] += 1;
                }
            }
            last = Some(ready);
        }
    }
}

/// A count among moments.
pub(super) fn whole(count: usize) -> Millis {
    Millis::try_from(count).unwrap_or(Millis::MAX)
}

#[cfg(test)]
mod tests {
    use super::*;

    fn all(mut queue: Queue) -> Vec<(Millis, usize)> {
        let mut found = Vec::new();
        while let Some(front) = queue.front() {
            found.push(front);
            queue.pop_front();
        }
        assert!(queue.is_empty());
        found
    }

    fn key(queue: &Queue, from: Millis) -> Vec<Millis> {
        let mut row = Vec::new();
        queue.tell(from, &mut row);
        row
    }

    #[test]
    fn the_earliest_goes_first_and_of_one_moment_the_one_that_came_first() {
        let mut queue = Queue::of(10, 0, 3);
        for (ready, garment) in [(5, 7), (10, 9), (10, 3), (12, 4)] {
            queue.insert(ready, garment);
        }
        assert_eq!(queue.len(), 7);
        assert_eq!(all(queue), [(5, 7), (10, 0), (10, 1), (10, 2), (10, 9), (10, 3), (12, 4)]);
        assert!(Queue::of(10, 0, 0).front().is_none());
    }

    #[test]
    fn queues_that_differ_only_before_the_moment_or_in_numbers_are_alike() {
        let mut one = Queue::of(3, 0, 2);
        one.insert(5, 9);
        let mut other = Queue::of(4, 5, 3);
        assert_eq!(key(&one, 5), key(&other, 5));
        assert_ne!(key(&one, 4), key(&other, 4));
        other.insert(6, 1);
        assert_ne!(key(&one, 5), key(&other, 5));
    }
}
