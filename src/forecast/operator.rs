//! Made-up operators: pairs of hands that obey the same rules and say the same commands as people.
//!
//! Hands look at the shop and the moment, take up the most pressing task, are busy for a drawn time, and then
//! state what they have done. Hand times are invented for the demo; they are no model of anybody.

mod hands;

use std::time::Duration;

use rand::{RngExt, SeedableRng};
use rand_distr::{Distribution, LogNormal};
use rand_pcg::Pcg64;

use hands::{Hands, Printers};

use super::coats::Coats;
use super::crew::Crew;
use super::workload;
use crate::figures::units::Grams;
use crate::shop::Shop;
use crate::shop::facts::ids::{PressNo, Tag};
use crate::shop::facts::moment::Moment;
use crate::shop::facts::step::Step;
use crate::shop::facts::trouble::{Outcome, Trouble};
use crate::shop::floor::garment::{Garment, Place, Queue};
use crate::shop::floor::press::Load;
use crate::shop::rules::alarms::Alarm;
use crate::shop::rules::command::{By, Command, Which};
use crate::shop::rules::next::NextAct;
use crate::shop::rules::offer::{Advice, Choice, OfferedAct};
use crate::shop::rules::questions::{Answer, Question};
use crate::shop::rules::turn::{self, Act, Binds};

/// What the operator does next.
#[derive(Debug, Clone, PartialEq)]
pub enum Turn {
    Act(Command),
    /// Nothing to say until then.
    Until(Moment),
    /// Every garment is finished or out.
    Done,
}

/// Median seconds of what hands do beside what a profile can say.
mod hand {
    pub const SWAP_SHEET: f64 = 9.0;
    pub const MEND: f64 = 20.0;
    pub const PROBE: f64 = 90.0;
    pub const ANSWER: f64 = 2.0;
}

/// What holds the shop back is looked at again after so many events.
const LOOK_AGAIN: u64 = 100;

/// How often things go otherwise, out of a thousand.
mod chance {
    pub const EARLY: u32 = 12;
    pub const STEAM_NOTED: u32 = 650;
    pub const CLUNG: u32 = 40;
    pub const STILL_STEAMING: u32 = 15;
    pub const SCORCHED: u32 = 6;
    pub const BANDING: u32 = 12;
    pub const UNDERCURED: u32 = 8;
    pub const ANSWERED: u32 = 800;
}

/// Where hands look for something to do.
type Look = fn(&mut Operator, &Shop, Moment) -> Option<Task>;

/// Something that takes the hands for a drawn time around so many seconds.
enum Task {
    /// The act is stated at once, then the hands are busy.
    First { command: Command, seconds: f64 },
    /// The hands are busy, then the act is stated, if there is one to state.
    Last { seconds: f64, command: Option<Command> },
}

fn after(seconds: f64, command: Command) -> Task {
    Task::Last { seconds, command: Some(command) }
}

/// Everybody who works in a made-up shop: one pair of hands, unless it is told otherwise.
pub struct Operator {
    rng: Pcg64,
    crew: Crew,
    /// What holds the shop back, as it stood at an event.
    binds: (u64, Option<Binds>),
    hands: Vec<Hands>,
    printers: Printers,
    /// When the shift began, as far as these hands know.
    began: Option<Moment>,
    /// The press that is opened a little too early, if one is.
    hasty: Option<u64>,
    /// The newest load for which that has been considered.
    considered: u64,
    coats: Coats,
    /// The second at which the steam of a load stops, where this operator watches it.
    steam: Option<(u64, Option<f64>)>,
    /// The last garment looked at for troubles.
    looked_at: Option<(Tag, Step)>,
}

impl Operator {
    /// The same seed makes the same operator.
    pub fn new(seed: u64) -> Self {
        Self::with(seed, Crew::default())
    }

    /// People and printers of a kind. The same seed makes the same ones.
    pub fn with(seed: u64, crew: Crew) -> Self {
        Self {
            rng: Pcg64::seed_from_u64(seed),
            binds: (0, None),
            hands: crew.people.iter().map(|_| Hands::default()).collect(),
            crew,
            printers: Printers::default(),
            began: None,
            hasty: None,
            considered: 0,
            coats: Coats::new(seed),
            steam: None,
            looked_at: None,
        }
    }

    /// Takes a turn at `now`.
    pub fn turn(&mut self, shop: &Shop, now: Moment) -> Turn {
        self.began.get_or_insert(now);
        let stops = self.steam_stops(shop);
        if let Some((press, at)) = stops
            && at.up <= now.up
        {
            // A tap between two moves: it keeps nothing waiting.
            return Turn::Act(Command::SteamStopped { press });
        }
        for who in 0..self.hands.len() {
            match self.hands[who].busy.take() {
                Some((until, command)) if until.up > now.up => {
                    self.hands[who].busy = Some((until, command));
                    continue;
                }
                Some((_, Some(command))) => {
                    if let Command::Printed(Which::Tagged(garment)) = command {
                        self.printers.out(garment);
                    }
                    return Turn::Act(command);
                }
                Some((_, None)) | None => {}
            }
            match self.begin(who, shop, now) {
                Some(Task::First { command, seconds }) => {
                    let until = self.drawn(who, now, seconds);
                    self.hands[who].take_up(Some(&command), until, None);
                    if let Command::Open { press } = command {
                        self.hands[who].takes_out = shop.load(press).map(|load| load.garment);
                    }
                    return Turn::Act(command);
                }
                Some(Task::Last { seconds, command }) => {
                    let until = self.drawn(who, now, seconds);
                    // Not before: what others are at is given up again.
                    if let Some(Command::Printed(Which::Tagged(garment))) = command {
                        self.printers.take(garment);
                    }
                    self.hands[who].take_up(command.as_ref(), until, command.clone());
                }
                None => {}
            }
        }
        let busy = self.hands.iter().filter_map(|hands| Some(hands.busy.as_ref()?.0));
        let busy: Vec<Moment> = busy.collect();
        let steam = stops.map(|(_, at)| at);
        if busy.len() == self.hands.len() {
            let soonest = busy.into_iter().chain(steam).min_by_key(|until| until.up);
            return Turn::Until(soonest.unwrap_or(now));
        }
        match (self.idle(shop, now), busy.into_iter().min_by_key(|until| until.up)) {
            (Turn::Until(until), Some(busy)) if busy.up < until.up => Turn::Until(busy),
            (Turn::Done, Some(busy)) => Turn::Until(busy),
            (turn, _) => turn,
        }
    }

    /// What a pair of hands that is free begins with, or rests.
    fn begin(&mut self, who: usize, shop: &Shop, now: Moment) -> Option<Task> {
        let began = self.began.unwrap_or(now);
        if !self.hands[who].wants_rest(&self.crew.rests, began, now, &mut self.rng) {
            return self.take_up(who, shop, now);
        }
        // Nobody leaves a garment in a hot press behind.
        let open = self.open_what_is_due(shop, now).filter(|task| !self.is_in_hand(who, task));
        if open.is_some() || (shop.loads().next().is_some() && self.is_alone(who)) {
            return open;
        }
        let lasts = self.hands[who].rest(&self.crew.rests, began, now, &mut self.rng);
        self.hands[who].take_up(None, now.plus(lasts), None);
        None
    }

    /// Whether nobody else is there who would open the presses.
    fn is_alone(&self, who: usize) -> bool {
        let together = !self.crew.rests.together.is_empty();
        together || (0..self.hands.len()).all(|other| other == who)
    }

    /// Whether others are at what a task is about.
    fn is_in_hand(&self, who: usize, task: &Task) -> bool {
        let (Task::First { command, .. } | Task::Last { command: Some(command), .. }) = task else {
            return false;
        };
        self.others(who).any(|hands| hands.are_at(command))
    }

    fn others(&self, who: usize) -> impl Iterator<Item = &Hands> {
        self.hands.iter().enumerate().filter(move |(n, _)| *n != who).map(|(_, hands)| hands)
    }

    /// A moment a drawn time from now, around `median` seconds of hands that are just so quick.
    fn drawn(&mut self, who: usize, now: Moment, median: f64) -> Moment {
        let slow = self.crew.people.get(who).copied().unwrap_or(1.0);
        self.lasts(now, median * slow, self.crew.scatter)
    }

    fn lasts(&mut self, now: Moment, median: f64, scatter: f64) -> Moment {
        let factor = LogNormal::new(0.0, scatter).map_or(1.0, |law| law.sample(&mut self.rng));
        now.plus(Duration::from_micros(micros(median * factor)))
    }

    fn happens(&mut self, out_of_a_thousand: u32) -> bool {
        self.rng.random_range(0..1000) < out_of_a_thousand
    }

    /// The most pressing task that nobody else is at.
    fn take_up(&mut self, who: usize, shop: &Shop, now: Moment) -> Option<Task> {
        let looks: [Look; 5] = [
            Self::open_what_is_due,
            |own, shop, _| own.look(shop),
            |own, shop, _| own.weigh(shop),
            |own, shop, _| own.answer(shop),
            Self::keep_sheets,
        ];
        for look in looks {
            let task = look(self, shop, now).filter(|task| !self.is_in_hand(who, task));
            if task.is_some() {
                return task;
            }
        }
        let seen = (self.hands.len() > 1)
            .then(|| hands::without_what_others_have(shop, self.others(who), now));
        let task = self.go_by_the_rule(seen.as_ref().unwrap_or(shop), now);
        let task = task.or_else(|| self.probe(shop, now)).or_else(|| self.wipe_aside(shop));
        task.filter(|task| !self.is_in_hand(who, task))
    }

    fn open_what_is_due(&mut self, shop: &Shop, now: Moment) -> Option<Task> {
        let due = shop.alarms(now).into_iter().find_map(|alarm| match alarm {
            Alarm::Due { press, .. }
            | Alarm::Overdue { press, .. }
            | Alarm::Check { press, .. } => Some(press),
            _ => None,
        });
        let press = due.or_else(|| self.hasty_press(shop, now))?;
        Some(Task::First {
            command: Command::Open { press },
            seconds: self.crew.times.unload.as_seconds(),
        })
    }

    /// Now and then a press is opened a few seconds too early.
    fn hasty_press(&mut self, shop: &Shop, now: Moment) -> Option<PressNo> {
        for (_, load) in shop.loads() {
            if load.seq > self.considered {
                self.considered = load.seq;
                if self.happens(chance::EARLY) {
                    self.hasty = Some(load.seq);
                }
            }
        }
        let (press, load) = shop.loads().find(|(_, load)| Some(load.seq) == self.hasty)?;
        let soon = shop.pressing(load)?.shortest.as_seconds() - 3.0;
        (load.elapsed(now).seconds() > soon).then_some(press)
    }

    /// A look at the garment that was just taken out.
    fn look(&mut self, shop: &Shop) -> Option<Task> {
        let tag = shop.desk().last?;
        let (step, _) = shop.garment(tag)?.last_step?;
        if self.looked_at == Some((tag, step)) {
            return None;
        }
        self.looked_at = Some((tag, step));
        let (trouble, outcome) = match step {
            Step::Dry if self.happens(chance::SCORCHED) => (Trouble::Scorched, Outcome::Out),
            Step::Dry if self.happens(chance::CLUNG) => (Trouble::SheetClung, Outcome::GoOn),
            Step::Dry if self.happens(chance::STILL_STEAMING) => {
                (Trouble::StillSteaming, Outcome::StepAgain)
            }
            Step::Print if self.happens(chance::BANDING) => {
                (Trouble::Banding, Outcome::SecondQuality)
            }
            Step::Cure if self.happens(chance::UNDERCURED) => {
                (Trouble::Undercured, Outcome::StepAgain)
            }
            _ => return None,
        };
        Some(after(hand::ANSWER, Command::NoteTrouble { garment: tag, trouble, outcome }))
    }

    /// When the steam of the drying press stops, where this operator watches it: where the board wants to know
    /// of it, and now and then besides.
    fn steam_stops(&mut self, shop: &Shop) -> Option<(PressNo, Moment)> {
        let press = shop.steaming()?;
        let load = shop.load(press)?;
        let second = self.steam_of(shop, press, load)?;
        Some((press, load.shut.plus(Duration::from_micros(micros(second)))))
    }

    fn steam_of(&mut self, shop: &Shop, press: PressNo, load: &Load) -> Option<f64> {
        if let Some((seq, second)) = self.steam
            && seq == load.seq
        {
            return second;
        }
        let watched = shop.steam_is_wanted(load) || self.happens(chance::STEAM_NOTED);
        let second = if watched { self.coats.steam(shop, press, load) } else { None };
        self.steam = Some((load.seq, second));
        second
    }

    fn weigh(&mut self, shop: &Shop) -> Option<Task> {
        let wanted = shop.weight_wanted()?;
        let place = shop.garment(wanted.garment)?.place;
        if wanted.coated && place == Place::Waiting(Step::Spray) {
            return None; // Not sprayed yet.
        }
        if wanted.mends {
            return Some(self.mend(shop, wanted.garment));
        }
        let grams = self.coats.weight(shop, wanted);
        Some(after(
            self.crew.times.weigh.as_seconds(),
            Command::Weigh { garment: wanted.garment, grams },
        ))
    }

    /// A light coat gets one light pass more and is weighed again; a heavy one is blotted, and dried as it is.
    fn mend(&mut self, shop: &Shop, tag: Tag) -> Task {
        let right = shop.garment(tag).and_then(|garment| {
            let weighing = garment.weighed?;
            let right = Grams(weighing.before.0 + shop.grams_right(garment)?.0).rounded();
            weighing.after.filter(|after| *after < right).map(|_| right)
        });
        match right {
            Some(grams) => after(hand::MEND, Command::Weigh { garment: tag, grams }),
            None => after(hand::MEND, Command::DeclineWeighing { garment: tag }),
        }
    }

    /// At a quiet moment the platens are probed that are due for it.
    fn probe(&mut self, shop: &Shop, now: Moment) -> Option<Task> {
        if shop.loads().next().is_some() {
            return None;
        }
        let due = |press: &PressNo| shop.probe_due(*press, now).is_some();
        let press = shop.press_numbers().into_iter().find(due)?;
        let readings = self.coats.readings(shop.setting(press)?.dial);
        Some(after(hand::PROBE, Command::CheckPress { press, readings, held: None }))
    }

    fn answer(&mut self, shop: &Shop) -> Option<Task> {
        // Whether to weigh is no question to this one: it does.
        let mut questions = shop.questions().into_iter();
        let question =
            questions.find(|question| !matches!(question, Question::Weight(_) | Question::Who))?;
        let answer = match question {
            Question::Caution
            | Question::Where { .. }
            | Question::Fan
            | Question::Sample(_)
            | Question::Blank { .. }
            | Question::Dates
            | Question::Underbase { .. } => Answer::Yes,
            Question::Steam { .. } if !self.happens(chance::ANSWERED) => Answer::NotSeen,
            Question::Steam { .. } | Question::Weight(_) | Question::Who => Answer::No,
        };
        Some(after(hand::ANSWER, question.answered(answer)?))
    }

    /// At a wipe that is due a clean sheet is swapped in; where there is none, the sheet is wiped.
    fn keep_sheets(&mut self, shop: &Shop, now: Moment) -> Option<Task> {
        let due = shop.alarms(now).into_iter().find_map(|alarm| match alarm {
            Alarm::WipeDue { sheet, press: Some(press) }
            | Alarm::WipeOverdue { sheet, press: Some(press) } => Some((sheet, press)),
            _ => None,
        });
        let (sheet, press) = due.filter(|(_, press)| shop.load(*press).is_none())?;
        let swap = Command::SwapSheet { press };
        if shop.decide(&swap, now).is_ok() {
            return Some(after(hand::SWAP_SHEET, swap));
        }
        Some(after(self.crew.times.wipe.as_seconds(), Command::CleanSheet(sheet)))
    }

    /// The act that the plain rule names.
    fn go_by_the_rule(&mut self, shop: &Shop, now: Moment) -> Option<Task> {
        if shop.seq() >= self.binds.0 + LOOK_AGAIN || self.binds.1.is_none() {
            let work = workload::of_shop(shop, now);
            self.binds = (shop.seq(), work.and_then(|work| work.problem.binds()));
        }
        let advice = Advice { binds: self.binds.1, ..Advice::default() };
        let offers = shop.offers_by(&Choice::default(), &advice, now);
        let hungry = shop.is_hungry(advice.binds, now);
        let load = shop.load_next(&offers, hungry, now);
        let empty = offers.iter().any(|offer| matches!(offer.act, OfferedAct::None(_)));
        let acts = turn::acts(advice.binds, hungry, empty);
        acts.iter().find_map(|act| match act {
            Act::Open => None,
            Act::Feed => self.load(load.filter(|load| load.feeds || load.turn.presses())?.act),
            Act::Load => self.load(load?.act),
            Act::Print => self.serve_the_printer(shop, now),
            Act::Spray => self.spray(shop),
            Act::Fetch => self.load(shop.fetch_next(&offers)?),
        })
    }

    fn load(&self, act: NextAct) -> Option<Task> {
        let NextAct::Load { press, garment, .. } = act else { return None };
        let shut = Command::Shut { press, garment, by: By::Suggestion };
        Some(after(self.crew.times.load.as_seconds(), shut))
    }

    /// The next one is sprayed, unless sprayed ones pile up before the dryer.
    fn spray(&mut self, shop: &Shop) -> Option<Task> {
        let NextAct::Spray(garment) = shop.spray_next()? else { return None };
        self.coats.spray();
        let seconds = self.crew.times.spray.as_seconds() + self.crew.times.roll.as_seconds();
        Some(after(seconds, Command::HandworkDone(Which::Tagged(garment))))
    }

    fn serve_the_printer(&mut self, shop: &Shop, now: Moment) -> Option<Task> {
        if let Some(garment) = self.printers.done(now) {
            let unload = self.crew.times.print_unload.as_seconds();
            return Some(after(unload, Command::Printed(Which::Tagged(garment))));
        }
        if self.printers.count() >= self.crew.printers {
            return None;
        }
        let free = |garment: &&Garment| !self.printers.have(garment.tag);
        let garment = shop.to_lay_in(now).find(free)?;
        let said = shop.recipe_of(garment).and_then(|(_, recipe)| recipe.print);
        let print = said.unwrap_or(self.crew.times.print).as_seconds();
        let load = self.crew.times.print_load.as_seconds();
        let loaded = self.lasts(now, load, self.crew.scatter);
        let until = self.lasts(loaded, print, self.crew.print_scatter);
        self.printers.begin(garment.tag, until);
        // Nothing is stated for loading a printer: the hands are just busy.
        Some(Task::Last { seconds: load, command: None })
    }

    /// At a quiet moment the sheet that was set aside is wiped, cold and away from the press.
    fn wipe_aside(&self, shop: &Shop) -> Option<Task> {
        let aside = shop.sheets().all().find(|sheet| sheet.at.is_none() && sheet.presses > 0)?;
        // Not while a press is about to want its opening.
        let busy = shop.loads().any(|(_, load)| load.step == Step::Dry);
        (!busy).then(|| after(self.crew.times.wipe.as_seconds(), Command::CleanSheet(aside.no)))
    }

    /// Nothing to do: until when.
    fn idle(&mut self, shop: &Shop, now: Moment) -> Turn {
        let floor = shop.floor();
        let under_way =
            Step::ALL.into_iter().map(|step| floor.count(Queue::Step(step))).sum::<usize>()
                + floor.count(Queue::Undecided)
                + shop.loads().count();
        if under_way == 0 && self.printers.are_empty() {
            return Turn::Done;
        }
        let steam = self.steam_stops(shop).map(|(_, at)| at);
        let rests = floor.waiting(Step::Print).filter_map(|one| shop.rests(one.tag, now));
        let rested = rests.min().map(|left| now.plus(left));
        let soonest = shop
            .loads()
            .filter_map(|(_, load)| Some(load.shut.plus(shop.pressing(load)?.target.0)))
            .chain(self.printers.ends())
            .chain(steam)
            .chain(rested)
            .filter(|moment| moment.up > now.up)
            .min_by_key(|moment| moment.up);
        Turn::Until(soonest.unwrap_or_else(|| now.plus(Duration::from_secs(1))))
    }
}

/// Whole microseconds of a span in seconds.
fn micros(seconds: f64) -> u64 {
    u64::try_from(Duration::try_from_secs_f64(seconds).unwrap_or_default().as_micros()).unwrap_or(0)
}
