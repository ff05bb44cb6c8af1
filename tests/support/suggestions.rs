//! What the board proposes can be done, does not contradict itself, and lets no wet garment wait.

use std::collections::BTreeSet;

use dwell::shop::Shop;
use dwell::shop::facts::ids::{PressNo, Tag};
use dwell::shop::facts::moment::Moment;
use dwell::shop::facts::step::Step;
use dwell::shop::floor::garment::Garment;
use dwell::shop::rules::command::{By, Command};
use dwell::shop::rules::offer::{Choice, Offer, OfferedAct};
use proptest::prelude::*;
use proptest::test_runner::TestCaseError;

/// The offers without a choice, and with the candidate in the middle chosen for the first open press.
pub fn check(shop: &Shop, now: Moment) -> Result<(), TestCaseError> {
    let plain = shop.offers(&Choice::default(), now);
    check_offers(shop, now, &plain)?;
    check_wet(shop, now, &plain)?;
    let candidates = shop.candidates();
    let open = shop.press_numbers().into_iter().find(|press| shop.load(*press).is_none());
    if let Some((tag, press)) = candidates.get(candidates.len() / 2).copied().zip(open) {
        let choice = Choice { stepped: Some((press, tag)), ..Choice::default() };
        check_offers(shop, now, &shop.offers(&choice, now))?;
    }
    Ok(())
}

fn check_offers(shop: &Shop, now: Moment, offers: &[Offer]) -> Result<(), TestCaseError> {
    let mut taken: BTreeSet<Tag> = BTreeSet::new();
    let presses: Vec<PressNo> = offers.iter().map(|offer| offer.press).collect();
    prop_assert_eq!(presses, shop.press_numbers());
    for Offer { press, act } in offers {
        let command = match act {
            OfferedAct::Open { .. } => Command::Open { press: *press },
            OfferedAct::Shut { garment, next, by, suits } => {
                prop_assert!(taken.insert(*garment), "{garment} is offered at two presses");
                if *by == By::Suggestion {
                    prop_assert_eq!(next.implies, None, "{} was never recorded", garment);
                    prop_assert!(*suits, "press {} does not suit {}", press, garment);
                }
                Command::Shut { press: *press, garment: *garment, by: *by }
            }
            OfferedAct::None(_) => continue,
        };
        let decided = shop.decide(&command, now);
        prop_assert!(decided.is_ok(), "{command:?} was offered: {decided:?}");
    }
    Ok(())
}

/// A wet garment never waits while a press that suits it stands open with a blank offered whose turn is later.
fn check_wet(shop: &Shop, now: Moment, offers: &[Offer]) -> Result<(), TestCaseError> {
    let offered = |tag: Tag| {
        let is =
            |act: &OfferedAct| matches!(act, OfferedAct::Shut { garment, .. } if *garment == tag);
        offers.iter().any(|offer| is(&offer.act))
    };
    let with_blank: Vec<(PressNo, Tag)> = offers
        .iter()
        .filter_map(|offer| match offer.act {
            OfferedAct::Shut { garment, next, .. } if next.step == Step::PrePress => {
                Some((offer.press, garment))
            }
            _ => None,
        })
        .collect();
    for step in [Step::Dry, Step::Cure] {
        for wet in shop.floor().waiting(step).filter(|garment| !offered(garment.tag)) {
            for (press, blank) in &with_blank {
                let turn = |garment: &Garment| shop.turn(garment, now);
                let later = turn(shop.garment(*blank).unwrap()) > turn(wet);
                let could = later && suits(shop, *press, wet, step);
                prop_assert!(!could, "{} waits wet, press {press} is offered {blank}", wet.tag);
            }
        }
    }
    Ok(())
}

/// Whether a press is used for the step, is big enough, and is set as the recipe wants.
fn suits(shop: &Shop, press: PressNo, garment: &Garment, step: Step) -> bool {
    let profile = shop.station().unwrap().press(press).unwrap();
    let order = shop.order(garment.order()).unwrap();
    let print = order.form.lines[garment.line].print;
    let fits = print.zip(profile.size).is_none_or(|(print, platen)| print.fits_on(platen));
    let pressing = shop.recipe_of(garment).and_then(|(_, recipe)| recipe.pressing(step, false));
    let set = pressing.zip(shop.setting(press)).is_some_and(|(wanted, set)| set.suits(&wanted));
    profile.uses.contains(&step) && fits && set
}
