//! The size marks of a line as a row: how many of each, in the order in which they were written.

use std::fmt;

use serde::de::{Deserialize, Deserializer, MapAccess, Visitor};
use serde::ser::{Serialize, SerializeMap, Serializer};

use super::check::Senseless;
use super::words::clean;

/// The most garments in one order. More is a slip of the finger, not a day's work.
pub const MOST_GARMENTS: u32 = 5000;
/// The longest size mark, in letters.
pub const LONGEST_MARK: usize = 8;
/// The most sizes of one line.
const MOST_SIZES: usize = 20;

/// The sizes that a row's places stand for where the profile names none. Common practice of the trade, no source.
const USUAL: [&str; 6] = ["S", "M", "L", "XL", "XXL", "XXXL"];

/// The sizes of a station whose profile names none.
pub fn usual_sizes() -> Vec<String> {
    USUAL.iter().map(|mark| (*mark).to_owned()).collect()
}

/// Whether they are those: they are not written then.
pub(super) fn are_usual(sizes: &[String]) -> bool {
    sizes == USUAL
}

/// Whether these can be the places of a row.
///
/// # Errors
/// None, too many, one without a name or one twice.
pub(super) fn check_marks(marks: &[String]) -> Result<(), Senseless> {
    if twice(marks).is_some()
        || !(1..=MOST_SIZES).contains(&marks.len())
        || marks.iter().any(String::is_empty)
    {
        let reason =
            format!("expected 1 to {MOST_SIZES} different size marks such as [\"S\", \"M\"]");
        return Err(Senseless::new("sizes", reason));
    }
    Ok(())
}

/// The first mark that was there before.
fn twice<T: PartialEq>(marks: &[T]) -> Option<&T> {
    (1..marks.len()).find(|n| marks[..*n].contains(&marks[*n])).map(|n| &marks[n])
}

/// So many of each size, as `{"S": 2, "M": 4}`.
#[derive(Debug, Clone, PartialEq, Eq, Default)]
pub struct Sizes(Vec<(String, u32)>);

/// Why a row of counts is none.
#[derive(Debug, Clone, PartialEq, Eq, thiserror::Error)]
pub enum NoRow {
    #[error("\"{0}\" is no number of garments: 2-4-3 is 2 {1}, then 4 and 3 of the next sizes")]
    NoNumber(String, String),
    #[error("{0} counts, but {1} sizes: {2}")]
    TooMany(usize, usize, String),
    #[error("no garments of any size: 2-4-3 is 2 {0}, then 4 and 3 of the next sizes")]
    Empty(String),
}

impl Sizes {
    /// Whether the line has no row of them.
    pub fn is_empty(&self) -> bool {
        self.0.is_empty()
    }

    /// Size marks and counts, as they were written.
    pub fn iter(&self) -> impl Iterator<Item = (&str, u32)> {
        self.0.iter().map(|(mark, count)| (mark.as_str(), *count))
    }

    /// How many garments they are.
    pub fn count(&self) -> u32 {
        self.0.iter().fold(0, |sum, (_, count)| sum.saturating_add(*count))
    }

    /// Takes control characters out of the marks.
    pub(super) fn cleaned(self) -> Self {
        Self(self.0.into_iter().map(|(mark, count)| (clean(&mark, LONGEST_MARK), count)).collect())
    }

    /// What does not make sense about them, in words.
    pub(super) fn wrong(&self) -> Option<String> {
        let marks: Vec<&str> = self.iter().map(|(mark, _)| mark).collect();
        let zero = self.iter().find(|(_, count)| !(1..=MOST_GARMENTS).contains(count));
        if self.0.len() > MOST_SIZES {
            return Some(format!("{} sizes: expected at most {MOST_SIZES}", self.0.len()));
        }
        if marks.contains(&"") {
            return Some("a size without a name: expected such as {\"S\": 2, \"M\": 4}".to_owned());
        }
        if let Some(mark) = twice(&marks) {
            return Some(format!("\"{mark}\" is there twice"));
        }
        zero.map(|(mark, count)| format!("{count} of \"{mark}\": expected 1 to {MOST_GARMENTS}"))
    }

    /// Reads counts with a dash between the sizes, each at its place: "2-4-3" is two of the first, four of the second
    /// and three of the third; "-12" is twelve of the second alone.
    ///
    /// # Errors
    /// Something that is no number, more counts than sizes, none at all.
    pub fn read_row(text: &str, marks: &[String]) -> Result<Self, NoRow> {
        let counts: Vec<&str> = text.split('-').map(str::trim).collect();
        let first = || marks.first().cloned().unwrap_or_default();
        let last = counts
            .iter()
            .rposition(|count| !count.is_empty())
            .ok_or_else(|| NoRow::Empty(first()))?;
        if last >= marks.len() {
            return Err(NoRow::TooMany(last + 1, marks.len(), marks.join(" ")));
        }
        let mut row = Vec::new();
        for (mark, count) in marks.iter().zip(counts).filter(|(_, count)| !count.is_empty()) {
            let number = count.parse::<u32>();
            let number = number.map_err(|_| NoRow::NoNumber(count.to_owned(), first()))?;
            if number > 0 {
                row.push((mark.clone(), number));
            }
        }
        if row.is_empty() { Err(NoRow::Empty(first())) } else { Ok(Self(row)) }
    }
}

impl fmt::Display for Sizes {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        let said: Vec<String> =
            self.iter().map(|(mark, count)| format!("{mark} {count}")).collect();
        f.pad(&said.join(", "))
    }
}

impl Serialize for Sizes {
    fn serialize<S: Serializer>(&self, writer: S) -> Result<S::Ok, S::Error> {
        let mut map = writer.serialize_map(Some(self.0.len()))?;
        for (mark, count) in self.iter() {
            map.serialize_entry(mark, &count)?;
        }
        map.end()
    }
}

impl<'de> Deserialize<'de> for Sizes {
    fn deserialize<D: Deserializer<'de>>(reader: D) -> Result<Self, D::Error> {
        struct Row;
        impl<'de> Visitor<'de> for Row {
            type Value = Sizes;
            fn expecting(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
                f.write_str("sizes, each with its count, such as {\"S\": 2, \"M\": 4}")
            }
            fn visit_map<A: MapAccess<'de>>(self, mut map: A) -> Result<Sizes, A::Error> {
                let mut row = Vec::new();
                while let Some(entry) = map.next_entry()? {
                    row.push(entry);
                }
                Ok(Sizes(row))
            }
        }
        reader.deserialize_map(Row)
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn read(text: &str) -> Result<String, NoRow> {
        Sizes::read_row(text, &usual_sizes()).map(|row| row.to_string())
    }

    #[test]
    fn each_count_has_the_size_of_its_place() {
        assert_eq!(read("2-4-3"), Ok("S 2, M 4, L 3".to_owned()));
        assert_eq!(read("2--3"), Ok("S 2, L 3".to_owned()));
        assert_eq!(read("-12"), Ok("M 12".to_owned()));
        assert_eq!(read("12-"), Ok("S 12".to_owned()));
        assert_eq!(read("0-1"), Ok("M 1".to_owned()));
        assert_eq!(read("--"), Err(NoRow::Empty("S".to_owned())));
        assert!(matches!(read("1-1-1-1-1-1-1"), Err(NoRow::TooMany(7, 6, _))));
        assert!(matches!(read("2-x"), Err(NoRow::NoNumber(..))));
    }

    #[test]
    fn a_row_is_read_and_written_in_the_order_of_its_sizes() {
        let text = "{\"S\":2,\"M\":4,\"L\":3}";
        let sizes: Sizes = serde_json::from_str(text).unwrap();
        assert_eq!((sizes.count(), sizes.wrong()), (9, None));
        assert_eq!(serde_json::to_string(&sizes).unwrap(), text);
        let twice: Sizes = serde_json::from_str("{\"S\":2,\"S\":4}").unwrap();
        assert_eq!(twice.wrong().unwrap(), "\"S\" is there twice");
    }
}
