//! A strip for each press over the shift, as SVG. A strip is cut into columns, and each column shows how its time
//! was shared out, so that a day of cycles of 40 s can be read at a glance. Place tells as much as colour: running
//! from below, past the target upon it under a black cap, changing upon that; from above what kept the press from
//! work: its sheet, and, in stripes, out of use.

use jiff::tz::TimeZone;
use plotters::prelude::*;
use plotters::style::text_anchor::{HPos, VPos};

use super::charts::{Area, Drawn, FAINT, Frame, INK, Picture, picture, write};
use super::words::tenths;
use crate::commands::Failure;
use crate::shop::books::press_spans::Doing;
use crate::shop::books::shift_report::{PressRow, Report};
use crate::shop::facts::moment::Wall;

/// The height of a strip, and of what lies between two, in pixels.
const STRIP: i32 = 26;
const GAP: i32 = 6;
/// Room for the name of a press: to the left of its strip, or, where that would leave little of it, above.
const BESIDE: i32 = 124;
const ABOVE: i32 = 18;
/// From this width on, in pixels, names stand beside.
const WIDE: u32 = 600;
/// The width of a column, in pixels.
const COLUMN: i32 = 4;

/// What a strip shows, with its colour: light and dark differ as well as hue does.
pub const SHOWN: [(Doing, (u8, u8, u8), &str); 5] = [
    (Doing::Running, (0x1f, 0x4e, 0x8c), "from below, dark"),
    (Doing::PastTarget, (0xe8, 0x7d, 0x0d), "upon it, under a black cap"),
    (Doing::Changing, (0xb9, 0xc6, 0xd6), "upon that, pale"),
    (Doing::SheetWork, (0x2f, 0x7d, 0x4f), "from above"),
    (Doing::OutOfUse, (0x6b, 0x6b, 0x6b), "from above, striped"),
];

/// The strips of all presses.
///
/// # Errors
/// None in practice: it is drawn in memory.
pub fn strips(report: &Report, zone: &TimeZone, width: u32) -> Result<Picture, Failure> {
    let count = u32::try_from(report.presses.len()).unwrap_or(0);
    let (left, above) = if width >= WIDE { (BESIDE, GAP) } else { (GAP, ABOVE) };
    let each = u32::try_from(STRIP + above).unwrap_or(0);
    let size = (width, count * each + 30);
    let frame = Frame::new(report, zone, size, (left, 6, 0));
    let told: Vec<String> = report
        .presses
        .iter()
        .map(|press| {
            format!(
                "press {} {}: {} min running, {} past target, {} idle",
                press.press,
                press.name,
                tenths(press.running_minutes),
                tenths(press.past_target_minutes),
                tenths(press.idle_minutes)
            )
        })
        .collect();
    let description = format!("{}. The table below has the minutes.", told.join("; "));
    picture(size, ("What each press did over the shift".to_owned(), description), |area| {
        frame.draw(area)?;
        let mut top = 0;
        for press in &report.presses {
            strip(area, &frame, press, (top, top + above))?;
            top += STRIP + above;
        }
        Ok(())
    })
}

/// One strip; `begins` is where its room begins, `top` where itself does.
fn strip<'b>(
    area: &Area<'b>,
    frame: &Frame<'_>,
    press: &PressRow,
    (begins, top): (i32, i32),
) -> Drawn<'b> {
    let (left, right) = frame.columns();
    let bottom = top + STRIP;
    let name = format!("{} {}", press.press, press.name);
    if left >= BESIDE {
        write(area, name, (0, top + STRIP / 2), (HPos::Left, VPos::Center))?;
    } else {
        // A white ground, so that no line of the hours runs through the name.
        area.draw(&Rectangle::new([(left, begins), (right, top)], WHITE.filled()))?;
        write(area, name, (left, (begins + top) / 2), (HPos::Left, VPos::Center))?;
    }
    area.draw(&Rectangle::new(
        [(left, top), (right, bottom)],
        RGBColor(0xf4, 0xf6, 0xf9).filled(),
    ))?;
    for (n, shares) in columns(frame, press).into_iter().enumerate() {
        let x = left + i32::try_from(n).unwrap_or(0) * COLUMN;
        column(area, shares, (x, (x + COLUMN).min(right)), (top, bottom))?;
    }
    area.draw(&PathElement::new([(left, bottom), (right, bottom)], INK))?;
    area.draw(&PathElement::new([(left, top), (right, top)], FAINT))
}

/// The share of each thing in `SHOWN` in each column of a strip.
fn columns(frame: &Frame<'_>, press: &PressRow) -> Vec<[f64; SHOWN.len()]> {
    let (left, right) = frame.columns();
    let count = usize::try_from((right - left + COLUMN - 1) / COLUMN).unwrap_or(1).max(1);
    let mut columns = vec![[0.0; SHOWN.len()]; count];
    let width = frame.span().as_secs_f64() * f64::from(COLUMN) / f64::from((right - left).max(1));
    let begins = press.spans.first().map_or(Wall::FIRST, |span| span.from.0);
    for span in &press.spans {
        let Some(kind) = SHOWN.iter().position(|(doing, ..)| *doing == span.doing) else {
            continue;
        };
        let (from, to) = ((span.from.0 - begins).as_secs_f64(), (span.to.0 - begins).as_secs_f64());
        #[expect(
            clippy::cast_possible_truncation,
            clippy::cast_sign_loss,
            reason = "a span begins and ends within the shift"
        )]
        let (first, last) = ((from / width) as usize, (to / width) as usize);
        let within = columns.iter_mut().enumerate().skip(first).take(last + 1 - first);
        for (n, column) in within {
            let (opens, closes) = (n as f64 * width, (n + 1) as f64 * width);
            column[kind] += (to.min(closes) - from.max(opens)).max(0.0) / width;
        }
    }
    columns
}

/// One column: its shares, the pixels across and down.
fn column<'b>(
    area: &Area<'b>,
    shares: [f64; SHOWN.len()],
    (left, right): (i32, i32),
    (top, bottom): (i32, i32),
) -> Drawn<'b> {
    #[expect(clippy::cast_possible_truncation, reason = "some pixels")]
    let tall = |share: f64| (share.clamp(0.0, 1.0) * f64::from(bottom - top)).round() as i32;
    let (mut low, mut high, mut below, mut above) = (bottom, top, 0.0, 0.0);
    for ((doing, (red, green, blue), _), share) in SHOWN.into_iter().zip(shares) {
        if share <= 0.0 {
            continue;
        }
        let hangs = matches!(doing, Doing::SheetWork | Doing::OutOfUse);
        let (from, to) = if hangs {
            above += share;
            (high, top + tall(above))
        } else {
            below += share;
            (bottom - tall(below), low)
        };
        let right = if doing == Doing::OutOfUse { left + COLUMN / 2 } else { right };
        if from < to && left < right {
            let style = RGBColor(red, green, blue).filled();
            area.draw(&Rectangle::new([(left, from), (right, to)], style))?;
        }
        if doing == Doing::PastTarget && from < to {
            area.draw(&PathElement::new([(left, from), (right, from)], INK))?;
        }
        if hangs {
            high = to;
        } else {
            low = from;
        }
    }
    Ok(())
}
