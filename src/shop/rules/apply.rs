//! Facts become state. Nothing is refused here: what is in the journal happened.

mod presses;

use std::sync::Arc;

use super::shared::Stays;
use super::trail::Before;
use crate::shop::books::Book;
use crate::shop::books::coats::CoatBook;
use crate::shop::books::entry::Change;
use crate::shop::books::ledger::Ledger;
use crate::shop::facts::fact::{
    BlankAdded, DatesSaid, Event, Fact, OrderChanged, OrderTaken, Printed, SampleSaid,
    TrialSampled, UnderbaseDecided,
};
use crate::shop::facts::ids::{ActNo, OrderId, PressNo, SheetNo, Tag};
use crate::shop::facts::order::{LineState, Order};
use crate::shop::facts::step::Step;
use crate::shop::floor::garment::{Garment, Queue};
use crate::shop::floor::press::Press;
use crate::shop::floor::sheets::Sheet;
use crate::shop::floor::trial::TrialRun;
use crate::shop::{Correctable, MOST_DONE, Shop, Timed};

impl Shop {
    /// Takes one event in. Events come in the order of their sequence numbers.
    pub fn apply(&mut self, event: &Event) {
        self.apply_with(event, |_, _| {});
    }

    /// The same with another ledger beside the shop's own, which has been there from its first event on.
    pub fn apply_for<B: Book + Clone>(&mut self, event: &Event, other: &mut Ledger<B>) {
        self.apply_with(event, |change, oldest| other.take(change.clone(), oldest));
    }

    fn apply_with(&mut self, event: &Event, also: impl FnOnce(&Change, Option<ActNo>)) {
        self.seq = event.seq;
        self.note_moment(event.moment);
        let mut change = Change::of(event, self);
        if event.fact.is_by_hand() {
            // The desk as it was before the whole act.
            if self.trail.open(event.act, &event.fact) {
                self.trail.keep(Before::Desk(Box::new(self.desk.clone())));
                self.desk.stays = None;
            }
        } else if let Some(stays) = Stays::of(event) {
            self.desk.stays = Some(stays);
        }
        self.take_in(event);
        change.applied(self);
        let oldest = self.trail.oldest();
        also(&change, oldest);
        self.ledger.take(change, oldest);
    }

    fn take_in(&mut self, event: &Event) {
        match &event.fact {
            Fact::StationSet(fact) => self.station = Some(Arc::clone(&fact.profile)),
            Fact::RecipeKept(fact) => self.recipes.name(&fact.recipe, fact.hash, &fact.text),
            Fact::OrderTaken(fact) => self.take_order(event, fact),
            Fact::UnderbaseDecided(fact) => self.underbase_decided(event, fact),
            Fact::BlankAdded(fact) => self.blank_added(event, fact),
            Fact::BlankGivenUp(fact) => {
                self.with_line(event.of(fact.order), fact.line, |line| line.given_up += 1)
            }
            Fact::BlanksCounted(fact) => self.blanks_counted(event, fact),
            Fact::OrderChanged(fact) => self.changed(event, fact),
            Fact::ChangeHeard(fact) => self.word_heard(fact),
            Fact::OrderCancelled(fact) => self.cancelled(event, fact),
            Fact::BlankReturned(fact) => self.goes_back(fact.garment),
            Fact::Received(fact) => self.received(event, fact),
            Fact::Left(fact) => self.left(event, fact),
            Fact::Settled(fact) => self.said_where(event, fact),
            Fact::PressShut(fact) => self.shut(event, fact),
            Fact::PressOpened(fact) => self.opened(event, fact),
            Fact::SteamStopped(fact) => self.steam_stopped(fact),
            Fact::SteamSaid(fact) => self.say_steam(fact.garment, fact.said),
            Fact::Weighed(fact) => self.weigh(fact),
            Fact::CoatWeighed(fact) => self.weigh_coat(event, fact),
            Fact::CoatMended(fact) => self.mend_coat(fact),
            Fact::WeighingDeclined(fact) => self.stop_weighing(fact),
            Fact::HandworkDone(fact) => self.sprayed(event, fact),
            // Only said: the garment is as its print left it.
            Fact::HeldShown(_) => {}
            Fact::Printed(Printed { garment, step, .. }) => self.worked(event, *garment, *step),
            Fact::Stored(fact) => self.put_on_shelf(event, fact),
            Fact::StackNamed(fact) => self.desk.stack.clone_from(&fact.stack),
            Fact::StackDisturbed(fact) => self.shift_stack(fact),
            Fact::Renewed(fact) => self.begin_anew(event, fact),
            Fact::LotRegistered(fact) => self.with_supplies(|supplies| supplies.keep_lot(fact)),
            Fact::SprayerFilled(fact) => {
                self.with_supplies(|supplies| supplies.fill(fact, event.moment))
            }
            Fact::SprayerFlushed(_) => self.with_supplies(|supplies| supplies.flush(event.moment)),
            Fact::FanSaid(fact) => self.desk.say_fan(fact),
            Fact::DatesSaid(fact) => self.dates_said(fact),
            Fact::SignedIn(fact) => self.desk.sign_in(fact),
            Fact::SignedOut(fact) => self.desk.sign_out(fact),
            Fact::ShiftClosed(_) => self.desk.end_shift(),
            Fact::WashSampled(fact) => self.keep_sample(fact),
            Fact::Washed(fact) => self.washed(fact),
            Fact::Returned(fact) => self.returned(event.seq, fact),
            Fact::TrialBegun(fact) => self.set_trial(TrialRun::begin(fact)),
            Fact::TrialWeighed(fact) => self.with_trial(|run| run.weigh(fact)),
            Fact::TrialSampled(fact) => self.trial_sampled(event, fact),
            Fact::TrialGraded(fact) => self.with_trial(|run| run.grade(fact)),
            Fact::TrialAnswered(fact) => self.with_trial(|run| run.answer(fact)),
            Fact::TrialEnded(_) => self.set_trial(None),
            Fact::WindowSigned(fact) => self.window_signed(fact),
            Fact::SheetWiped(fact) => self.clean(fact.sheet),
            Fact::SheetChanged(fact) => self.clean(fact.sheet),
            Fact::SheetRenewed(fact) => self.sheet_renewed(fact.sheet),
            Fact::SheetSwapped(fact) => self.swap(fact),
            Fact::PressOutOfUse(fact) => self.put_to_use(fact.press, Some(fact.reason)),
            Fact::PressInUse(fact) => self.put_to_use(fact.press, None),
            Fact::DialSet(fact) => self.dial_set(fact, event.moment),
            Fact::HeatSaid(fact) => self.heat_said(fact, event.moment),
            Fact::MorningSaid(fact) => self.desk.say_morning(fact),
            Fact::SampleSaid(SampleSaid { garment, approved }) => {
                self.with_order(garment.order_id(), |order| order.sample = Some(*approved));
            }
            Fact::PlatenChecked(fact) => self.platen_checked(event.moment, fact),
            Fact::PressureChecked(fact) => self.pressure_checked(event.moment, fact),
            Fact::TroubleNoted(fact) => self.trouble(event, fact),
            Fact::TimeCorrected(fact) => self.correct(fact),
            Fact::CautionRead(_) => self.desk.caution_read = true,
            // What they were nobody knows.
            Fact::EventsLost(_) => {}
            Fact::NumbersTaken(fact) => self.last_order = self.last_order.max(fact.upto),
            Fact::Undone(fact) => self.step_back(fact.undoes),
        }
    }

    /// What an event that was taken back leaves behind all the same: the number of an order is used up,
    /// since a label may have been written. For replay that passes over undone acts.
    pub fn pass_over(&mut self, event: &Event) {
        self.seq = event.seq;
        self.note_moment(event.moment);
        match &event.fact {
            Fact::OrderTaken(fact) => self.last_order = self.last_order.max(fact.order),
            Fact::BlankAdded(fact) => self.use_up(fact.garment.order_id(), fact.garment.piece),
            Fact::OrderChanged(OrderChanged { more: Some(more), .. }) => {
                let count = u16::try_from(more.count).unwrap_or(u16::MAX);
                self.use_up(
                    more.first.order_id(),
                    more.first.piece.saturating_add(count.saturating_sub(1)),
                );
            }
            _ => {}
        }
    }

    fn take_order(&mut self, event: &Event, fact: &OrderTaken) {
        self.last_order = self.last_order.max(fact.order);
        if let Some(file) = &fact.file {
            self.files.remember(file);
        }
        if fact.shared {
            return self.lay_shared(fact);
        }
        self.take_part(fact);
        self.forget_long_done();
        let lines = fact.form.lines.iter();
        let lines: Vec<LineState> = lines
            .map(|line| LineState { underbase: line.underbase, ..LineState::default() })
            .collect();
        let by_hand = event.fact.is_by_hand();
        let id = event.of(fact.order);
        let mut tag = id.tag(1);
        let count = u16::try_from(fact.form.count()).unwrap_or(u16::MAX);
        if by_hand {
            self.trail.keep(Before::Order(id, None));
        }
        self.orders.insert(
            id,
            Order {
                id,
                row: event.seq,
                form: fact.form.clone(),
                next_piece: count.saturating_add(1),
                lines,
                file: fact.file.clone(),
                cancelled: false,
                sample: None,
            },
        );
        // A damaged row may ask for billions: there are no more garments than numbers for them.
        let mut left = u32::from(u16::MAX);
        for (index, line) in fact.form.lines.iter().enumerate() {
            let here = line.count.min(left);
            left -= here;
            for _ in 0..here {
                if by_hand {
                    self.trail.keep(Before::Garment(tag, None));
                }
                self.floor.put(Garment::blank(event, tag, index));
                tag.piece = tag.piece.saturating_add(1);
            }
        }
    }

    fn dates_said(&mut self, fact: &DatesSaid) {
        match &fact.file {
            Some(file) => self.files.remember(file),
            None => self.trail.keep(Before::Dates(self.dates)),
        }
        self.dates = Some(fact.first);
    }

    fn trial_sampled(&mut self, event: &Event, fact: &TrialSampled) {
        self.with_trial(|run| run.sample(fact));
        // No account is kept of what it took, but the tip is wet.
        self.with_supplies(|supplies| supplies.filling.last_use = Some(event.moment));
    }

    fn blank_added(&mut self, event: &Event, fact: &BlankAdded) {
        let order = event.of(fact.order);
        self.with_line(order, fact.line, |line| {
            line.replaced += 1;
            // Whoever takes it in has it in the hand: no box is short of it.
            line.counted = line.counted.map(|counted| counted.saturating_add(1));
        });
        self.with_order(order, |order| {
            order.next_piece = fact.garment.piece.saturating_add(1);
        });
        self.new_garment(event, fact.garment, fact.line);
    }

    pub(in crate::shop) fn new_garment(&mut self, event: &Event, tag: Tag, line: usize) {
        self.trail.keep(Before::Garment(tag, None));
        self.floor.put(Garment::blank(event, tag, line));
    }

    /// Lets go of garments that were done long ago, and of orders that have none left.
    fn forget_long_done(&mut self) {
        let mut done: Vec<(u64, Tag)> = [Queue::Finished, Queue::Out, Queue::Away]
            .into_iter()
            .flat_map(|queue| self.floor.queue(queue))
            .map(|garment| (garment.since_seq, garment.tag))
            .collect();
        if done.len() <= MOST_DONE {
            return;
        }
        done.sort_unstable();
        let old = done.len() - MOST_DONE;
        for (_, tag) in done.into_iter().take(old) {
            self.floor.remove(tag);
            self.whereabouts.remove(&tag);
        }
        // Those of a cancelled order may have gone back to the blanks, all of them.
        let mut orders = std::mem::take(&mut self.orders);
        orders.retain(|order, _| self.floor().of_order(*order).next().is_some());
        self.orders = orders;
    }

    fn underbase_decided(&mut self, event: &Event, fact: &UnderbaseDecided) {
        let (order, index) = (fact.order.id(event.station), fact.line);
        self.with_line(order, index, |line| line.underbase = Some(fact.underbase));
        let waiting: Vec<Tag> = self
            .floor
            .queue(Queue::Undecided)
            .filter(|garment| garment.order() == order && garment.line == index)
            .map(|garment| garment.tag)
            .collect();
        for tag in waiting {
            let Some(garment) = self.floor.get(tag) else { continue };
            let next = self.after(garment, Step::PrePress, false);
            self.with_garment(tag, |garment| garment.go(event, next));
        }
    }

    fn may_correct(&mut self, event: &Event, garment: Tag, what: Timed) {
        let same =
            self.desk.correctable.take().filter(|last| last.act == event.act && last.what == what);
        let mut garments = same.map_or_else(Vec::new, |last| last.garments);
        garments.push(garment);
        self.desk.correctable = Some(Correctable { act: event.act, garments, what });
    }

    pub(in crate::shop) fn with_garment(&mut self, tag: Tag, change: impl FnOnce(&mut Garment)) {
        if let Some(before) = self.floor.change(tag, change) {
            self.trail.keep(Before::Garment(tag, Some(Box::new(before))));
        }
    }

    pub(in crate::shop) fn with_press(&mut self, no: PressNo, change: impl FnOnce(&mut Press)) {
        self.trail.keep(Before::Press(no, self.presses.get(&no).cloned().map(Box::new)));
        change(self.presses.entry(no).or_default());
    }

    pub(in crate::shop) fn with_sheet(&mut self, no: SheetNo, change: impl FnOnce(&mut Sheet)) {
        self.trail.keep(Before::Sheet(no, self.sheets.get(no).copied()));
        if let Some(sheet) = self.sheets.get_mut(no) {
            change(sheet);
        }
    }

    pub(in crate::shop) fn with_book_of(&mut self, tag: Tag, change: impl FnOnce(&mut CoatBook)) {
        let name = self.floor.get(tag).and_then(|garment| self.recipe_name(garment));
        let Some(name) = name.map(str::to_owned) else { return };
        self.trail.keep(Before::Coats(name.clone(), self.coats.get(&name).cloned()));
        change(self.coats.entry(name).or_default());
    }

    pub(in crate::shop) fn with_order(&mut self, no: OrderId, change: impl FnOnce(&mut Order)) {
        self.trail.keep(Before::Order(no, self.orders.get(&no).cloned().map(Box::new)));
        if let Some(order) = self.orders.get_mut(&no) {
            change(order);
        }
    }

    pub(in crate::shop) fn with_line(
        &mut self,
        no: OrderId,
        index: usize,
        change: impl FnOnce(&mut LineState),
    ) {
        self.with_order(no, |order| {
            if let Some(line) = order.lines.get_mut(index) {
                change(line);
            }
        });
    }
}
