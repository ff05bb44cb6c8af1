//! What the keys meant on a frame, and what they are acted upon with.

use super::View;
use super::foot::Words;
use super::theme::Theme;
use super::ui::Ui;
use crate::shop::Shop;
use crate::shop::facts::moment::Moment;
use crate::shop::rules::offer::Offer;
use crate::shop::rules::questions::Question;

/// What the keys meant on a frame: a suggestion or a question may change between the look and the key.
#[derive(Debug, Clone, Default)]
pub struct Meaning {
    pub offers: Vec<Offer>,
    pub question: Option<Question>,
    pub words: Words,
}

impl Meaning {
    /// What they mean now.
    pub fn of(shop: &Shop, ui: &Ui, now: Moment) -> Self {
        let offers = shop.offers_by(&ui.choice, &ui.advice, now);
        let alarms = shop.alarms(now);
        let theme = Theme { colour: false, halves: false };
        Self::on(&View::new(shop, ui, (&offers, &alarms), now, theme))
    }

    /// What they mean on a frame that shows this.
    pub fn on(view: &View<'_>) -> Self {
        Self {
            offers: view.offers.to_vec(),
            question: view.questions().into_iter().next(),
            words: Words::of(view),
        }
    }
}

/// What there is to act upon: the shop, and the meaning of the frame that the operator was looking at.
pub struct Sight<'a> {
    pub shop: &'a Shop,
    pub meant: &'a Meaning,
    pub now: Moment,
}
