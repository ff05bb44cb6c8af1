//! What becomes of presses, their sheets and the garments that pass through hands: shut, opened, sprayed, printed, wiped.

use std::sync::Arc;

use crate::shop::facts::fact::{
    Event, HandworkDone, PlatenChecked, PressOpened, PressShut, PressureChecked, SheetSwapped,
    SteamStopped, Timing,
};
use crate::shop::facts::ids::{PressNo, SheetNo, Tag};
use crate::shop::facts::moment::Moment;
use crate::shop::facts::outage::OutOfUse;
use crate::shop::facts::step::{Cover, Step};
use crate::shop::floor::garment::{Drying, Place};
use crate::shop::floor::press::{Load, Setting};
use crate::shop::floor::sheets::Sheet;
use crate::shop::rules::trail::Before;
use crate::shop::{Shop, Timed};

impl Shop {
    pub(super) fn shut(&mut self, event: &Event, fact: &PressShut) {
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

    pub(super) fn steam_stopped(&mut self, fact: &SteamStopped) {
        self.with_press(fact.press, |press| {
            if let Some(load) = &mut press.load {
                load.steam = Some(fact.seconds);
                load.estimate = fact.estimate;
            }
        });
    }

    pub(super) fn opened(&mut self, event: &Event, fact: &PressOpened) {
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

    pub(super) fn sprayed(&mut self, event: &Event, fact: &HandworkDone) {
        if let Some(grams) = fact.used.filter(|_| fact.step == Step::Spray) {
            self.with_supplies(|supplies| supplies.filling.spray(grams, event.moment));
        }
        self.worked(event, fact.garment, fact.step);
        self.with_garment(fact.garment, |garment| {
            garment.sprayed = fact.used;
            garment.lots.clone_from(&fact.lots);
        });
    }

    pub(super) fn worked(&mut self, event: &Event, tag: Tag, step: Step) {
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

    pub(super) fn clean(&mut self, no: SheetNo) {
        self.with_sheet(no, |sheet| (sheet.presses, sheet.clung) = (0, 0));
    }

    pub(super) fn sheet_renewed(&mut self, no: SheetNo) {
        self.clean(no);
        self.with_sheet(no, |sheet| sheet.life = Some(0));
    }

    pub(super) fn swap(&mut self, fact: &SheetSwapped) {
        let Some(aside) = self.sheets.get(fact.aside).copied() else { return };
        self.with_sheet(fact.aside, |sheet| sheet.at = None);
        let before = self.sheets.get(fact.sheet).copied();
        self.trail.keep(Before::Sheet(fact.sheet, before));
        let life = before.and_then(|known| known.life);
        let (no, at) = (fact.sheet, Some(fact.press));
        self.sheets.put(Sheet { no, at, presses: 0, clung: 0, life, ..aside });
    }

    /// Out of use for a reason, or back in use.
    pub(super) fn put_to_use(&mut self, press: PressNo, out_of_use: Option<OutOfUse>) {
        self.with_press(press, |press| press.out_of_use = out_of_use);
    }

    pub(super) fn platen_checked(&mut self, at: Moment, fact: &PlatenChecked) {
        let probed = Arc::new((at, fact.clone()));
        self.with_press(fact.press, |press| press.probed = Some(probed));
    }

    pub(super) fn pressure_checked(&mut self, at: Moment, fact: &PressureChecked) {
        self.with_press(fact.press, |press| press.strips = Some((at, fact.clone())));
    }
}
