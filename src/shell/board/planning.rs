//! What the loop has done on threads of their own: looks at artworks, stories, plans. A new plan is wanted after
//! something has happened, not too often, and one at a time.

use std::time::Duration;

use super::{Board, Source};
use crate::forecast::workload::{self, Workload};
use crate::forecast::{advice, outlook};
use crate::screen::act::LookRequest;
use crate::screen::ui::{Pane, StoryAsked};
use crate::shop::books::outlook::{NoOutlook, Outlook};
use crate::shop::facts::fact::{Event, Fact};
use crate::shop::facts::moment::{Moment, Up};
use crate::shop::facts::order::Order;
use crate::shop::rules::offer::{Advice, Waits};

/// An outlook is worked out at most so often, and at least so often while somebody looks at it: the clock goes on.
const OFTEN: Duration = Duration::from_secs(5);
const SELDOM: Duration = Duration::from_secs(60);

/// A plan is followed by a rest of so many times what it took: on a slow machine, where much happens, the board keeps most
/// of a core for itself.
const REST: u32 = 2;

/// More open garments than any shop has are not planned: what a plan is made of is gathered between two keys.
pub(in crate::shell) const MOST_PLANNED: usize = 20_000;

/// What is known of the last plan.
#[derive(Debug, Default)]
pub struct Planning {
    /// One is being made, since when.
    under_way: Option<Up>,
    /// None is made before.
    rest: Option<Up>,
    /// When the last outlook was asked for, on the machine's own boot clock, and at which event.
    outlook: Option<(Up, u64)>,
    /// At which event the last advice was asked for.
    advice: u64,
}

/// What is to be planned.
#[derive(Debug)]
pub struct Task {
    work: Workload,
    now: Moment,
    /// Whether somebody wants to know when it will be done, and what is best done next.
    outlook: bool,
    advice: bool,
}

/// What came of it; None where it was not asked for.
#[derive(Debug)]
pub struct Planned {
    outlook: Option<Result<Option<Outlook>, NoOutlook>>,
    advice: Option<Advice>,
}

impl Task {
    /// Plans. It takes its time: for a thread of its own.
    pub fn carry_out(&self) -> Planned {
        Planned {
            advice: self.advice.then(|| advice::of(&self.work)),
            outlook: self.outlook.then(|| outlook::of(&self.work, self.now)),
        }
    }
}

impl Task {
    /// What comes of it where the planning itself went wrong: no plan, rather than the one before.
    pub fn given_up(&self) -> Planned {
        let wrong = || Err(NoOutlook("the planning went wrong: see the log".to_owned()));
        Planned { advice: self.advice.then(Advice::default), outlook: self.outlook.then(wrong) }
    }
}

impl Board {
    /// What is to be planned now, if anything is.
    pub fn take_task(&mut self) -> Option<Task> {
        let up = crate::shell::clock::up();
        let since = |asked: Up| up.since(asked);
        let seq = self.shop.seq();
        let outlook = match self.planning.outlook {
            _ if self.planning.under_way.is_some() => return None,
            _ if self.planning.rest.is_some_and(|rest| up < rest) => return None,
            // Nobody looks at it: it only tells whether an order turns late, and a board at rest plans nothing.
            at if self.ui.pane != Pane::Pace => {
                let asks = at.is_none_or(|(at, then)| then != seq && since(at) >= SELDOM);
                asks && matches!(self.source, Source::Writes { .. }) && self.something_is_due()
            }
            None => seq > 0,
            Some((at, then)) if then == seq => since(at) >= SELDOM,
            Some((at, _)) => since(at) >= OFTEN,
        };
        // A suggestion stays until something has happened.
        let advice =
            matches!(self.source, Source::Writes { .. }) && self.planning.advice != seq && seq > 0;
        if !outlook && !advice {
            return None;
        }
        let open = self.shop.floor().count_of_open();
        if open > MOST_PLANNED {
            // The plain rule stands, and it is said why where a plan would be.
            self.planning.advice = seq;
            self.ui.advice = Advice::default();
            let reason = format!("{open} garments are open: a plan takes at most {MOST_PLANNED}");
            self.ui.outlook = Err(NoOutlook(reason));
            return None;
        }
        let now = self.clock.now();
        let work = workload::of_shop(&self.shop, now)?;
        self.planning.under_way = Some(up);
        if outlook {
            self.planning.outlook = Some((up, seq));
        }
        if advice {
            self.planning.advice = seq;
        }
        Some(Task { work, now, outlook, advice })
    }

    /// Whether an order that is open has a due time that has not passed.
    fn something_is_due(&self) -> bool {
        let now = self.clock.now().at;
        let due = |order: &Order| order.form.due?.at(self.shop.zone());
        let ahead = |order: &&Order| due(order).is_some_and(|due| due > now);
        self.shop.orders().filter(ahead).any(|order| self.shop.floor().is_open(order.id))
    }

    /// A plan has come. An outlook that is older than what has happened since still says about when; advice that
    /// is, is thrown away: newer advice is asked for next.
    pub fn planned(&mut self, planned: Planned) {
        let up = crate::shell::clock::up();
        self.planning.rest =
            self.planning.under_way.take().map(|began| up.plus(up.since(began) * REST));
        // Copies of the loop's own: the plan's memory goes back with the last that was laid there.
        if let Some(outlook) = &planned.outlook {
            self.ui.outlook = outlook.clone();
        }
        if let Some(advice) = planned.advice.filter(|_| self.planning.advice == self.shop.seq()) {
            self.ui.advice = advice.clone();
        }
    }

    /// A press shut on a garment that the plan had named takes its turn off the plan.
    pub(super) fn take_advice_in(&mut self, event: &Event) {
        if let Fact::PressShut(fact) = &event.fact
            && let Some(garment) = self.shop.garment(fact.garment)
        {
            let (order, line, step) = (garment.order(), garment.line, fact.step);
            self.ui.advice.taken(Waits { order, line, step });
        }
    }

    /// The garments whose stories are to be read, once.
    pub fn take_traces(&mut self) -> Vec<StoryAsked> {
        std::mem::take(&mut self.traces)
    }

    /// The artworks that are to be looked at, once.
    pub fn take_looks(&mut self) -> Vec<LookRequest> {
        std::mem::take(&mut self.looks)
    }
}
