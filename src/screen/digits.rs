//! Figures that are read from three metres away.
//!
//! A dot is a run of spaces on a coloured ground, so no font needs to have a glyph for it. Two sets: three by
//! five dots and five by seven. Each dot is two cells wide for every cell of height, about a square on most
//! screens.

use ratatui::buffer::Buffer;
use ratatui::layout::Rect;
use ratatui::style::Style;

/// Rows of dots, one bit a dot, the highest bit to the left.
type Pattern<const ROWS: usize> = [u8; ROWS];

const SMALL: [(char, Pattern<5>); 13] = [
    ('0', [0b111, 0b101, 0b101, 0b101, 0b111]),
    ('1', [0b010, 0b110, 0b010, 0b010, 0b111]),
    ('2', [0b111, 0b001, 0b111, 0b100, 0b111]),
    ('3', [0b111, 0b001, 0b111, 0b001, 0b111]),
    ('4', [0b101, 0b101, 0b111, 0b001, 0b001]),
    ('5', [0b111, 0b100, 0b111, 0b001, 0b111]),
    ('6', [0b111, 0b100, 0b111, 0b101, 0b111]),
    ('7', [0b111, 0b001, 0b001, 0b010, 0b010]),
    ('8', [0b111, 0b101, 0b111, 0b101, 0b111]),
    ('9', [0b111, 0b101, 0b111, 0b001, 0b111]),
    ('+', [0b000, 0b010, 0b111, 0b010, 0b000]),
    (':', [0b000, 0b010, 0b000, 0b010, 0b000]),
    ('?', [0b111, 0b001, 0b011, 0b000, 0b010]),
];

const LARGE: [(char, Pattern<7>); 13] = [
    ('0', [0b01110, 0b10001, 0b10001, 0b10001, 0b10001, 0b10001, 0b01110]),
    ('1', [0b00100, 0b01100, 0b00100, 0b00100, 0b00100, 0b00100, 0b01110]),
    ('2', [0b01110, 0b10001, 0b00001, 0b00110, 0b01000, 0b10000, 0b11111]),
    ('3', [0b11110, 0b00001, 0b00001, 0b01110, 0b00001, 0b00001, 0b11110]),
    ('4', [0b00010, 0b00110, 0b01010, 0b10010, 0b11111, 0b00010, 0b00010]),
    ('5', [0b11111, 0b10000, 0b11110, 0b00001, 0b00001, 0b10001, 0b01110]),
    ('6', [0b00110, 0b01000, 0b10000, 0b11110, 0b10001, 0b10001, 0b01110]),
    ('7', [0b11111, 0b00001, 0b00010, 0b00100, 0b01000, 0b01000, 0b01000]),
    ('8', [0b01110, 0b10001, 0b10001, 0b01110, 0b10001, 0b10001, 0b01110]),
    ('9', [0b01110, 0b10001, 0b10001, 0b01111, 0b00001, 0b00010, 0b01100]),
    ('+', [0b00000, 0b00100, 0b00100, 0b11111, 0b00100, 0b00100, 0b00000]),
    (':', [0b00000, 0b00100, 0b00000, 0b00000, 0b00000, 0b00100, 0b00000]),
    ('?', [0b01110, 0b10001, 0b00001, 0b00110, 0b00100, 0b00000, 0b00100]),
];

/// A set of figures at a size.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Face {
    large: bool,
    /// Rows of cells a dot.
    scale: u16,
}

impl Face {
    /// The largest face in which `text` fits into `width` by `height` cells, if any does.
    pub fn fitting(text: &str, width: u16, height: u16) -> Option<Face> {
        Self::largest(|face| face.width(text) <= width && face.height() <= height)
    }

    /// The largest face of those that fit.
    pub fn largest(fits: impl Fn(Face) -> bool) -> Option<Face> {
        let faces = (1..=3).flat_map(|scale| [false, true].map(|large| Face { large, scale }));
        faces.filter(|face| fits(*face)).max_by_key(|face| face.height())
    }

    /// Cells from the left of the first figure to the right of the last.
    pub fn width(self, text: &str) -> u16 {
        let all = text.chars().fold(0u16, |sum, letter| sum.saturating_add(self.pitch(letter)));
        all.saturating_sub(self.gap())
    }

    /// Cells from the left of one figure to the left of the next. A colon is one dot wide.
    fn pitch(self, letter: char) -> u16 {
        let columns = if letter == ':' { 1 } else { self.dots().0 };
        columns * 2 * self.scale + self.gap()
    }

    /// Rows of cells.
    pub fn height(self) -> u16 {
        self.dots().1 * self.scale
    }

    fn dots(self) -> (u16, u16) {
        if self.large { (5, 7) } else { (3, 5) }
    }

    fn gap(self) -> u16 {
        if self.large { 2 * self.scale } else { self.scale.max(1) }
    }

    fn rows(self, letter: char) -> Vec<u8> {
        if self.large {
            LARGE
                .iter()
                .find(|(c, _)| *c == letter)
                .map_or_else(Vec::new, |(_, rows)| rows.to_vec())
        } else {
            SMALL
                .iter()
                .find(|(c, _)| *c == letter)
                .map_or_else(Vec::new, |(_, rows)| rows.to_vec())
        }
    }

    /// Draws `text` with its top left corner at that of `area`, clipped to it.
    pub fn draw(self, buf: &mut Buffer, area: Rect, text: &str, dot: Style) {
        for square in self.squares(area, text) {
            buf.set_style(square.intersection(buf.area), dot);
        }
    }

    /// The cells of each dot of a text with its top left corner at that of `area`, clipped to it.
    pub fn squares(self, area: Rect, text: &str) -> Vec<Rect> {
        let (columns, _) = self.dots();
        let mut left = area.x;
        let mut squares = Vec::new();
        for letter in text.chars() {
            // The one dot of a colon stands in the middle of its pattern.
            let first = if letter == ':' { columns / 2 } else { 0 };
            for (row, bits) in (0u16..).zip(self.rows(letter)) {
                for column in (0..columns).filter(|c| bits >> (columns - 1 - c) & 1 == 1) {
                    let square = Rect {
                        x: left.saturating_add((column - first.min(column)) * 2 * self.scale),
                        y: area.y.saturating_add(row * self.scale),
                        width: 2 * self.scale,
                        height: self.scale,
                    };
                    squares.push(square.intersection(area));
                }
            }
            left = left.saturating_add(self.pitch(letter));
        }
        squares
    }
}

/// Seconds as they stand on a press: "37", from 100 s on "1:40".
pub fn seconds(count: u64) -> String {
    if count < 100 { count.to_string() } else { format!("{}:{:02}", count / 60, count % 60) }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn figures_are_at_least_five_rows_high() {
        let face = Face::fitting("37", 14, 5).unwrap();
        assert_eq!((face.height(), face.width("37")), (5, 13));
        assert_eq!(face.width("1:40"), 23, "a colon is one dot wide");
        assert_eq!(Face::fitting("37", 12, 5), None);
        assert_eq!(Face::fitting("37", 80, 40).unwrap().height(), 21);
    }

    #[test]
    fn long_times_are_in_minutes() {
        assert_eq!(seconds(99), "99");
        assert_eq!(seconds(100), "1:40");
        assert_eq!(seconds(3_725), "62:05");
    }
}
