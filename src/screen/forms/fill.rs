//! The sprayer is filled: a checklist whose steps are answered by different keys, so that no finger runs through it.
//!
//! ```text
//!  lot           F-118
//!  Read it aloud: does the label say PRETREATMENT FLUID?  7 it does
//!  Was the bottle shaken?  9 it was
//!  grams        [400]  filled in, then +; Enter what fluid it is
//!  fluid         dark  1 dark 2 light 3 polyester
//!  thinned       1:1   fluid and water
//!  mixed on      2026-03-02
//! ```
//!
//! What fluid it is stands as it was answered last: who has nothing else to say fills with the keys of before.

use crate::screen::input::{Key, KeyCode, Mode, Takes};

use super::entry::{At, Entry};
use super::text::Text;
use super::{Typed, field, place};
use crate::screen::View;
use crate::screen::act::Effect;
use crate::screen::meaning::Sight;
use crate::screen::paint::Line;
use crate::screen::theme::Role;
use crate::screen::ui::Tone;
use crate::screen::words::{is_weight, read_weight, unit_name, weight_unit};
use crate::shop::facts::day::Day;
use crate::shop::facts::fact::SprayerFilled;
use crate::shop::facts::mixture::{Dilution, FluidKind, Mixture};
use crate::shop::rules::command::{Command, Refusal};
use jiff::ToSpan;

const KINDS_HINT: &str = "1 dark 2 light 3 polyester; 0 not said";
/// Days back that the list of the day of mixing offers.
const DAYS: i32 = 9;

/// The steps of a fill.
#[derive(Clone, Copy, PartialEq, Eq)]
enum Step {
    Lot,
    Label,
    Shaken,
    Grams,
    Kind,
    Dilution,
    Mixed,
}

impl Step {
    /// Where Enter leads from one of the last four, and where `/` leads back.
    fn next(self) -> Self {
        match self {
            Step::Grams => Step::Kind,
            Step::Kind => Step::Dilution,
            Step::Dilution => Step::Mixed,
            _ => Step::Grams,
        }
    }

    fn before(self) -> Self {
        match self {
            Step::Mixed => Step::Dilution,
            Step::Dilution => Step::Kind,
            Step::Kind => Step::Grams,
            _ => Step::Lot,
        }
    }
}

/// A fill as it is answered, step by step.
pub struct FillEntry {
    lot: Text,
    grams: Text,
    step: Step,
    /// The lot as it was scanned; typed over, it is one that was typed.
    scanned: Option<String>,
    kind: Option<FluidKind>,
    dilution: Text,
    mixed: Text,
}

impl FillEntry {
    pub fn new() -> Self {
        Self {
            lot: Text::default(),
            grams: Text::default(),
            step: Step::Lot,
            scanned: None,
            kind: None,
            dilution: Text::default(),
            mixed: Text::default(),
        }
    }

    fn check_lot(&mut self, sight: &Sight<'_>) -> Typed {
        match sight.shop.may_fill(self.lot.value(), sight.now) {
            Ok(()) => {
                self.step = Step::Label;
                self.offer(sight.shop.supplies().offered(self.lot.trimmed()));
                Typed::Open
            }
            // It goes no further than this bottle: the next code takes the place of this one.
            Err(refusal) => {
                self.refuse(&refusal);
                Typed::Said(Tone::Stop, refusal.to_string())
            }
        }
    }

    /// Fills in what was answered last.
    fn offer(&mut self, fluid: Mixture) {
        self.kind = fluid.kind;
        let given = |text: Option<String>| text.map(Text::given).unwrap_or_default();
        self.dilution = given(fluid.dilution.map(|dilution| dilution.to_string()));
        self.mixed = given(fluid.mixed.map(|day| day.to_string()));
    }

    fn refuse(&mut self, refusal: &Refusal) {
        if matches!(refusal, Refusal::NoFill(_)) {
            return self.go_on_at(Step::Grams);
        }
        self.go_on_at(Step::Lot);
    }

    fn go_on_at(&mut self, step: Step) {
        self.step = step;
        if let Some(text) = self.text() {
            text.enter();
        }
    }

    /// What was said of the fluid; else the step that does not read, and why.
    fn fluid(&self) -> Result<Option<Mixture>, (Step, String)> {
        let said = |text: &Text| Some(text.trimmed().to_owned()).filter(|text| !text.is_empty());
        let dilution = said(&self.dilution).map(|text| text.parse::<Dilution>()).transpose();
        let mixed = said(&self.mixed).map(|text| text.parse::<Day>()).transpose();
        let dilution = dilution.map_err(|wrong| (Step::Dilution, wrong.to_string()))?;
        let mixed = mixed.map_err(|wrong| (Step::Mixed, wrong.to_string()))?;
        let fluid = Mixture { kind: self.kind, dilution, mixed };
        Ok((!fluid.is_unsaid()).then_some(fluid))
    }

    fn submit(&mut self, sight: &Sight<'_>) -> Typed {
        let grams = match read_weight(self.grams.value(), weight_unit(sight.shop)) {
            Ok(grams) => grams,
            Err(wrong) => {
                self.go_on_at(Step::Grams);
                return Typed::Said(Tone::Refused, wrong.to_string());
            }
        };
        let fluid = match self.fluid() {
            Ok(fluid) => fluid,
            Err((step, wrong)) => {
                self.go_on_at(step);
                return Typed::Said(Tone::Refused, wrong);
            }
        };
        Typed::Closed(vec![Effect::Do(Command::FillSprayer(SprayerFilled {
            lot: self.lot.trimmed().to_owned(),
            grams,
            over: None,
            scanned: self.scanned.as_deref() == Some(self.lot.trimmed()),
            fluid,
        }))])
    }

    /// A key of one of the last four steps.
    fn last_key(&mut self, sight: &Sight<'_>, key: &Key) -> Typed {
        match (self.step, key.code) {
            (_, KeyCode::Char('+')) => return self.submit(sight),
            (step, KeyCode::Enter | KeyCode::Tab) => self.go_on_at(step.next()),
            (step, KeyCode::BackTab) => self.go_on_at(step.before()),
            (Step::Kind, KeyCode::Char('0')) => self.kind = None,
            (Step::Kind, KeyCode::Char(digit)) => {
                match place(digit).and_then(|place| FluidKind::ALL.get(place)) {
                    Some(kind) => self.kind = Some(*kind),
                    None => return Typed::Said(Tone::Refused, KINDS_HINT.into()),
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
}

impl Entry for FillEntry {
    fn mode(&self) -> Mode {
        match self.step {
            Step::Lot | Step::Grams => Mode::Field(Takes::Scan),
            Step::Label | Step::Shaken => Mode::Lists,
            Step::Kind => Mode::Field(Takes::Figures),
            Step::Dilution | Step::Mixed => Mode::Field(Takes::Text),
        }
    }

    fn text(&mut self) -> Option<&mut Text> {
        match self.step {
            Step::Lot => Some(&mut self.lot),
            Step::Grams => Some(&mut self.grams),
            Step::Dilution => Some(&mut self.dilution),
            Step::Mixed => Some(&mut self.mixed),
            Step::Label | Step::Shaken | Step::Kind => None,
        }
    }

    fn field_name(&self) -> &'static str {
        if self.step == Step::Mixed { "mixed on" } else { "thinned" }
    }

    /// The usual ways to thin a fluid, and the last days.
    fn list(&self, sight: &Sight<'_>) -> Option<Vec<String>> {
        match self.step {
            Step::Dilution => Some(["none", "1:1", "1:2", "1:3", "2:1"].map(str::to_owned).into()),
            Step::Mixed => {
                let today = sight.shop.today(sight.now).0;
                let back = |days: i32| Some(Day(today.checked_sub(days.days()).ok()?).to_string());
                Some((0..DAYS).filter_map(back).collect())
            }
            _ => None,
        }
    }

    /// `/` goes back from what fluid it is to the grams: it leaves only in an empty lot.
    fn erase(&mut self, _: &At<'_>) -> Typed {
        if self.text().is_some_and(Text::erase) {
            return Typed::Open;
        }
        match self.step {
            Step::Lot => Typed::Left,
            step => {
                self.go_on_at(step.before());
                Typed::Open
            }
        }
    }

    fn key(&mut self, at: &At<'_>, key: &Key) -> Typed {
        let sight = at.sight;
        match (self.step, key.code) {
            (Step::Lot, KeyCode::Enter | KeyCode::Tab) => self.check_lot(sight),
            (Step::Lot, _) => {
                self.lot.key(key);
                Typed::Open
            }
            (Step::Label, KeyCode::Char('7' | 'p')) => {
                self.step = Step::Shaken;
                Typed::Open
            }
            (Step::Shaken, KeyCode::Char('9' | 'k')) => {
                self.step = Step::Grams;
                Typed::Open
            }
            (Step::Label | Step::Shaken, KeyCode::Char('/')) => {
                self.go_on_at(Step::Lot);
                Typed::Open
            }
            (Step::Label | Step::Shaken, _) => {
                Typed::Said(Tone::Note, "its own key answers it; / back to the lot".into())
            }
            _ => self.last_key(sight, key),
        }
    }

    /// A lot's code from the bottle, or what a scale sent of it: that is read before it is taken in.
    fn scan(&mut self, sight: &Sight<'_>, text: &str) -> Result<Typed, &'static str> {
        match self.step {
            Step::Lot => {
                self.lot = Text::given(text.trim());
                self.scanned = Some(self.lot.trimmed().to_owned());
                Ok(self.check_lot(sight))
            }
            Step::Grams if is_weight(text) => {
                self.grams = Text::given(text.trim());
                Ok(Typed::Open)
            }
            _ => Err("no field here asks for it"),
        }
    }

    fn refused(&mut self, refusal: &Refusal) {
        self.refuse(refusal);
    }

    fn lines(&self, view: &View<'_>) -> (String, Vec<Line>) {
        let asked = |step: Step, text: &str| {
            let role = if self.step == step { Role::Chosen } else { Role::Plain };
            Line::of(role, format!(" {text} "))
        };
        let mut lines = vec![
            self.lot.line("lot", self.step == Step::Lot, "scan or type it, then Enter"),
            asked(Step::Label, "Read it aloud: does the label say PRETREATMENT FLUID?  7 it does"),
            asked(Step::Shaken, "Was the bottle shaken?  9 it was"),
            self.grams.line(
                unit_name(weight_unit(view.shop)),
                self.step == Step::Grams,
                "filled in, then +",
            ),
        ];
        // What fluid it is comes up once the bottle is known.
        if !matches!(self.step, Step::Lot | Step::Label | Step::Shaken) {
            let kind = self.kind.map_or("?", FluidKind::words);
            lines.extend([
                field("fluid", kind, self.step == Step::Kind, KINDS_HINT),
                self.dilution.line("thinned", self.step == Step::Dilution, "1:1, none; . a list"),
                self.mixed.line("mixed on", self.step == Step::Mixed, "a day; . a list"),
                Line::of(Role::Plain, "Enter what fluid it is   + fill   / back"),
            ]);
        }
        lines.extend([
            Line::of(Role::Abnormal, "White ink looks the same and ruins the sprayer."),
            Line::of(Role::Plain, "Only the code is checked: the bottle is yours to read."),
        ]);
        ("Filling the sprayer".into(), lines)
    }
}
