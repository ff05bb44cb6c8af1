//! What stands on the panels once a shift: whoever has read it needs it no more, and what stands everywhere is read by
//! nobody.

use super::View;
use super::ui::MOST_PAST;
use crate::shop::facts::fact::Fact;

impl View<'_> {
    /// Whether nothing like this was done in this shift before the event of this number.
    pub fn is_first_of_shift(&self, seq: u64, is_like: impl Fn(&Fact) -> bool) -> bool {
        let since = self.shop.counted_since(self.now);
        let past = &self.ui.past;
        // A history that reaches no farther back than this shift has lost what was first in it.
        let lost =
            past.len() == MOST_PAST && past.front().is_some_and(|one| one.moment.at >= since);
        let mut of_shift = past.iter().filter(|one| one.moment.at >= since && one.seq < seq);
        !lost && !of_shift.any(|one| is_like(&one.fact))
    }
}
