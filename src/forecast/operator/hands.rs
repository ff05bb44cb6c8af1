//! What each pair of hands has in hand, what the printers print, and what lies out of reach of the others meanwhile.

use std::time::Duration;

use rand_distr::{Distribution, Exp, LogNormal};
use rand_pcg::Pcg64;

use crate::forecast::crew::Rests;
use crate::shop::Shop;
use crate::shop::facts::ids::{PressNo, StationId, Tag};
use crate::shop::facts::moment::Moment;
use crate::shop::facts::outage::OutOfUse;
use crate::shop::facts::trouble::{Outcome, Trouble};
use crate::shop::rules::command::{Command, Which};

/// How a rest scatters about its median, as sigma of its logarithm.
const REST_SCATTER: f64 = 0.2;

/// One pair of hands.
#[derive(Debug, Default)]
pub struct Hands {
    /// Until when they are busy, and what they state then.
    pub busy: Option<(Moment, Option<Command>)>,
    /// The press and the garment that they are at until then.
    pub press: Option<PressNo>,
    pub garment: Option<Tag>,
    /// What they take out of a press until then: nobody has it before.
    pub takes_out: Option<Tag>,
    /// How many of the common rests they have had, and when the next one of their own is.
    had: usize,
    own: Option<Moment>,
}

impl Hands {
    /// They take up a command until a moment; `states` is what they state then.
    pub fn take_up(&mut self, command: Option<&Command>, until: Moment, states: Option<Command>) {
        (self.press, self.garment) = command.map_or((None, None), subject);
        self.takes_out = None;
        self.busy = Some((until, states));
    }

    /// Whether these hands are at what a command is about.
    pub fn are_at(&self, command: &Command) -> bool {
        let (press, garment) = subject(command);
        let same = matches!(&self.busy, Some((_, Some(own))) if own == command);
        self.busy.is_some()
            && (same
                || (press.is_some() && press == self.press)
                || (garment.is_some() && garment == self.garment))
    }

    /// Whether a rest is due.
    pub fn wants_rest(
        &mut self,
        rests: &Rests,
        begins: Moment,
        now: Moment,
        rng: &mut Pcg64,
    ) -> bool {
        if self.own.is_none() {
            self.own = next_own(rests, begins, rng);
        }
        let own = self.own.is_some_and(|at| at.up <= now.up);
        own || rests.together.get(self.had).is_some_and(|(at, _)| begins.plus(*at).up <= now.up)
    }

    /// Begins the rest that is due; how long it lasts.
    pub fn rest(
        &mut self,
        rests: &Rests,
        begins: Moment,
        now: Moment,
        rng: &mut Pcg64,
    ) -> Duration {
        let together = rests.together.get(self.had).filter(|(at, _)| begins.plus(*at).up <= now.up);
        let median = match together {
            Some((_, lasts)) => {
                self.had += 1;
                *lasts
            }
            None => rests.now_and_then.map_or(Duration::ZERO, |(_, lasts)| lasts),
        };
        let factor = LogNormal::new(0.0, REST_SCATTER).map_or(1.0, |law| law.sample(rng));
        let lasts = median.mul_f64(factor);
        self.own = next_own(rests, now.plus(lasts), rng);
        lasts
    }
}

/// When somebody rests next who has worked since a moment.
fn next_own(rests: &Rests, since: Moment, rng: &mut Pcg64) -> Option<Moment> {
    let (every, _) = rests.now_and_then?;
    let law = Exp::new(1.0).ok()?;
    // Nobody rests again at once.
    Some(since.plus(every.mul_f64(0.4 + 0.6 * law.sample(rng))))
}

/// The press and the garment that a command is about.
fn subject(command: &Command) -> (Option<PressNo>, Option<Tag>) {
    match command {
        Command::Shut { press, garment, .. } => (Some(*press), Some(*garment)),
        Command::Open { press }
        | Command::SwapSheet { press }
        | Command::CheckPress { press, .. } => (Some(*press), None),
        Command::HandworkDone(Which::Tagged(garment))
        | Command::Printed(Which::Tagged(garment))
        | Command::Weigh { garment, .. }
        | Command::DeclineWeighing { garment }
        | Command::NoteTrouble { garment, .. } => (None, Some(*garment)),
        _ => (None, None),
    }
}

/// A copy of the shop in which what others have in hand is gone, the presses that they are about to shut are shut, and
/// those that they are at otherwise are nobody's.
pub fn without_what_others_have<'a>(
    shop: &Shop,
    others: impl Iterator<Item = &'a Hands>,
    now: Moment,
) -> Shop {
    let mut seen = shop.clone();
    for hands in others.filter(|hands| hands.busy.is_some()) {
        let mut state = |command: &Command| {
            // What is refused is out of reach already.
            drop(seen.act(StationId::default(), command, now));
        };
        if let Some((_, Some(shut @ Command::Shut { .. }))) = &hands.busy {
            state(shut);
            continue;
        }
        if let Some(press) = hands.press {
            state(&Command::OutOfUse { press, reason: OutOfUse::BeingCleaned });
        }
        for garment in hands.garment.into_iter().chain(hands.takes_out) {
            let (trouble, outcome) = (Trouble::Scorched, Outcome::Out);
            state(&Command::NoteTrouble { garment, trouble, outcome });
        }
    }
    seen
}

/// A print under way.
#[derive(Debug, Clone, Copy)]
struct Print {
    garment: Tag,
    until: Moment,
    /// Hands are taking it out.
    taken: bool,
}

/// What the printers print.
#[derive(Debug, Default)]
pub struct Printers {
    prints: Vec<Print>,
}

impl Printers {
    pub fn are_empty(&self) -> bool {
        self.prints.is_empty()
    }

    pub fn count(&self) -> usize {
        self.prints.len()
    }

    pub fn have(&self, garment: Tag) -> bool {
        self.prints.iter().any(|print| print.garment == garment)
    }

    /// The first that is done and that nobody takes out.
    pub fn done(&self, now: Moment) -> Option<Tag> {
        let done = |print: &&Print| !print.taken && print.until.up <= now.up;
        let print = self.prints.iter().filter(done).min_by_key(|print| print.until.up)?;
        Some(print.garment)
    }

    /// Hands have gone to take it out.
    pub fn take(&mut self, garment: Tag) {
        let own = self.prints.iter_mut().filter(|print| print.garment == garment);
        own.for_each(|print| print.taken = true);
    }

    pub fn begin(&mut self, garment: Tag, until: Moment) {
        self.prints.push(Print { garment, until, taken: false });
    }

    /// It is out.
    pub fn out(&mut self, garment: Tag) {
        self.prints.retain(|print| print.garment != garment);
    }

    /// When each that nobody takes out is done.
    pub fn ends(&self) -> impl Iterator<Item = Moment> {
        self.prints.iter().filter(|print| !print.taken).map(|print| print.until)
    }
}
