//! What stands on a garment's label, and whose labels somebody asks for.

use crate::label::Words;
use crate::shop::Shop;
use crate::shop::facts::ids::{OrderId, StationId, Tag};
use crate::shop::facts::words::counted;
use crate::shop::floor::garment::Garment;

/// The piece that no garment has: a tag with it stands for its whole order.
const WHOLE: u16 = 0;

/// Whose labels.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Labelled {
    Order(OrderId),
    Garment(Tag),
}

impl Labelled {
    /// Reads an order's number such as 3 or A3, its own tag such as A3-00, or a garment's tag such as A3-04.
    /// Without letters it is one of the station `own`.
    pub fn read(text: &str, own: StationId) -> Option<Self> {
        let tag = text.parse::<Tag>().ok().map(Self::of);
        tag.or_else(|| OrderId::read(text, own).map(Labelled::Order))
    }

    /// The order that it is of.
    pub fn order(self) -> OrderId {
        match self {
            Labelled::Order(order) => order,
            Labelled::Garment(tag) => tag.order_id(),
        }
    }

    /// What a tag stands for.
    pub fn of(tag: Tag) -> Self {
        if tag.piece == WHOLE { Labelled::Order(tag.order_id()) } else { Labelled::Garment(tag) }
    }
}

impl Shop {
    /// What stands on the labels that are asked for; none where no such order or garment is known.
    pub fn labels_of(&self, of: Labelled) -> Vec<Words> {
        let found: Vec<&Garment> = match of {
            Labelled::Garment(tag) => self.garment(tag).into_iter().collect(),
            Labelled::Order(order) => self.floor().of_order(order).collect(),
        };
        found.into_iter().map(|garment| self.label_of(garment)).collect()
    }

    /// The label of an order itself: its scan asks for the labels of its garments.
    pub fn ticket_of(&self, order: OrderId) -> Option<Words> {
        let form = &self.order(order)?.form;
        let count: u32 = form.lines.iter().map(|line| line.count).sum();
        let code = order.tag(WHOLE).to_string();
        let below = vec![
            form.name.clone(),
            format!("{}: scan for their labels", counted(count, "garment")),
        ];
        Some(Words { large: code.clone(), code, below })
    }

    /// Order, size mark and places stand below the tag.
    fn label_of(&self, garment: &Garment) -> Words {
        let form = self.order(garment.order()).map(|order| &order.form);
        let line = form.and_then(|form| form.lines.get(garment.line));
        let told = line.map(|line| {
            let mark = Some(line.mark.clone()).filter(|mark| !mark.is_empty());
            mark.into_iter().chain([line.places.join(", ")]).collect::<Vec<_>>().join("  ")
        });
        let below = told.into_iter().chain(form.map(|form| form.name.clone())).collect();
        let code = garment.tag.to_string();
        Words { large: code.clone(), code, below }
    }
}
