//! What is worth a word when it begins, and is no alarm: nothing is harmed by it yet. Pure: worked out from the facts and
//! the moment. Which of them have been said is the shell's to know.

use std::time::Duration;

use crate::shop::Shop;
use crate::shop::facts::ids::{OrderId, Tag};
use crate::shop::facts::moment::Moment;
use crate::shop::facts::words::counted;
use crate::shop::floor::garment::{Garment, Queue};

/// A printer may wait for so long before a word is said of it: whoever is on the way there needs none.
const PRINTER_WAITS: Duration = Duration::from_secs(60);

/// Something to know.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub enum Notice {
    /// An order's due time has passed, or will have before it is done.
    Late(OrderId),
    /// An order has lost a garment, and nobody has said whether a blank replaces it.
    Short(OrderId),
    /// The last two coats fell far below the usual.
    SprayerFell,
    /// A printer stands, and this garment could be in it.
    PrinterWaits(Tag),
    /// All that is left of an order to do lies on the shelf.
    Stored(OrderId),
    /// The sprayer stands with fluid in it.
    Rinse,
    /// Over days, the sprayer lays another coat than it did.
    SprayerDrifts,
    /// A window that somebody has signed is not in force, and nobody has confirmed the one that is.
    WindowSetAside,
}

impl Shop {
    /// All that is worth a word at `now`, the most pressing first; `foreseen` are orders that a forecast has late.
    pub fn notices(&self, foreseen: &[OrderId], now: Moment) -> Vec<Notice> {
        let mut found = Vec::new();
        for order in self.orders().filter(|order| self.floor().is_open(order.id)) {
            let no = order.id;
            let due = order.form.due_at(self.zone());
            if due.is_some_and(|due| due < now.at || foreseen.contains(&no)) {
                found.push(Notice::Late(no));
            }
            if order.lines.iter().any(|line| line.unanswered() > 0) {
                found.push(Notice::Short(no));
            }
            if self.lies_on_shelf(no) {
                found.push(Notice::Stored(no));
            }
        }
        found.extend(self.printer_waits(now).map(|garment| Notice::PrinterWaits(garment.tag)));
        found.extend(self.supplies().filling.rinse_due(now).then_some(Notice::Rinse));
        found.extend(self.books().sprayer.fall_told().map(|_| Notice::SprayerFell));
        let drifts = self.books().sprayer.drift(now);
        found.extend(drifts.map(|_| Notice::SprayerDrifts));
        let set_aside = self.recipes().set_aside_unconfirmed().next().is_some();
        found.extend(set_aside.then_some(Notice::WindowSetAside));
        found.sort_unstable();
        found
    }

    /// Whether what is left of an order that is wanted lies on the shelf, all of it.
    fn lies_on_shelf(&self, order: OrderId) -> bool {
        let stored = self.floor().count_of_order(Queue::Shelf, order);
        stored > 0 && self.wants_from_shelf(order) && stored == self.floor().counted(order).open
    }

    /// The garment for which a printer has waited for a while.
    fn printer_waits(&self, now: Moment) -> Option<&Garment> {
        let due = self.print_due(now)?;
        let known = self.in_printers(now).into_iter().find(|one| one.garment == due.tag);
        let waited = match known {
            Some(one) => one.gone.saturating_sub(one.whole),
            None => now.since(due.since).span,
        };
        (waited >= PRINTER_WAITS).then_some(due)
    }

    /// A notice in words, with what to do about it.
    pub fn notice_in_words(&self, notice: Notice, now: Moment) -> String {
        let name = |no| self.order(no).map_or("", |order| order.form.name.as_str());
        let left = |no| {
            let left = self.floor().counted(no).open;
            format!("{} left", counted(left, "garment"))
        };
        match notice {
            Notice::Late(no) => {
                let due = self.order(no).and_then(|order| order.form.due);
                let passed = due.and_then(|due| due.at(self.zone())).is_some_and(|at| at < now.at);
                let due = due.map_or_else(String::new, |due| format!("due {due}, "));
                let how = if passed { "is late" } else { "will be late" };
                format!("{} {how}: {due}{}", name(no), left(no))
            }
            Notice::Short(no) => format!("{} is 1 blank short: answer its question", name(no)),
            Notice::PrinterWaits(tag) => format!("print {tag}: the printer waits"),
            Notice::Rinse => "rinse the tip: the sprayer stood 30 min with fluid in it".to_owned(),
            Notice::SprayerFell => self.books().sprayer.fall_told().unwrap_or_default(),
            Notice::SprayerDrifts => self.books().sprayer.drift(now).unwrap_or_default(),
            Notice::WindowSetAside => self
                .recipes()
                .set_aside_unconfirmed()
                .next()
                .map_or_else(String::new, |one| one.in_short()),
            Notice::Stored(no) => format!("{}: {}, all on the shelf", name(no), left(no)),
        }
    }
}
