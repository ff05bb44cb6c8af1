//! Letters and figures that are read from three metres away.
//!
//! A dot is a run of spaces on a coloured ground, so no font needs to have a glyph for it; only the half dots, two
//! to a cell, are drawn with the upper and lower half block, and are left alone where the console lacks them.
//!
//! ```text
//! half  ▀▀█   one column by half a row      wide  ██████  two columns by a row
//!       █▀▀                                       ██████  and two or three times that
//!       ▀▀▀   tall: one column by a row
//! ```

pub mod five;
pub mod seven;

use ratatui::buffer::Buffer;
use ratatui::layout::Rect;
use ratatui::style::Style;

/// How many dots high the letters are.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
enum Dots {
    Five,
    Seven,
}

/// How large a dot is.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
enum Dot {
    /// One column by half a row.
    Half,
    /// One column by a row.
    Tall,
    /// Twice as wide as a row is high in cells, about a square, so many times over.
    Wide(u16),
}

/// A set of letters at a size.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Face {
    dots: Dots,
    dot: Dot,
}

/// How dots are drawn: what fills a whole cell, and how the glyph of a half one looks.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Ink {
    pub symbol: &'static str,
    pub full: Style,
    pub half: Style,
}

impl Face {
    pub const HALF_5: Face = Face { dots: Dots::Five, dot: Dot::Half };
    pub const HALF_7: Face = Face { dots: Dots::Seven, dot: Dot::Half };
    pub const TALL_5: Face = Face { dots: Dots::Five, dot: Dot::Tall };
    pub const TALL_7: Face = Face { dots: Dots::Seven, dot: Dot::Tall };
    pub const WIDE_5: Face = Face { dots: Dots::Five, dot: Dot::Wide(1) };
    pub const WIDE_7: Face = Face { dots: Dots::Seven, dot: Dot::Wide(1) };

    /// Every face, the largest first; of two that are equally high the wider.
    const ALL: [Face; 10] = [
        Face { dots: Dots::Seven, dot: Dot::Wide(3) },
        Face { dots: Dots::Five, dot: Dot::Wide(3) },
        Face { dots: Dots::Seven, dot: Dot::Wide(2) },
        Face { dots: Dots::Five, dot: Dot::Wide(2) },
        Face::WIDE_7,
        Face::TALL_7,
        Face::WIDE_5,
        Face::TALL_5,
        Face::HALF_7,
        Face::HALF_5,
    ];

    /// The largest face that fits, of those that the console can show.
    pub fn largest(halves: bool, fits: impl Fn(Face) -> bool) -> Option<Face> {
        Self::ALL.into_iter().find(|face| (halves || face.dot != Dot::Half) && fits(*face))
    }

    /// The largest face for words that fits: narrow dots are for a single figure, since letters of them run together
    /// from afar, and for consoles that have no better.
    pub fn largest_for_words(halves: bool, fits: impl Fn(Face) -> bool) -> Option<Face> {
        Self::largest(halves, |face| (!halves || face.dot != Dot::Tall) && fits(face))
    }

    /// The largest face in which a figure fits into so many cells, if any does.
    pub fn fitting(halves: bool, text: &str, room: (u16, u16)) -> Option<Face> {
        Self::largest(halves, |face| face.fits(text, room))
    }

    /// The smallest letters that are read from three metres away on a screen of 24 inches with so many rows.
    pub fn least(halves: bool, rows: u16) -> Face {
        match rows {
            _ if !halves => Face::TALL_5,
            ..=42 => Face::HALF_5,
            43..=59 => Face::HALF_7,
            60.. => Face::WIDE_5,
        }
    }

    /// Half rows from the top of a letter to its foot: what is seen of it from afar.
    pub fn half_rows(self) -> u16 {
        match self.dot {
            Dot::Half => self.dots_high(),
            Dot::Tall => self.dots_high() * 2,
            Dot::Wide(times) => self.dots_high() * 2 * times,
        }
    }

    /// Rows of cells that it takes.
    pub fn height(self) -> u16 {
        self.half_rows().div_ceil(2)
    }

    /// Cells from the left of the first letter to the right of the last.
    pub fn width(self, text: &str) -> u16 {
        let pitch = |letter| self.columns(letter).saturating_add(self.dot_columns());
        let all = text.chars().fold(0u16, |sum, letter| sum.saturating_add(pitch(letter)));
        all.saturating_sub(self.dot_columns())
    }

    /// Whether `text` fits into an area.
    pub fn fits(self, text: &str, (width, height): (u16, u16)) -> bool {
        self.height() <= height && self.width(text) <= width
    }

    fn dots_high(self) -> u16 {
        match self.dots {
            Dots::Five => 5,
            Dots::Seven => 7,
        }
    }

    fn dot_columns(self) -> u16 {
        match self.dot {
            Dot::Half | Dot::Tall => 1,
            Dot::Wide(times) => 2 * times,
        }
    }

    fn columns(self, letter: char) -> u16 {
        let dots = self.rows(letter).first().map_or(0, |row| row.len());
        u16::try_from(dots).unwrap_or(0).saturating_mul(self.dot_columns())
    }

    /// The rows of a letter; a question mark stands for one that has no picture.
    fn rows(self, letter: char) -> &'static [&'static str] {
        fn find<const N: usize>(
            glyphs: &'static [(char, [&'static str; N])],
            letter: char,
        ) -> &'static [&'static str] {
            let of = |wanted| glyphs.iter().find(|(glyph, _)| *glyph == wanted);
            of(letter.to_ascii_uppercase()).or_else(|| of('?')).map_or(&[], |(_, rows)| rows)
        }
        match self.dots {
            Dots::Five => find(&five::GLYPHS, letter),
            Dots::Seven => find(&seven::GLYPHS, letter),
        }
    }

    /// Draws `text` with its top left corner at that of `area`, clipped to it; returns where it stands.
    pub fn draw(self, buf: &mut Buffer, area: Rect, text: &str, ink: Ink) -> Rect {
        self.draw_below(0, buf, area, text, ink)
    }

    /// The same so many half rows lower, in letters of half dots; an odd height leaves room for one.
    pub fn draw_below(
        self,
        half_rows: u16,
        buf: &mut Buffer,
        area: Rect,
        text: &str,
        ink: Ink,
    ) -> Rect {
        let area = area.intersection(buf.area);
        for (column, row) in self.dots_of(text) {
            match self.dot {
                Dot::Half => half_dot(buf, area, (column, row + half_rows), ink.half),
                Dot::Tall | Dot::Wide(_) => self.full_dot(buf, area, (column, row), ink),
            }
        }
        Rect { width: self.width(text), height: self.height(), ..area }.intersection(area)
    }

    /// Column and row of every dot of a text, in dots.
    fn dots_of(self, text: &str) -> impl Iterator<Item = (u16, u16)> {
        let mut left = 0u16;
        text.chars().flat_map(move |letter| {
            let rows = self.rows(letter);
            let here = left;
            let wide = rows.first().map_or(0, |row| row.len());
            left = left.saturating_add(u16::try_from(wide).unwrap_or(0).saturating_add(1));
            (0u16..).zip(rows).flat_map(move |(y, row)| {
                let dots = (0u16..).zip(row.bytes()).filter(|(_, dot)| *dot == b'#');
                dots.map(move |(x, _)| (here.saturating_add(x), y))
            })
        })
    }

    fn full_dot(self, buf: &mut Buffer, area: Rect, (column, row): (u16, u16), ink: Ink) {
        let (width, height) = match self.dot {
            Dot::Wide(times) => (2 * times, times),
            Dot::Half | Dot::Tall => (1, 1),
        };
        let square = Rect {
            x: area.x.saturating_add(column.saturating_mul(width)),
            y: area.y.saturating_add(row.saturating_mul(height)),
            width,
            height,
        };
        for at in square.intersection(area).positions() {
            buf[at].set_symbol(ink.symbol).set_style(ink.full);
        }
    }
}

/// Adds half a cell to what the other half of the cell already shows.
fn half_dot(buf: &mut Buffer, area: Rect, (column, row): (u16, u16), style: Style) {
    let at = Rect {
        x: area.x.saturating_add(column),
        y: area.y.saturating_add(row / 2),
        width: 1,
        height: 1,
    };
    for at in at.intersection(area).positions() {
        let upper = row.is_multiple_of(2);
        let symbol = match (buf[at].symbol(), upper) {
            ("▀", false) | ("▄", true) => "█",
            (_, true) => "▀",
            (_, false) => "▄",
        };
        buf[at].set_symbol(symbol).set_style(style);
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn dots(face: Face, letter: char) -> Vec<bool> {
        let rows = face.rows(letter);
        rows.iter().flat_map(|row| row.bytes()).map(|dot| dot == b'#').collect()
    }

    #[test]
    fn every_letter_is_a_rectangle_of_dots() {
        for face in [Face::HALF_5, Face::HALF_7] {
            for letter in ('A'..='Z').chain('0'..='9').chain("+-:?!/ ".chars()) {
                let rows = face.rows(letter);
                assert_eq!(rows.len(), usize::from(face.dots_high()), "{letter}");
                assert!(rows.iter().all(|row| row.len() == rows[0].len()), "{letter}");
            }
        }
    }

    /// The least distance of two figures: a single dot is lost to the eye at three metres.
    #[test]
    fn figures_differ_by_two_dots_at_the_least() {
        for face in [Face::HALF_5, Face::HALF_7] {
            for one in '0'..='9' {
                for other in (one..='9').skip(1) {
                    let (a, b) = (dots(face, one), dots(face, other));
                    let apart = a.iter().zip(&b).filter(|(a, b)| a != b).count();
                    assert!(a.len() != b.len() || apart >= 2, "{one} and {other}");
                }
            }
        }
    }

    #[test]
    fn sizes_are_those_of_the_cells() {
        assert_eq!((Face::WIDE_5.height(), Face::WIDE_5.width("37")), (5, 14));
        assert_eq!((Face::HALF_5.height(), Face::HALF_7.height()), (3, 4));
        assert_eq!(Face::WIDE_5.width("1:40"), 26, "a colon is one dot wide");
        let fitting = |halves, room| Face::fitting(halves, "37", room);
        assert_eq!(fitting(true, (7, 3)), Some(Face::HALF_5));
        assert_eq!(fitting(false, (7, 3)), None);
        assert_eq!(fitting(true, (80, 40)).map(Face::height), Some(21));
    }
}
