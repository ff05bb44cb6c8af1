//! What of a table came in before: a table is taken again as it grows, and what it has brought already is not taken twice.

use std::path::Path;

use crate::commands::Failure;
use crate::shell::inbox::{self, Brought};
use crate::shop::facts::ids::OrderNo;
use crate::shop::facts::order::OrderForm;

/// What waits in the inbox, and what the journal has.
pub struct Before {
    /// By id and name.
    waits: Vec<(String, String)>,
    /// The files of the inbox that were taken in, by id, with the order that is known of it.
    taken: Vec<(String, Option<OrderNo>)>,
    /// The orders for which something is still to be done.
    open: Vec<(String, OrderNo)>,
}

impl Before {
    /// Looks into the inbox, then into the journal: what the board takes in meanwhile is in one of them.
    ///
    /// # Errors
    /// A journal that does not read.
    pub fn of(data: &Path) -> Result<Self, Failure> {
        let waits = inbox::waiting(data, usize::MAX, |_| false).into_iter();
        let order = |waiting: inbox::Waiting| match waiting.brought {
            Ok(Brought::Order(form)) => Some((waiting.ids.this, form.name)),
            _ => None,
        };
        let mut before =
            Self { waits: waits.filter_map(order).collect(), taken: Vec::new(), open: Vec::new() };
        if !crate::shell::journal::path(data).exists() {
            return Ok(before);
        }
        let shop = super::super::read(data)?.shop;
        let known = |id: &str| {
            let order = shop.orders().find(|order| order.file.as_deref() == Some(id));
            (id.to_owned(), order.map(|order| order.id.no))
        };
        before.taken = shop.taken_files().all().map(known).collect();
        let open = shop.orders().filter(|order| shop.floor().is_open(order.id));
        before.open = open.map(|order| (order.form.name.clone(), order.id.no)).collect();
        Ok(before)
    }

    /// Where an order of just this content is, if somewhere.
    ///
    /// # Errors
    /// An order that cannot be written as JSON.
    pub fn has(&self, form: &OrderForm) -> Result<Option<String>, Failure> {
        let end = inbox::end_of_id(form).map_err(std::io::Error::from)?;
        if self.waits.iter().any(|(id, _)| id.ends_with(&end)) {
            return Ok(Some("it is queued for the board already".to_owned()));
        }
        let taken = self.taken.iter().find(|(id, _)| id.ends_with(&end));
        Ok(taken.map(|(_, no)| match no {
            Some(no) => format!("it was taken already, as order {no}"),
            None => "it was taken already".to_owned(),
        }))
    }

    /// Which order of the same name is still under way, if one is: an order that was changed in its table would come as a
    /// second one beside it.
    pub fn open_as(&self, name: &str) -> Option<String> {
        if self.waits.iter().any(|(_, waits)| waits == name) {
            return Some("queued for the board".to_owned());
        }
        let (_, no) = self.open.iter().find(|(open, _)| open == name)?;
        Some(format!("on the board as order {no}"))
    }
}
