//! What makes no sense in a profile or an order: the field and the reason, and the checks that all of them share.

use crate::figures::units::Rectangle;
use crate::figures::units::bounds::{self, Bounds, Written};

/// What makes no sense in a profile or an order that could be read.
#[derive(Debug, Clone, PartialEq, thiserror::Error)]
#[error("{field}: {reason}")]
pub struct Senseless {
    /// Where it stands, as a path of field names.
    pub field: String,
    /// What is wrong and what would be right.
    pub reason: String,
}

impl Senseless {
    /// Names the field and the reason.
    pub fn new(field: impl Into<String>, reason: impl Into<String>) -> Self {
        Self { field: field.into(), reason: reason.into() }
    }
}

/// Whether a quantity of a profile or an order is one that a shop can have.
///
/// # Errors
/// A quantity outside its bounds, with the name of its field.
pub(in crate::shop) fn check_size<T: Written>(
    field: impl Into<String>,
    found: T,
    bounds: Bounds,
) -> Result<(), Senseless> {
    bounds.check(found).map_err(|wrong| Senseless::new(field, wrong.to_string()))
}

/// Whether the sides of an area, a print or a platen are ones that a shop can have.
pub(in crate::shop) fn check_sides(
    field: impl Into<String>,
    size: Rectangle,
) -> Result<(), Senseless> {
    check_size(field, size, bounds::SIDE)
}
