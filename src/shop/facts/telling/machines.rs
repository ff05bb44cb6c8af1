//! Presses and their sheets in words.

use super::telling;
use crate::shop::facts::fact::{
    DialSet, HeatSaid, PlatenChecked, PressInUse, PressOutOfUse, PressureChecked, SheetChanged,
    SheetRenewed, SheetSwapped, SheetWiped,
};
use crate::shop::facts::morning::HeatWord;
use crate::shop::facts::words::counted;

telling!(
    |fact: SheetWiped, _| {
        let presses = counted(fact.presses, "press");
        format!("sheet {} wiped, both sides, after {presses}", fact.sheet)
    },
    |fact: SheetChanged, _| {
        let presses = counted(fact.presses, "press");
        format!("release paper {} changed after {presses}", fact.sheet)
    },
    |fact: SheetRenewed, _| {
        let after = fact.life.map(|life| format!(" after {}", counted(life, "press")));
        let after = after.unwrap_or_default();
        format!("sheet {} thrown away{after}, a new one laid in", fact.sheet)
    },
    |fact: SheetSwapped, _| format!(
        "press {}: sheet {} set aside after {}, sheet {} laid in",
        fact.press,
        fact.aside,
        counted(fact.presses, "press"),
        fact.sheet
    ),
    |fact: PressOutOfUse, _| {
        format!("press {} out of use: {}", fact.press, fact.reason.words())
    },
    |fact: PressInUse, _| format!("press {} back in use", fact.press),
    |fact: DialSet, _| format!("press {} set to {}, {}", fact.press, fact.dial, fact.pressure),
    |fact: PlatenChecked, _| {
        let verdict = if fact.within { "within" } else { "OUTSIDE" };
        format!(
            "platen of press {} probed: {:.0} {} on average, {verdict} {} of {}",
            fact.press,
            fact.dial.of_celsius(fact.mean_c).degrees(),
            fact.dial.letter(),
            fact.tolerance,
            fact.dial
        )
    },
    |fact: PressureChecked, _| {
        let held = fact.held.iter().filter(|held| **held).count();
        format!("strips under press {}: {held} of 4 held", fact.press)
    },
    |fact: HeatSaid, _| match fact.said {
        HeatWord::On => format!("press {} switched on", fact.press),
        HeatWord::Light => format!("press {} has its heat, by its light", fact.press),
        HeatWord::UsedNow => format!("press {} is used as it is", fact.press),
        HeatWord::Turned => {
            let dial = fact.dial.map_or_else(String::new, |dial| format!(" to {dial}"));
            format!("press {} turned{dial}, settling", fact.press)
        }
    },
);
