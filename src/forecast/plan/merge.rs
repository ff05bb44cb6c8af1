//! Kinds of one and the same way are one kind to the search: an order that is split makes no other plan.
//!
//! What the plan then has of that way is dealt out again: whatever ends first goes to the kind that stands first,
//! so a caller who puts the earliest due first has it done first.

use std::collections::VecDeque;

use super::presses::Asks;
use super::{Claim, Kind, Millis, Move, Phase, Plan, Problem};

/// What keeps kinds of one way apart: whose they are, what they claim, what they ask of presses.
type Apart = (usize, Claim, Vec<Asks>);

impl Problem {
    /// The problem with one kind for each way and what that asks of presses, in an order that depends on these alone; and the kind that each
    /// of the old ones went into, None for one of which there is nothing.
    pub(in crate::forecast) fn merged(&self) -> (Problem, Vec<Option<usize>>) {
        self.merged_by(|_, kind| (0, Claim::default(), kind.asks.clone()))
    }

    /// The same with one kind for each owner, way, claim and what it asks of presses, for the plain rule; and whose each
    /// kind is then. A kind of which nobody says whose it is belongs to the first.
    pub(in crate::forecast) fn merged_by_turn(&self, whose: &[usize]) -> (Problem, Vec<usize>) {
        let owner = |no: usize| whose.get(no).copied().unwrap_or(0);
        let (merged, of) = self.merged_by(|no, kind| (owner(no), kind.claim, kind.asks.clone()));
        let mut owners = vec![0; merged.kinds.len()];
        for (no, into) in of.into_iter().enumerate() {
            if let Some(into) = into {
                owners[into] = owner(no);
            }
        }
        (merged, owners)
    }

    fn merged_by(&self, apart: impl Fn(usize, &Kind) -> Apart) -> (Problem, Vec<Option<usize>>) {
        let begun = |no: usize| self.begun.iter().any(|begun| begun.kind == no);
        let there = |(no, kind): &(usize, &Kind)| kind.count > 0 || begun(*no);
        let way = |(no, kind): (usize, &Kind)| (kind.route.clone(), apart(no, kind));
        let mut ways: Vec<(Vec<Phase>, Apart)> =
            self.kinds.iter().enumerate().filter(there).map(way).collect();
        ways.sort_unstable();
        ways.dedup();
        let into = |kind: (usize, &Kind)| ways.binary_search(&way(kind)).ok();
        let of: Vec<Option<usize>> = self.kinds.iter().enumerate().map(into).collect();
        let kind = |(route, (_, claim, asks)): &(Vec<Phase>, Apart)| Kind {
            claim: *claim,
            asks: asks.clone(),
            ..Kind::new(route.clone(), 0)
        };
        let mut kinds: Vec<Kind> = ways.iter().map(kind).collect();
        for (kind, into) in self.kinds.iter().zip(&of) {
            if let Some(into) = into {
                kinds[*into].count += kind.count;
                kinds[*into].waited.extend(&kind.waited);
            }
        }
        for kind in &mut kinds {
            kind.waited.sort_unstable_by_key(|waited| std::cmp::Reverse(*waited));
        }
        let mut merged = Problem { kinds, ..self.clone() };
        for begun in &mut merged.begun {
            begun.kind = of.get(begun.kind).copied().flatten().unwrap_or(begun.kind);
        }
        (merged, of)
    }

    /// A plan of the merged problem with this problem's own garments.
    pub(super) fn dealt(&self, merged: &Problem, of: &[Option<usize>], plan: Plan) -> Plan {
        let mut own: Vec<VecDeque<usize>> = vec![VecDeque::new(); merged.kinds.len()];
        let mut next = 0;
        for (kind, into) in self.kinds.iter().zip(of) {
            if let Some(into) = into {
                own[*into].extend(next..next + kind.count);
            }
            next += kind.count;
        }
        let kinds = merged.kind_of_each();
        let mut ends: Vec<(Millis, usize)> = (0..next).map(|garment| (0, garment)).collect();
        for one in &plan.moves {
            if let Some((end, _)) = ends.get_mut(one.garment) {
                *end = one.end.max(*end);
            }
        }
        ends.sort_unstable();
        // Garments in machines stand behind the counted ones here as there.
        let mut name: Vec<usize> = (0..kinds.len()).collect();
        for (_, garment) in ends {
            if let Some(own) = own[kinds[garment]].pop_front() {
                name[garment] = own;
            }
        }
        let renamed = |one: Move| Move { garment: name[one.garment], ..one };
        Plan { moves: plan.moves.into_iter().map(renamed).collect(), ..plan }
    }
}
