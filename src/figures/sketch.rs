//! A small picture of an artwork as it looks on its garment: a grid of colours, small enough for a journal.
//!
//! A cell of a terminal is about twice as high as wide, so the grid has half as many rows as columns.

use std::fmt;
use std::str::FromStr;

use serde::{Deserialize, Serialize};

use super::artwork::{Rgba, Strip};
use super::light::{Deep, spread};
use super::units::Colour;
use super::upright::Upright;

/// Columns and rows of a sketch.
pub const COLUMNS: usize = 24;
pub const ROWS: usize = 12;
/// So many pixels of a cell are looked at, across and down: its mean needs no more.
const SAMPLES: usize = 8;

/// The grid, row by row; the written form has three hexadecimal digits for a cell.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
#[serde(try_from = "String", into = "String")]
pub struct Sketch {
    cells: Vec<Colour>,
}

/// A text that is no sketch.
#[derive(Debug, thiserror::Error)]
#[error("expected a sketch: {} hexadecimal digits", COLUMNS * ROWS * 3)]
pub struct NotASketch;

impl Sketch {
    /// The colour at a column and row, counted from 0; the nearest one inside for what lies beyond.
    pub fn at(&self, column: usize, row: usize) -> Colour {
        self.cells[row.min(ROWS - 1) * COLUMNS + column.min(COLUMNS - 1)]
    }
}

/// The upper half of a channel, as one digit of the written form: 0x1f is 1.
fn digit(channel: u8) -> u8 {
    (channel / 16).min(15)
}

impl fmt::Display for Sketch {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        self.cells.iter().try_for_each(|Colour { red, green, blue }| {
            write!(f, "{:x}{:x}{:x}", digit(*red), digit(*green), digit(*blue))
        })
    }
}

impl FromStr for Sketch {
    type Err = NotASketch;
    fn from_str(text: &str) -> Result<Self, NotASketch> {
        let digits: Option<Vec<u8>> =
            text.chars().map(|c| c.to_digit(16).and_then(|d| u8::try_from(d).ok())).collect();
        let digits = digits.filter(|d| d.len() == COLUMNS * ROWS * 3).ok_or(NotASketch)?;
        let (cells, _) = digits.as_chunks::<3>();
        let colour = |[red, green, blue]: &[u8; 3]| Colour {
            red: red * 17,
            green: green * 17,
            blue: blue * 17,
        };
        Ok(Self { cells: cells.iter().map(colour).collect() })
    }
}

impl TryFrom<String> for Sketch {
    type Error = NotASketch;
    fn try_from(text: String) -> Result<Self, NotASketch> {
        text.parse()
    }
}

impl From<Sketch> for String {
    fn from(sketch: Sketch) -> String {
        sketch.to_string()
    }
}

/// What was seen of one cell.
#[derive(Debug, Clone, Copy, Default)]
struct Seen {
    sum: [u32; 3],
    count: u32,
    /// How many of them had the colour of the corner: perhaps a backdrop.
    corner: u32,
}

/// Draws a sketch as a picture's rows come.
pub struct Pencil {
    garment: Colour,
    upright: Upright,
    /// The picture's first pixel, in its own codes and as it looks.
    corner: Option<(Deep, Rgba)>,
    cells: Vec<Seen>,
    next_row: usize,
}

impl Pencil {
    /// For a picture that is set upright so, on a garment of this colour.
    pub fn new(garment: Colour, upright: Upright) -> Self {
        Self {
            garment,
            upright,
            corner: None,
            cells: vec![Seen::default(); COLUMNS * ROWS],
            next_row: 0,
        }
    }

    /// Takes the next row, as the picture has it.
    pub fn row(&mut self, row: Strip<'_>) {
        match row {
            Strip::Plain(row) => self.take(row, |pixel| (spread(*pixel), *pixel)),
            Strip::Deep(row, light) => self.take(row, |pixel| (*pixel, light.shown(*pixel))),
        }
    }

    /// Takes a row of which each pixel has its own codes and a look.
    fn take<P>(&mut self, row: &[P], look: impl Fn(&P) -> (Deep, Rgba)) {
        let Some(first) = row.first() else { return };
        let (corner, _) = *self.corner.get_or_insert_with(|| look(first));
        let y = self.next_row;
        self.next_row += 1;
        // Rows between two samples are passed over, as are pixels.
        let [across, down] = self.upright.stored([COLUMNS * SAMPLES, ROWS * SAMPLES]);
        let [width, height] = self.upright.of_file();
        if !y.is_multiple_of((height / down).max(1)) {
            return;
        }
        let [columns, rows] = self.upright.size();
        for (x, pixel) in row.iter().enumerate().step_by((width / across).max(1)) {
            let (own, shown) = look(pixel);
            let [right, below] = self.upright.place([x, y]);
            let line = (below * ROWS / rows).min(ROWS - 1) * COLUMNS;
            let cell = &mut self.cells[line + (right * COLUMNS / columns).min(COLUMNS - 1)];
            if own == corner {
                cell.corner += 1;
                continue;
            }
            cell.count += 1;
            for (sum, channel) in cell.sum.iter_mut().zip(over(shown, self.garment)) {
                *sum += u32::from(channel);
            }
        }
    }

    /// The finished sketch; with `drop_corner` whatever has the corner's colour is not printed.
    pub fn finish(&self, drop_corner: bool) -> Sketch {
        let Colour { red, green, blue } = self.garment;
        let bare = [red, green, blue];
        let corner = match self.corner {
            Some((_, corner)) if !drop_corner => over(corner, self.garment),
            _ => bare,
        };
        let mut cells: Vec<Colour> = Vec::with_capacity(COLUMNS * ROWS);
        for (place, seen) in self.cells.iter().enumerate() {
            let count = seen.count + seen.corner;
            let mean = |channel: usize| {
                let sum = seen.sum[channel] + seen.corner * u32::from(corner[channel]);
                u8::try_from(sum / count.max(1)).unwrap_or(u8::MAX)
            };
            cells.push(match count {
                // A picture of fewer pixels than cells: a cell without one is like the one beside it.
                0 if place % COLUMNS > 0 => cells[place - 1],
                0 if place >= COLUMNS => cells[place - COLUMNS],
                0 => self.garment,
                _ => Colour { red: mean(0), green: mean(1), blue: mean(2) },
            });
        }
        // Of a low picture whole rows of cells may have no pixel: they are like the row above.
        for row in 1..ROWS {
            let empty = (0..COLUMNS).all(|c| {
                let seen = self.cells[row * COLUMNS + c];
                seen.count + seen.corner == 0
            });
            if empty {
                cells.copy_within((row - 1) * COLUMNS..row * COLUMNS, row * COLUMNS);
            }
        }
        Sketch { cells }
    }
}

/// What a pixel looks like on the garment, mixed as screens mix it; the garment itself where more
/// transparent than not.
fn over([red, green, blue, opacity]: Rgba, garment: Colour) -> [u8; 3] {
    if opacity < 128 {
        return [garment.red, garment.green, garment.blue];
    }
    let mix = |channel: u8, under: u8| {
        let opacity = u32::from(opacity);
        let mixed = (u32::from(channel) * opacity + u32::from(under) * (255 - opacity) + 127) / 255;
        u8::try_from(mixed).unwrap_or(u8::MAX)
    };
    [mix(red, garment.red), mix(green, garment.green), mix(blue, garment.blue)]
}

#[cfg(test)]
mod tests {
    use super::*;

    const GARMENT: Colour = Colour { red: 0x10, green: 0x18, blue: 0x20 };

    fn drawn(width: usize, height: u32, of: impl Fn(usize, u32) -> Rgba) -> Pencil {
        let size = [width, usize::try_from(height).unwrap()];
        let mut pencil = Pencil::new(GARMENT, Upright::new(size, 1));
        for y in 0..height {
            pencil.row(Strip::Plain(&(0..width).map(|x| of(x, y)).collect::<Vec<Rgba>>()));
        }
        pencil
    }

    #[test]
    fn halves_of_two_colours_stay_halves() {
        for (width, height) in [(1, 1), (3, 2), (24, 12), (25, 13), (640, 480)] {
            let pencil = drawn(width, height, |x, _| {
                if x * 2 < width { [255, 255, 255, 255] } else { [0, 0, 0, 0] }
            });
            let sketch = pencil.finish(false);
            assert_eq!(sketch.at(0, 0), Colour { red: 255, green: 255, blue: 255 });
            assert_eq!(sketch.at(0, ROWS), Colour { red: 255, green: 255, blue: 255 });
            if width > 1 {
                assert_eq!(sketch.at(COLUMNS - 1, 0), GARMENT, "{width} x {height}");
            }
            // What is dropped with the corner shows the garment.
            assert_eq!(pencil.finish(true).at(0, 0), GARMENT);
        }
    }

    #[test]
    fn what_is_written_reads_back_to_sixteen_steps() {
        let sketch = drawn(48, 24, |x, y| [(x * 5) as u8, (y * 10) as u8, 7, 255]).finish(false);
        let text = sketch.to_string();
        assert_eq!(text.parse::<Sketch>().unwrap().to_string(), text);
        assert!("fff".parse::<Sketch>().is_err());
    }
}
