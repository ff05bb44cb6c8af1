//! The chart of individuals as a picture. It reads without colour: each kind of line and mark has a shape.
//!
//! ```text
//!          individuals of pickup.csv, grams
//!   | - - - - - - - - - - - - - - - - - -  upper limit 55.8     long dashes: control limits
//!   |        o           X                                      X: a signal
//!   |------o---o--------o--o-------------  mean 50.8            whole line: the middle
//!   |    o       o  o
//!   | . . . . . . . . . . . . . . . . . .  wanted at least 46   short dashes: what is wanted
//!   +------------------------------------
//! ```

use std::ops::Range;
use std::path::Path;

use plotters::coord::types::RangedCoordf64;
use plotters::prelude::*;
use plotters::style::text_anchor::{HPos, Pos, VPos};

use crate::commands::{Failure, output};
use crate::figures::chart::Chart;
use crate::shop::facts::words::clean;

/// The picture's size, in pixels.
const SIZE: (u32, u32) = (960, 480);
/// Room for the words to the right of the lines, in pixels.
const RIGHT: u32 = 200;
/// Above so many values each column of pixels shows its least and its greatest alone.
const COLUMNS: usize = 700;
/// Above so many values the line alone is drawn, without a point for each.
const MOST_POINTS: usize = 200;

const INK: RGBColor = RGBColor(0x22, 0x22, 0x22);
const FAINT: RGBColor = RGBColor(0x66, 0x66, 0x66);
const LIMIT: RGBColor = RGBColor(0xa0, 0x30, 0x00);
const WANTED: RGBColor = RGBColor(0x00, 0x50, 0xa0);

type Area<'a, 'b> = ChartContext<'a, SVGBackend<'b>, Cartesian2d<RangedCoordf64, RangedCoordf64>>;
type Drawn<'b> = Result<(), DrawingAreaErrorKind<<SVGBackend<'b> as DrawingBackend>::ErrorType>>;

/// What is drawn.
pub struct Picture<'a> {
    /// The file's name, for the title.
    pub name: &'a str,
    pub column: Option<&'a str>,
    pub values: &'a [f64],
    pub chart: Chart,
    /// The limits of what is wanted, low and high.
    pub wanted: Option<(f64, f64)>,
}

impl Picture<'_> {
    /// Writes the picture as SVG, of values that were read from `from`.
    ///
    /// # Errors
    /// A file that cannot be written, or the one that was read.
    pub fn write(&self, path: &Path, from: &Path) -> Result<(), Failure> {
        let mut svg = String::new();
        self.draw(&mut svg).map_err(|wrong| Failure::Other(format!("the chart: {wrong}")))?;
        output::whole(path, [from], svg.as_bytes())
    }

    fn draw<'b>(&self, svg: &'b mut String) -> Drawn<'b> {
        let area = SVGBackend::with_string(svg, SIZE).into_drawing_area();
        area.fill(&WHITE)?;
        let name = self.column.unwrap_or("value");
        let mut chart = ChartBuilder::on(&area)
            .caption(format!("individuals of {}", clean(self.name, 60)), ("sans-serif", 24, &INK))
            .margin(12)
            .margin_right(RIGHT)
            .x_label_area_size(40)
            .y_label_area_size(80)
            .build_cartesian_2d(0.5..self.values.len() as f64 + 0.5, self.heights())?;
        chart
            .configure_mesh()
            .disable_mesh()
            .axis_style(INK)
            .x_desc("number in order")
            .y_desc(clean(name, 40))
            .label_style(("sans-serif", 16, &INK))
            .x_label_formatter(&|number| counted(*number))
            .y_label_formatter(&|value| shown(*value))
            .draw()?;
        self.lines(&mut chart)?;
        self.points(&mut chart)?;
        self.signals(&mut chart)?;
        area.present()
    }

    /// From the lowest to the highest of what is shown, with some room.
    fn heights(&self) -> Range<f64> {
        let (low, high) = self.wanted.unwrap_or((self.chart.lower, self.chart.upper));
        let limits = [self.chart.lower, self.chart.upper, low, high];
        let all = || limits.iter().chain(self.values).copied();
        let (low, high) = (all().fold(f64::MAX, f64::min), all().fold(f64::MIN, f64::max));
        // Values that hardly differ, or not at all, still get an axis whose marks do.
        let size = low.abs().max(high.abs());
        let room = match high - low {
            span if span > 0.0 => (span * 0.08).max(size * 1e-9),
            _ if size > 0.0 => size * 0.1,
            _ => 1.0,
        };
        low - room..high + room
    }

    /// The middle, the control limits and what is wanted, each with its words to the right.
    fn lines<'b>(&self, chart: &mut Area<'_, 'b>) -> Drawn<'b> {
        let Chart { mean, lower, upper, .. } = self.chart;
        let ends = (0.5, self.values.len() as f64 + 0.5);
        let line = |y: f64| [(ends.0, y), (ends.1, y)].into_iter();
        let middle = INK.stroke_width(2);
        chart.draw_series(LineSeries::new(line(mean), middle))?;
        let mut words = vec![(mean, format!("mean {}", shown(mean)), INK)];
        for (y, name) in [(lower, "lower limit"), (upper, "upper limit")] {
            let style = LIMIT.stroke_width(2);
            chart.draw_series(DashedLineSeries::new(line(y), 12, 6, style))?;
            words.push((y, format!("{name} {}", shown(y)), LIMIT));
        }
        if let Some((low, high)) = self.wanted {
            for (y, name) in [(low, "wanted at least"), (high, "wanted at most")] {
                let style = WANTED.stroke_width(2);
                chart.draw_series(DashedLineSeries::new(line(y), 2, 5, style))?;
                words.push((y, format!("{name} {}", shown(y)), WANTED));
            }
        }
        beside(chart, ends.1, words)
    }

    /// The values, joined; each with a point where there is room for points.
    fn points<'b>(&self, chart: &mut Area<'_, 'b>) -> Drawn<'b> {
        let values = || (1..).zip(self.values).map(|(index, value)| (index, *value));
        let points = thinned(values(), self.values.len());
        chart.draw_series(LineSeries::new(points.iter().copied(), FAINT.stroke_width(1)))?;
        if self.values.len() <= MOST_POINTS {
            let style = INK.filled();
            chart.draw_series(PointSeries::<_, _, Circle<_, _>, _>::new(points, 3, style))?;
        }
        Ok(())
    }

    /// The signals, crossed.
    fn signals<'b>(&self, chart: &mut Area<'_, 'b>) -> Drawn<'b> {
        let signals = self.chart.signals(self.values);
        let marks = signals.filter_map(|s| Some((s.index, *self.values.get(s.index - 1)?)));
        let marks = thinned(marks, self.values.len());
        let style = LIMIT.stroke_width(2);
        let some = !marks.is_empty();
        chart.draw_series(PointSeries::<_, _, Cross<_, _>, _>::new(marks, 6, style))?;
        if some {
            let place = (i32::try_from(SIZE.0 - RIGHT).unwrap_or(0) + 8, 20);
            let font = ("sans-serif", 16, &LIMIT).into_text_style(chart.plotting_area());
            let area = chart.plotting_area().strip_coord_spec();
            let (x, y) = area.get_base_pixel();
            area.draw(&Text::new("X  a signal", (place.0 - x, place.1 - y), font))?;
        }
        Ok(())
    }
}

/// A number in few digits, however large or small it is.
fn shown(number: f64) -> String {
    match number.abs() {
        size if size == 0.0 || (1e-3..1e7).contains(&size) => {
            format!("{number:.4}").trim_end_matches('0').trim_end_matches('.').to_owned()
        }
        _ => format!("{number:.3e}"),
    }
}

/// The number of a value; nothing between two values.
fn counted(number: f64) -> String {
    let whole = number.round();
    if (number - whole).abs() < 1e-6 { format!("{whole:.0}") } else { String::new() }
}

/// Words beside the ends of their lines, moved apart where lines lie close together.
fn beside<'b>(
    chart: &mut Area<'_, 'b>,
    right: f64,
    mut words: Vec<(f64, String, RGBColor)>,
) -> Drawn<'b> {
    /// The height of a line of words, in pixels.
    const STEP: i32 = 15;
    words.sort_by(|one, other| other.0.total_cmp(&one.0));
    let area = chart.plotting_area().strip_coord_spec();
    let (left, top) = area.get_base_pixel();
    let mut above = i32::MIN;
    for (y, text, colour) in words {
        let (x, y) = chart.backend_coord(&(right, y));
        let y = y.max(above.saturating_add(STEP));
        above = y;
        let pos = Pos::new(HPos::Left, VPos::Center);
        let font = ("sans-serif", 16, &colour).into_text_style(&area).pos(pos);
        area.draw(&Text::new(text, (x + 8 - left, y - top), font))?;
    }
    Ok(())
}

/// A value with its number in the order.
type Point = (usize, f64);

/// What is shown of the values that share a column of pixels.
struct Column {
    number: usize,
    least: Point,
    greatest: Point,
}

impl Column {
    fn close(self, thin: &mut Vec<(f64, f64)>) {
        let (one, other) = (self.least, self.greatest);
        let (first, last) = if one.0 <= other.0 { (one, other) } else { (other, one) };
        thin.push(placed(first));
        if first.0 != last.0 {
            thin.push(placed(last));
        }
    }
}

fn placed((index, value): Point) -> (f64, f64) {
    (index as f64, value)
}

/// Points as they are, or, of very many, the least and the greatest of each column of pixels, in order.
fn thinned(points: impl Iterator<Item = Point>, of: usize) -> Vec<(f64, f64)> {
    if of <= 2 * COLUMNS {
        return points.map(placed).collect();
    }
    let mut thin = Vec::new();
    let mut open: Option<Column> = None;
    for point in points {
        let number = (point.0 - 1) * COLUMNS / of;
        if let Some(column) = open.as_mut().filter(|column| column.number == number) {
            if point.1 < column.least.1 {
                column.least = point;
            }
            if point.1 > column.greatest.1 {
                column.greatest = point;
            }
            continue;
        }
        let fresh = Column { number, least: point, greatest: point };
        if let Some(column) = open.replace(fresh) {
            column.close(&mut thin);
        }
    }
    if let Some(column) = open {
        column.close(&mut thin);
    }
    thin
}
