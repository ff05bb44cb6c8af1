//! A simulated shop: steps go in, and after each of them the laws are asked.

use std::collections::VecDeque;
use std::panic::{AssertUnwindSafe, catch_unwind};

use dwell::forecast::operator::{Operator, Turn};
use dwell::shop::Shop;
use dwell::shop::facts::fact::Event;
use dwell::shop::facts::moment::{Boot, Moment, Up, Wall};
use dwell::shop::rules::command::Command;

use super::deeds::Deed;
use super::laws::{self, Broken, law};
use super::say;
use super::step::{Fault, Step};
use super::store::Store;
use super::story::{OPENING, Story};
use super::world::{World, line, order};

/// A run that broke a law.
pub struct Fallen {
    pub broken: Broken,
    /// What happened until then, acts as they were.
    pub done: Vec<Step>,
    pub story: Story,
}

/// What a run that held came to.
#[derive(Debug, Default)]
pub struct Tally {
    pub steps: usize,
    pub acts: usize,
    pub crashes: usize,
    /// Acts that were not reported as saved and that a crash has taken.
    pub lost: usize,
    /// Seconds that went by in the shop.
    pub seconds: f64,
}

/// Plays steps; the dear laws are asked after every so many of them.
pub fn play(
    steps: impl Iterator<Item = Step>,
    store: impl Store + 'static,
    every: usize,
) -> Result<Tally, Box<Fallen>> {
    let mut sim = Sim::new(Box::new(store));
    for (n, step) in steps.enumerate() {
        let dear = n % every == every - 1;
        let held = catch_unwind(AssertUnwindSafe(|| {
            sim.carry_out(&step)?;
            sim.check(dear)
        }));
        let broken = match held {
            Ok(Ok(())) => continue,
            Ok(Err(broken)) => broken,
            Err(panic) => {
                let says = panic.downcast_ref::<String>().cloned();
                let says = says.or(panic.downcast_ref::<&str>().map(|text| (*text).to_owned()));
                Broken { law: "nothing panics", says: says.unwrap_or_default() }
            }
        };
        return Err(Box::new(Fallen { broken, done: sim.done, story: sim.story }));
    }
    Ok(sim.tally)
}

struct Sim {
    world: World,
    operator: Operator,
    store: Box<dyn Store>,
    fault: Option<Fault>,
    /// The shop after the last act that was reported as saved, and after each one since.
    marks: VecDeque<(u64, Shop)>,
    boots: u128,
    done: Vec<Step>,
    story: Story,
    tally: Tally,
}

impl Sim {
    fn new(mut store: Box<dyn Store>) -> Self {
        let world = World::new(say::station(OPENING).expect("the opening reads"));
        store.hand(world.events.clone());
        let marks = VecDeque::from([(world.shop.seq(), world.shop.clone())]);
        Self {
            world,
            operator: Operator::new(7),
            store,
            fault: None,
            marks,
            boots: 0,
            done: Vec::new(),
            story: Story::default(),
            tally: Tally::default(),
        }
    }

    fn carry_out(&mut self, step: &Step) -> Result<(), Broken> {
        self.tally.steps += 1;
        match step {
            Step::Turn => return self.turn(),
            Step::Deed(Deed::Wait(seconds)) => self.wait(f64::from(*seconds)),
            Step::Deed(deed) => {
                self.wait(0.7);
                if let Some(command) = deed.command(&self.world.shop, self.world.now) {
                    return self.say(command);
                }
            }
            Step::Say(command) => return self.say(command.clone()),
            Step::Wait(seconds) => self.wait(*seconds),
            Step::Wall(seconds) => {
                self.put_down(step);
                return self.set_wall(*seconds);
            }
            Step::Store(fault) => {
                self.put_down(step);
                self.fault = Some(*fault).filter(|fault| *fault != Fault::Heals);
                self.store.meet(*fault);
                return self.hear_store();
            }
            Step::Crash { kept } => {
                self.put_down(step);
                return self.crash(*kept);
            }
            Step::Reboot { off, unset, kept } => {
                self.put_down(step);
                self.crash(*kept)?;
                self.boots += 1;
                let off = i64::from(*off) * 1_000_000;
                let at = Wall(if *unset { 0 } else { self.world.now.at.0.saturating_add(off) });
                // A boot takes a while before the board is there.
                let boot = Boot(Boot::MADE_UP.0 + self.boots);
                self.world.now = Moment { at, boot, up: Up(20_000_000) };
            }
        }
        Ok(())
    }

    fn put_down(&mut self, step: &Step) {
        self.story.tell(step);
        self.done.push(step.clone());
    }

    fn wait(&mut self, seconds: f64) {
        self.put_down(&Step::Wait(seconds));
        self.world.wait(seconds);
        self.tally.seconds += seconds;
    }

    fn turn(&mut self) -> Result<(), Broken> {
        let now = self.world.now;
        match self.operator.turn(&self.world.shop, now) {
            Turn::Act(command) => self.say(command),
            Turn::Until(until) => {
                // What was promised before a reboot is a moment of another clock.
                let span = if until.boot == now.boot { until.since(now).seconds() } else { 1.0 };
                self.wait(span.clamp(0.1, 3600.0));
                Ok(())
            }
            Turn::Done => self.say(order(vec![line(3, "dark-cotton"), line(1, "light-cotton")])),
        }
    }

    fn say(&mut self, command: Command) -> Result<(), Broken> {
        self.story.tell_command(&command, &self.world.shop);
        self.done.push(Step::Say(command.clone()));
        match self.world.say(&command) {
            Err(refusal) => self.story.refused(&refusal),
            Ok(events) => {
                self.tally.acts += 1;
                let seq = self.world.shop.seq();
                self.story.taken(seq);
                self.marks.push_back((seq, self.world.shop.clone()));
                let undone = matches!(command, Command::Undo);
                self.store.hand(events);
                self.hear_store()?;
                if undone {
                    laws::undone_never_happened(&self.world)?;
                }
            }
        }
        Ok(())
    }

    /// The wall clock is set. What counts by the boot clock knows nothing of it.
    fn set_wall(&mut self, seconds: i64) -> Result<(), Broken> {
        let before = laws::sure_alarms(&self.world);
        let now = &mut self.world.now;
        now.at.0 = now.at.0.saturating_add(seconds * 1_000_000);
        let after = laws::sure_alarms(&self.world);
        law("no timer goes by the wall clock", before == after, || {
            format!("{before:?}, then {after:?}")
        })
    }

    /// What the store says of itself, and what it may not say.
    fn hear_store(&mut self) -> Result<(), Broken> {
        let (upto, seq) = (self.store.reported(), self.world.shop.seq());
        let saved = self.marks[0].0;
        law("what is saved is never taken back", (saved..=seq).contains(&upto), || {
            format!("saved up to {saved}, then {upto} of {seq}")
        })?;
        law("without trouble all is saved", self.fault.is_some() || upto == seq, || {
            format!("saved up to {upto} of {seq}")
        })?;
        while self.marks.get(1).is_some_and(|(seq, _)| *seq <= upto) {
            self.marks.pop_front();
        }
        law("an act is saved whole", upto == 0 || self.marks[0].0 == upto, || {
            format!("saved up to {upto}, in the midst of an act")
        })
    }

    /// The process ends, and the next one reads what the store has.
    fn crash(&mut self, kept: u8) -> Result<(), Broken> {
        let saved = self.marks[0].0;
        self.store.crash(kept);
        self.fault = None;
        let rows = self.read_store()?.unwrap_or_default();
        let seq = rows.len() as u64;
        law("what was saved is there", seq >= saved, || format!("{seq} rows, {saved} were saved"))?;
        let mark = self.marks.iter().find(|(at, _)| *at == seq);
        let Some((_, then)) = mark else {
            return law("an act is saved whole", false, || format!("{seq} rows end within an act"));
        };
        let shop = replayed(&rows);
        laws::same("after a restart the shop is as it was", &shop, then)?;
        let now = self.world.now;
        let offers = |shop: &Shop| shop.offers(&Default::default(), now);
        law(
            "after a restart the shop offers the same",
            offers(&shop) == offers(then),
            String::new,
        )?;
        self.tally.crashes += 1;
        self.tally.lost += self.marks.iter().filter(|(at, _)| *at > seq).count();
        self.story.lost_after(seq);
        self.world.events.truncate(rows.len());
        self.world.shop = shop.clone();
        self.marks = VecDeque::from([(seq, shop)]);
        self.hear_store()
    }

    /// The rows of the store, each of which is what was done.
    fn read_store(&self) -> Result<Option<Vec<Event>>, Broken> {
        let Some(read) = self.store.rows() else { return Ok(None) };
        let rows = read.map_err(|says| Broken { law: "the journal reads", says })?;
        let done = &self.world.events;
        let same =
            rows.len() <= done.len() && rows.iter().zip(done).all(|(row, event)| row == event);
        law("what is stored is what was done, once and in order", same, || {
            let first = rows.iter().zip(done).find(|(row, event)| row != event);
            format!("{} rows, {} events; the first that differ: {first:?}", rows.len(), done.len())
        })?;
        Ok(Some(rows))
    }

    fn check(&self, dear: bool) -> Result<(), Broken> {
        laws::check(&self.world)?;
        if dear {
            laws::check_dear(&self.world)?;
            self.read_store()?;
        }
        Ok(())
    }
}

/// A shop as the next start makes it: from the rows as texts.
fn replayed(rows: &[Event]) -> Shop {
    let mut shop = Shop::default();
    for event in rows {
        let body = event.fact.body().expect("a fact is written");
        let fact = dwell::shop::facts::fact::Fact::read(event.fact.kind(), &body)
            .expect("a fact reads back");
        shop.apply(&Event { fact, ..event.clone() });
    }
    shop
}
