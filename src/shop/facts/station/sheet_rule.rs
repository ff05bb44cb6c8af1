//! When a cover sheet is wiped, and how long it lasts.

use serde::{Deserialize, Serialize};

use crate::shop::facts::check::Senseless;

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
    /// After so many presses of all kinds, counted from its renewal, a PTFE sheet is worn.
    #[serde(default = "its_life", skip_serializing_if = "is_its_life")]
    pub life: u32,
}

fn one() -> u32 {
    1
}

/// From memory.
const LIFE: u32 = 300;

fn its_life() -> u32 {
    LIFE
}

#[expect(clippy::trivially_copy_pass_by_ref, reason = "serde hands a reference")]
fn is_its_life(life: &u32) -> bool {
    *life == LIFE
}

impl SheetRule {
    pub(super) fn check(self) -> Result<(), Senseless> {
        if self.wipe_at == 0 {
            let reason = "a wipe after 0 presses: expected 1 or more";
            return Err(Senseless::new("sheet.wipe_at", reason));
        }
        if self.wipe_by < self.wipe_at || self.wipe_by > 1000 {
            let reason =
                format!("{} is not between wipe_at ({}) and 1000", self.wipe_by, self.wipe_at);
            return Err(Senseless::new("sheet.wipe_by", reason));
        }
        if self.life == 0 {
            let reason = "a life of 0 presses: expected 1 or more";
            return Err(Senseless::new("sheet.life", reason));
        }
        Ok(())
    }
}
