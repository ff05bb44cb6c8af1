//! Which garment a press takes next, where a hand chooses it.

use super::act::{Effect, nothing};
use super::forms::open_presses;
use super::keymap::Deed;
use super::meaning::Sight;
use super::ui::{Tone, Ui};
use crate::shop::facts::ids::{PressNo, Tag};
use crate::shop::facts::step::Step;
use crate::shop::floor::garment::Place;
use crate::shop::rules::command::Which;
use crate::shop::rules::offer::OfferedAct;

/// Steps to the next garment for an open press, or to the next open press.
pub(super) fn step(ui: &mut Ui, sight: &Sight<'_>, next_press: bool) -> Vec<Effect> {
    let open = open_presses(sight);
    let candidates = sight.shop.candidates();
    if open.is_empty() {
        return nothing(ui, sight, "every press is shut or out of use");
    }
    if candidates.is_empty() {
        return nothing(ui, sight, "no garment waits");
    }
    let here = ui.choice.stepped.map(|(press, _)| press).filter(|press| open.contains(press));
    let at = here.and_then(|press| open.iter().position(|p| *p == press));
    let press = match at {
        Some(at) if next_press => open[(at + 1) % open.len()],
        Some(at) => open[at],
        None => open[0],
    };
    let offered = sight.meant.offers.iter().find(|offer| offer.press == press);
    let now = offered.and_then(|offer| match offer.act {
        OfferedAct::Shut { garment, .. } => Some(garment),
        _ => None,
    });
    let tag = match now.and_then(|tag| candidates.iter().position(|c| *c == tag)) {
        Some(place) if !next_press => candidates[(place + 1) % candidates.len()],
        Some(place) => candidates[place],
        None => candidates[0],
    };
    pick(ui, sight, press, tag);
    Vec::new()
}

/// Picks a garment for a press: its key shuts it on that one.
pub(super) fn pick(ui: &mut Ui, sight: &Sight<'_>, press: PressNo, tag: Tag) {
    ui.choice.stepped = Some((press, tag));
    ui.choice.scanned = None;
    let (key, again) = (ui.keys.key(Deed::Press(press)), ui.keys.key(Deed::Pick));
    let records = match sight.shop.garment(tag).map(|garment| garment.place) {
        Some(Place::Waiting(Step::Spray)) => " and records it as sprayed",
        Some(Place::Waiting(Step::Print)) => " and records it as printed",
        _ => "",
    };
    let text = format!("{key} shuts press {press} on {tag}{records}; {again} for another");
    ui.say(Tone::Note, text, sight.now);
}

/// Which garments an act without a press takes: the scanned one; the one stepped to, where it waits for that step
/// or could be printed from the shelf, for otherwise it was stepped to for its press alone; else the usual ones.
pub(super) fn which(ui: &Ui, sight: &Sight<'_>, step: Step, usual: Which) -> Which {
    let ready = |tag: &Tag| match sight.shop.garment(*tag).map(|garment| garment.place) {
        Some(Place::Waiting(waits)) => waits == step,
        Some(Place::Shelf) => step == Step::Print && usual != Which::All,
        _ => false,
    };
    let stepped = ui.choice.stepped.map(|(_, tag)| tag).filter(ready);
    ui.choice.scanned.or(stepped).map_or(usual, Which::Tagged)
}
