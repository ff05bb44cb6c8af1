//! Orders that are shared between the stations of a shop, as one station's own history tells of them: those that it has
//! laid for all, and the parts of such orders that it makes.

use std::collections::BTreeMap;
use std::sync::Arc;

use serde::{Deserialize, Serialize};

use crate::shop::facts::as_text;
use crate::shop::facts::fact::PartOf;
use crate::shop::facts::ids::OrderNo;
use crate::shop::facts::order::OrderForm;

/// So many are kept in mind of each kind; older ones are in the journal alone.
const MOST: usize = 500;

/// What one station has laid and taken.
#[derive(Debug, Clone, Default, PartialEq, Serialize, Deserialize)]
pub struct SharedOrders {
    pub(in crate::shop) laid: BTreeMap<OrderNo, Arc<Laid>>,
    /// By the order that each part was taken in as.
    pub(in crate::shop) parts: BTreeMap<OrderNo, PartOf>,
}

/// An order that was laid for all stations.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct Laid {
    #[serde(with = "as_text")]
    pub form: OrderForm,
}

impl SharedOrders {
    /// Keeps an order that was laid.
    pub(in crate::shop) fn lay(&mut self, order: OrderNo, laid: Laid) {
        self.laid.insert(order, Arc::new(laid));
        while self.laid.len() > MOST {
            self.laid.pop_first();
        }
    }

    /// Keeps a part that was taken in as an order.
    pub(in crate::shop) fn take(&mut self, order: OrderNo, part: PartOf) {
        self.parts.insert(order, part);
        while self.parts.len() > MOST {
            self.parts.pop_first();
        }
    }
}
