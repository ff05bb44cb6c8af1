//! Commands become facts, or a refusal that says what to do instead.
//!
//! What happened is never refused for being late, early, dirty or past its day: it is recorded and flagged.
//! Refused is only what cannot be: a garment in two places, a press shut twice.

use std::time::Duration;

use super::command::{By, Command, Refusal, Which};
use crate::figures::units::{Grams, Temperature};
use crate::shop::Shop;
use crate::shop::books::coats::WeightWanted;
use crate::shop::books::opening::Opening;
use crate::shop::facts::fact::{
    BlankGivenUp, CautionRead, DialSet, EventsLost, Fact, HandworkDone, NumbersTaken, PressInUse,
    PressOpened, PressOutOfUse, PressShut, Printed, RecipeKept, SheetChanged, SheetRenewed,
    SheetSwapped, SheetWiped, StationSet, Steam, SteamSaid, SteamStopped, Timing, Undone,
};
use crate::shop::facts::ids::{OrderId, PressNo, SheetNo, Tag};
use crate::shop::facts::moment::Moment;
use crate::shop::facts::outage::OutOfUse;
use crate::shop::facts::step::{Cover, Pressure, Step};
use crate::shop::floor::garment::{Garment, Place};
use crate::shop::floor::press::Load;
use crate::shop::floor::sheets::Sheet;

/// The facts of one act.
pub type Facts = Vec<Fact>;

/// A figure to the thousandth, as it is stored.
pub(in crate::shop) fn to_millis(seconds: f64) -> f64 {
    (seconds * 1000.0).round() / 1000.0
}

fn one(fact: impl Into<Fact>) -> Result<Facts, Refusal> {
    Ok(vec![fact.into()])
}

impl Shop {
    /// What a command means, stated at `now`.
    ///
    /// # Errors
    /// A refusal where the command cannot be true of the shop as it stands.
    pub fn decide(&self, command: &Command, now: Moment) -> Result<Facts, Refusal> {
        match command {
            Command::SetStation(profile) => one(StationSet { profile: profile.clone() }),
            Command::KeepRecipe { name, recipe } => {
                one(RecipeKept { recipe: name.clone(), hash: recipe.hash(), text: recipe.clone() })
            }
            Command::NoteLost { upto } => one(EventsLost { after: self.seq, upto: *upto }),
            Command::NoteNumbers { upto } => one(NumbersTaken { upto: *upto }),
            Command::TakeOrder { form, file } => self.take_in_order(form, file.as_deref()),
            Command::TakePart(granted) => self.take_granted(granted),
            Command::HearWord(heard) => self.hear_word(heard),
            Command::DecideUnderbase { order, line, underbase } => {
                self.settle_underbase(*order, *line, *underbase)
            }
            Command::AddBlank { order, line } => self.add_blank(*order, *line),
            Command::GiveUpBlank { order, line } => self.give_up_blank(*order, *line),
            Command::Shut { press, garment, by } => self.shut_press(*press, *garment, *by, now),
            Command::CountBlanks(counts) => self.count_blanks(counts),
            Command::ChangeOrder(change) => self.change_order(change),
            Command::CancelOrder { order, fewer, leaves } => {
                self.cancel_order((*order, *fewer), *leaves, now)
            }
            Command::Open { press } => self.open(*press, now),
            Command::SteamStopped { press } => self.note_steam(*press, now),
            Command::SaySteam { garment, said } => self.steam_seen(*garment, *said),
            Command::Weigh { garment, grams } => self.weigh_garment(*garment, *grams, now),
            Command::DeclineWeighing { garment } => self.decline_weighing(*garment),
            Command::CheckPress { press, readings, held } => {
                self.check_press(*press, readings, *held)
            }
            Command::HandworkDone(which) => self.work(Step::Spray, *which, now),
            Command::Printed(which) => self.work(Step::Print, *which, now),
            Command::Store(which) => self.store(*which, now),
            Command::NameStack(stack) => self.name_stack(stack),
            Command::DisturbStack(stack) => self.disturb(stack),
            Command::Renew(tag) => self.renew(*tag),
            Command::RegisterLot(lot) => self.register_lot(lot),
            Command::FillSprayer(fill) => self.fill_sprayer(fill, now),
            Command::FlushSprayer => self.flush(),
            Command::SayFan(running) => self.say_fan(*running),
            Command::SayDates(said) => one(said.clone()),
            Command::Sign(who) => self.sign(who),
            Command::CloseShift => self.close_shift(now),
            Command::TakeOver(taken) => self.take_over(taken),
            Command::Hear(heard) => self.hear(heard),
            Command::SettleWhere { garment, at } => self.settle_where(*garment, *at),
            Command::SampleForWash(tag) => self.sample(*tag),
            Command::NoteWash(wash) => self.note_wash(wash),
            Command::NoteReturn(said) => self.note_return(said),
            Command::BeginTrial { recipe, limit, cycles } => {
                self.begin_trial(recipe, *limit, *cycles)
            }
            Command::WeighTrial(grams) => self.weigh_trial(*grams),
            Command::GradeTrial(seen) => self.grade_trial(*seen),
            Command::SignWindow(who) => self.sign_window(who),
            Command::EndTrial => self.end_trial(),
            Command::CleanSheet(sheet) => self.clean_sheet(*sheet),
            Command::RenewSheet(sheet) => self.renew_sheet(*sheet),
            Command::SwapSheet { press } => self.swap_sheet(*press),
            Command::OutOfUse { press, reason } => self.take_out_of_use(*press, *reason),
            Command::BackInUse { press } => self.back_in_use(*press),
            Command::SetDial { press, dial, pressure } => self.set_press(*press, *dial, *pressure),
            Command::TurnDial { press, dial, pressure } => {
                self.turn_press(*press, *dial, *pressure)
            }
            Command::SayHeat { press, said } => self.say_heat(*press, *said, now),
            Command::SayMorning { check, percent, skipped } => {
                self.say_morning(*check, (*percent, *skipped), now)
            }
            Command::SaySample { garment, approved } => self.say_sample(*garment, *approved),
            Command::NoteTrouble { garment, trouble, outcome } => {
                self.note_trouble(*garment, *trouble, *outcome, now)
            }
            Command::CorrectTime { ago } => self.correct_last(*ago),
            Command::CorrectTimeOf { act, ago } => self.correct_time(*act, *ago),
            Command::ReadCaution => one(CautionRead {}),
            Command::Undo => self.undo(),
        }
    }

    fn give_up_blank(&self, order: OrderId, line: usize) -> Result<Facts, Refusal> {
        self.lost_line(order, line)?;
        one(BlankGivenUp { order: order.no, line })
    }

    fn open(&self, press: PressNo, now: Moment) -> Result<Facts, Refusal> {
        let opened = self.open_press(press, now)?;
        let leaves = self.leaves_at_opening(&opened, now);
        Ok([opened.into()].into_iter().chain(leaves).collect())
    }

    fn steam_seen(&self, garment: Tag, said: Steam) -> Result<Facts, Refusal> {
        match self.desk.steam_unsaid {
            Some((press, tag)) if tag == garment => one(SteamSaid { press, garment, said }),
            _ => Err(Refusal::SteamNotAsked(garment)),
        }
    }

    fn take_out_of_use(&self, press: PressNo, reason: OutOfUse) -> Result<Facts, Refusal> {
        self.known_press(press)?;
        one(PressOutOfUse { press, reason })
    }

    fn back_in_use(&self, press: PressNo) -> Result<Facts, Refusal> {
        self.out_of_use(press).ok_or(Refusal::PressInUse(press))?;
        one(PressInUse { press })
    }

    fn set_press(
        &self,
        press: PressNo,
        dial: Temperature,
        pressure: Pressure,
    ) -> Result<Facts, Refusal> {
        self.known_press(press)?;
        one(DialSet { press, dial: dial.as_written(), pressure })
    }

    fn correct_last(&self, ago: Option<f64>) -> Result<Facts, Refusal> {
        let last = self.desk.correctable.as_ref().map(|last| last.act);
        self.correct_time(last.ok_or(Refusal::NothingToCorrect)?, ago)
    }

    fn undo(&self) -> Result<Facts, Refusal> {
        if let Some(stays) = self.desk.stays {
            return Err(self.stays(stays));
        }
        let (undoes, what) = self.undoable().ok_or(Refusal::NothingToUndo)?;
        one(Undone { undoes, what })
    }

    fn known_press(&self, press: PressNo) -> Result<(), Refusal> {
        let station = self.station.as_ref().ok_or(Refusal::NoStation)?;
        station.press(press).map(drop).ok_or(Refusal::NoSuchPress(press))
    }

    pub(in crate::shop) fn known_garment(&self, tag: Tag) -> Result<&Garment, Refusal> {
        let garment = self.floor.get(tag).ok_or(Refusal::NoSuchGarment(tag))?;
        match garment.place {
            Place::Away(station) => {
                Err(Refusal::AtAnother { garment: tag, bench: self.neighbour(station) })
            }
            _ => Ok(garment),
        }
    }

    fn shut_press(&self, press: PressNo, tag: Tag, by: By, now: Moment) -> Result<Facts, Refusal> {
        self.known_press(press)?;
        if let Some(load) = self.load(press) {
            return Err(Refusal::PressIsShut { press, garment: load.garment });
        }
        if let Some(reason) = self.out_of_use(press) {
            return Err(Refusal::PressOutOfUse { press, reason });
        }
        let garment = self.known_garment(tag)?;
        let proposed = matches!(by, By::Suggestion | By::Plan);
        let again = self.dry_again(garment).filter(|_| proposed);
        let next = again.or_else(|| self.next_press(garment)).ok_or(match garment.place {
            Place::InPress(press) => Refusal::InPress { garment: tag, press },
            Place::Finished => Refusal::Finished(tag),
            Place::Out => Refusal::Out(tag),
            _ => Refusal::Undecided(tag),
        })?;
        let mut facts = Facts::new();
        if let Some(step) = next.implies {
            if proposed {
                return Err(Refusal::StepBefore { garment: tag, step });
            }
            facts.push(self.done(tag, (step, true), now));
            if step == Step::Print {
                facts.extend(self.held_shown(tag));
            }
        }
        let shut = self.shut_fact(press, garment, (next.step, next.again), by, now)?;
        facts.push(shut.into());
        Ok(facts)
    }

    fn shut_fact(
        &self,
        press: PressNo,
        garment: &Garment,
        (step, again): (Step, bool),
        by: By,
        now: Moment,
    ) -> Result<PressShut, Refusal> {
        let tag = garment.tag;
        let (hash, recipe) = self.recipe_of(garment).ok_or(Refusal::NoRecipe(tag))?;
        let damp = again && self.is_damp();
        let pressing = recipe.pressing_when(step, again, damp).ok_or(Refusal::NoRecipe(tag))?;
        let setting = self.setting(press).ok_or(Refusal::NoSuchPress(press))?;
        let sheet = pressing.cover.map(|kind| self.sheets.at_or_new(press, kind, step));
        let rule = self.station.as_ref().ok_or(Refusal::NoStation)?.sheet;
        let waited = now.since(garment.since).span;
        // A cure is the print's business: what the shelf says was said when it was printed.
        let (past_day, out_of_turn, disturbed) = match step {
            Step::PrePress => self.shelf_flags(garment, now),
            _ => Default::default(),
        };
        Ok(PressShut {
            past_day,
            out_of_turn,
            disturbed,
            press,
            garment: tag,
            step,
            again,
            place: self.place_named(garment),
            recipe: *hash,
            dial: setting.dial,
            pressure: setting.pressure,
            sheet: sheet.map(|sheet| sheet.no),
            cover: pressing.cover,
            sheet_presses: sheet.map(|sheet| sheet.presses),
            scanned: by == By::Scan,
            past_wipe: step == Step::Dry && sheet.is_some_and(|s| s.presses >= rule.wipe_by),
            waited_too_long: self.wait_limit(garment).is_some_and(|limit| waited > limit),
            set_otherwise: !setting.suits(&pressing),
            unsettled: self.unready(press, now).is_some(),
            damp,
        })
    }

    pub(in crate::shop) fn open_press(
        &self,
        press: PressNo,
        now: Moment,
    ) -> Result<PressOpened, Refusal> {
        let load = self.load(press).ok_or(Refusal::PressIsOpen(press))?;
        let elapsed = load.elapsed(now);
        // Over a restart of the machine only the wall clock could tell, and that is no timer.
        let timed = load.timed && elapsed.sure;
        let mut span = elapsed.span;
        let mut waited = None;
        let mut timing = Timing::NotTimed;
        if let Some(pressing) = self.pressing(load) {
            if elapsed.sure && self.opens_itself(press) && span > pressing.target.0 {
                waited = Some(to_millis((span - pressing.target.0).as_secs_f64()));
                span = pressing.target.0;
            }
            timing = pressing.timing(timed.then_some(span));
        }
        Ok(PressOpened {
            press,
            garment: load.garment,
            step: load.step,
            again: load.again,
            place: self.garment(load.garment).and_then(|garment| self.place_named(garment)),
            seconds: timed.then(|| to_millis(span.as_secs_f64())),
            timing,
            waited,
            over_restart: !elapsed.sure,
            failed: false,
        })
    }

    fn note_steam(&self, press: PressNo, now: Moment) -> Result<Facts, Refusal> {
        let load = self.load(press).ok_or(Refusal::PressIsOpen(press))?;
        match load {
            Load { step: Step::Dry, steam: None, .. } => {
                let (garment, step) = (load.garment, load.step);
                let seconds = to_millis(load.elapsed(now).seconds());
                let estimate = self.coat_by_steam(press, garment, seconds);
                one(SteamStopped { press, garment, step, seconds, estimate })
            }
            Load { step: Step::Dry, steam: Some(seconds), .. } => {
                Err(Refusal::SteamNoted { press, seconds: *seconds })
            }
            _ => Err(Refusal::NotDrying(press)),
        }
    }

    fn work(&self, step: Step, which: Which, now: Moment) -> Result<Facts, Refusal> {
        let tags: Vec<Tag> = match which {
            Which::Tagged(tag) => vec![self.ready_for(tag, step)?],
            Which::First(count) => {
                let count_of = usize::from(count);
                let tags: Vec<Tag> = match step {
                    Step::Print => self.to_print(now).take(count_of).map(|g| g.tag).collect(),
                    _ => self.to_spray().take(count_of).map(|g| g.tag).collect(),
                };
                match tags.len() {
                    0 => return Err(Refusal::NoneWaits(step)),
                    there if there < usize::from(count) => {
                        return Err(Refusal::FewerWait { step, there, asked: count });
                    }
                    _ => tags,
                }
            }
            Which::All => self.floor.waiting(step).map(|garment| garment.tag).collect(),
        };
        let mut facts = Facts::new();
        for tag in tags {
            facts.push(self.done(tag, (step, false), now));
            if step == Step::Print {
                facts.extend(self.held_shown(tag));
            }
        }
        Ok(facts)
    }

    fn ready_for(&self, tag: Tag, step: Step) -> Result<Tag, Refusal> {
        let garment = self.known_garment(tag)?;
        match garment.place {
            Place::Waiting(waits) if waits == step => Ok(tag),
            // Pressing it again before print is good practice, not a condition.
            Place::Shelf if step == Step::Print => Ok(tag),
            Place::InPress(press) => Err(Refusal::InPress { garment: tag, press }),
            Place::Finished => Err(Refusal::Finished(tag)),
            Place::Out => Err(Refusal::Out(tag)),
            Place::Undecided => Err(Refusal::Undecided(tag)),
            Place::Waiting(_) | Place::Shelf | Place::Away(_) => {
                Err(Refusal::NotWaiting { garment: tag, wanted: step })
            }
        }
    }

    fn clean_sheet(&self, no: SheetNo) -> Result<Facts, Refusal> {
        let sheet = self.sheets.get(no).ok_or(Refusal::NoSuchSheet(no))?;
        if sheet.presses == 0 {
            return Err(Refusal::SheetIsClean(no));
        }
        self.can_be_taken(sheet)?;
        let (press, presses) = (sheet.at, sheet.presses);
        match sheet.kind {
            Cover::PtfeSheet => one(SheetWiped { sheet: no, press, presses }),
            Cover::ReleasePaper => one(SheetChanged { sheet: no, press, presses }),
        }
    }

    fn renew_sheet(&self, no: SheetNo) -> Result<Facts, Refusal> {
        let sheet = self.sheets.get(no).ok_or(Refusal::NoSuchSheet(no))?;
        self.can_be_taken(sheet)?;
        let Sheet { at: press, presses, life, .. } = *sheet;
        one(SheetRenewed { sheet: no, press, presses, life })
    }

    /// Hands reach no sheet in a shut press.
    fn can_be_taken(&self, sheet: &Sheet) -> Result<(), Refusal> {
        match sheet.at.filter(|press| self.covers_now(*press, sheet.no)) {
            Some(press) => Err(Refusal::SheetInUse { sheet: sheet.no, press }),
            None => Ok(()),
        }
    }

    /// Whether a shut press has this sheet inside.
    fn covers_now(&self, press: PressNo, sheet: SheetNo) -> bool {
        self.load(press).is_some_and(|load| load.sheet == Some(sheet))
    }

    fn swap_sheet(&self, press: PressNo) -> Result<Facts, Refusal> {
        let used = self.sheets.at(press, Cover::PtfeSheet, Step::Dry).filter(|s| s.presses > 0);
        let used = used.ok_or(Refusal::NothingToSwap(press))?;
        if self.covers_now(press, used.no) {
            return Err(Refusal::SheetInUse { sheet: used.no, press });
        }
        let aside = || {
            self.sheets
                .all()
                .filter(|s| s.at.is_none() && s.kind == used.kind && s.covers == used.covers)
        };
        let spare = self.station.as_ref().ok_or(Refusal::NoStation)?.sheet.spare;
        let clean = match aside().find(|sheet| sheet.presses == 0) {
            Some(sheet) => sheet.no,
            None if aside().count() < usize::try_from(spare).unwrap_or(0) => self.sheets.next_no(),
            None => return Err(Refusal::NoCleanSheet),
        };
        one(SheetSwapped { press, aside: used.no, sheet: clean, presses: used.presses })
    }

    /// How a press of a garment lies to its recipe's times, had it been shut for so many seconds.
    pub(in crate::shop) fn timing_of(&self, opening: &Opening, seconds: Option<f64>) -> Timing {
        let Opening { garment, step, again, damp, .. } = *opening;
        let shut = seconds.and_then(|seconds| Duration::try_from_secs_f64(seconds).ok());
        let recipe = self.garment(garment).and_then(|garment| self.recipe_of(garment));
        let pressing = recipe.and_then(|(_, recipe)| recipe.pressing_when(step, again, damp));
        pressing.map_or(Timing::NotTimed, |pressing| pressing.timing(shut))
    }

    /// A garment was sprayed or printed; `implied` by the press that was shut on it.
    pub(in crate::shop) fn done(
        &self,
        tag: Tag,
        (step, implied): (Step, bool),
        now: Moment,
    ) -> Fact {
        let garment = self.garment(tag);
        let place = garment.and_then(|garment| self.place_named(garment));
        if step == Step::Print {
            let (past_day, out_of_turn, disturbed) =
                garment.map_or_else(Default::default, |garment| self.shelf_flags(garment, now));
            let printed =
                Printed { garment: tag, step, place, implied, past_day, out_of_turn, disturbed };
            return printed.into();
        }
        let asked = |wanted: WeightWanted| wanted.garment == tag && !wanted.coated;
        let lots = self.supplies().filling.lots.clone();
        let used = garment.filter(|_| !lots.is_empty()).and_then(|g| self.planned_spray(g));
        HandworkDone {
            garment: tag,
            step,
            place,
            implied,
            unweighed: self.weight_wanted().is_some_and(asked),
            used: used.map(Grams::rounded),
            lots,
            fluids: self.supplies().filling.fluids.clone(),
        }
        .into()
    }

    /// What the shelf says against a garment: past its day, taken before an older one, from a shifted stack.
    fn shelf_flags(&self, garment: &Garment, now: Moment) -> (bool, bool, bool) {
        (
            self.is_past_its_day(garment, now),
            self.floor().is_out_of_turn(garment),
            garment.is_disturbed(),
        )
    }
}
