//! Letters of eight by eight dots, drawn so many times as large: what a label printer draws sharply at any size.

use font8x8::{BASIC_FONTS, GREEK_FONTS, HIRAGANA_FONTS, LATIN_FONTS, MISC_FONTS, UnicodeFonts};

use super::Drawing;

/// Dots of a letter each way, at its smallest.
pub const SIDE: u32 = 8;

/// A letter that is not known: a frame, so that nobody takes it for a blank.
const FRAME: [u8; 8] = [0, 0x7e, 0x42, 0x42, 0x42, 0x42, 0x7e, 0];

/// Draws a text in one line, each dot `scale` dots large.
pub fn draw(onto: &mut Drawing, (x, y): (u32, u32), scale: u32, text: &str) {
    for (n, letter) in (0..).zip(text.chars()) {
        for (row, dots) in (0..).zip(glyph(letter)) {
            let at = (x + n * SIDE * scale, y + row * scale);
            onto.row(at, scale, (0..SIDE).map(|bit| dots >> bit & 1 == 1));
        }
    }
}

/// Rows of a letter from above; the lowest bit stands on the left.
fn glyph(letter: char) -> [u8; 8] {
    BASIC_FONTS
        .get(letter)
        .or_else(|| LATIN_FONTS.get(letter))
        .or_else(|| GREEK_FONTS.get(letter))
        .or_else(|| HIRAGANA_FONTS.get(letter))
        .or_else(|| MISC_FONTS.get(letter))
        .unwrap_or(FRAME)
}
