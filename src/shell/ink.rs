//! Cells become bytes: the sixteen named colours as SGR 30 to 37, 90 to 97, 40 to 47 and 100 to 107.
//!
//! Written here and not by the usual backend, since that sends `38;5;n` for a named colour, which a Linux
//! console takes for something else: it would cancel bold there and turn dark grounds black.

use std::io::Write;

use ratatui::buffer::{Buffer, Cell};
use ratatui::style::{Color, Modifier};

/// So many changed cells are tried in more than one order: more are a new picture, not running figures.
const FEW: usize = 200;

/// Ends every frame: shift in, the usual character set. A stray byte from elsewhere that had switched to the other one
/// would else turn every word into line drawings until somebody starts anew.
const END: u8 = 0x0f;

/// Writes the changed cells of a frame. The first move is to a place of its own, and the pen is put down at the end:
/// whatever else writes to the terminal between two frames disturbs neither.
///
/// # Errors
/// The terminal takes no more.
pub fn write(
    out: &mut impl Write,
    frame: &Buffer,
    changed: &[(u16, u16, &Cell)],
) -> std::io::Result<()> {
    let mut bytes = drawn(frame, changed.iter());
    if changed.len() <= FEW {
        // What needs no pen comes first, then the rest: fewer pens, longer ways.
        let (plain, inked): (Vec<_>, Vec<_>) =
            changed.iter().partition(|(_, _, cell)| Pen::DOWN.suits(cell));
        let other = drawn(frame, plain.into_iter().chain(inked));
        if other.len() < bytes.len() {
            bytes = other;
        }
    }
    if !bytes.is_empty() {
        bytes.push(END);
    }
    out.write_all(&bytes)
}

fn drawn<'a>(frame: &Buffer, cells: impl Iterator<Item = &'a (u16, u16, &'a Cell)>) -> Vec<u8> {
    let mut hand = Hand { out: Vec::new(), frame, at: None, sure: false, pen: Pen::DOWN };
    for (x, y, cell) in cells {
        hand.go(*x, *y, cell);
        hand.put(cell);
    }
    if hand.pen != Pen::DOWN {
        hand.write("\x1b[m");
    }
    hand.out
}

/// What the terminal draws with.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
struct Pen {
    fg: Color,
    bg: Color,
    bold: bool,
    reversed: bool,
}

impl Pen {
    /// The terminal's own colours.
    const DOWN: Self = Self { fg: Color::Reset, bg: Color::Reset, bold: false, reversed: false };

    fn of(cell: &Cell) -> Self {
        // A colour that has no number here is the terminal's own.
        let known = |colour| number(colour).map_or(Color::Reset, |_| colour);
        Self {
            fg: known(cell.fg),
            bg: known(cell.bg),
            bold: cell.modifier.contains(Modifier::BOLD),
            reversed: cell.modifier.contains(Modifier::REVERSED),
        }
    }

    /// The pen for a cell, as near to this one as it may be: a blank shows its ground alone.
    fn for_cell(self, cell: &Cell) -> Self {
        let wanted = Self::of(cell);
        if cell.symbol() == " " && !wanted.reversed && !self.reversed {
            return Self { bg: wanted.bg, ..self };
        }
        wanted
    }

    /// Whether a cell needs no other pen.
    fn suits(self, cell: &Cell) -> bool {
        self.for_cell(cell) == self
    }

    /// What has to be said before a cell is drawn, and the pen from then on.
    fn turned(self, cell: &Cell) -> (Vec<u8>, Self) {
        let wanted = self.for_cell(cell);
        if let Some(codes) = self.change(wanted) {
            return (codes, wanted);
        }
        let wanted = Self::DOWN.for_cell(cell);
        let anew = Self::DOWN.change(wanted).unwrap_or_default();
        let reset = (!anew.is_empty()).then_some(0);
        (reset.into_iter().chain(anew).collect(), wanted)
    }

    /// What has to be said to go from this pen to another; None where only a fresh start does.
    fn change(self, to: Self) -> Option<Vec<u8>> {
        let drops = |from: Color, to: Color| from != to && to == Color::Reset;
        if self.bold && !to.bold
            || self.reversed && !to.reversed
            || drops(self.fg, to.fg)
            || drops(self.bg, to.bg)
        {
            return None;
        }
        let mut codes = Vec::new();
        codes.extend((to.bold && !self.bold).then_some(1));
        codes.extend((to.reversed && !self.reversed).then_some(7));
        codes.extend(number(to.fg).filter(|_| self.fg != to.fg).map(|n| coded(n, 30)));
        codes.extend(number(to.bg).filter(|_| self.bg != to.bg).map(|n| coded(n, 40)));
        Some(codes)
    }
}

/// The code of a colour: 30 to 37 or 40 to 47, and sixty more for the bright ones.
fn coded(n: u8, base: u8) -> u8 {
    if n < 8 { base + n } else { base + 52 + n }
}

/// What writes, where it stands, and which pen it holds.
struct Hand<'a> {
    out: Vec<u8>,
    frame: &'a Buffer,
    at: Option<(u16, u16)>,
    /// Whether `at` is true on any terminal: none agree on how wide each sign beyond ASCII is.
    sure: bool,
    pen: Pen,
}

impl Hand<'_> {
    fn write(&mut self, text: &str) {
        self.out.extend_from_slice(text.as_bytes());
    }

    /// Where it stands, if that is true on any terminal.
    fn surely_at(&self) -> Option<(u16, u16)> {
        self.at.filter(|_| self.sure)
    }

    /// Goes to a cell, which is to be drawn, by the shortest way.
    fn go(&mut self, x: u16, y: u16, cell: &Cell) {
        if self.at == Some((x, y)) || self.fill((x, y), cell) {
            return;
        }
        let there = format!("\x1b[{};{}H", y + 1, x + 1);
        match self.surely_at().and_then(|from| self.step(from, (x, y))) {
            Some(step) if step.len() < there.len() => self.write(&step),
            _ => {
                self.write(&there);
                self.sure = true;
            }
        }
        self.at = Some((x, y));
    }

    /// The way from where it stands; None where the cursor may hang at the edge.
    fn step(&self, (from, row): (u16, u16), (x, y): (u16, u16)) -> Option<String> {
        if from >= self.frame.area.width {
            return None;
        }
        let across = if x >= from {
            moved(x - from, 'C')
        } else {
            let left = moved(from - x, 'D');
            let back = "\x08".repeat(usize::from(from - x));
            if back.len() < left.len() { back } else { left }
        };
        let along = if y >= row { moved(y - row, 'B') } else { moved(row - y, 'A') };
        Some(across + &along)
    }

    /// Writes the few cells again that lie between and have not changed, where this pen and that of the next cell
    /// will do: a move would be longer. Says whether it did.
    fn fill(&mut self, (x, y): (u16, u16), next: &Cell) -> bool {
        const NEAR: u16 = 3;
        let frame = self.frame;
        let Some((from, row)) = self.surely_at() else { return false };
        if row != y || !(from..=from.saturating_add(NEAR)).contains(&x) {
            return false;
        }
        let between: Vec<&Cell> = (from..x).filter_map(|x| frame.cell((x, y))).collect();
        let so_far = between.iter().take_while(|cell| self.pen.suits(cell)).count();
        let (first, rest) = between.split_at(so_far);
        let then = if rest.is_empty() { self.pen } else { self.pen.turned(next).1 };
        let plain = |cell: &&Cell| matches!(cell.symbol().as_bytes(), [b' '..=b'~']);
        if !between.iter().all(plain) || !rest.iter().all(|cell| then.suits(cell)) {
            return false;
        }
        for cell in first {
            self.put(cell);
        }
        if !rest.is_empty() {
            self.take(next);
        }
        for cell in rest {
            self.put(cell);
        }
        true
    }

    fn put(&mut self, cell: &Cell) {
        if !self.pen.suits(cell) {
            self.take(cell);
        }
        // No escape sequence comes from a cell, whatever a text in it was made of.
        let is_harmful = cell.symbol().contains(char::is_control);
        let sign = if is_harmful { "?" } else { cell.symbol() };
        self.write(sign);
        self.sure &= sign.is_ascii() && sign.len() == 1;
        self.at = self.at.map(|(x, y)| (x + 1, y));
    }

    /// Takes the pen for a cell.
    fn take(&mut self, cell: &Cell) {
        let (codes, pen) = self.pen.turned(cell);
        self.pen = pen;
        let codes: Vec<String> = codes.iter().map(u8::to_string).collect();
        self.write(&format!("\x1b[{}m", codes.join(";")));
    }
}

/// A move by some cells; nothing for none.
fn moved(count: u16, way: char) -> String {
    match count {
        0 => String::new(),
        1 => format!("\x1b[{way}"),
        count => format!("\x1b[{count}{way}"),
    }
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
    use proptest::prelude::*;
    use ratatui::layout::Rect;
    use ratatui::style::Style;

    fn written(frame: &Buffer, before: &Buffer) -> String {
        let mut bytes = Vec::new();
        write(&mut bytes, frame, &before.diff(frame)).unwrap();
        String::from_utf8(bytes).unwrap()
    }

    #[test]
    fn named_colours_are_plain_sgr() {
        let before = Buffer::empty(Rect::new(0, 0, 9, 2));
        let mut frame = before.clone();
        frame.set_string(2, 0, "A", Style::new().fg(Color::White).bg(Color::Red));
        frame.set_string(3, 0, "B", Style::new());
        assert_eq!(written(&frame, &before), "\x1b[1;3H\x1b[97;41mA\x1b[mB\x0f");
    }

    #[test]
    fn a_blank_needs_its_ground_alone_and_the_next_row_is_near() {
        let before = Buffer::empty(Rect::new(0, 0, 30, 20));
        let mut frame = before.clone();
        let lit = Style::new().fg(Color::Black).bg(Color::Green);
        frame.set_string(10, 15, "  ", lit);
        frame.set_string(10, 16, "  ", lit);
        assert_eq!(written(&frame, &before), "\x1b[16;11H\x1b[42m  \x08\x08\x1b[B  \x1b[m\x0f");
        assert_eq!(written(&before, &frame), "\x1b[16;11H  \x08\x08\x1b[B  \x0f");
    }

    /// Some text in some style, somewhere in 20 x 6 cells.
    fn mark() -> impl Strategy<Value = (u16, u16, String, Style)> {
        let colours = [Color::Reset, Color::Black, Color::Green, Color::Red, Color::White];
        let colour = move || prop::sample::select(colours.to_vec());
        let style = (colour(), colour(), any::<bool>(), any::<bool>());
        let style = style.prop_map(|(fg, bg, bold, reversed)| {
            let mut style = Style::new().fg(fg).bg(bg);
            if bold {
                style = style.add_modifier(Modifier::BOLD);
            }
            if reversed {
                style = style.add_modifier(Modifier::REVERSED);
            }
            style
        });
        (0u16..20, 0u16..6, "[ ab█│é]{1,6}", style)
    }

    proptest! {
        /// A terminal shows each frame as it is meant, whatever stood there before.
        #[test]
        fn a_terminal_shows_what_was_meant(
            frames in prop::collection::vec(prop::collection::vec(mark(), 0..6), 1..6),
        ) {
            let (columns, rows) = (20u16, 6u16);
            let cells = |count: u16| std::num::NonZero::new(count).unwrap();
            let mut terminal = vt100::Parser::new(cells(rows), cells(columns), 0);
            let mut shown = Buffer::empty(Rect::new(0, 0, columns, rows));
            for marks in frames {
                let mut frame = Buffer::empty(shown.area);
                for (x, y, text, style) in marks {
                    frame.set_string(x, y, text, style);
                }
                terminal.process(written(&frame, &shown).as_bytes());
                shown = frame;
                // Drawn whole, from an empty screen, by moves to each cell alone.
                let mut plain = vt100::Parser::new(cells(rows), cells(columns), 0);
                for (x, y, cell) in Buffer::empty(shown.area).diff(&shown) {
                    let one = written(&alone(x, y, cell, shown.area), &Buffer::empty(shown.area));
                    plain.process(one.as_bytes());
                }
                for row in 0..rows {
                    for column in 0..columns {
                        let looks = |terminal: &vt100::Parser| {
                            let cell = terminal.screen().cell(row, column).unwrap();
                            let blank = matches!(cell.contents(), "" | " ") && !cell.inverse();
                            let ink = (!blank).then(|| (cell.contents().to_owned(), cell.fgcolor(), cell.bold()));
                            (ink, cell.bgcolor(), cell.inverse())
                        };
                        prop_assert_eq!(looks(&terminal), looks(&plain), "{} {}", row, column);
                    }
                }
            }
        }
    }

    /// A frame with one cell in it.
    fn alone(x: u16, y: u16, cell: &Cell, area: Rect) -> Buffer {
        let mut frame = Buffer::empty(area);
        frame[(x, y)] = cell.clone();
        frame
    }
}
