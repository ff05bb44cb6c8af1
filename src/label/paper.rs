//! What labels are printed on: a roll of labels of one size, or sheets of them.

use std::fmt;
use std::str::FromStr;

use serde::{Deserialize, Serialize};

use super::{DOTS_PER_INCH, Drawing};
use crate::figures::units::{CM_PER_INCH, Centimetres, Rectangle};

/// A sheet that is divided into labels.
///
/// Common practice, no source: both divisions are sold everywhere, neither is a standard.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Sheet {
    /// How a hand types it.
    name: &'static str,
    size: Rectangle,
    label: Rectangle,
    columns: u32,
    rows: u32,
    /// From the middle of one column to the next.
    apart: Centimetres,
}

/// What labels are printed on.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize)]
#[serde(try_from = "String", into = "String")]
pub enum Paper {
    /// Labels of one size, one after the other.
    Roll(Rectangle),
    Sheet(Sheet),
}

/// A text that names no paper.
#[derive(Debug, thiserror::Error)]
#[error("found \"{0}\", expected the size of a label such as \"50 mm x 25 mm\", or a4 or letter")]
pub struct NotAPaper(String);

fn dots(length: Centimetres) -> u32 {
    #[expect(
        clippy::cast_possible_truncation,
        clippy::cast_sign_loss,
        reason = "a side of a paper is a small positive number of dots"
    )]
    let dots = (length.as_inches() * DOTS_PER_INCH).floor().clamp(0.0, 100_000.0) as u32;
    dots
}

/// One to thirty centimetres: other sides are a slip of the finger.
fn is_a_label(side: Centimetres) -> bool {
    (1.0..=30.0).contains(&side.0)
}

impl Paper {
    /// A4 with three by eight labels of 70 mm x 37 mm.
    pub fn a4() -> Self {
        Paper::Sheet(Sheet {
            name: "a4",
            size: Rectangle::millimetres(210.0, 297.0),
            label: Rectangle::millimetres(70.0, 37.0),
            columns: 3,
            rows: 8,
            apart: Centimetres(7.0),
        })
    }

    /// Letter with three by ten labels of 2 5/8 in x 1 in.
    pub fn letter() -> Self {
        Paper::Sheet(Sheet {
            name: "letter",
            size: Rectangle::inches(8.5, 11.0),
            label: Rectangle::inches(2.625, 1.0),
            columns: 3,
            rows: 10,
            apart: Centimetres(2.75 * CM_PER_INCH),
        })
    }

    /// Dots of one label, across and down.
    pub fn label(self) -> (u32, u32) {
        let (Paper::Roll(label) | Paper::Sheet(Sheet { label, .. })) = self;
        (dots(label.width), dots(label.height))
    }

    /// The sheet, where it is one.
    pub fn sheet(self) -> Option<Sheet> {
        match self {
            Paper::Roll(_) => None,
            Paper::Sheet(sheet) => Some(sheet),
        }
    }
}

impl Default for Paper {
    fn default() -> Self {
        Paper::Roll(Rectangle::millimetres(50.0, 25.0))
    }
}

impl FromStr for Paper {
    type Err = NotAPaper;
    fn from_str(text: &str) -> Result<Self, NotAPaper> {
        match text.trim().to_ascii_lowercase().as_str() {
            "a4" => Ok(Self::a4()),
            "letter" => Ok(Self::letter()),
            size => {
                let size: Option<Rectangle> = size.parse().ok();
                let size = size.filter(|size| is_a_label(size.width) && is_a_label(size.height));
                size.map(Paper::Roll).ok_or_else(|| NotAPaper(text.to_owned()))
            }
        }
    }
}

impl TryFrom<String> for Paper {
    type Error = NotAPaper;
    fn try_from(text: String) -> Result<Self, NotAPaper> {
        text.parse()
    }
}

impl From<Paper> for String {
    fn from(paper: Paper) -> String {
        paper.to_string()
    }
}

impl fmt::Display for Paper {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            Paper::Roll(size) => write!(f, "{size}"),
            Paper::Sheet(sheet) => f.write_str(sheet.name),
        }
    }
}

impl Sheet {
    /// Upper left corners of the labels in dots, row by row, the whole block in the middle of the sheet.
    pub fn places(self) -> impl Iterator<Item = (u32, u32)> {
        let (label, apart) = (self.label, dots(self.apart));
        let across = apart * (self.columns - 1) + dots(label.width);
        let left = dots(self.size.width).saturating_sub(across) / 2;
        let down = dots(label.height);
        let top = dots(self.size.height).saturating_sub(down * self.rows) / 2;
        let columns = self.columns;
        (0..self.rows).flat_map(move |row| {
            (0..columns).map(move |column| (left + column * apart, top + row * down))
        })
    }

    /// A page with these labels.
    pub fn page(self, labels: &[Drawing]) -> Drawing {
        let mut page = Drawing::blank(dots(self.size.width), dots(self.size.height));
        for (label, (x, y)) in labels.iter().zip(self.places()) {
            page.put(label, x, y);
        }
        page
    }
}
