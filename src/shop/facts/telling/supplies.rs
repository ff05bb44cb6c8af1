//! Stacks, bottles, people and washes in words.

use super::{laying, telling};
use crate::shop::facts::fact::{
    DatesSaid, FanSaid, LotRegistered, MorningSaid, Renewed, Returned, SampleSaid, ShiftClosed,
    SignedIn, SignedOut, SprayerFilled, SprayerFlushed, StackDisturbed, StackNamed, Stored,
    WashSampled, Washed,
};

telling!(
    |fact: Stored, _| match fact.stack.as_str() {
        "" => format!("stored {}", fact.garment),
        stack => format!(
            "stored {} on stack {stack}, place {}: {}",
            fact.garment,
            fact.position,
            laying(fact.lies_down())
        ),
    },
    |fact: StackNamed, _| format!("stack {} is stored on now", fact.stack),
    |fact: StackDisturbed, _| format!("stack {} was shifted", fact.stack),
    |fact: Renewed, _| format!("{} starts again: pre-press, spray, dry", fact.garment),
    |fact: LotRegistered, _| {
        let until = fact.best_before.map_or("no date".into(), |day| format!("until {day}"));
        format!("lot {}: {}, {until}, in {}", fact.lot, fact.contents.words(), fact.place)
    },
    |fact: SprayerFilled, _| {
        let how = if fact.scanned { "scanned" } else { "typed" };
        let over = fact.over.map_or_else(String::new, |over| {
            format!("; {over} more than it had room for by the account: counted as full")
        });
        let fluid = fact.fluid.map_or_else(String::new, |fluid| format!(", {fluid}"));
        format!("sprayer filled: {} of lot {}{fluid} ({how} code){over}", fact.grams, fact.lot)
    },
    |_fact: SprayerFlushed, _| "sprayer emptied and flushed".to_owned(),
    |fact: FanSaid, _| match fact.running {
        Some(true) => "the fan runs".to_owned(),
        Some(false) => "THE FAN DOES NOT RUN: no spraying without extraction".to_owned(),
        None => "fan not seen".to_owned(),
    },
    |fact: DatesSaid, _| format!("dates of tables: the {} stands first", fact.first.word()),
    |fact: SignedIn, _| {
        let does = if fact.opens_shift { "opens the shift" } else { "is at the bench" };
        format!("{} {does}", fact.who)
    },
    |fact: SignedOut, _| format!("{} has left the bench", fact.who),
    |fact: ShiftClosed, _| match fact.left.as_slice() {
        [] => "shift closed".to_owned(),
        left => format!("shift closed; left: {}", left.join("; ")),
    },
    |fact: MorningSaid, _| match fact.percent {
        _ if fact.skipped => format!("{}: skipped", fact.check.words()),
        Some(percent) => format!("{}: {percent} %", fact.check.words()),
        None => fact.check.words().to_owned(),
    },
    |fact: SampleSaid, _| {
        let said = if fact.approved { "approved" } else { "NOT approved" };
        format!("{}: first sample {said}", fact.garment)
    },
    |fact: WashSampled, _| format!("{} is a wash sample", fact.garment),
    |fact: Washed, _| {
        format!("{} washed {} times: grade {}", fact.garment, fact.cycles, fact.grade)
    },
    |fact: Returned, _| fact.in_words(),
);
