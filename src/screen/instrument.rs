//! What a scale or a probe with a cable shows, and how it comes into a form's field.

use super::act::{Effect, settle};
use super::meaning::Sight;
use super::ui::{Standing, Ui};
use crate::shop::facts::station::Shows;

/// What an instrument shows at the moment.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Reading {
    /// As a person would type it: "152.4 g".
    pub text: String,
    /// Whether it stands still.
    pub steady: bool,
}

/// What the instruments show; None where nothing came from one lately.
#[derive(Debug, Clone, Default)]
pub struct Readings {
    pub weight: Option<Reading>,
    pub heat: Option<Reading>,
}

impl Readings {
    fn of(&mut self, shows: Shows) -> &mut Option<Reading> {
        match shows {
            Shows::Weight => &mut self.weight,
            Shows::Heat => &mut self.heat,
        }
    }
}

/// An instrument shows something else than before. Only a form that asks for it takes it.
pub fn reads(
    ui: &mut Ui,
    sight: &Sight<'_>,
    shows: Shows,
    reading: Option<Reading>,
) -> Vec<Effect> {
    *ui.readings.of(shows) = reading;
    if ui.standing != Standing::Writes {
        return Vec::new();
    }
    let Some(mut form) = ui.form.take() else { return Vec::new() };
    let typed = form.reads(sight, &ui.readings);
    settle(ui, sight, form, typed)
}
