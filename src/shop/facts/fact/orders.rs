//! Facts about an order: taken in, changed, cancelled; and about the blanks that make it up.

use serde::{Deserialize, Serialize};

use super::{RowId, down};
use crate::shop::facts::ids::{OrderId, OrderNo, OrderRef, Tag};
use crate::shop::facts::order::OrderForm;
use crate::shop::facts::rank::Rank;
use crate::shop::facts::station::DateOrder;
use crate::shop::facts::when::{Due, NotAMoment};
use crate::shop::facts::words::behind;

/// An order was taken in; its garments are numbered from 1 in the order of the lines. One that is shared has none: each
/// station that takes a part of it takes that in as an order of its own.
///
/// The hub reads the number and what stands behind it: they stay first in the body, in this order.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct OrderTaken {
    pub order: OrderNo,
    #[serde(default, skip_serializing_if = "down")]
    pub shared: bool,
    /// Which part of which shared order it is.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub part: Option<PartOf>,
    pub form: OrderForm,
    /// The inbox file, for an order that came by file: the same file is never taken twice.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub file: Option<String>,
}

impl OrderTaken {
    /// Whether somebody at the bench took it in, who may take that back: what the hub has granted is not his alone, and of
    /// an order that was laid for all stations others may make garments already. That one is cancelled instead.
    pub fn is_by_hand(&self) -> bool {
        self.file.is_none() && self.part.is_none() && !self.shared
    }
}

/// Garments of a line of a shared order, which the hub has granted to a station.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
pub struct PartOf {
    pub of: OrderId,
    pub line: usize,
    pub count: u32,
    /// What was asked for by: a number that no other asking has. Asked again after a lost answer, it is the same grant.
    pub grant: String,
}

/// Something of an order was changed. What is not named stays as it was.
///
/// Of an order that all stations share it is a word of this station: of rank, of due time, and of whether it is cancelled, each
/// by itself, the word with the highest number counts for all. The hub reads the body: what stands first in it stays there.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct OrderChanged {
    pub order: OrderRef,
    #[serde(default, skip_serializing_if = "down")]
    pub shared: bool,
    /// Nobody is to take or make any of a shared order.
    #[serde(default, skip_serializing_if = "down")]
    pub cancelled: bool,
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub rank: Option<Rank>,
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub due: Option<NewDue>,
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub more: Option<MoreBlanks>,
    /// The number of a word on a shared order: higher than that of each word of its kind that was known here.
    #[serde(default, skip_serializing_if = "is_none_yet")]
    pub word: u64,
}

/// Words were not numbered once.
fn is_none_yet(word: &u64) -> bool {
    *word == 0
}

impl OrderChanged {
    /// Whether somebody may take it back: what all stations go by is changed by another word.
    pub fn is_by_hand(&self) -> bool {
        !self.shared
    }
}

/// Another word on a shared order counts from now on: this station heard so from the hub.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct ChangeHeard {
    pub order: OrderId,
    /// The row of the station that said it.
    pub by: RowId,
    /// What that station is called.
    #[serde(default, skip_serializing_if = "String::is_empty")]
    pub bench: String,
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub rank: Option<Rank>,
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub due: Option<NewDue>,
    #[serde(default, skip_serializing_if = "down")]
    pub cancelled: bool,
    /// The word's number.
    #[serde(default, skip_serializing_if = "is_none_yet")]
    pub word: u64,
}

/// Which stands first in the dates of the shop's tables, as somebody said when one could be two.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct DatesSaid {
    pub first: DateOrder,
    /// The file of the inbox that brought it, where it was said at a terminal.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub file: Option<String>,
}

/// When an order is due from now on: a moment, or "none".
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize)]
#[serde(try_from = "String", into = "String")]
pub enum NewDue {
    Never,
    At(Due),
}

impl NewDue {
    /// As an order has it.
    pub fn due(self) -> Option<Due> {
        match self {
            NewDue::Never => None,
            NewDue::At(due) => Some(due),
        }
    }
}

impl TryFrom<String> for NewDue {
    type Error = NotAMoment;
    fn try_from(text: String) -> Result<Self, NotAMoment> {
        if text == "none" { Ok(NewDue::Never) } else { text.parse().map(NewDue::At) }
    }
}

impl From<NewDue> for String {
    fn from(due: NewDue) -> String {
        due.due().map_or_else(|| "none".to_owned(), |due| due.to_string())
    }
}

/// Blanks that were taken in besides: numbered on from the first.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize)]
pub struct MoreBlanks {
    pub line: usize,
    pub count: u32,
    pub first: Tag,
}

/// An order was cancelled, or fewer garments are wanted of one of its lines.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct OrderCancelled {
    pub order: OrderNo,
    /// None: the whole order.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub line: Option<usize>,
    /// Blanks that went back.
    #[serde(default, skip_serializing_if = "Vec::is_empty")]
    pub back: Vec<Tag>,
    /// Garments that were under way, and what becomes of them.
    #[serde(default, skip_serializing_if = "Vec::is_empty")]
    pub under_way: Vec<Tag>,
    pub leaves: Leaves,
}

/// What becomes of garments that are under way when they are not wanted any more.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize)]
#[serde(rename_all = "kebab-case")]
pub enum Leaves {
    /// They are finished all the same.
    Finish,
    /// What is treated goes to the shelf, what is only pressed goes back to the blanks.
    Shelf,
    Reject,
}

impl Leaves {
    /// What can be chosen, in the order of the list.
    pub const CHOICES: [Leaves; 3] = [Leaves::Finish, Leaves::Shelf, Leaves::Reject];

    /// In words, of garments.
    pub fn words(self) -> &'static str {
        match self {
            Leaves::Finish => "finish them",
            Leaves::Shelf => "to the shelf",
            Leaves::Reject => "reject them",
        }
    }
}

/// A garment of a cancelled order that was no more than pressed went back to the blanks.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct BlankReturned {
    pub garment: Tag,
}

/// A box of blanks for a line was counted.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct BlanksCounted {
    pub order: OrderNo,
    pub line: usize,
    #[serde(default, skip_serializing_if = "String::is_empty")]
    pub mark: String,
    pub count: u32,
    /// How many were still wanted then.
    pub wanted: u32,
}

impl BlanksCounted {
    /// "order 3: 3 M blanks counted, 1 short"; the order is named as it is handed over.
    pub fn in_words(&self, order: &str) -> String {
        let mark = behind(Some(&self.mark));
        let blanks = if self.count == 1 { "blank" } else { "blanks" };
        let said = short_or_over(self.count, self.wanted);
        format!("{order}: {}{mark} {blanks} counted, {said}", self.count)
    }
}

/// How so many that came stand to so many that were wanted.
pub fn short_or_over(count: u32, wanted: u32) -> String {
    match (wanted.saturating_sub(count), count.saturating_sub(wanted)) {
        (0, 0) => "all there".to_owned(),
        (0, over) => format!("{over} over"),
        (short, _) => format!("{short} short"),
    }
}

/// Somebody said whether a line's artwork needs an underbase.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct UnderbaseDecided {
    /// Its own, or another station's of which a garment came here.
    pub order: OrderRef,
    pub line: usize,
    pub underbase: bool,
}

/// A blank was taken in to replace a lost one.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct BlankAdded {
    pub order: OrderNo,
    pub line: usize,
    pub garment: Tag,
}

/// No blank is to be had for a lost one.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct BlankGivenUp {
    pub order: OrderNo,
    pub line: usize,
}
