//! What hands and printer take, as the profile says.

use serde::{Deserialize, Serialize};

use crate::figures::units::Span;
use crate::figures::units::bounds;
use crate::shop::facts::check::{Senseless, check_size};

/// Seconds that hands take, and the printer. From memory: what a plan goes by until it is told better.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize)]
#[serde(default, deny_unknown_fields)]
pub struct HandTimes {
    pub load: Span,
    pub unload: Span,
    pub spray: Span,
    pub roll: Span,
    pub print_load: Span,
    pub print: Span,
    pub print_unload: Span,
    /// Wiping a sheet, weighing a garment once, filling the sprayer.
    pub wipe: Span,
    pub weigh: Span,
    pub fill: Span,
}

impl Default for HandTimes {
    fn default() -> Self {
        Self {
            load: Span::seconds(6),
            unload: Span::seconds(6),
            spray: Span::seconds(25),
            roll: Span::seconds(8),
            print_load: Span::seconds(14),
            print: Span::seconds(190),
            print_unload: Span::seconds(10),
            wipe: Span::seconds(45),
            weigh: Span::seconds(5),
            fill: Span::seconds(120),
        }
    }
}

impl HandTimes {
    pub(super) fn check(&self) -> Result<(), Senseless> {
        let all = [
            ("load", self.load),
            ("unload", self.unload),
            ("spray", self.spray),
            ("roll", self.roll),
            ("print_load", self.print_load),
            ("print", self.print),
            ("print_unload", self.print_unload),
            ("wipe", self.wipe),
            ("weigh", self.weigh),
            ("fill", self.fill),
        ];
        let check = |(name, takes)| check_size(format!("hands.{name}"), takes, bounds::HAND);
        all.into_iter().try_for_each(check)
    }
}
