//! The presses that are in use, as a forecast knows them: what each serves, how it is set, when it is ready.

use crate::figures::units::Rectangle;
use crate::forecast::plan::presses::{Asks, Heat, Stands};
use crate::forecast::plan::{Millis, Phase};
use crate::shop::Shop;
use crate::shop::facts::ids::PressNo;
use crate::shop::facts::moment::Moment;
use crate::shop::facts::recipe::Recipe;
use crate::shop::facts::station::Station;
use crate::shop::facts::step::Step;
use crate::shop::rules::heat::Unready;

/// The presses that can be gone by.
pub fn usable(shop: &Shop) -> Vec<PressNo> {
    shop.press_numbers().into_iter().filter(|no| shop.out_of_use(*no).is_none()).collect()
}

/// Each of some presses of a shop as it stands.
pub fn stands(shop: &Shop, presses: &[PressNo], now: Moment) -> Vec<Stands> {
    let stands = |no: &PressNo| {
        let soak = shop.station().map_or(0, |station| as_millis(station.soak.0));
        let ready = match shop.unready(*no, now) {
            // What heats is still to soak.
            Some((Unready::Heating, left)) => as_millis(left) + soak,
            Some((Unready::Soaking | Unready::Settling, left)) => as_millis(left),
            None => 0,
        };
        let heat = shop.setting(*no).map(|set| Heat::of(set.dial));
        let [up, down] = shop.settles_a_degree(*no).map(as_millis);
        Stands { heat, ready, up, down }
    };
    presses.iter().map(stands).collect()
}

/// Each press of a station of which nothing is known but its profile.
pub fn as_profiled(station: &Station) -> Vec<Stands> {
    let [up, down] = Shop::default().settles_a_degree(PressNo(1)).map(as_millis);
    let stands = |dial| Stands { heat: Some(Heat::of(dial)), ready: 0, up, down };
    station.presses.iter().map(|press| stands(press.dial)).collect()
}

fn as_millis(span: std::time::Duration) -> Millis {
    Millis::try_from(span.as_millis()).unwrap_or(Millis::MAX / 1000)
}

/// What each phase of a way asks of some presses, by the prints that its garments get; `again` where the way begins with
/// the short press of a garment from the shelf.
pub fn asks(
    (station, presses): (&Station, &[PressNo]),
    (recipe, again): (&Recipe, bool),
    route: &[Phase],
    prints: &[Rectangle],
) -> Vec<Asks> {
    let asks = |(n, phase): (usize, &Phase)| {
        let Phase::Machine { name, .. } = phase else { return Asks::default() };
        let step = Step::ALL.into_iter().find(|step| step.name() == *name);
        let pressing = step.and_then(|step| Some((step, recipe.pressing(step, again && n == 0)?)));
        let Some((step, pressing)) = pressing else { return Asks::default() };
        let serves = |no: &PressNo| {
            station.press(*no).is_some_and(|press| press.serves(step, prints.iter().copied()))
        };
        Asks::of(pressing.set_point, presses.iter().map(serves))
    };
    route.iter().enumerate().map(asks).collect()
}
