//! What the loop has done on threads of their own: looks at artworks, stories, plans. A new plan is wanted after
//! something has happened, not too often, and one at a time.

use std::time::Duration;

use super::Board;
use crate::forecast::plan::Problem;
use crate::forecast::workload;
use crate::screen::act::LookRequest;
use crate::screen::ui::Pane;
use crate::shop::ids::Tag;
use crate::shop::moment::Moment;
use crate::shop::outlook::Outlook;

/// A plan is made at most so often, and at least so often while something is under way: the clock goes on.
const OFTEN: Duration = Duration::from_secs(5);
const SELDOM: Duration = Duration::from_secs(60);

/// What is known of the last plan.
#[derive(Debug, Default)]
pub struct Planning {
    /// One is being made.
    under_way: bool,
    /// When the last one was asked for, on the machine's own boot clock, and at which event.
    asked: Option<(i64, u64)>,
}

impl Board {
    /// What is to be planned now, if anything is.
    pub fn take_problem(&mut self) -> Option<(Problem, Moment)> {
        let up = crate::shell::clock::up();
        let since =
            |asked: i64| Duration::from_micros(up.saturating_sub(asked).max(0).unsigned_abs());
        let wanted = match self.planning.asked {
            _ if self.planning.under_way => false,
            // Nobody looks at it: a board at rest plans nothing.
            _ if self.ui.pane != Pane::Pace => false,
            None => self.shop.seq() > 0,
            Some((at, seq)) if seq == self.shop.seq() => since(at) >= SELDOM,
            Some((at, _)) => since(at) >= OFTEN,
        };
        if !wanted {
            return None;
        }
        self.planning = Planning { under_way: true, asked: Some((up, self.shop.seq())) };
        let now = self.clock.now();
        Some((workload::of_shop(&self.shop, now, 1), now))
    }

    /// A plan has come. One that is older than what has happened since still says about when.
    pub fn planned(&mut self, outlook: Option<Outlook>) {
        self.planning.under_way = false;
        self.ui.outlook = outlook;
    }

    /// The garments whose stories are to be read, once.
    pub fn take_traces(&mut self) -> Vec<Tag> {
        std::mem::take(&mut self.traces)
    }

    /// The artworks that are to be looked at, once.
    pub fn take_looks(&mut self) -> Vec<LookRequest> {
        std::mem::take(&mut self.looks)
    }
}
