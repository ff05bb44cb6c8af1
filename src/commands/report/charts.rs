//! Charts of a shift over its hours, as SVG: the frame that they share, and what was finished against what was
//! needed. Each reads without colour: lines differ by their strokes, and words stand beside them.
//!
//! ```text
//!  24 |                    ____/ needed (dashes)
//!     |           ____/---/
//!     |   ___----|            finished (whole line, in steps)
//!   0 |--------------------------
//!     08:00     09:00     10:00
//! ```

use std::time::Duration;

use jiff::tz::TimeZone;
use plotters::coord::Shift;
use plotters::prelude::*;
use plotters::style::text_anchor::{HPos, Pos, VPos};

use crate::commands::Failure;
use crate::figures::units::spans;
use crate::screen::words::{clock, day_start};
use crate::shop::books::shift_report::Report;
use crate::shop::facts::moment::Wall;
use crate::shop::facts::words::counted;

pub const INK: RGBColor = RGBColor(0x1a, 0x1a, 0x1a);
pub const FAINT: RGBColor = RGBColor(0xd5, 0xda, 0xe1);
const DONE: RGBColor = RGBColor(0x1f, 0x4e, 0x8c);
const WANTED: RGBColor = RGBColor(0x9a, 0x3b, 0x00);
const MINUTE: Duration = Duration::from_secs(60);
/// The sizes of letters and of the margins, in pixels.
const LETTERS: u32 = 13;
const BELOW: i32 = 24;

pub type Area<'a> = DrawingArea<SVGBackend<'a>, Shift>;
pub type Drawn<'a> =
    Result<(), DrawingAreaErrorKind<<SVGBackend<'a> as DrawingBackend>::ErrorType>>;

/// A picture: what a page needs to show it and to tell of it.
pub struct Picture {
    pub size: (u32, u32),
    /// In some words what it shows.
    pub title: String,
    pub description: String,
    /// The elements within the outermost `svg`.
    pub inside: String,
}

/// Where the hours of a shift lie on a picture.
pub struct Frame<'a> {
    pub size: (u32, u32),
    /// Pixels to the left and right of the hours, and above and below them.
    pub left: i32,
    pub right: i32,
    pub top: i32,
    from: Wall,
    to: Wall,
    zone: &'a TimeZone,
}

impl<'a> Frame<'a> {
    /// A frame for a report; margins in pixels.
    pub fn new(
        report: &Report,
        zone: &'a TimeZone,
        size: (u32, u32),
        (left, right, top): (i32, i32, i32),
    ) -> Self {
        let (from, to) = (report.shift.from.0, report.shift.to.0);
        Self { size, left, right, top, from, to: to.max(from.plus(MINUTE)), zone }
    }

    /// The length of the shift as it is drawn.
    pub fn span(&self) -> Duration {
        self.to.since(self.from)
    }

    /// The pixel columns between which the hours lie.
    pub fn columns(&self) -> (i32, i32) {
        (self.left, i32::try_from(self.size.0).unwrap_or(0) - self.right)
    }

    /// The lowest row of pixels above the times.
    pub fn bottom(&self) -> i32 {
        i32::try_from(self.size.1).unwrap_or(0) - BELOW
    }

    /// The pixel column of a moment.
    #[expect(clippy::cast_possible_truncation, reason = "some hundred pixels")]
    pub fn x(&self, at: Wall) -> i32 {
        let (left, right) = self.columns();
        let share = (at - self.from).as_secs_f64() / self.span().as_secs_f64();
        left + (share.clamp(0.0, 1.0) * f64::from(right - left)).round() as i32
    }

    /// Round times of day, at most one every sixty pixels.
    fn ticks(&self) -> Vec<Wall> {
        const STEPS: [u32; 12] = [1, 2, 5, 10, 15, 30, 60, 120, 180, 240, 360, 720];
        let (left, right) = self.columns();
        let most = u32::try_from((right - left) / 60).unwrap_or(0).max(2);
        let fits = |step: &&u32| self.span() < MINUTE * **step * most;
        let step = MINUTE * *STEPS.iter().find(fits).unwrap_or(&1440);
        let midnight = day_start(self.from, self.zone);
        let ticks = std::iter::successors(Some(midnight), |at| Some(at.plus(step)));
        ticks.skip_while(|at| *at < self.from).take_while(|at| *at <= self.to).collect()
    }

    /// Draws the times of day, with a faint line up from each.
    pub fn draw<'b>(&self, area: &Area<'b>) -> Drawn<'b> {
        let bottom = self.bottom();
        for at in self.ticks() {
            let x = self.x(at);
            area.draw(&PathElement::new([(x, self.top), (x, bottom)], FAINT))?;
            // The first and the last are moved in, so that they are not cut off.
            let middle = x.clamp(20, i32::try_from(self.size.0).unwrap_or(0) - 20);
            write(area, clock(at, self.zone), (middle, bottom + 6), (HPos::Center, VPos::Top))?;
        }
        let (left, right) = self.columns();
        area.draw(&PathElement::new([(left, bottom), (right, bottom)], INK))
    }
}

/// Writes a text at a pixel.
pub fn write<'b>(
    area: &Area<'b>,
    text: String,
    at: (i32, i32),
    (across, down): (HPos, VPos),
) -> Drawn<'b> {
    let font = ("sans-serif", LETTERS, &INK).into_text_style(area).pos(Pos::new(across, down));
    area.draw(&Text::new(text, at, font))
}

/// Draws into a picture.
///
/// # Errors
/// None in practice: it is drawn in memory.
pub fn picture(
    size: (u32, u32),
    (title, description): (String, String),
    draw: impl for<'b> FnOnce(&Area<'b>) -> Drawn<'b>,
) -> Result<Picture, Failure> {
    let mut svg = String::new();
    let drawn = {
        let area = SVGBackend::with_string(&mut svg, size).into_drawing_area();
        draw(&area).and_then(|()| area.present()).map_err(|wrong| wrong.to_string())
    };
    drawn.map_err(|wrong| Failure::Other(format!("a chart: {wrong}")))?;
    // The outermost element is the page's: it carries title and description.
    let inside = svg.split_once("<svg").and_then(|(_, rest)| rest.split_once('>'));
    let inside = inside.and_then(|(_, rest)| rest.rsplit_once("</svg>"));
    let inside = inside.map_or_else(String::new, |(inside, _)| inside.trim().to_owned());
    Ok(Picture { size, title, description, inside })
}

/// What was finished over the shift, against the pace that what is due asked for.
///
/// # Errors
/// None in practice: it is drawn in memory.
pub fn finished(report: &Report, zone: &TimeZone, size: (u32, u32)) -> Result<Picture, Failure> {
    let frame = Frame::new(report, zone, size, (34, 12, 22));
    let needed = needed_line(report, &frame);
    let done = report.finished_at.len();
    let most = needed.iter().map(|(_, count)| *count).fold(done as f64, f64::max).max(1.0);
    let needs = match (report.needed.first(), report.output.needed_per_hour) {
        (Some(_), Some(pace)) => format!(" What is due needed {}.", spans::an_hour(pace)),
        _ => " No order here is due at a time.".to_owned(),
    };
    let description = format!(
        "{} finished between {} and {}.{needs}",
        counted(done, "garment"),
        clock(report.shift.from.0, zone),
        clock(report.shift.to.0, zone)
    );
    picture(size, ("Finished over the shift".to_owned(), description), |area| {
        scale(area, &frame, most)?;
        frame.draw(area)?;
        draw_finished(area, &frame, report, most)?;
        draw_needed(area, &frame, &needed, most)
    })
}

/// The pixel row of a number of garments.
#[expect(clippy::cast_possible_truncation, reason = "some hundred pixels")]
fn row(frame: &Frame<'_>, count: f64, most: f64) -> i32 {
    let height = f64::from(frame.bottom() - frame.top);
    frame.bottom() - (count / most * height).round() as i32
}

/// Round numbers of garments, each with a faint line.
fn scale<'b>(area: &Area<'b>, frame: &Frame<'_>, most: f64) -> Drawn<'b> {
    const STEPS: [f64; 10] = [1.0, 2.0, 5.0, 10.0, 20.0, 50.0, 100.0, 200.0, 500.0, 1000.0];
    let step = STEPS.into_iter().find(|step| most / step <= 5.0).unwrap_or(5000.0);
    let (left, right) = frame.columns();
    let mut count = 0.0;
    while count <= most {
        let y = row(frame, count, most);
        area.draw(&PathElement::new([(left, y), (right, y)], FAINT))?;
        write(area, format!("{count:.0}"), (left - 6, y), (HPos::Right, VPos::Center))?;
        count += step;
    }
    Ok(())
}

/// The line of what is needed: straight to each due time, cut off where the shift ends.
fn needed_line(report: &Report, frame: &Frame<'_>) -> Vec<(Wall, f64)> {
    let mut line = vec![(frame.from, 0.0)];
    for needed in &report.needed {
        let Some((at, count)) = line.last().copied() else { break };
        let (next, wanted) = (needed.at.0, needed.finished as f64);
        if next <= frame.to {
            line.push((next, wanted));
            continue;
        }
        let share = (frame.to - at).as_secs_f64() / (next - at).as_secs_f64();
        line.push((frame.to, count + (wanted - count) * share));
        break;
    }
    line
}

fn draw_finished<'b>(area: &Area<'b>, frame: &Frame<'_>, report: &Report, most: f64) -> Drawn<'b> {
    let mut points = vec![(frame.x(frame.from), frame.bottom())];
    for (before, at) in report.finished_at.iter().enumerate() {
        let x = frame.x(at.0);
        points.push((x, row(frame, before as f64, most)));
        points.push((x, row(frame, (before + 1) as f64, most)));
    }
    let last = row(frame, report.finished_at.len() as f64, most);
    points.push((frame.x(report.shift.to.0), last));
    area.draw(&PathElement::new(points, DONE.stroke_width(3)))?;
    let (left, _) = frame.columns();
    area.draw(&PathElement::new([(left + 4, 8), (left + 28, 8)], DONE.stroke_width(3)))?;
    write(area, "finished".to_owned(), (left + 34, 8), (HPos::Left, VPos::Center))
}

fn draw_needed<'b>(
    area: &Area<'b>,
    frame: &Frame<'_>,
    line: &[(Wall, f64)],
    most: f64,
) -> Drawn<'b> {
    if line.len() < 2 {
        return Ok(());
    }
    let style = WANTED.stroke_width(2);
    let points: Vec<(i32, i32)> =
        line.iter().map(|(at, count)| (frame.x(*at), row(frame, *count, most))).collect();
    dashes(area, &points, style)?;
    let (left, _) = frame.columns();
    dashes(area, &[(left + 110, 8), (left + 136, 8)], style)?;
    write(area, "needed".to_owned(), (left + 142, 8), (HPos::Left, VPos::Center))
}

fn dashes<'b>(area: &Area<'b>, points: &[(i32, i32)], style: ShapeStyle) -> Drawn<'b> {
    area.draw(&plotters::element::DashedPathElement::new(points.iter().copied(), 8, 5, style))
}
