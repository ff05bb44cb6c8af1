//! A field that a scale or a probe with a cable fills in: with what stands still, and never over what hands have typed.

use super::text::Text;
use crate::figures::units::Grams;
use crate::figures::units::table::GRAM;
use crate::screen::instrument::Reading;
use crate::screen::words::read_weight;
use crate::shop::Shop;

/// What the instrument shows, and what of that stands in the field.
pub struct Cabled {
    shown: Option<Reading>,
    filled: Option<String>,
    /// What lies on the scale was laid there since the form was opened.
    fresh: bool,
    /// Less is an empty scale.
    least: Grams,
}

impl Cabled {
    /// A scale on which something of at least `least` is weighed; what lies there already is for Enter to take.
    pub fn scale(least: Grams, shown: Option<&Reading>, input: &mut Text) -> Self {
        let mut cabled = Self { shown: None, filled: None, fresh: shown.is_none(), least };
        cabled.weighs(shown, input);
        cabled
    }

    /// A probe.
    pub fn probe() -> Self {
        Self { shown: None, filled: None, fresh: false, least: Grams(0.0) }
    }

    /// The scale shows something else; whether that is a weight to be taken now.
    pub fn weighs(&mut self, shown: Option<&Reading>, input: &mut Text) -> bool {
        self.shown = shown.cloned();
        let light = shown.is_some_and(|reading| self.is_light(reading));
        self.fresh |= light;
        let steady = shown.filter(|reading| reading.steady && !light);
        self.fill(steady, input) && std::mem::take(&mut self.fresh)
    }

    /// The probe shows something else.
    pub fn heats(&mut self, shown: Option<&Reading>, input: &mut Text) {
        self.shown = shown.cloned();
        let steady = shown.filter(|reading| reading.steady);
        // What it showed at the place before says nothing of this one.
        self.fresh |= steady.is_none();
        // Drawn away before its Enter is heard, it has shown what it was held to.
        if self.fresh && steady.is_some() {
            self.fill(steady, input);
        }
    }

    /// The cursor has come to another field: what the probe shows there is still to come.
    pub fn moved(&mut self) {
        self.filled = None;
        self.fresh = false;
    }

    /// Puts what stands still into the field, or takes out what does no longer; whether that is news. What hands have
    /// typed stays, and what they have erased does not come back.
    fn fill(&mut self, steady: Option<&Reading>, input: &mut Text) -> bool {
        let typed = !input.value().is_empty() && self.filled.as_deref() != Some(input.value());
        match steady {
            _ if typed => false,
            Some(reading) if self.filled.as_ref() == Some(&reading.text) => false,
            Some(reading) => {
                *input = Text::given(reading.text.clone());
                self.filled = Some(reading.text.clone());
                true
            }
            None => {
                if self.filled.take().is_some() {
                    *input = Text::default();
                }
                false
            }
        }
    }

    fn is_light(&self, reading: &Reading) -> bool {
        read_weight(&reading.text, &GRAM).is_ok_and(|grams| grams < self.least)
    }

    /// What the scale shows, in a sentence; what to do where it has no cable.
    pub fn scale_says(&self, shop: &Shop) -> String {
        if shop.station().is_none_or(|station| station.scale.is_none()) {
            return "a scale that types fills this in by itself".into();
        }
        match &self.shown {
            None => "nothing comes from the scale: switch it on, or type the weight".into(),
            Some(reading) if self.is_light(reading) => {
                format!("the scale shows {}: lay the garment on it", reading.text)
            }
            Some(reading) if reading.steady => {
                format!("the scale shows {}, steady: Enter takes it", reading.text)
            }
            Some(reading) => format!("the scale shows {}, still moving", reading.text),
        }
    }

    /// What the probe shows, in a sentence; None where it has no cable.
    pub fn probe_says(&self, shop: &Shop) -> Option<String> {
        shop.station()?.probe.as_ref()?;
        // Short enough for a column of the strip.
        Some(match &self.shown {
            None => "nothing comes from the probe".into(),
            Some(reading) if !reading.steady => {
                format!("the probe: {}, still moving", reading.text)
            }
            Some(reading) if self.filled.as_ref() == Some(&reading.text) => {
                format!("the probe: {}, steady; Enter", reading.text)
            }
            Some(reading) => format!("the probe: {}; next place", reading.text),
        })
    }
}
