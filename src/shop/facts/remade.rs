//! What a line of an order makes again.

use std::fmt;

use serde::{Deserialize, Serialize};

use super::ids::{OrderNo, Tag};
use super::words::clean;

/// A garment by its tag, or one of an order where the tag is not known.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Serialize, Deserialize)]
#[serde(try_from = "String", into = "String")]
pub enum Remade {
    Garment(Tag),
    Order(OrderNo),
}

impl Remade {
    /// The order that it is of.
    pub fn order(self) -> OrderNo {
        match self {
            Remade::Garment(tag) => tag.order,
            Remade::Order(order) => order,
        }
    }

    /// Whether a garment is meant, or may be.
    pub fn may_be(self, tag: Tag) -> bool {
        match self {
            Remade::Garment(of) => of == tag,
            Remade::Order(order) => order == tag.order,
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
        tag.or_else(|| OrderNo::read(&text).map(Remade::Order))
            .ok_or_else(|| NotRemade(clean(&text, 20)))
    }
}

impl From<Remade> for String {
    fn from(remade: Remade) -> String {
        match remade {
            Remade::Garment(tag) => tag.to_string(),
            Remade::Order(order) => order.to_string(),
        }
    }
}

/// In words: "A17-03", "one of order 17".
impl fmt::Display for Remade {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            Remade::Garment(tag) => tag.fmt(f),
            Remade::Order(order) => f.pad(&format!("one of order {order}")),
        }
    }
}
