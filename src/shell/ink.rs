//! Cells become bytes: the sixteen named colours as SGR 30 to 37, 90 to 97, 40 to 47 and 100 to 107.
//!
//! Written here and not by the usual backend, since that sends `38;5;n` for a named colour, which a Linux
//! console takes for something else: it would cancel bold there and turn dark grounds black.

use std::io::Write;

use crossterm::cursor::MoveTo;
use crossterm::queue;
use ratatui::buffer::Cell;
use ratatui::style::{Color, Modifier};

/// Writes changed cells; the pen is put down at the end, so that nothing else is drawn in its colours.
///
/// # Errors
/// The terminal takes no more.
pub fn write<'a>(
    out: &mut impl Write,
    cells: impl Iterator<Item = (u16, u16, &'a Cell)>,
) -> std::io::Result<()> {
    let mut next = None;
    let mut pen = None;
    for (x, y, cell) in cells {
        if next != Some((x, y)) {
            queue!(out, MoveTo(x, y))?;
        }
        let wanted = (cell.fg, cell.bg, cell.modifier);
        if pen != Some(wanted) {
            put_on(out, wanted)?;
            pen = Some(wanted);
        }
        // No escape sequence comes from a cell, whatever a text in it was made of.
        let is_harmful = cell.symbol().contains(char::is_control);
        out.write_all(if is_harmful { b"?" } else { cell.symbol().as_bytes() })?;
        next = Some((x + 1, y));
    }
    match pen {
        Some(_) => out.write_all(b"\x1b[0m"),
        None => Ok(()),
    }
}

fn put_on(
    out: &mut impl Write,
    (fg, bg, modifier): (Color, Color, Modifier),
) -> std::io::Result<()> {
    out.write_all(b"\x1b[0")?;
    if modifier.contains(Modifier::BOLD) {
        out.write_all(b";1")?;
    }
    if modifier.contains(Modifier::REVERSED) {
        out.write_all(b";7")?;
    }
    for (colour, base) in [(fg, 30), (bg, 40)] {
        if let Some(n) = number(colour) {
            write!(out, ";{}", if n < 8 { base + n } else { base + 52 + n })?;
        }
    }
    out.write_all(b"m")
}

/// A named colour by its number, 0 to 15; None for the terminal's own.
fn number(colour: Color) -> Option<u8> {
    Some(match colour {
        Color::Black => 0,
        Color::Red => 1,
        Color::Green => 2,
        Color::Yellow => 3,
        Color::Blue => 4,
        Color::Magenta => 5,
        Color::Cyan => 6,
        Color::Gray => 7,
        Color::DarkGray => 8,
        Color::LightRed => 9,
        Color::LightGreen => 10,
        Color::LightYellow => 11,
        Color::LightBlue => 12,
        Color::LightMagenta => 13,
        Color::LightCyan => 14,
        Color::White => 15,
        _ => return None,
    })
}

#[cfg(test)]
mod tests {
    use super::*;
    use ratatui::style::Style;

    #[test]
    fn named_colours_are_plain_sgr() {
        let mut bright = Cell::default();
        bright.set_symbol("A").set_style(Style::new().fg(Color::White).bg(Color::Red));
        let mut plain = Cell::default();
        plain.set_symbol("B");
        let mut bytes = Vec::new();
        write(&mut bytes, [(2, 0, &bright), (3, 0, &plain)].into_iter()).unwrap();
        assert_eq!(String::from_utf8(bytes).unwrap(), "\x1b[1;3H\x1b[0;97;41mA\x1b[0mB\x1b[0m");
    }
}
