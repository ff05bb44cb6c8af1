//! Names for the things of the shop: a station, a press, an order, a garment's tag, a sheet, a recipe's text, a row of a history.

use std::fmt;
use std::str::FromStr;

use serde::{Deserialize, Serialize};

use crate::figures::written::written;

/// A station's short name: one to three letters, the first part of every tag that it hands out.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash, Serialize, Deserialize)]
#[serde(try_from = "String", into = "String")]
pub struct StationId([u8; 3]);

/// A text that is not the short name of a station.
#[derive(Debug, thiserror::Error)]
#[error("found \"{0}\", expected the short name of a station: one to three letters such as \"a\"")]
pub struct NotAStation(String);

impl Default for StationId {
    fn default() -> Self {
        Self([b'a', 0, 0])
    }
}

impl FromStr for StationId {
    type Err = NotAStation;
    fn from_str(text: &str) -> Result<Self, NotAStation> {
        let letters = text.as_bytes();
        if !(1..=3).contains(&letters.len()) || !letters.iter().all(u8::is_ascii_alphabetic) {
            return Err(NotAStation(super::words::clean(text, 20)));
        }
        let mut id = [0; 3];
        for (place, letter) in id.iter_mut().zip(letters) {
            *place = letter.to_ascii_lowercase();
        }
        Ok(Self(id))
    }
}

impl TryFrom<String> for StationId {
    type Error = NotAStation;
    fn try_from(text: String) -> Result<Self, NotAStation> {
        text.parse()
    }
}

impl From<StationId> for String {
    fn from(id: StationId) -> String {
        id.to_string()
    }
}

impl fmt::Display for StationId {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        self.0.iter().take_while(|b| **b != 0).try_for_each(|b| write!(f, "{}", char::from(*b)))
    }
}

impl StationId {
    /// Its bytes, for forms that no person reads.
    pub(super) fn bytes(self) -> [u8; 3] {
        self.0
    }

    pub(super) fn of_bytes(bytes: [u8; 3]) -> Self {
        Self(bytes)
    }

    /// As tags and orders begin with it: "A".
    pub fn letters(self) -> String {
        self.to_string().to_ascii_uppercase()
    }
}

/// Another station of the shop, as people call it: by its name where one is known, else by its letters.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Neighbour {
    pub station: StationId,
    pub name: String,
}

impl fmt::Display for Neighbour {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self.name.as_str() {
            "" => f.pad(&format!("station {}", self.station.letters())),
            name => f.pad(name),
        }
    }
}

/// A number that names a thing within its station.
macro_rules! numbered {
    ($(#[$doc:meta])* $name:ident, $inner:ty) => {
        $(#[$doc])*
        #[derive(
            Debug, Clone, Copy, Default, PartialEq, Eq, PartialOrd, Ord, Hash, Serialize, Deserialize,
        )]
        #[serde(transparent)]
        pub struct $name(pub $inner);

        impl fmt::Display for $name {
            fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
                self.0.fmt(f)
            }
        }
    };
}

numbered!(
    /// A press by its key: 1 to 9.
    PressNo, u8
);
numbered!(
    /// An order within its station, counted from 1 and never used twice.
    OrderNo, u32
);
numbered!(
    /// A cover sheet of this station, counted from 1.
    SheetNo, u32
);
numbered!(
    /// An act of the operator or of the system: the sequence number of its first event.
    ActNo, u64
);

/// An order by its station and its number, as in "A17": another station's order 17 is another order.
#[derive(Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub struct OrderId {
    pub station: StationId,
    pub no: OrderNo,
}

impl OrderId {
    /// Below and above all others.
    pub const LEAST: OrderId = OrderId { station: StationId([0; 3]), no: OrderNo(0) };
    pub const GREATEST: OrderId =
        OrderId { station: StationId([u8::MAX; 3]), no: OrderNo(u32::MAX) };

    /// An order as it is written, "3" or "A3"; without letters it is one of the station `own`. None where it is no order.
    pub fn read(text: &str, own: StationId) -> Option<OrderId> {
        let text = text.trim();
        let digits = text.trim_start_matches(|letter: char| letter.is_ascii_alphabetic());
        let letters = &text[..text.len() - digits.len()];
        let is_number = !digits.is_empty() && digits.bytes().all(|byte| byte.is_ascii_digit());
        let number = is_number.then(|| digits.parse().ok()).flatten();
        let no = number.filter(|number| *number > 0).map(OrderNo)?;
        let station = if letters.is_empty() { own } else { letters.parse().ok()? };
        Some(OrderId { station, no })
    }

    /// As the station `own` writes it.
    pub fn written_at(self, own: StationId) -> OrderRef {
        if self.station == own { OrderRef::Own(self.no) } else { OrderRef::Of(self) }
    }

    /// The tag of one of its pieces; 0, which no piece has, stands for the whole order.
    pub fn tag(self, piece: u16) -> Tag {
        Tag { station: self.station, order: self.no, piece }
    }
}

written!(OrderId, ([u8; 3], OrderNo), |id| (id.station.0, id.no), |(station, no)| OrderId {
    station: StationId(station),
    no
});

/// An order as a station itself writes it: by its number where it is its own ("17"), else with its station's letters
/// ("B17").
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Serialize, Deserialize)]
#[serde(untagged)]
pub enum OrderRef {
    Own(OrderNo),
    Of(OrderId),
}

impl OrderRef {
    /// Which order it is, as the station `own` has written it.
    pub fn id(self, own: StationId) -> OrderId {
        match self {
            OrderRef::Own(no) => OrderId { station: own, no },
            OrderRef::Of(id) => id,
        }
    }
}

impl From<OrderNo> for OrderRef {
    fn from(no: OrderNo) -> Self {
        OrderRef::Own(no)
    }
}

impl fmt::Display for OrderRef {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            OrderRef::Own(no) => no.fmt(f),
            OrderRef::Of(id) => id.fmt(f),
        }
    }
}

impl TryFrom<String> for OrderId {
    type Error = NotAnOrder;
    fn try_from(text: String) -> Result<Self, NotAnOrder> {
        let lettered = text.starts_with(|letter: char| letter.is_ascii_alphabetic());
        let read = OrderId::read(&text, StationId::default()).filter(|_| lettered);
        read.ok_or_else(|| NotAnOrder(super::words::clean(&text, 20)))
    }
}

impl From<OrderId> for String {
    fn from(id: OrderId) -> String {
        id.to_string()
    }
}

/// A text that names no order.
#[derive(Debug, thiserror::Error)]
#[error("found \"{0}\", expected an order with its station's letters, such as \"A17\"")]
pub struct NotAnOrder(String);

impl fmt::Debug for OrderId {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        fmt::Display::fmt(self, f)
    }
}

impl fmt::Display for OrderId {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.pad(&format!("{}{}", self.station.letters(), self.no))
    }
}

/// What is written on a garment's neck label: station, order, piece, as in "A17-03".
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub struct Tag {
    pub station: StationId,
    pub order: OrderNo,
    pub piece: u16,
}

impl Tag {
    /// The order that it is of.
    pub fn order_id(self) -> OrderId {
        OrderId { station: self.station, no: self.order }
    }
}

/// A text that is not a tag.
#[derive(Debug, thiserror::Error)]
#[error("found \"{0}\", expected a garment's tag such as \"A17-03\"")]
pub struct NotATag(String);

impl FromStr for Tag {
    type Err = NotATag;
    fn from_str(text: &str) -> Result<Self, NotATag> {
        let wrong = || NotATag(super::words::clean(text, 20));
        let (front, piece) = text.trim().split_once('-').ok_or_else(wrong)?;
        let digits = front.find(|c: char| c.is_ascii_digit()).ok_or_else(wrong)?;
        let number = |s: &str| s.bytes().all(|b| b.is_ascii_digit());
        if !number(&front[digits..]) || !number(piece) {
            return Err(wrong());
        }
        Ok(Self {
            station: front[..digits].parse().map_err(|_| wrong())?,
            order: OrderNo(front[digits..].parse().map_err(|_| wrong())?),
            piece: piece.parse().map_err(|_| wrong())?,
        })
    }
}

written!(Tag, ([u8; 3], OrderNo, u16), |tag| (tag.station.0, tag.order, tag.piece), |(
    station,
    order,
    piece,
)| Tag {
    station: StationId(station),
    order,
    piece
});

impl TryFrom<String> for Tag {
    type Error = NotATag;
    fn try_from(text: String) -> Result<Self, NotATag> {
        text.parse()
    }
}

impl From<Tag> for String {
    fn from(tag: Tag) -> String {
        tag.to_string()
    }
}

impl fmt::Display for Tag {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.pad(&format!("{}{}-{:02}", self.station.letters(), self.order, self.piece))
    }
}

/// The fingerprint of a recipe's text: the first six bytes of its SHA-256, written as twelve hexadecimal digits.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub struct RecipeHash(pub [u8; 6]);

/// A text that is not a recipe's fingerprint.
#[derive(Debug, thiserror::Error)]
#[error("found \"{0}\", expected a recipe's fingerprint: twelve hexadecimal digits")]
pub struct NotAHash(String);

written!(RecipeHash, [u8; 6], |hash| hash.0, RecipeHash);

impl TryFrom<String> for RecipeHash {
    type Error = NotAHash;
    fn try_from(text: String) -> Result<Self, NotAHash> {
        let wrong = || NotAHash(super::words::clean(&text, 20));
        let mut bytes = [0; 6];
        if text.len() != 2 * bytes.len() || !text.bytes().all(|digit| digit.is_ascii_hexdigit()) {
            return Err(wrong());
        }
        for (n, byte) in bytes.iter_mut().enumerate() {
            let digits = text.get(2 * n..2 * n + 2).ok_or_else(wrong)?;
            *byte = u8::from_str_radix(digits, 16).map_err(|_| wrong())?;
        }
        Ok(Self(bytes))
    }
}

impl fmt::Display for RecipeHash {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        self.0.iter().try_for_each(|byte| write!(f, "{byte:02x}"))
    }
}

/// A row of a station's history, as "b/1/482": the station, its life, the row's number.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub struct RowId {
    pub station: StationId,
    pub life: u32,
    pub seq: u64,
}

/// A text that names no row.
#[derive(Debug, thiserror::Error)]
#[error("found \"{0}\", expected a row of a station's history such as \"b/1/482\"")]
pub struct NotARow(String);

written!(RowId, ([u8; 3], u32, u64), |row| (row.station.bytes(), row.life, row.seq), |(
    station,
    life,
    seq,
)| RowId {
    station: StationId::of_bytes(station),
    life,
    seq
});

impl TryFrom<String> for RowId {
    type Error = NotARow;
    fn try_from(text: String) -> Result<Self, NotARow> {
        let parts: Vec<&str> = text.split('/').collect();
        let read = || match parts[..] {
            [station, life, seq] => Some(RowId {
                station: station.parse().ok()?,
                life: life.parse().ok()?,
                seq: seq.parse().ok()?,
            }),
            _ => None,
        };
        read().ok_or_else(|| NotARow(super::words::clean(&text, 30)))
    }
}

impl From<RowId> for String {
    fn from(row: RowId) -> String {
        row.to_string()
    }
}

impl std::fmt::Display for RowId {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        write!(f, "{}/{}/{}", self.station, self.life, self.seq)
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_tag_reads_as_it_is_written_and_in_lower_case() {
        let tag: Tag = "A17-03".parse().unwrap();
        assert_eq!(tag.to_string(), "A17-03");
        assert_eq!("a17-3".parse::<Tag>().unwrap(), tag);
        assert!(tag.to_string().len() >= 4, "a scan is four or more characters");
    }

    #[test]
    fn an_order_is_of_its_station_and_without_letters_of_the_own() {
        let own: StationId = "a".parse().unwrap();
        let read = |text: &str| OrderId::read(text, own).map(|id| id.to_string());
        assert_eq!(
            ["3", " A3", "b3", "ABC12"].map(read).map(Option::unwrap),
            ["A3", "A3", "B3", "ABC12"]
        );
        for text in ["", "A", "0", "A0", "A3-01", "ABCD3", "3a", "+3", "Ä3"] {
            assert_eq!(read(text), None, "{text:?}");
        }
        let of: OrderId = "B3".to_owned().try_into().unwrap();
        assert_eq!(
            (of.written_at(of.station).to_string(), of.written_at(own).to_string()),
            ("3".into(), "B3".into())
        );
        for (order, json) in [(OrderRef::Own(of.no), "3"), (OrderRef::Of(of), "\"B3\"")] {
            assert_eq!(serde_json::to_string(&order).unwrap(), json);
            assert_eq!(serde_json::from_str::<OrderRef>(json).unwrap(), order);
        }
        assert!(serde_json::from_str::<OrderRef>("\"3\"").is_err(), "whose is it?");
    }

    #[test]
    fn what_is_no_tag_is_refused() {
        for text in ["", "17-03", "A-03", "A17", "A17-", "ABCD1-1", "A1-99999", "A1-+3", "Ä1-02"] {
            assert!(text.parse::<Tag>().is_err(), "{text:?}");
        }
    }
}
