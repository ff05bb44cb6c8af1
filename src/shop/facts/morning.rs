//! What a shop looks at before a shift's first garment.

use serde::{Deserialize, Serialize};

/// Something that is looked at once a shift; the station's profile says which.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash, Serialize, Deserialize)]
pub enum MorningCheck {
    /// The presses are switched on: until they have soaked, none is offered.
    PressesOn,
    /// Each platen is probed at its centre.
    Probed,
    WhiteAgitated,
    NozzleCheck,
    /// The humidity of the room.
    Humidity,
    /// The first garment of an order is approved before the rest is printed.
    FirstSample,
}

impl MorningCheck {
    /// All of them, in the order of the list.
    pub const ALL: [MorningCheck; 6] = [
        MorningCheck::PressesOn,
        MorningCheck::Probed,
        MorningCheck::WhiteAgitated,
        MorningCheck::NozzleCheck,
        MorningCheck::Humidity,
        MorningCheck::FirstSample,
    ];

    /// As the list says it.
    pub fn words(self) -> &'static str {
        match self {
            MorningCheck::PressesOn => "presses on",
            MorningCheck::Probed => "platens probed at the centre",
            MorningCheck::WhiteAgitated => "white ink agitated",
            MorningCheck::NozzleCheck => "nozzle check",
            MorningCheck::Humidity => "room humidity",
            MorningCheck::FirstSample => "first sample approved",
        }
    }
}

/// What is said of a press's heat.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize)]
#[serde(rename_all = "kebab-case")]
pub enum HeatWord {
    /// It was switched on.
    On,
    /// Its dial was turned to another heat, and it settles.
    Turned,
    /// Its own light shows that it has reached its heat.
    Light,
    /// It is used as it is, whether it has soaked or settled or not.
    UsedNow,
}
