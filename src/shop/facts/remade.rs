//! What a line of an order makes again.

use std::fmt;

use serde::{Deserialize, Serialize};

use super::ids::{OrderId, OrderNo, StationId, Tag};
use super::words::clean;

/// A garment by its tag, or one of an order where the tag is not known.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Serialize, Deserialize)]
#[serde(try_from = "String", into = "String")]
pub enum Remade {
    Garment(Tag),
    /// With the station, where it was named: "A3", and not "3".
    Order(Option<StationId>, OrderNo),
}

impl Remade {
    /// The order that it is of; one without letters is of the station `own`.
    pub fn order(self, own: StationId) -> OrderId {
        match self {
            Remade::Garment(tag) => tag.order_id(),
            Remade::Order(station, no) => OrderId { station: station.unwrap_or(own), no },
        }
    }

    /// Whether a garment is meant, or may be, where a line of this size says so. One of an order is of the line's own
    /// size, as far as both sizes were entered.
    pub fn may_be(self, size: &str, (tag, its): (Tag, &str)) -> bool {
        match self {
            Remade::Garment(of) => of == tag,
            Remade::Order(station, order) => {
                let is_size = size.is_empty() || its.is_empty() || size.eq_ignore_ascii_case(its);
                order == tag.order && station.is_none_or(|of| of == tag.station) && is_size
            }
        }
    }
}

/// A text that names neither.
#[derive(Debug, Clone, PartialEq, Eq, thiserror::Error)]
#[error(
    "found \"{0}\", expected what is made again: a garment such as \"A17-03\", or an order such as \"A17\""
)]
pub struct NotRemade(String);

impl TryFrom<String> for Remade {
    type Error = NotRemade;
    fn try_from(text: String) -> Result<Self, NotRemade> {
        let tag = text.parse::<Tag>().ok().filter(|tag| tag.piece > 0).map(Remade::Garment);
        let order = || {
            let id = OrderId::read(&text, StationId::default())?;
            let lettered = text.trim().starts_with(|letter: char| letter.is_ascii_alphabetic());
            Some(Remade::Order(lettered.then_some(id.station), id.no))
        };
        tag.or_else(order).ok_or_else(|| NotRemade(clean(&text, 20)))
    }
}

impl From<Remade> for String {
    fn from(remade: Remade) -> String {
        match remade {
            Remade::Garment(tag) => tag.to_string(),
            Remade::Order(None, order) => order.to_string(),
            Remade::Order(Some(station), order) => {
                format!("{}{order}", station.to_string().to_ascii_uppercase())
            }
        }
    }
}

/// In words: "A17-03", "one of order 17".
impl fmt::Display for Remade {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            Remade::Garment(tag) => tag.fmt(f),
            Remade::Order(_, order) => f.pad(&format!("one of order {order}")),
        }
    }
}
