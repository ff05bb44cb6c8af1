//! The small picture of an artwork on its garment, in cells.
//!
//! Of the sixteen colours that every console has the nearest is taken for each cell; without colour, a glyph as
//! dense as the cell is light.

use ratatui::buffer::Buffer;
use ratatui::layout::Rect;
use ratatui::style::{Color, Style};

use super::theme::Theme;
use crate::figures::sketch::{COLUMNS, ROWS, Sketch};
use crate::figures::units::Colour;

/// The colours of a console with the values that most of them show, from memory.
const CONSOLE: [(Color, [u8; 3]); 16] = [
    (Color::Black, [0x00, 0x00, 0x00]),
    (Color::Red, [0xaa, 0x00, 0x00]),
    (Color::Green, [0x00, 0xaa, 0x00]),
    (Color::Yellow, [0xaa, 0x55, 0x00]),
    (Color::Blue, [0x00, 0x00, 0xaa]),
    (Color::Magenta, [0xaa, 0x00, 0xaa]),
    (Color::Cyan, [0x00, 0xaa, 0xaa]),
    (Color::Gray, [0xaa, 0xaa, 0xaa]),
    (Color::DarkGray, [0x55, 0x55, 0x55]),
    (Color::LightRed, [0xff, 0x55, 0x55]),
    (Color::LightGreen, [0x55, 0xff, 0x55]),
    (Color::LightYellow, [0xff, 0xff, 0x55]),
    (Color::LightBlue, [0x55, 0x55, 0xff]),
    (Color::LightMagenta, [0xff, 0x55, 0xff]),
    (Color::LightCyan, [0x55, 0xff, 0xff]),
    (Color::White, [0xff, 0xff, 0xff]),
];

/// From dark to light.
const DENSITY: [&str; 4] = [" ", "░", "▒", "█"];

/// The sizes in which it is drawn: columns and rows, and how many cells of the sketch one cell stands for.
const SIZES: [(u16, u16, usize); 2] = [(24, 12, 1), (12, 6, 2)];

/// The largest size that fits, as columns and rows.
pub fn fitting(area: Rect) -> Option<(u16, u16)> {
    let fits =
        |(columns, rows, _): &&(u16, u16, usize)| *columns <= area.width && *rows <= area.height;
    SIZES.iter().find(fits).map(|(columns, rows, _)| (*columns, *rows))
}

/// Draws it as large as fits at the top left of an area; nothing where none does.
pub fn draw(buf: &mut Buffer, theme: Theme, area: Rect, sketch: &Sketch) {
    let Some((columns, rows)) = fitting(area) else { return };
    let step = COLUMNS / usize::from(columns);
    for y in 0..rows {
        for x in 0..columns {
            let colour = mean(sketch, usize::from(x) * step, usize::from(y) * step, step);
            let at = Rect { x: area.x + x, y: area.y + y, width: 1, height: 1 };
            let at = at.intersection(buf.area);
            if at.is_empty() {
                continue;
            }
            let (glyph, style) = cell(colour, theme);
            buf.set_string(at.x, at.y, glyph, style);
        }
    }
}

fn cell(colour: Colour, theme: Theme) -> (&'static str, Style) {
    if theme.colour {
        return ("█", Style::new().fg(nearest(colour)));
    }
    let light = colour.lab().lightness;
    let place =
        DENSITY.iter().zip([25.0, 50.0, 75.0, f64::INFINITY]).find(|(_, below)| light < *below);
    (place.map_or(" ", |(glyph, _)| glyph), Style::new())
}

/// The nearest of the console's colours, by the difference in CIELAB.
fn nearest(colour: Colour) -> Color {
    let wanted = colour.lab();
    let distance = |[red, green, blue]: [u8; 3]| {
        let lab = Colour { red, green, blue }.lab();
        (lab.lightness - wanted.lightness).powi(2)
            + (lab.a - wanted.a).powi(2)
            + (lab.b - wanted.b).powi(2)
    };
    let by_distance =
        |a: &&(Color, [u8; 3]), b: &&(Color, [u8; 3])| distance(a.1).total_cmp(&distance(b.1));
    CONSOLE.iter().min_by(by_distance).map_or(Color::Gray, |(name, _)| *name)
}

/// The mean colour of a square of the sketch.
fn mean(sketch: &Sketch, column: usize, row: usize, step: usize) -> Colour {
    if step == 1 {
        return sketch.at(column, row);
    }
    let mut sums = [0u32; 3];
    let mut count = 0;
    for y in row..(row + step).min(ROWS) {
        for x in column..(column + step).min(COLUMNS) {
            let Colour { red, green, blue } = sketch.at(x, y);
            for (sum, channel) in sums.iter_mut().zip([red, green, blue]) {
                *sum += u32::from(channel);
            }
            count += 1;
        }
    }
    let [red, green, blue] = sums.map(|sum| u8::try_from(sum / count.max(1)).unwrap_or(u8::MAX));
    Colour { red, green, blue }
}
