//! A garment that a customer brought back.

use std::fmt;

use serde::{Deserialize, Serialize};

use super::down;
use crate::figures::fastness::Grade;
use crate::figures::units::GramsPerSquareMetre;
use crate::shop::facts::ids::{OrderId, OrderNo, Tag};

/// What a customer says is wrong with it.
#[derive(Debug, Clone, Copy, Default, PartialEq, Eq, Serialize, Deserialize)]
#[serde(rename_all = "kebab-case")]
pub enum Complaint {
    #[default]
    WashedOut,
    /// A mark of fluid or of the press.
    Mark,
    Other,
}

impl Complaint {
    /// All of them, in the order of the form's digits.
    pub const ALL: [Complaint; 3] = [Complaint::WashedOut, Complaint::Mark, Complaint::Other];
}

impl fmt::Display for Complaint {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.pad(match self {
            Complaint::WashedOut => "washed out",
            Complaint::Mark => "fluid or press mark",
            Complaint::Other => "something else",
        })
    }
}

/// A garment came back. Customers know their order and a size; the tag was in the neck, and is often cut out.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct Returned {
    pub order: OrderNo,
    /// Which one it is; None: one of its order, and of its size where that is known.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub garment: Option<Tag>,
    #[serde(default, skip_serializing_if = "String::is_empty")]
    pub size: String,
    pub complaint: Complaint,
    /// How often it was washed, as far as the customer knows.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub cycles: Option<u32>,
    /// As somebody at the shop graded it.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub grade: Option<Grade>,
    /// The CIELAB difference, where two colours were measured.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub delta_e: Option<f64>,
    /// What was known of it, where it is known which one it is: its recipe and its coat.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub recipe: Option<String>,
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub coat: Option<GramsPerSquareMetre>,
    /// The coat was told by its steam, not by the scale.
    #[serde(default, skip_serializing_if = "down")]
    pub estimated: bool,
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub file: Option<String>,
}

/// What a customer can say of the garment: its order, its tag or its size where those are known.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct ReturnAsked {
    pub order: OrderId,
    pub garment: Option<Tag>,
    pub size: String,
}

impl Returned {
    /// Of an order, of which nothing else is said.
    pub fn of(order: OrderNo, garment: Option<Tag>, complaint: Complaint) -> Self {
        Self {
            order,
            garment,
            size: String::new(),
            complaint,
            cycles: None,
            grade: None,
            delta_e: None,
            recipe: None,
            coat: None,
            estimated: false,
            file: None,
        }
    }

    /// In words.
    pub fn in_words(&self) -> String {
        let which = match self.garment {
            Some(tag) => format!("{tag} came back"),
            None if self.size.is_empty() => format!("a garment of order {} came back", self.order),
            None => format!("a garment of order {}, size {}, came back", self.order, self.size),
        };
        let washed = match self.cycles {
            Some(1) => " after 1 wash".to_owned(),
            Some(cycles) => format!(" after {cycles} washes"),
            None => String::new(),
        };
        let grade = self.grade.map_or_else(String::new, |grade| format!(", grade {grade}"));
        format!("{which}: {}{washed}{grade}", self.complaint)
    }
}
