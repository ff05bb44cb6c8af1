//! What has to be true of a shop after every step.

use std::collections::{BTreeMap, BTreeSet};
use std::time::Duration;

use dwell::forecast::workload;
use dwell::shop::Shop;
use dwell::shop::facts::fact::Fact;
use dwell::shop::facts::ids::{ActNo, SheetNo};
use dwell::shop::facts::moment::Moment;
use dwell::shop::facts::step::Step;
use dwell::shop::rules::alarms::Alarm;

use super::difference::difference;
use super::world::World;
use super::{places, suggestions};

/// A law that did not hold.
#[derive(Debug, Clone)]
pub struct Broken {
    pub law: &'static str,
    pub says: String,
}

/// Says that a law is broken where it does not hold.
pub fn law(law: &'static str, holds: bool, says: impl FnOnce() -> String) -> Result<(), Broken> {
    if holds { Ok(()) } else { Err(Broken { law, says: says() }) }
}

/// Two shops are the same, also in what can be undone.
pub fn same(name: &'static str, one: &Shop, other: &Shop) -> Result<(), Broken> {
    law(name, one == other && one.undoable() == other.undoable(), || {
        format!(
            "{:?}, undo {:?} and {:?}",
            difference(one, other),
            one.undoable(),
            other.undoable()
        )
    })
}

/// Asked after every step.
pub fn check(world: &World) -> Result<(), Broken> {
    let (shop, now) = (&world.shop, world.now);
    places::check(shop)
        .map_err(|says| Broken { law: "a garment is in one place", says: says.to_string() })?;
    suggestions::check(shop, now)
        .map_err(|says| Broken { law: "what is offered can be done", says: says.to_string() })?;
    deadlines(shop, now)?;
    let (seq, last) = (shop.seq(), world.events.last().map_or(0, |event| event.seq));
    law(
        "events count up from 1 without a gap",
        seq == last && last == world.events.len() as u64,
        || format!("{} events, the last is {last}, the shop has {seq}", world.events.len()),
    )
}

/// The next deadline is ahead, nothing changes before it, and there are not endlessly many.
fn deadlines(shop: &Shop, now: Moment) -> Result<(), Broken> {
    let alarms = |after: Duration| shop.alarms(now.plus(after));
    let next = shop.next_deadline(now);
    law("the next deadline is ahead", next.is_none_or(|span| !span.is_zero()), || {
        format!("{next:?}")
    })?;
    let before =
        next.unwrap_or(Duration::from_secs(86_400)).saturating_sub(Duration::from_millis(2));
    let (here, there) = (alarms(Duration::ZERO), alarms(before));
    law("no alarm changes before the next deadline", here == there, || {
        format!("{here:?}, after {before:?} {there:?}")
    })
}

/// Asked now and then, for they read the whole history.
pub fn check_dear(world: &World) -> Result<(), Broken> {
    sheets(world)?;
    // A plan can be made of whatever the shop has come to.
    drop(workload::of_shop(&world.shop, world.now));
    undone_never_happened(world)
}

/// The acts that were taken back.
fn undone(world: &World) -> BTreeSet<ActNo> {
    let undone = world.events.iter().filter_map(|event| match &event.fact {
        Fact::Undone(undone) => Some(undone.undoes),
        _ => None,
    });
    undone.collect()
}

/// The shop is one in which what was taken back never happened.
pub fn undone_never_happened(world: &World) -> Result<(), Broken> {
    let passed = undone(world);
    let mut shop = Shop::default();
    for event in &world.events {
        if passed.contains(&event.act) || matches!(event.fact, Fact::Undone(_)) {
            shop.pass_over(event);
        } else {
            shop.apply(event);
        }
    }
    law("undone is as never happened", world.shop == shop, || {
        format!("{:?}", difference(&world.shop, &shop))
    })
}

/// Each sheet has seen as many presses under fluid since its wipe as the facts say.
fn sheets(world: &World) -> Result<(), Broken> {
    let passed = undone(world);
    let mut counts: BTreeMap<SheetNo, u32> = BTreeMap::new();
    for event in world.events.iter().filter(|event| !passed.contains(&event.act)) {
        match &event.fact {
            Fact::PressShut(shut) => {
                let Some(sheet) = shut.sheet.filter(|_| shut.cover.is_some()) else { continue };
                *counts.entry(sheet).or_default() += u32::from(shut.step == Step::Dry);
            }
            Fact::SheetWiped(wiped) => drop(counts.insert(wiped.sheet, 0)),
            Fact::SheetChanged(changed) => drop(counts.insert(changed.sheet, 0)),
            Fact::SheetSwapped(swapped) => drop(counts.insert(swapped.sheet, 0)),
            _ => {}
        }
    }
    let told: BTreeMap<SheetNo, u32> =
        world.shop.sheets().all().map(|sheet| (sheet.no, sheet.presses)).collect();
    law("a sheet has seen what it was pressed under", told == counts, || {
        format!("the shop says {told:?}, the facts {counts:?}")
    })
}

/// Alarms whose times lie wholly in this boot.
pub fn sure_alarms(world: &World) -> Vec<Alarm> {
    let (shop, now) = (&world.shop, world.now);
    let sure = |alarm: &Alarm| match *alarm {
        Alarm::WetTooLong(tag) | Alarm::UncuredTooLong(tag) => {
            shop.garment(tag).is_some_and(|garment| garment.since.boot == now.boot)
        }
        Alarm::Due { press, .. }
        | Alarm::Overdue { press, .. }
        | Alarm::Shape { press, .. }
        | Alarm::Check { press, .. } => {
            shop.load(press).is_some_and(|load| load.shut.boot == now.boot)
        }
        Alarm::WipeDue { .. } | Alarm::WipeOverdue { .. } => true,
    };
    shop.alarms(now).into_iter().filter(sure).collect()
}
