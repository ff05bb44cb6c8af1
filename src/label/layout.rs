//! One label: the tag in large type and the words at the left, the squares at the right, the bars below.

use super::codes::{self, NoCode, QUIET_BARS, QUIET_SQUARES};
use super::letters::{self, SIDE};
use super::{Drawing, Words};

/// Room that a printer may miss at an edge, in dots: a millimetre.
const MARGIN: u32 = 8;
/// Dots of a module below which the usual readers fail: a quarter and three eighths of a millimetre.
const LEAST_BAR: u32 = 2;
const LEAST_SQUARE: u32 = 3;
/// Wider bars are read no better.
const MOST_BAR: u32 = 4;
/// The words' letters, from the largest: three and two millimetres high. Smaller ones nobody reads at a bench.
const WORDS: [u32; 2] = [3, 2];
const BETWEEN_LINES: u32 = 4;
/// Of a label's height, the bars': a scanner held askew still crosses all of them.
const BARS_OF: u32 = 4;

/// A label that cannot be drawn.
#[derive(Debug, thiserror::Error)]
pub enum NoRoom {
    #[error(
        "a label of {} dots x {} dots is too small for the codes of {tag}: at 203 dots an inch it needs {} x {}, which is \
         {} mm x {} mm. Name a larger --size",
        found.0, found.1, needs.0, needs.1, millimetres(needs.0), millimetres(needs.1)
    )]
    TooSmall { tag: String, found: (u32, u32), needs: (u32, u32) },
    #[error(transparent)]
    NoCode(#[from] NoCode),
}

/// Draws a label of so many dots.
///
/// # Errors
/// A label too small for its codes, a tag that no code holds.
pub fn label(words: &Words, width: u32, height: u32) -> Result<Drawing, NoRoom> {
    let (bars, squares) = (codes::bars(&words.code)?, codes::squares(&words.code)?);
    let modules = count(bars.len()) + 2 * QUIET_BARS;
    let side = count(squares.len()) + 2 * QUIET_SQUARES;
    let bars_high = height / BARS_OF;
    let above = height.saturating_sub(bars_high + MARGIN);
    let bar = (width / modules).min(MOST_BAR);
    // The squares leave the larger part of the width to the words.
    let square = (above / side).min(width * 2 / 5 / side);
    if bar < LEAST_BAR || square < LEAST_SQUARE {
        let wide = (modules * LEAST_BAR).max((side * LEAST_SQUARE * 5).div_ceil(2));
        let high = ((side * LEAST_SQUARE + MARGIN) * BARS_OF).div_ceil(BARS_OF - 1);
        let (tag, found) = (words.code.clone(), (width, height));
        return Err(NoRoom::TooSmall { tag, found, needs: (wide, high) });
    }
    let mut drawn = Drawing::blank(width, height);
    let code_side = side * square;
    let corner = (width - code_side + QUIET_SQUARES * square, QUIET_SQUARES * square);
    for (n, row) in (0..).zip(&squares) {
        drawn.row((corner.0, corner.1 + n * square), square, row.iter().copied());
    }
    let left = (width - modules * bar) / 2 + QUIET_BARS * bar;
    let from = drawn.bars.len();
    drawn.row((left, above), bar, bars.iter().copied());
    for bar in &mut drawn.bars[from..] {
        bar.height = bars_high;
    }
    write(&mut drawn, words, (width - code_side - MARGIN, above));
    Ok(drawn)
}

/// The tag and the words, in the upper left corner.
fn write(onto: &mut Drawing, words: &Words, (width, height): (u32, u32)) {
    let letters = count(words.large.chars().count()).max(1);
    let large = (width / (letters * SIDE)).min(height * 2 / 5 / SIDE).max(1);
    letters::draw(onto, (MARGIN, MARGIN), large, &words.large);
    let top = MARGIN + large * SIDE + MARGIN;
    let room = height.saturating_sub(top);
    let [scale, smaller] = WORDS;
    let (lines, scale) = match lines(words, width, scale) {
        lines if count(lines.len()) * (SIDE * scale + BETWEEN_LINES) <= room => (lines, scale),
        _ => (self::lines(words, width, smaller), smaller),
    };
    let high = SIDE * scale + BETWEEN_LINES;
    for (n, line) in (0..room / high).zip(&lines) {
        letters::draw(onto, (MARGIN, top + n * high), scale, line);
    }
}

/// The words, broken where they are too long for their place.
fn lines(words: &Words, width: u32, scale: u32) -> Vec<String> {
    let letters = usize::try_from(width / (SIDE * scale)).unwrap_or(usize::MAX).max(1);
    let broken = |text: &String| {
        textwrap::wrap(text, letters).into_iter().map(std::borrow::Cow::into_owned).collect()
    };
    words.below.iter().flat_map(|text: &String| -> Vec<String> { broken(text) }).collect()
}

/// Dots in millimetres, rounded up.
fn millimetres(dots: u32) -> u32 {
    (dots * 254).div_ceil(2030)
}

fn count(modules: usize) -> u32 {
    u32::try_from(modules).unwrap_or(u32::MAX)
}
