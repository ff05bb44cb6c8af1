//! Whether garments of an order that all stations share come next: after what is under way here, and only while nothing
//! of this station's own goes before them by rank and due time.

use super::View;
use super::forms::parts::left_of;
use super::keymap::Deed;
use super::next::{Next, opens_next};
use super::theme::Role;
use crate::shop::floor::garment::Place;
use crate::shop::rules::next::NextAct;
use crate::shop::rules::shared::SharedLine;
use crate::shop::rules::turn::Urgency;

/// The shared order whose turn it is, as an act.
pub fn offered(view: &View<'_>) -> Option<Next> {
    let elsewhere = &view.ui.elsewhere;
    if !view.acts() || !view.ui.takes_parts() || elsewhere.asked.is_some() {
        return None;
    }
    let all = elsewhere.shared.with(view.shop);
    let can = |line: &&SharedLine<'_>| view.shop.may_make(line.form, line.line).is_ok();
    let open = all.open(view.shop);
    let line = open.iter().find(can)?;
    if has_sooner(view, view.shop.urgency_of(line.form)) {
        return None;
    }
    let key = view.then("how many: ", Deed::TakePart);
    let beside = [left_of(line, view.shop), key, opens_next(view)];
    Some(Next::of(Role::Strong, format!("TAKE {}", line.order), &beside))
}

/// Whether an act begins a garment: what the shared order would go before.
pub fn begins_one(view: &View<'_>, act: NextAct) -> bool {
    let garment = match act {
        NextAct::Load { garment, .. } | NextAct::Set { garment, .. } => garment,
        NextAct::Print(_) | NextAct::Spray(_) => return false,
    };
    view.shop.garment(garment).is_some_and(|garment| garment.begun.is_none())
}

/// Whether something is left here of an order that goes before another, or is its equal.
fn has_sooner(view: &View<'_>, than: Urgency) -> bool {
    let shop = view.shop;
    shop.orders().filter(|order| shop.urgency(order.id) <= than).any(|order| {
        let here = |place| !matches!(place, Place::Away(_) | Place::Shelf);
        let mut left = shop.floor().of_order(order.id).filter(|garment| !garment.is_done());
        shop.floor().is_open(order.id) && left.any(|garment| here(garment.place))
    })
}
