//! Bottles: a lot is registered from its label, and the sprayer is filled from one.
//!
//! A fill is a checklist whose steps are answered by different keys, so that no finger runs through it.

use crate::screen::input::{Key, KeyCode, Mode, Takes};

use super::text::Text;
use super::{Typed, field, place};
use crate::screen::View;
use crate::screen::act::{Effect, Sight};
use crate::screen::paint::Line;
use crate::screen::theme::Role;
use crate::screen::ui::Tone;
use crate::screen::words::{read_weight, unit_name, weight_unit};
use crate::shop::Shop;
use crate::shop::facts::bottle::Contents;
use crate::shop::facts::fact::{LotRegistered, SprayerFilled};
use crate::shop::rules::command::{Command, Refusal};

const CONTENTS: [Contents; 3] = [Contents::PretreatmentFluid, Contents::Ink, Contents::Cleaner];

const CONTENTS_HINT: &str = "1 pretreatment fluid 2 ink 3 cleaner";

/// What a label says.
pub struct LotEntry {
    lot: Text,
    contents: Option<Contents>,
    best_before: Text,
    place: Text,
    field: usize,
}

impl LotEntry {
    pub fn new() -> Self {
        Self {
            lot: Text::default(),
            contents: None,
            best_before: Text::default(),
            place: Text::default(),
            field: 0,
        }
    }

    pub fn key(&mut self, key: &Key) -> Typed {
        match key.code {
            KeyCode::Char('+') => return self.submit(),
            KeyCode::Enter | KeyCode::Tab | KeyCode::Down => self.go_to((self.field + 1) % 4),
            KeyCode::BackTab | KeyCode::Up => self.go_to((self.field + 3) % 4),
            KeyCode::Char(digit @ '0'..='9') if self.field == 1 => {
                match place(digit).and_then(|place| CONTENTS.get(place)) {
                    Some(contents) => self.contents = Some(*contents),
                    None => return Typed::Said(Tone::Refused, CONTENTS_HINT.into()),
                }
            }
            _ => {
                if let Some(text) = self.text() {
                    text.key(key);
                }
            }
        }
        Typed::Open
    }

    /// What the field takes that the cursor is in.
    pub fn takes(&self) -> Takes {
        match self.field {
            0 => Takes::Scan,
            1 => Takes::Figures,
            _ => Takes::Text,
        }
    }

    /// The lot's code was scanned.
    pub fn scan(&mut self, text: &str) -> Typed {
        self.lot = Text::given(text.trim());
        self.go_to(1);
        Typed::Open
    }

    fn text(&mut self) -> Option<&mut Text> {
        match self.field {
            0 => Some(&mut self.lot),
            2 => Some(&mut self.best_before),
            3 => Some(&mut self.place),
            _ => None,
        }
    }

    fn go_to(&mut self, field: usize) {
        self.field = field;
        if let Some(text) = self.text() {
            text.enter();
        }
    }

    pub fn refused(&mut self, refusal: &Refusal) {
        self.go_to(match refusal {
            Refusal::SamePlace { .. } | Refusal::NoPlaceForLot(_) => 3,
            _ => 0,
        });
    }

    fn submit(&mut self) -> Typed {
        let Some(contents) = self.contents else {
            self.go_to(1);
            return Typed::Said(Tone::Refused, format!("what is in it? {CONTENTS_HINT}"));
        };
        let best_before = match self.best_before.trimmed() {
            "" => None,
            text => match text.parse() {
                Ok(day) => Some(day),
                Err(wrong) => {
                    self.go_to(2);
                    return Typed::Said(Tone::Refused, format!("{wrong}"));
                }
            },
        };
        if self.place.trimmed().is_empty() {
            self.go_to(3);
            return Typed::Said(
                Tone::Refused,
                "where do its bottles stand? Fluid and ink apart".into(),
            );
        }
        Typed::Closed(vec![Effect::Do(Command::RegisterLot(LotRegistered {
            lot: self.lot.trimmed().to_owned(),
            contents,
            best_before,
            place: self.place.trimmed().to_owned(),
        }))])
    }

    pub fn lines(&self) -> (String, Vec<Line>) {
        let contents = self.contents.map_or("?", Contents::words);
        let lines = vec![
            self.lot.line("lot", self.field == 0, "its code, typed or scanned"),
            field("contents", contents, self.field == 1, CONTENTS_HINT),
            self.best_before.line("use by", self.field == 2, "2026-12-04, or empty"),
            self.place.line("stands in", self.field == 3, "a shelf, a cupboard"),
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
    lot: Text,
    grams: Text,
    step: Step,
    /// The lot as it was scanned; typed over, it is one that was typed.
    scanned: Option<String>,
}

impl FillEntry {
    pub fn new() -> Self {
        Self { lot: Text::default(), grams: Text::default(), step: Step::Lot, scanned: None }
    }

    pub fn key(&mut self, sight: &Sight<'_>, key: &Key) -> Typed {
        match (self.step, key.code) {
            (Step::Lot, KeyCode::Enter | KeyCode::Tab) => self.check_lot(sight),
            (Step::Lot, _) => {
                self.lot.key(key);
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
            (Step::Grams, KeyCode::Char('+')) => self.submit(sight.shop),
            (Step::Grams, _) => {
                self.grams.key(key);
                Typed::Open
            }
        }
    }

    /// What the keys are for at the step that it stands at.
    pub fn mode(&self) -> Mode {
        match self.step {
            Step::Lot | Step::Grams => Mode::Field(Takes::Scan),
            Step::Label | Step::Shaken => Mode::Acts,
        }
    }

    pub fn wants_lot(&self) -> bool {
        self.step == Step::Lot
    }

    pub fn wants_grams(&self) -> bool {
        self.step == Step::Grams
    }

    /// The lot's code was scanned from the bottle.
    pub fn scan_lot(&mut self, sight: &Sight<'_>, text: &str) -> Typed {
        self.lot = Text::given(text.trim());
        self.scanned = Some(self.lot.trimmed().to_owned());
        self.check_lot(sight)
    }

    /// A scale has sent what was filled in: it is read before it is taken in.
    pub fn scan_grams(&mut self, text: &str) -> Typed {
        self.grams = Text::given(text.trim());
        Typed::Open
    }

    fn check_lot(&mut self, sight: &Sight<'_>) -> Typed {
        match sight.shop.may_fill(self.lot.value(), sight.now) {
            Ok(()) => {
                self.step = Step::Label;
                Typed::Open
            }
            // It goes no further than this bottle: the next code takes the place of this one.
            Err(refusal) => {
                self.refused(&refusal);
                Typed::Said(Tone::Stop, refusal.to_string())
            }
        }
    }

    pub fn refused(&mut self, refusal: &Refusal) {
        if matches!(refusal, Refusal::NoFill(_)) {
            return self.grams.enter();
        }
        self.step = Step::Lot;
        self.lot.enter();
    }

    fn submit(&mut self, shop: &Shop) -> Typed {
        match read_weight(self.grams.value(), weight_unit(shop)) {
            Ok(grams) => Typed::Closed(vec![Effect::Do(Command::FillSprayer(SprayerFilled {
                lot: self.lot.trimmed().to_owned(),
                grams,
                over: None,
                scanned: self.scanned.as_deref() == Some(self.lot.trimmed()),
            }))]),
            Err(wrong) => {
                self.grams.enter();
                Typed::Said(Tone::Refused, wrong.to_string())
            }
        }
    }

    pub fn lines(&self, view: &View<'_>) -> (String, Vec<Line>) {
        let asked = |step: Step, text: &str| {
            let role = if self.step == step { Role::Chosen } else { Role::Plain };
            Line::of(role, format!(" {text} "))
        };
        let lines = vec![
            self.lot.line("lot", self.step == Step::Lot, "scan or type it, then Enter"),
            asked(Step::Label, "Read it aloud: does the label say PRETREATMENT FLUID?  p it does"),
            asked(Step::Shaken, "Was the bottle shaken?  k it was"),
            self.grams.line(
                unit_name(weight_unit(view.shop)),
                self.step == Step::Grams,
                "filled in, then +",
            ),
            Line::of(Role::Abnormal, "White ink looks the same and ruins the sprayer."),
            Line::of(Role::Plain, "Only the code is checked: the bottle is yours to read."),
        ];
        ("Filling the sprayer".into(), lines)
    }
}
