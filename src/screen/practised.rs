//! What came of a practice: each thing that went otherwise than its recipe says, with its garment and with what that means
//! in the shop. It is told to whoever learns, and is no score.

use std::collections::BTreeSet;
use std::time::Duration;

use super::act::Effect;
use super::forms::Form;
use super::meaning::Sight;
use super::ui::Ui;
use crate::shop::Shop;
use crate::shop::facts::fact::{Event, Fact, PressOpened, PressShut, Timing};
use crate::shop::facts::step::Step;
use crate::shop::facts::words::counted;
use crate::shop::floor::garment::Queue;

/// One thing that went otherwise.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Otherwise {
    /// Which garment, at which step, and what: "A1-02 dry: opened early, after 16 s".
    pub what: String,
    /// What becomes of such a garment, and what helps.
    pub means: &'static str,
}

/// What came of the practice.
#[derive(Debug, Default)]
pub struct Practised {
    finished: usize,
    pressed: usize,
    in_time: usize,
    /// In the order in which it happened.
    pub otherwise: Vec<Otherwise>,
}

impl Practised {
    /// Gathers it from what was done by hand and not taken back; the shop is as it stands at the end.
    pub fn of(shop: &Shop, events: &[Event]) -> Self {
        let undone = |event: &Event| match &event.fact {
            Fact::Undone(undone) => Some(undone.undoes),
            _ => None,
        };
        let undone: BTreeSet<_> = events.iter().filter_map(undone).collect();
        let stands: Vec<&Event> =
            events.iter().filter(|event| !undone.contains(&event.act)).collect();
        let mut came = Self { finished: shop.floor().count(Queue::Finished), ..Self::default() };
        for event in &stands {
            match &event.fact {
                Fact::PressOpened(opened) => {
                    came.opened(&set_right(event, opened, &stands).unwrap_or(opened.clone()));
                }
                Fact::PressShut(shut) => came.shut(shut),
                _ => {}
            }
        }
        came
    }

    fn opened(&mut self, opened: &PressOpened) {
        self.pressed += 1;
        let after = opened.seconds.map(Duration::from_secs_f64).map_or(0, |span| span.as_secs());
        let (garment, step) = (opened.garment, opened.step);
        let (when, means) = match opened.timing {
            Timing::InTime => return self.in_time += 1,
            Timing::NotTimed => return,
            Timing::Early => ("early", early(step)),
            Timing::Late => ("late", late(step)),
        };
        let what = format!("{garment} {step}: opened {when}, after {after} s");
        self.otherwise.push(Otherwise { what, means });
    }

    fn shut(&mut self, shut: &PressShut) {
        let (garment, step) = (shut.garment, shut.step);
        let found = [
            (
                shut.past_wipe,
                "the sheet was past its wipe",
                "Fluid that baked onto the sheet comes off on the next garment, and the sheet clings. Wipe it when WIPE is \
                 called: both sides, cold, away from the press.",
            ),
            (
                shut.waited_too_long,
                "it had waited wet for too long",
                "Fluid that stands sinks in and dries unevenly, and the white shows it. Spray only what a press is free for.",
            ),
            (
                shut.set_otherwise,
                "the press was set otherwise",
                "Its heat or its pressure was not the recipe's, so what the time did to it is not known. Set the dial as NEXT \
                 says, and wait until it is there.",
            ),
        ];
        for (_, what, means) in found.into_iter().filter(|(is_so, ..)| *is_so) {
            self.otherwise.push(Otherwise { what: format!("{garment} {step}: {what}"), means });
        }
    }

    fn in_short(&self) -> String {
        format!(
            "practice: {} finished, {} in the press, {} of them opened in time",
            counted(self.finished, "garment"),
            counted(self.pressed, "time"),
            self.in_time
        )
    }

    /// For the message line, which has room for one of the things that went otherwise.
    pub fn in_a_line(&self) -> String {
        let mut line = self.in_short();
        line.extend(self.otherwise.first().map(|first| format!("; {}", first.what)));
        if self.otherwise.len() > 1 {
            line += &format!(", and {} more", self.otherwise.len() - 1);
        }
        line
    }

    /// For a terminal that the board has given back.
    pub fn lines(&self) -> Vec<String> {
        let mut lines = vec![self.in_short()];
        for one in &self.otherwise {
            lines.push(format!("  {}", one.what));
            lines.push(format!("      {}", one.means));
        }
        if self.pressed > 0 && self.otherwise.is_empty() {
            lines.push("  nothing early, nothing late, no sheet past its wipe".to_owned());
        }
        lines
    }
}

// From memory, as what the recipes' times are for.
fn early(step: Step) -> &'static str {
    match step {
        Step::Cure => {
            "Ink that is not cured washes out, weeks later and at the customer's. In the shop it goes back under the press \
             at once, as the ink's data sheet says."
        }
        Step::Dry => {
            "Water is left in the coat, and white that lies on it comes off in the wash. In the shop it is dried again \
             before it costs ink: LOAD offers it."
        }
        _ => {
            "Moisture is left in the cloth: the scale shows it as coat, and the fibres do not lie flat. Wait until OPEN is \
             called."
        }
    }
}

fn late(step: Step) -> &'static str {
    match step {
        Step::Cure => {
            "Heat past the longest time can turn cloth yellow and a print brittle. Look at it, and put nothing else first when \
             OPEN is called."
        }
        Step::Dry => {
            "Heat past the longest time marks the cloth and spoils the coat. Look at it before it costs ink; . says what is \
             wrong with it."
        }
        _ => {
            "Heat past the longest time can scorch cloth or leave the platen's edge on it. Look at it before it is sprayed."
        }
    }
}

/// An opening as its time was set right afterwards; None where it was not.
fn set_right(event: &Event, opened: &PressOpened, all: &[&Event]) -> Option<PressOpened> {
    let corrected = all.iter().rev().find_map(|later| match &later.fact {
        Fact::TimeCorrected(time)
            if time.corrects == event.act && time.garment == opened.garment =>
        {
            Some(time)
        }
        _ => None,
    })?;
    let timing = corrected.timing.unwrap_or(Timing::NotTimed);
    Some(PressOpened { seconds: corrected.seconds, timing, ..opened.clone() })
}

/// Leaves the board; a practice in which something went otherwise says that first.
pub fn leave(ui: &mut Ui, sight: &Sight<'_>) -> Vec<Effect> {
    let came = ui.practice.map(|_| Practised::of(sight.shop, &ui.practised));
    match came.filter(|came| !came.otherwise.is_empty()) {
        Some(came) => ui.opens(Form::practised(came, sight.now)),
        None => vec![Effect::Leave],
    }
}
