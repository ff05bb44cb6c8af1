//! Bottles: a lot is registered from its label, and the sprayer is filled from one.
//!
//! A fill is a checklist whose steps are answered by different keys, so that no finger runs through it.

use crossterm::event::{KeyCode, KeyEvent};
use tui_input::Input;

use super::{Typed, edit, field};
use crate::screen::act::{Effect, Sight};
use crate::screen::paint::Line;
use crate::screen::theme::Role;
use crate::screen::ui::Tone;
use crate::screen::words::read_weight;
use crate::shop::command::Command;
use crate::shop::fact::{LotRegistered, SprayerFilled};
use crate::shop::fluid::Contents;

const CONTENTS: [Contents; 3] = [Contents::PretreatmentFluid, Contents::Ink, Contents::Cleaner];

/// What a label says.
pub struct LotEntry {
    lot: Input,
    contents: Option<Contents>,
    best_before: Input,
    place: Input,
    field: usize,
}

impl LotEntry {
    pub fn new() -> Self {
        Self {
            lot: Input::default(),
            contents: None,
            best_before: Input::default(),
            place: Input::default(),
            field: 0,
        }
    }

    pub fn key(&mut self, key: &KeyEvent) -> Typed {
        match key.code {
            KeyCode::Char('+') => return self.submit(),
            KeyCode::Enter | KeyCode::Tab | KeyCode::Down => self.field = (self.field + 1) % 4,
            KeyCode::BackTab | KeyCode::Up => self.field = (self.field + 3) % 4,
            KeyCode::Char(digit @ '1'..='3') if self.field == 1 => {
                let place = digit.to_digit(10).and_then(|n| usize::try_from(n).ok()).unwrap_or(1);
                self.contents = CONTENTS.get(place - 1).copied();
            }
            _ => match self.field {
                0 => drop(edit(&mut self.lot, key)),
                2 => drop(edit(&mut self.best_before, key)),
                3 => drop(edit(&mut self.place, key)),
                _ => {}
            },
        }
        Typed::Open
    }

    fn submit(&mut self) -> Typed {
        let Some(contents) = self.contents else {
            self.field = 1;
            return Typed::Said(Tone::Refused, "what is in it? 1 fluid 2 ink 3 cleaner".into());
        };
        let best_before = match self.best_before.value().trim() {
            "" => None,
            text => match text.parse() {
                Ok(day) => Some(day),
                Err(wrong) => {
                    self.field = 2;
                    return Typed::Said(Tone::Refused, format!("{wrong}"));
                }
            },
        };
        if self.place.value().trim().is_empty() {
            self.field = 3;
            return Typed::Said(
                Tone::Refused,
                "where do its bottles stand? Fluid and ink apart".into(),
            );
        }
        Typed::Closed(vec![Effect::Do(Command::RegisterLot(LotRegistered {
            lot: self.lot.value().trim().to_owned(),
            contents,
            best_before,
            place: self.place.value().trim().to_owned(),
        }))])
    }

    pub fn lines(&self) -> (String, Vec<Line>) {
        let contents = self.contents.map_or("?", Contents::words);
        let lines = vec![
            field("lot", self.lot.value(), self.field == 0, "its code, typed or scanned"),
            field("contents", contents, self.field == 1, "1 pretreatment fluid 2 ink 3 cleaner"),
            field("use by", self.best_before.value(), self.field == 2, "2026-12-04, or empty"),
            field("stands in", self.place.value(), self.field == 3, "a shelf, a cupboard"),
            Line::of(Role::Strong, "+ registers it   Enter next field   Esc closes"),
            Line::of(Role::Plain, "Read it from the bottle in your hand, not from memory."),
        ];
        ("A bottle's label".into(), lines)
    }
}

/// The steps of a fill.
#[derive(Clone, Copy, PartialEq, Eq)]
enum Step {
    Lot,
    Label,
    Shaken,
    Grams,
}

/// A fill as it is answered, step by step.
pub struct FillEntry {
    lot: Input,
    grams: Input,
    step: Step,
    /// The lot's letters came as fast as no hand types them.
    scanned: bool,
    last: Option<crate::shop::moment::Moment>,
    slowest_ms: u128,
}

impl FillEntry {
    pub fn new() -> Self {
        Self {
            lot: Input::default(),
            grams: Input::default(),
            step: Step::Lot,
            scanned: false,
            last: None,
            slowest_ms: 0,
        }
    }

    pub fn key(&mut self, sight: &Sight<'_>, key: &KeyEvent) -> Typed {
        match (self.step, key.code) {
            (Step::Lot, KeyCode::Enter | KeyCode::Tab) => self.check_lot(sight),
            (Step::Lot, _) => {
                self.time(sight);
                edit(&mut self.lot, key);
                Typed::Open
            }
            (Step::Label, KeyCode::Char('p')) => {
                self.step = Step::Shaken;
                Typed::Open
            }
            (Step::Shaken, KeyCode::Char('k')) => {
                self.step = Step::Grams;
                Typed::Open
            }
            (Step::Label | Step::Shaken, _) => {
                Typed::Said(Tone::Note, "its own key answers it; Esc: do not fill".into())
            }
            (Step::Grams, KeyCode::Char('+')) => self.submit(),
            (Step::Grams, _) => {
                edit(&mut self.grams, key);
                Typed::Open
            }
        }
    }

    /// How slowly the letters of the code come: a scanner sends them within a few milliseconds.
    fn time(&mut self, sight: &Sight<'_>) {
        if let Some(last) = self.last {
            self.slowest_ms = self.slowest_ms.max(sight.now.since(last).span.as_millis());
        }
        self.last = Some(sight.now);
    }

    fn check_lot(&mut self, sight: &Sight<'_>) -> Typed {
        const SCANNERS_MS: u128 = 60;
        match sight.shop.may_fill(self.lot.value(), sight.now) {
            Ok(()) => {
                self.scanned = self.slowest_ms < SCANNERS_MS && self.lot.value().len() > 3;
                self.step = Step::Label;
                Typed::Open
            }
            // The bottle in the hand is not the one that was thought: the form goes, so that it is looked at.
            Err(refusal) => Typed::Stopped(refusal.to_string()),
        }
    }

    fn submit(&self) -> Typed {
        match read_weight(self.grams.value()) {
            Ok(grams) => Typed::Closed(vec![Effect::Do(Command::FillSprayer(SprayerFilled {
                lot: self.lot.value().trim().to_owned(),
                grams,
                scanned: self.scanned,
            }))]),
            Err(wrong) => Typed::Said(Tone::Refused, wrong.to_string()),
        }
    }

    pub fn lines(&self) -> (String, Vec<Line>) {
        let asked = |step: Step, text: &str| {
            let role = if self.step == step { Role::Chosen } else { Role::Plain };
            Line::of(role, format!(" {text} "))
        };
        let lines = vec![
            field("lot", self.lot.value(), self.step == Step::Lot, "scan or type it, then Enter"),
            asked(Step::Label, "Read it aloud: does the label say PRETREATMENT FLUID?  p it does"),
            asked(Step::Shaken, "Was the bottle shaken?  k it was"),
            field("grams", self.grams.value(), self.step == Step::Grams, "filled in, then +"),
            Line::of(Role::Abnormal, "White ink looks the same and ruins the sprayer."),
            Line::of(Role::Plain, "Only the code is checked: the bottle is yours to read."),
        ];
        ("Filling the sprayer".into(), lines)
    }
}
