//! Blanks come by the box and are counted: what is wanted of each colour and size is known, so only what came is said.

use super::command::{BlankKind, Refusal};
use super::decide::Facts;
use crate::shop::Shop;
use crate::shop::facts::check::Senseless;
use crate::shop::facts::fact::{BlanksCounted, Event, Fact};
use crate::shop::facts::ids::{OrderId, Tag};
use crate::shop::facts::order::{LineState, MOST_GARMENTS, Order, OrderLine};
use crate::shop::facts::words::behind;

impl Shop {
    /// The blanks that open orders wait for, by colour and size, in the order in which they were ordered.
    pub fn blanks_wanted(&self) -> Vec<BlankKind> {
        let mut kinds: Vec<BlankKind> = Vec::new();
        for (order, line, wanted) in self.lines_that_want() {
            let of = &order.form.lines[line];
            match kinds.iter_mut().find(|kind| kind.garment == of.garment && kind.mark == of.mark) {
                Some(kind) => kind.wanted += wanted,
                None => {
                    kinds.push(BlankKind { garment: of.garment, mark: of.mark.clone(), wanted });
                }
            }
        }
        kinds
    }

    /// The lines that want more blanks than were counted, and how many.
    fn lines_that_want(&self) -> impl Iterator<Item = (&Order, usize, u32)> {
        let own = self.orders().filter(|order| self.is_own(order.id));
        let open = own.filter(|order| self.floor().is_open(order.id));
        let lines = open.flat_map(|order| (0..order.form.lines.len()).map(move |n| (order, n)));
        lines.filter_map(|(order, line)| {
            let wanted = self.wants_blanks(order, line);
            (wanted > 0).then_some((order, line, wanted))
        })
    }

    /// How many more blanks a line wants than were counted; where none were, than were taken out of the box already.
    fn wants_blanks(&self, order: &Order, line: usize) -> u32 {
        let (Some(form), Some(state)) = (order.form.lines.get(line), order.lines.get(line)) else {
            return 0;
        };
        let there = state.counted.unwrap_or_else(|| self.begun_of(order.id, line));
        takes(form, state).saturating_sub(there)
    }

    /// How many of a line's blanks have been in a press.
    fn begun_of(&self, order: OrderId, line: usize) -> u32 {
        let begun =
            self.floor().of_order(order).filter(|one| one.line == line && one.begun.is_some());
        u32::try_from(begun.count()).unwrap_or(u32::MAX)
    }

    /// What came is shared out among the lines that want it, the first ordered first; what is over stays with the last.
    pub(in crate::shop) fn count_blanks(
        &self,
        counts: &[(BlankKind, u32)],
    ) -> Result<Facts, Refusal> {
        let mut found: Vec<BlanksCounted> = Vec::new();
        for (kind, count) in counts {
            if *count > MOST_GARMENTS {
                let reason = format!("{count} blanks: expected 0 to {MOST_GARMENTS}");
                return Err(Refusal::SenselessOrder(Senseless::new("count", reason)));
            }
            let mut left = *count;
            let lines: Vec<(&Order, usize, u32)> = self
                .lines_that_want()
                .filter(|(order, line, _)| {
                    let of = &order.form.lines[*line];
                    of.garment == kind.garment && of.mark == kind.mark
                })
                .collect();
            for (n, (order, line, wanted)) in lines.iter().enumerate() {
                let is_last = n + 1 == lines.len();
                let count = if is_last { left } else { left.min(*wanted) };
                left -= count;
                let (order, line, mark) = (order.id.no, *line, kind.mark.clone());
                found.push(BlanksCounted { order, line, mark, count, wanted: *wanted });
            }
        }
        if found.is_empty() {
            return Err(Refusal::NotAsked);
        }
        // Of several the last is what the board says: one that is short, where any is.
        found.sort_by_key(|one| (one.count < one.wanted, one.count > one.wanted));
        Ok(found.into_iter().map(Fact::from).collect())
    }

    pub(in crate::shop) fn blanks_counted(&mut self, event: &Event, fact: &BlanksCounted) {
        let order = event.of(fact.order);
        let begun = self.begun_of(order, fact.line);
        self.with_line(order, fact.line, |line| {
            line.counted = Some(line.counted.unwrap_or(begun).saturating_add(fact.count));
        });
    }

    /// What is said of a line's blanks when one of them is loaded: too few were counted; at the first, too many.
    pub fn says_of_blanks(&self, tag: Tag) -> Option<String> {
        let garment = self.garment(tag).filter(|garment| garment.begun.is_none())?;
        let order = self.order(tag.order_id())?;
        let (form, state) = (order.form.lines.get(garment.line)?, order.lines.get(garment.line)?);
        let there = state.counted?;
        let wanted = takes(form, state);
        let mark = behind(Some(&form.mark));
        if there < wanted {
            return Some(format!("blanks: {}{mark} short", wanted - there));
        }
        let of_line = self.floor().of_order(tag.order_id()).filter(|one| one.line == garment.line);
        let is_first = of_line.map(|one| one.tag.piece).min() == Some(tag.piece);
        (is_first && there > wanted).then(|| format!("blanks: {}{mark} over", there - wanted))
    }
}

/// How many blanks a line takes: one for each garment, and one for each that replaced another.
fn takes(form: &OrderLine, state: &LineState) -> u32 {
    form.count.saturating_add(state.replaced)
}
