//! The station: its presses, its sheets and its habits, as the profile `station.ron` states them.

use std::collections::BTreeMap;

use serde::{Deserialize, Serialize};

use super::ids::{PressNo, StationId};
use super::step::{Pressure, Step};
use crate::figures::units::{Rectangle, Temperature};

/// The most presses a station can have: one to each digit key.
pub const MOST_PRESSES: usize = 9;

/// Everything that `station.ron` may say.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Station {
    /// Short name, the first part of every tag.
    #[serde(default)]
    pub id: StationId,
    pub name: String,
    pub presses: Vec<PressProfile>,
    pub sheet: SheetRule,
    /// Program and arguments that make a sound, run without a shell. None: the terminal's bell.
    #[serde(default)]
    pub sounder: Option<Vec<String>>,
    /// Keys that differ from the defaults, by the name of what they do.
    #[serde(default)]
    pub keys: BTreeMap<String, Vec<String>>,
    /// How sprayed garments wait for the dryer.
    #[serde(default)]
    pub wet_garments: WetGarments,
    /// The character that the barcode scanner sends before a tag; None: scans are told by their speed.
    #[serde(default)]
    pub scanner_prefix: Option<char>,
    /// The shop's time zone, "Europe/Lisbon" say. None: the machine's.
    #[serde(default)]
    pub time_zone: Option<String>,
}

/// One heat press.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct PressProfile {
    pub name: String,
    /// What the dial shows; the platen itself may differ.
    pub dial: Temperature,
    #[serde(default)]
    pub pressure: Pressure,
    /// The platen. None: everything fits.
    #[serde(default)]
    pub size: Option<Rectangle>,
    /// The steps that this press is used for.
    #[serde(default = "all_pressed_steps")]
    pub uses: Vec<Step>,
    /// Whether it opens by itself when its time is up.
    #[serde(default)]
    pub opens_itself: bool,
}

fn all_pressed_steps() -> Vec<Step> {
    vec![Step::PrePress, Step::Dry, Step::Cure]
}

/// When a cover sheet wants its wipe, counted in presses under fluid.
///
/// Ten to twelve is common practice of the trade, no source.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct SheetRule {
    pub wipe_at: u32,
    pub wipe_by: u32,
    /// Clean PTFE sheets that lie ready beside the presses' own.
    #[serde(default = "one")]
    pub spare: u32,
}

fn one() -> u32 {
    1
}

/// How sprayed garments wait: touching ones spoil sooner.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default, Serialize, Deserialize)]
pub enum WetGarments {
    #[default]
    Touching,
    HungApart,
}

/// What makes no sense in a profile or an order that could be read.
#[derive(Debug, Clone, PartialEq, thiserror::Error)]
#[error("{field}: {reason}")]
pub struct Senseless {
    /// Where it stands, as a path of field names.
    pub field: String,
    /// What is wrong and what would be right.
    pub reason: String,
}

impl Senseless {
    /// Names the field and the reason.
    pub fn new(field: impl Into<String>, reason: impl Into<String>) -> Self {
        Self { field: field.into(), reason: reason.into() }
    }
}

/// Whether a dial can stand there at all: 60 to 230 C, wider than any fabric or ink wants.
///
/// # Errors
/// A heat outside that, with the name of its field.
pub fn check_heat(field: &str, heat: Temperature) -> Result<(), Senseless> {
    if (60.0..=230.0).contains(&heat.as_celsius()) {
        return Ok(());
    }
    let reason = format!("{heat} is no heat for a press: expected 140 F to 446 F (60 C to 230 C)");
    Err(Senseless::new(field, reason))
}

impl Station {
    /// The profile of a press, if the station has one with that number.
    pub fn press(&self, no: PressNo) -> Option<&PressProfile> {
        self.presses.get(usize::from(no.0).checked_sub(1)?)
    }

    /// The numbers of all presses, in order.
    pub fn press_numbers(&self) -> impl Iterator<Item = PressNo> + use<> {
        (1..=self.presses.len().min(MOST_PRESSES)).filter_map(|n| u8::try_from(n).ok()).map(PressNo)
    }

    /// Takes control characters out of every text.
    pub fn cleaned(mut self) -> Self {
        self.name = super::words::clean(&self.name, 40);
        for press in &mut self.presses {
            press.name = super::words::clean(&press.name, 16);
        }
        self
    }

    /// Whether the profile makes sense.
    ///
    /// # Errors
    /// The first field that does not, with the reason.
    pub fn check(&self) -> Result<(), Senseless> {
        if self.presses.is_empty() || self.presses.len() > MOST_PRESSES {
            let found = self.presses.len();
            return Err(Senseless::new("presses", format!("{found} presses: expected 1 to 9")));
        }
        for (n, press) in self.presses.iter().enumerate() {
            let field = |name: &str| format!("presses[{}].{name}", n + 1);
            if press.name.is_empty() {
                return Err(Senseless::new(field("name"), "a press needs a name"));
            }
            check_heat(&field("dial"), press.dial)?;
            if let Some(step) = press.uses.iter().find(|step| !step.is_pressed()) {
                let reason = format!("\"{step}\" is not done in a heat press");
                return Err(Senseless::new(field("uses"), reason));
            }
        }
        self.sheet.check()?;
        match &self.sounder {
            Some(words) if words.first().is_none_or(|program| program.is_empty()) => {
                Err(Senseless::new("sounder", "expected Some([\"program\", \"argument\"]) or None"))
            }
            _ => Ok(()),
        }
    }
}

impl SheetRule {
    fn check(self) -> Result<(), Senseless> {
        if self.wipe_at == 0 {
            return Err(Senseless::new(
                "sheet.wipe_at",
                "a wipe after 0 presses: expected 1 or more",
            ));
        }
        if self.wipe_by < self.wipe_at || self.wipe_by > 1000 {
            let reason =
                format!("{} is not between wipe_at ({}) and 1000", self.wipe_by, self.wipe_at);
            return Err(Senseless::new("sheet.wipe_by", reason));
        }
        Ok(())
    }
}
