//! Bottles: a lot is registered from its label.

use jiff::civil::Date;

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
use crate::shop::facts::bottle::Contents;
use crate::shop::facts::day::Day;
use crate::shop::facts::fact::LotRegistered;
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

    /// When it is to be used up, as bottles carry it: a day, or a month of which it is the last.
    fn best_before(&self) -> Result<Option<Day>, String> {
        match self.best_before.trimmed() {
            "" => Ok(None),
            text => use_by(text).map(|day| Some(Day(day))),
        }
    }

    fn submit(&mut self) -> Typed {
        let Some(contents) = self.contents else {
            self.go_to(1);
            return Typed::Said(Tone::Refused, format!("what is in it? {CONTENTS_HINT}"));
        };
        let best_before = match self.best_before() {
            Ok(day) => day,
            Err(wrong) => {
                self.go_to(2);
                return Typed::Said(Tone::Refused, wrong);
            }
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
}

impl Entry for LotEntry {
    fn mode(&self) -> Mode {
        Mode::Field(match self.field {
            0 => Takes::Scan,
            1 => Takes::Figures,
            _ => Takes::Text,
        })
    }

    fn fields(&self) -> usize {
        4
    }

    fn here(&self) -> usize {
        self.field
    }

    fn choose_field(&mut self, field: usize) {
        self.field = field;
    }

    fn text(&mut self) -> Option<&mut Text> {
        match self.field {
            0 => Some(&mut self.lot),
            2 => Some(&mut self.best_before),
            3 => Some(&mut self.place),
            _ => None,
        }
    }

    fn field_name(&self) -> &'static str {
        "stands in"
    }

    /// The places where bottles stand already.
    fn list(&self, sight: &Sight<'_>) -> Option<Vec<String>> {
        if self.field != 3 {
            return None;
        }
        let mut places: Vec<String> = Vec::new();
        for lot in sight.shop.supplies().lots.values() {
            if !places.contains(&lot.place) {
                places.push(lot.place.clone());
            }
        }
        Some(places)
    }

    fn key(&mut self, _: &At<'_>, key: &Key) -> Typed {
        match key.code {
            KeyCode::Char('+') => return self.submit(),
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

    /// The lot's code was scanned.
    fn scan(&mut self, _: &Sight<'_>, text: &str) -> Result<Typed, &'static str> {
        if self.field != 0 {
            return Err("no field here asks for it");
        }
        self.lot = Text::given(text.trim());
        self.go_to(1);
        Ok(Typed::Open)
    }

    fn refused(&mut self, refusal: &Refusal) {
        self.go_to(match refusal {
            Refusal::SamePlace { .. } | Refusal::NoPlaceForLot(_) => 3,
            _ => 0,
        });
    }

    fn lines(&self, _: &View<'_>) -> (String, Vec<Line>) {
        let contents = self.contents.map_or("?", Contents::words);
        let by = match self.best_before() {
            Ok(Some(day)) => format!("read as {day}"),
            _ => "2027-03 or 2027-03-31, or empty".to_owned(),
        };
        let lines = vec![
            self.lot.line("lot", self.field == 0, "its code, typed or scanned"),
            field("contents", contents, self.field == 1, CONTENTS_HINT),
            self.best_before.line("use by", self.field == 2, &by),
            self.place.line("stands in", self.field == 3, "a shelf, a cupboard"),
            Line::of(Role::Strong, "+ register it   Enter next field   / back"),
            Line::of(Role::Plain, "Read it from the bottle in your hand, not from memory."),
        ];
        ("A bottle's label".into(), lines)
    }
}

/// Reads a date as bottles carry it: "2027-03-31", or "2027-03" for the last day of that month.
fn use_by(text: &str) -> Result<Date, String> {
    let wrong = || {
        let found = crate::shop::facts::words::clean(text, 20);
        format!("found \"{found}\", expected a date such as \"2027-03-31\" or \"2027-03\"")
    };
    let figures = text.chars().all(|letter| letter.is_ascii_digit() || letter == '-');
    let day = match text.split('-').count() {
        2 if figures => format!("{text}-01").parse::<Date>().map(Date::last_of_month),
        _ => text.parse::<Date>(),
    };
    day.map_err(|_| wrong())
}
