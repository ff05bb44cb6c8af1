//! The weigh-ins as a chart of characters that every console has.
//!
//! Each kind of line has its own stroke, so that it reads without colour: dots bound the recipe's window, dashes
//! are the limits of chance, a whole line is the mean; `o` is a coat, `X` one that breaks a rule.

use ratatui::buffer::Buffer;
use ratatui::layout::Rect;

use super::View;
use super::paint;
use super::theme::Role;
use crate::shop::books::drift::Drift;
use crate::shop::facts::recipe::Recipe;

/// Columns of the scale to the left.
const SCALE: u16 = 5;
/// Columns of the names to the right.
const NAMES: u16 = 8;

/// A line across the chart.
struct Across {
    at: f64,
    stroke: &'static str,
    name: &'static str,
}

/// Draws the chart into an area.
pub fn draw(view: &View<'_>, drift: &Drift, recipe: &Recipe, area: Rect, buf: &mut Buffer) {
    let wide = area.width.saturating_sub(SCALE + NAMES);
    if wide < 10 || area.height < 3 {
        return;
    }
    let lines = lines(drift, recipe);
    let all = || lines.iter().map(|line| line.at).chain(drift.values.iter().copied());
    let (low, high) =
        (all().fold(f64::INFINITY, f64::min), all().fold(f64::NEG_INFINITY, f64::max));
    let row_of = |value: f64| row(value, low, high, area.height);
    // The mean is drawn last: where rows are few it is what must not be hidden.
    for line in &lines {
        let y = paint::row_of(area, row_of(line.at));
        paint::text(buf, view.theme, y, Role::Plain, &format!("{:>4.0}", line.at));
        let strokes = line.stroke.repeat(usize::from(wide));
        let strokes: String = strokes.chars().take(usize::from(wide)).collect();
        paint::text(buf, view.theme, paint::skip(y, SCALE, 0), Role::Frame, &strokes);
        paint::text(
            buf,
            view.theme,
            paint::skip(y, SCALE + wide, 0),
            Role::Plain,
            &format!(" {}", line.name),
        );
    }
    let count = drift.values.len();
    let step = (usize::from(wide) / count.max(1)).clamp(1, 6);
    let shown = count.min(usize::from(wide) / step);
    for (n, value) in drift.values.iter().enumerate().skip(count - shown) {
        let column = u16::try_from((n + shown - count) * step).unwrap_or(wide);
        let signal = drift.signals.iter().any(|signal| signal.index == n + 1);
        let (role, mark) = if signal { (Role::Abnormal, "X") } else { (Role::Strong, "o") };
        let y = paint::row_of(area, row_of(*value));
        let cell = Rect { width: 1, ..paint::skip(y, SCALE + column, 0) };
        paint::text(buf, view.theme, cell, role, mark);
    }
}

fn lines(drift: &Drift, recipe: &Recipe) -> Vec<Across> {
    let mut lines = vec![
        Across { at: recipe.coat.high.0, stroke: ". ", name: "window" },
        Across { at: recipe.coat.low.0, stroke: ". ", name: "window" },
    ];
    if let Some(chart) = drift.chart {
        lines.push(Across { at: chart.upper, stroke: "- ", name: "limit" });
        lines.push(Across { at: chart.lower, stroke: "- ", name: "limit" });
        lines.push(Across { at: chart.mean, stroke: "─", name: "mean" });
    }
    lines
}

/// The row of a value, the highest at the top.
fn row(value: f64, low: f64, high: f64, height: u16) -> u16 {
    let share = if high > low { (high - value) / (high - low) } else { 0.5 };
    paint::part(height.saturating_sub(1), share)
}
