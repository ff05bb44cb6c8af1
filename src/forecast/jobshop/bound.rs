//! A time below which no schedule can end.

use std::collections::BTreeSet;

use super::{Hold, Instance, Millis};

/// The most sets of pools that are looked at.
const MOST_SETS: usize = 400;

/// What a hold asks of its pools at the least: what comes before it, how long it lasts, what comes after it.
#[derive(Debug, Clone, Copy)]
struct Share {
    head: Millis,
    lasts: Millis,
    tail: Millis,
}

impl Instance {
    /// A lower bound: the longest job; and for sets of pools and those holds that can be nowhere else, the work
    /// spread over all units, between the soonest that any of it can begin and the least that follows any of it
    /// (the bound of Carlier, European Journal of Operational Research 11, 1982, for one machine; shared out
    /// over several).
    pub fn lower_bound(&self) -> Millis {
        let (heads, tails) = self.ends();
        let longest = heads.iter().zip(&tails).enumerate();
        let longest = longest.map(|(number, (head, tail))| head + self.shortest(number) + tail);
        let mut bound = longest.max().unwrap_or(0);
        let grain = self.grain();
        for set in self.sets() {
            let units = set.iter().map(|pool| self.pools[*pool].len()).sum::<usize>();
            let mut shares = self.shares(&set, &heads, &tails);
            bound = bound.max(of_shares(&mut shares, units, grain));
        }
        bound
    }

    /// For each operation the least time before its start and after its end.
    fn ends(&self) -> (Vec<Millis>, Vec<Millis>) {
        let count = self.operations.len();
        let (mut heads, mut tails) = (vec![0; count], vec![0; count]);
        for number in 0..count {
            heads[number] = match self.before(number) {
                None => self.jobs[self.operations[number].job].1,
                Some(before) => heads[before] + self.shortest(before) + self.operations[before].lag,
            };
        }
        for number in (0..count).rev() {
            if let Some(after) = self.after(number) {
                tails[number] = self.operations[number].lag + self.shortest(after) + tails[after];
            }
        }
        (heads, tails)
    }

    /// Every time is a multiple of this, so every schedule that waits for nothing ends at one.
    fn grain(&self) -> Millis {
        let own = self.operations.iter().flat_map(|operation| [operation.takes, operation.lag]);
        let choices = self.holds.iter().flat_map(|hold| &hold.choices);
        let chosen = choices.filter_map(|choice| choice.takes);
        let releases = self.jobs.iter().map(|(_, release)| *release);
        own.chain(chosen).chain(releases).fold(0, greatest_common).max(1)
    }

    /// Sets of pools: those that holds choose from, and unions of them.
    fn sets(&self) -> BTreeSet<BTreeSet<usize>> {
        let of = |hold: &Hold| hold.choices.iter().map(|choice| choice.pool).collect();
        let mut sets: BTreeSet<BTreeSet<usize>> = self.holds.iter().map(of).collect();
        let first: Vec<BTreeSet<usize>> = sets.iter().cloned().collect();
        let mut last = first.clone();
        while !last.is_empty() && sets.len() < MOST_SETS {
            let unions = last.iter().flat_map(|one| first.iter().map(move |other| one | other));
            let new: BTreeSet<BTreeSet<usize>> =
                unions.filter(|union| !sets.contains(union)).collect();
            last = new.iter().take(MOST_SETS).cloned().collect();
            sets.extend(last.iter().cloned());
        }
        sets
    }

    /// The holds that can be nowhere but in a set of pools.
    fn shares(&self, set: &BTreeSet<usize>, heads: &[Millis], tails: &[Millis]) -> Vec<Share> {
        let inside = |hold: &&Hold| hold.choices.iter().all(|choice| set.contains(&choice.pool));
        let share = |hold: &Hold| {
            let between = heads[hold.last] - heads[hold.first] + self.shortest(hold.last);
            // What was held before all else counts from the very beginning.
            let begun = if hold.unit.is_some() { heads[hold.first] } else { 0 };
            Share {
                head: heads[hold.first] - begun,
                lasts: between + begun,
                tail: tails[hold.last],
            }
        };
        self.holds.iter().filter(inside).map(share).collect()
    }
}

/// The greatest bound by any of the shares that begin late and have much behind them.
fn of_shares(shares: &mut [Share], units: usize, grain: Millis) -> Millis {
    let units = i64::try_from(units.max(1)).unwrap_or(1);
    shares.sort_by_key(|share| -share.tail);
    let heads: BTreeSet<Millis> = shares.iter().map(|share| share.head).collect();
    let mut bound = 0;
    for head in heads {
        let mut work = 0;
        for share in shares.iter().filter(|share| share.head >= head) {
            work += share.lasts;
            let spread = (work + units * grain - 1) / (units * grain) * grain;
            bound = bound.max(head + spread + share.tail);
        }
    }
    bound
}

fn greatest_common(one: Millis, other: Millis) -> Millis {
    if other == 0 { one.abs() } else { greatest_common(other, one % other) }
}
