//! A garment on the scale: one field for its weight.
//!
//! A scale that types ends its line with Enter, so here, and only here, Enter takes what was typed. One with a cable fills
//! the field in, and what was laid on it since the form was opened is taken once it stands still.

use crate::screen::View;
use crate::screen::input::{Key, KeyCode, Mode, Takes};

use super::Typed;
use super::cabled::Cabled;
use super::entry::{At, Entry};
use super::text::Text;
use crate::figures::units::table::Unit;
use crate::figures::units::{Grams, bounds};
use crate::screen::act::Effect;
use crate::screen::instrument::{Reading, Readings};
use crate::screen::meaning::Sight;
use crate::screen::paint::Line;
use crate::screen::theme::Role;
use crate::screen::ui::Tone;
use crate::screen::words::{is_weight, read_weight, unit_name, weight_unit};
use crate::shop::Shop;
use crate::shop::books::coats::WeightWanted;
use crate::shop::rules::command::Command;

/// The weight of one garment.
pub struct ScaleEntry {
    wanted: WeightWanted,
    before: Option<Grams>,
    /// What to do about its coat as it was weighed last, and where the scale then stops.
    mend: Option<(String, Option<Grams>)>,
    /// Of a bare number.
    unit: &'static Unit,
    input: Text,
    cabled: Cabled,
}

impl ScaleEntry {
    pub fn new(wanted: WeightWanted, shown: Option<&Reading>, shop: &Shop) -> Self {
        let weighing = shop.garment(wanted.garment).and_then(|garment| garment.weighed);
        let before = weighing.filter(|_| wanted.coated).map(|weighing| weighing.before);
        let garment = shop.garment(wanted.garment);
        let mend = garment.and_then(|garment| Some((shop.mend(garment)?, shop.stop_at(garment))));
        let mut input = Text::default();
        let cabled = Cabled::scale(Grams(bounds::GARMENT.least), shown, &mut input);
        Self { wanted, before, mend, unit: weight_unit(shop), input, cabled }
    }

    fn submit(&mut self) -> Typed {
        match read_weight(self.input.value(), self.unit) {
            Ok(grams) => {
                let garment = self.wanted.garment;
                Typed::Closed(vec![Effect::Do(Command::Weigh { garment, grams })])
            }
            Err(reason) => {
                self.input.enter();
                Typed::Said(Tone::Refused, reason.to_string())
            }
        }
    }
}

impl Entry for ScaleEntry {
    fn mode(&self) -> Mode {
        Mode::Field(Takes::Scan)
    }

    fn text(&mut self) -> Option<&mut Text> {
        Some(&mut self.input)
    }

    fn key(&mut self, _: &At<'_>, key: &Key) -> Typed {
        if !matches!(key.code, KeyCode::Enter | KeyCode::Char('+')) {
            self.input.key(key);
            return Typed::Open;
        }
        // Some scales send a sign before the figures: that one is no submission.
        if key.code == KeyCode::Char('+') && self.input.value().trim().is_empty() {
            return Typed::Open;
        }
        self.submit()
    }

    /// A scale that types has sent a weight.
    fn scan(&mut self, _: &Sight<'_>, text: &str) -> Result<Typed, &'static str> {
        if !is_weight(text) {
            return Err("a weight is wanted here");
        }
        self.input = Text::given(text.trim());
        Ok(self.submit())
    }

    fn reads(&mut self, _: &Sight<'_>, readings: &Readings) -> Typed {
        match self.cabled.weighs(readings.weight.as_ref(), &mut self.input) {
            true => self.submit(),
            false => Typed::Open,
        }
    }

    fn lines(&self, view: &View<'_>) -> (String, Vec<Line>) {
        let tag = self.wanted.garment;
        let what = if self.wanted.coated {
            format!("{tag}, sprayed, before it is dried")
        } else {
            format!("{tag}, dry, before it is sprayed")
        };
        let mut lines = vec![Line::of(Role::Strong, what)];
        if let Some(before) = self.before {
            lines.push(Line::of(
                Role::Plain,
                format!("it weighed {} before", before.told_in(self.unit)),
            ));
        }
        if let Some((advice, stop)) = &self.mend {
            lines.push(Line::of(Role::Abnormal, advice.clone()));
            let stop = stop.map(|stop| Grams(stop.0.round()).told_in(self.unit));
            let stop = stop.map(|stop| format!("with the garment that is {stop}"));
            lines.extend(stop.map(|text| Line::of(Role::Plain, text)));
        }
        lines.push(self.input.line(unit_name(self.unit), true, "152.4, or 5.4 oz; Enter"));
        lines.push(Line::of(Role::Plain, self.cabled.scale_says(view.shop)));
        ("On the scale".into(), lines)
    }
}
