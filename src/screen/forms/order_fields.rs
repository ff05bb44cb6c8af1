//! What an order's form asks, field by field, and what can be said of its artwork.

use crate::shop::facts::order::Artwork;

/// The fields from top to bottom.
#[derive(Clone, Copy, PartialEq, Eq)]
pub(super) enum Field {
    Count,
    Recipe,
    Underbase,
    Name,
    Garment,
    Art,
    Backdrop,
    Mark,
    Pad,
    Print,
    Places,
    Due,
    /// Behind all that an order needs: whoever does not want it never passes it.
    Cloth,
    Shared,
}

pub(super) const FIELDS: [Field; 14] = [
    Field::Count,
    Field::Recipe,
    Field::Underbase,
    Field::Name,
    Field::Garment,
    Field::Art,
    Field::Backdrop,
    Field::Mark,
    Field::Pad,
    Field::Print,
    Field::Places,
    Field::Due,
    Field::Cloth,
    Field::Shared,
];

/// What has been said of the underbase.
#[derive(Clone, Copy, PartialEq, Eq)]
pub(super) enum Said {
    Nothing,
    Yes,
    No,
    Later,
}

/// What came of a look at the artwork.
#[derive(Clone)]
pub(super) enum Seen {
    /// The shell has been asked to look.
    Awaited,
    Art(Box<Artwork>),
    /// It has a border of one colour, and what it says hangs on whether that is printed.
    Border,
    Not(String),
}
