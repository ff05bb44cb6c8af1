//! What is drawn on paper: a garment's label, with its tag in large type and as two codes that any reader knows.
//!
//! Everything is drawn in the dots of a label printer, so that no edge of a bar falls between two of them: the same
//! drawing becomes a picture, a vector drawing or a page.

mod codes;
mod layout;
mod letters;
pub mod paper;
pub mod pdf;
pub mod png;
pub mod svg;

pub use layout::{NoRoom, label};
pub use paper::{NotAPaper, Paper};

/// Dots of a usual thermal printer to an inch: eight to a millimetre.
pub const DOTS_PER_INCH: f64 = 203.0;

/// What stands on a label.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Words {
    /// What the codes hold.
    pub code: String,
    /// What the large type says.
    pub large: String,
    /// What is written below it, a paragraph each.
    pub below: Vec<String>,
}

/// A black rectangle, in dots from the upper left corner.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Bar {
    pub x: u32,
    pub y: u32,
    pub width: u32,
    pub height: u32,
}

/// Black on white, so many dots wide and high.
#[derive(Debug, Clone, Default, PartialEq, Eq)]
pub struct Drawing {
    pub width: u32,
    pub height: u32,
    pub bars: Vec<Bar>,
}

impl Drawing {
    /// An empty one.
    pub fn blank(width: u32, height: u32) -> Self {
        Self { width, height, bars: Vec::new() }
    }

    /// Puts another drawing onto it.
    pub fn put(&mut self, other: &Drawing, x: u32, y: u32) {
        self.bars.extend(other.bars.iter().map(|bar| Bar { x: bar.x + x, y: bar.y + y, ..*bar }));
    }

    /// Blackens a row of squares, each of `side` dots, where `black` says so.
    fn row(&mut self, (x, y): (u32, u32), side: u32, black: impl IntoIterator<Item = bool>) {
        let mut run: Option<Bar> = None;
        for (n, black) in (0..).zip(black) {
            match &mut run {
                Some(bar) if black => bar.width += side,
                _ if black => run = Some(Bar { x: x + n * side, y, width: side, height: side }),
                _ => self.bars.extend(run.take()),
            }
        }
        self.bars.extend(run);
    }
}

/// The pages or labels that are to be drawn on a paper.
///
/// # Errors
/// A label too small for what stands on it.
pub fn pages(labels: &[Words], paper: Paper) -> Result<Vec<Drawing>, NoRoom> {
    let (width, height) = paper.label();
    let drawn: Vec<Drawing> =
        labels.iter().map(|words| label(words, width, height)).collect::<Result<_, _>>()?;
    let Some(sheet) = paper.sheet() else { return Ok(drawn) };
    Ok(drawn.chunks(sheet.places().count()).map(|some| sheet.page(some)).collect())
}
