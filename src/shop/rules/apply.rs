//! Facts become state. Nothing is refused here: what is in the journal happened.

use std::sync::Arc;

use super::shared::Stays;
use super::trail::Before;
use crate::shop::books::Book;
use crate::shop::books::coats::CoatBook;
use crate::shop::books::entry::Change;
use crate::shop::books::ledger::Ledger;
use crate::shop::facts::fact::{
    DatesSaid, Event, Fact, OrderChanged, OrderTaken, PressOpened, PressShut, Printed, SampleSaid,
    SheetSwapped, Timing,
};
use crate::shop::facts::ids::{ActNo, OrderId, PressNo, SheetNo, Tag};
use crate::shop::facts::order::{LineState, Order};
use crate::shop::facts::step::{Cover, Step};
use crate::shop::floor::garment::{Drying, Garment, Place, Queue};
use crate::shop::floor::press::{Load, Press, Setting};
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
            Fact::UnderbaseDecided(fact) => {
                let order = fact.order.id(event.station);
                self.decide_underbase(event, order, fact.line, fact.underbase)
            }
            Fact::BlankAdded(fact) => {
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
            Fact::SteamStopped(fact) => self.with_press(fact.press, |press| {
                if let Some(load) = &mut press.load {
                    load.steam = Some(fact.seconds);
                    load.estimate = fact.estimate;
                }
            }),
            Fact::SteamSaid(fact) => self.say_steam(fact.garment, fact.said),
            Fact::Weighed(fact) => self.weigh(fact),
            Fact::CoatWeighed(fact) => self.weigh_coat(event, fact),
            Fact::CoatMended(fact) => self.mend_coat(fact),
            Fact::WeighingDeclined(fact) => self.stop_weighing(fact),
            Fact::HandworkDone(fact) => {
                if let Some(grams) = fact.used.filter(|_| fact.step == Step::Spray) {
                    self.with_supplies(|supplies| supplies.filling.spray(grams, event.moment));
                }
                self.worked(event, fact.garment, fact.step);
                self.with_garment(fact.garment, |garment| {
                    garment.sprayed = fact.used;
                    garment.lots.clone_from(&fact.lots);
                });
            }
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
            Fact::TrialSampled(fact) => {
                self.with_trial(|run| run.sample(fact));
                // No account is kept of what it took, but the tip is wet.
                self.with_supplies(|supplies| supplies.filling.last_use = Some(event.moment));
            }
            Fact::TrialGraded(fact) => self.with_trial(|run| run.grade(fact)),
            Fact::TrialAnswered(fact) => self.with_trial(|run| run.answer(fact)),
            Fact::TrialEnded(_) => self.set_trial(None),
            Fact::WindowSigned(fact) => self.window_signed(fact),
            Fact::SheetWiped(fact) => self.clean(fact.sheet),
            Fact::SheetChanged(fact) => self.clean(fact.sheet),
            Fact::SheetRenewed(fact) => {
                self.clean(fact.sheet);
                self.with_sheet(fact.sheet, |sheet| sheet.life = Some(0));
            }
            Fact::SheetSwapped(fact) => self.swap(fact),
            Fact::PressOutOfUse(fact) => {
                self.with_press(fact.press, |press| press.out_of_use = Some(fact.reason));
            }
            Fact::PressInUse(fact) => self.with_press(fact.press, |press| press.out_of_use = None),
            Fact::DialSet(fact) => self.dial_set(fact, event.moment),
            Fact::HeatSaid(fact) => self.heat_said(fact, event.moment),
            Fact::MorningSaid(fact) => self.desk.say_morning(fact),
            Fact::SampleSaid(SampleSaid { garment, approved }) => {
                self.with_order(garment.order_id(), |order| order.sample = Some(*approved));
            }
            Fact::PlatenChecked(fact) => {
                let probed = Arc::new((event.moment, fact.clone()));
                self.with_press(fact.press, |press| press.probed = Some(probed));
            }
            Fact::PressureChecked(fact) => {
                let strips = (event.moment, fact.clone());
                self.with_press(fact.press, |press| press.strips = Some(strips));
            }
            Fact::TroubleNoted(fact) => {
                self.count_clinging(fact);
                self.trouble(event, fact);
            }
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

    fn decide_underbase(&mut self, event: &Event, order: OrderId, index: usize, underbase: bool) {
        self.with_line(order, index, |line| line.underbase = Some(underbase));
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

    fn shut(&mut self, event: &Event, fact: &PressShut) {
        let load = Load {
            garment: fact.garment,
            step: fact.step,
            again: fact.again,
            recipe: fact.recipe,
            shut: event.moment,
            seq: event.seq,
            set: Setting { dial: fact.dial, pressure: fact.pressure },
            sheet: fact.sheet,
            steam: None,
            estimate: None,
            sheet_presses: fact.sheet_presses.unwrap_or(0),
            timed: true,
            damp: fact.damp,
        };
        let wanted = self
            .recipes
            .get(&fact.recipe)
            .and_then(|r| r.pressing_when(fact.step, fact.again, fact.damp));
        self.with_press(fact.press, |press| {
            press.load = Some(load);
            press.pressed = wanted.map(|wanted| wanted.pressure);
        });
        self.with_garment(fact.garment, |garment| {
            garment.recipe.get_or_insert(fact.recipe);
            garment.begun.get_or_insert(event.moment.at);
            garment.go(event, Place::InPress(fact.press));
        });
        if let (Some(no), Some(kind)) = (fact.sheet, fact.cover) {
            self.lay_under(no, kind, fact.press, fact.step);
        }
        self.desk.last = Some(fact.garment);
        self.may_correct(event, fact.garment, Timed::Shut(fact.press));
    }

    /// Counts a press on a sheet, which comes into being with its first. Only fluid leaves anything on it.
    fn lay_under(&mut self, no: SheetNo, kind: Cover, press: PressNo, step: Step) {
        let before = self.sheets.get(no).copied();
        self.trail.keep(Before::Sheet(no, before));
        let found = || Sheet::found(no, kind, step, press);
        let sheet = self.sheets.put(before.unwrap_or_else(found));
        sheet.life = sheet.life.map(|life| life.saturating_add(1));
        if step == Step::Dry {
            sheet.presses += 1;
        }
    }

    fn opened(&mut self, event: &Event, fact: &PressOpened) {
        if fact.failed {
            return self.failed(event, fact);
        }
        let steam = self.load(fact.press).and_then(|load| load.steam);
        let drying = self.load(fact.press).filter(|_| fact.step == Step::Dry).map(|load| {
            Box::new(Drying {
                press: Some((fact.press, load.set)),
                sheet: load.sheet,
                sheet_presses: load.sheet_presses,
                steam,
                estimate: load.estimate,
                seconds: fact.seconds,
                timing: fact.timing,
                said: None,
                stored: false,
            })
        });
        if drying.is_some() {
            self.learn_from(fact, steam);
            self.ask_after_steam(fact, steam);
        }
        self.with_press(fact.press, |press| {
            press.load = None;
            press.opened = Some(event.moment);
        });
        if let Some(garment) = self.floor.get(fact.garment) {
            let next = self.after(garment, fact.step, fact.again);
            let treated = fact.step == Step::PrePress && self.comes_treated(garment);
            self.with_garment(fact.garment, |garment| {
                garment.last_step = Some((fact.step, Some(fact.press)));
                garment.coated |= treated || fact.step == Step::Dry;
                garment.stored &= !fact.again;
                // The scale knows better than the steam.
                let by_steam = drying.as_ref().and_then(|drying| drying.estimate);
                if let Some(estimate) = by_steam.filter(|_| garment.weighed.is_none()) {
                    garment.coat = Some((estimate.coat, true));
                }
                garment.dried = drying.or(garment.dried.take());
                if fact.step == Step::Cure {
                    garment.coated = false;
                    garment.forget_coat();
                    garment.dried = None;
                    garment.round += usize::from(next != Place::Finished);
                    garment.overcured = fact.seconds.filter(|_| fact.timing == Timing::Late);
                }
                garment.go(event, next);
            });
        }
        self.desk.last = Some(fact.garment);
        let PressOpened { press, step, again, seconds, waited, .. } = *fact;
        let what = Timed::Opened { press, step, again, seconds, waited };
        self.may_correct(event, fact.garment, what);
    }

    fn worked(&mut self, event: &Event, tag: Tag, step: Step) {
        let Some(garment) = self.floor.get(tag) else { return };
        let next = self.after(garment, step, false);
        if step == Step::Spray {
            // One whose weight was asked for has had its turn, whether or not it came: skipped is skipped.
            let had_its_turn =
                garment.weighed.is_some() || garment.declined || self.is_weighed_next(garment);
            let hand = self.hand();
            self.with_book_of(tag, |book| {
                Arc::make_mut(&mut book.turns).sprayed(hand, had_its_turn);
            });
        }
        self.with_garment(tag, |garment| {
            garment.last_step = Some((step, None));
            garment.stored = false;
            if step == Step::Print {
                garment.shelved = None;
            }
            garment.go(event, next);
        });
        self.desk.last = Some(tag);
        self.may_correct(event, tag, Timed::Waits);
    }

    fn clean(&mut self, no: SheetNo) {
        self.with_sheet(no, |sheet| (sheet.presses, sheet.clung) = (0, 0));
    }

    fn swap(&mut self, fact: &SheetSwapped) {
        let Some(aside) = self.sheets.get(fact.aside).copied() else { return };
        self.with_sheet(fact.aside, |sheet| sheet.at = None);
        let before = self.sheets.get(fact.sheet).copied();
        self.trail.keep(Before::Sheet(fact.sheet, before));
        let life = before.and_then(|known| known.life);
        let (no, at) = (fact.sheet, Some(fact.press));
        self.sheets.put(Sheet { no, at, presses: 0, clung: 0, life, ..aside });
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
