//! Each group's share that was right at once, on the band in which chance alone would set it.
//!
//! ```text
//! Monday    |      [=====o====]        95.1 %
//! Tuesday   |  x   [=========]         82.0 % below
//! ```
//!
//! A share inside is a disc on its band, one outside a ringed disc with a word beside it: no colour is needed to tell.

use plotters::prelude::*;
use plotters::style::text_anchor::{HPos, VPos};

use super::answer::verdict;
use crate::commands::Failure;
use crate::commands::report::charts::{self, Area, Drawn, FAINT, INK, Picture, write};
use crate::commands::report::words::percent;
use crate::shop::books::groups::Group;

/// The widths of the picture on a desk, and on a phone, in pixels.
pub const WIDE: u32 = 720;
pub const NARROW: u32 = 340;

const ROW: i32 = 26;
const BELOW: i32 = 24;
/// Room for names, where they stand beside their band; else they stand above it.
const BESIDE: i32 = 150;
/// Room for the figure and its word.
const FIGURE: i32 = 110;
const BAND: RGBColor = RGBColor(0xb9, 0xc6, 0xd6);
const DISC: RGBColor = RGBColor(0x1f, 0x4e, 0x8c);

/// Where shares lie on the picture.
struct Scale {
    least: f64,
    left: i32,
    right: i32,
}

impl Scale {
    #[expect(clippy::cast_possible_truncation, reason = "some hundred pixels")]
    fn x(&self, share: f64) -> i32 {
        let along = (share - self.least) / (1.0 - self.least);
        self.left + (along.clamp(0.0, 1.0) * f64::from(self.right - self.left)).round() as i32
    }
}

/// The picture of all groups.
///
/// # Errors
/// None in practice: it is drawn in memory.
pub fn picture(rows: &[Group], width: u32) -> Result<Picture, Failure> {
    let narrow = width < WIDE;
    let each = if narrow { 2 * ROW } else { ROW };
    let count = i32::try_from(rows.len()).unwrap_or(i32::MAX / 100);
    let height = u32::try_from(count * each + BELOW).unwrap_or(BELOW.unsigned_abs());
    let right = i32::try_from(width).unwrap_or(0) - FIGURE;
    let scale = Scale { least: least(rows), left: if narrow { 6 } else { BESIDE }, right };
    let told: Vec<String> = rows
        .iter()
        .map(|row| {
            format!("{} {} {}", row.group, percent(row.first_pass), verdict(row))
                .trim_end()
                .to_owned()
        })
        .collect();
    let description = format!("{}. The table below has the limits.", told.join("; "));
    let title = "Right at once, on the band of chance".to_owned();
    charts::picture((width, height), (title, description), |area| {
        axis(area, &scale, count * each)?;
        for (n, row) in (0..).zip(rows) {
            let top = n * each;
            let middle = top + each - ROW / 2;
            let at = if narrow { (6, top + ROW / 2) } else { (0, middle) };
            write(area, row.group.chars().take(22).collect(), at, (HPos::Left, VPos::Center))?;
            group(area, &scale, row, middle)?;
        }
        Ok(())
    })
}

/// A round share below all that is shown.
fn least(rows: &[Group]) -> f64 {
    let shown = rows.iter().flat_map(|row| [row.low, row.first_pass]).flatten();
    let least = shown.fold(1.0, f64::min);
    ((least * 10.0).floor() / 10.0).clamp(0.0, 0.9)
}

fn axis<'b>(area: &Area<'b>, scale: &Scale, bottom: i32) -> Drawn<'b> {
    const PARTS: i32 = 5;
    for n in 0..=PARTS {
        let share = scale.least + (1.0 - scale.least) * f64::from(n) / f64::from(PARTS);
        let x = scale.x(share);
        area.draw(&PathElement::new([(x, 0), (x, bottom)], FAINT))?;
        let text = format!("{:.0} %", share * 100.0);
        write(area, text, (x.max(14), bottom + 6), (HPos::Center, VPos::Top))?;
    }
    Ok(())
}

fn group<'b>(area: &Area<'b>, scale: &Scale, row: &Group, middle: i32) -> Drawn<'b> {
    const HALF: i32 = 6;
    if let Some((low, high)) = row.low.zip(row.high) {
        let band = [(scale.x(low), middle - HALF), (scale.x(high), middle + HALF)];
        area.draw(&Rectangle::new(band, BAND.filled()))?;
    }
    let Some(share) = row.first_pass else { return Ok(()) };
    let at = (scale.x(share), middle);
    area.draw(&Circle::new(at, 5, DISC.filled()))?;
    if row.beyond {
        area.draw(&Circle::new(at, 9, INK.stroke_width(2)))?;
    }
    let text = format!("{} {}", percent(Some(share)), verdict(row)).trim_end().to_owned();
    write(area, text, (scale.right + 14, middle), (HPos::Left, VPos::Center))
}
