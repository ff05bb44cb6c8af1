//! Each press's platen as it was last probed: how far each place is off the dial, in degrees of the dial.

use ratatui::buffer::Buffer;
use ratatui::layout::Rect;

use super::View;
use super::keymap::Deed;
use super::paint::{self, Line};
use super::theme::Role;
use super::words;
use crate::figures::units::compare::within;
use crate::shop::facts::fact::PlatenChecked;
use crate::shop::facts::ids::PressNo;
use crate::shop::floor::platens::{CORNERS, ProbeDue};

/// Draws the maps one below the other; a press for which there is no room is left out, those that are due last.
pub fn draw(view: &View<'_>, area: Rect, buf: &mut Buffer) {
    let mut lines: Vec<Line> = Vec::new();
    for press in view.shop.press_numbers() {
        let map = lines_of(view, press);
        if !lines.is_empty() && lines.len() + map.len() > usize::from(area.height) {
            lines.extend(
                due(view, press).map(|text| Line::of(Role::Due, format!(" {press}: {text} "))),
            );
            continue;
        }
        lines.extend(map);
        lines.push(Line::default());
    }
    paint::lines(buf, view.theme, area, &lines);
}

fn lines_of(view: &View<'_>, press: PressNo) -> Vec<Line> {
    let dial = view.shop.setting(press).map_or_else(String::new, |set| set.dial.to_string());
    let head = format!("{press} {}  {dial}", view.shop.press_name(press));
    let mut lines = vec![Line::of(Role::Strong, head)];
    if let Some(probe) = view.shop.probe(press) {
        lines.extend(map(probe));
        // All of it in the scale of the dial.
        let tolerance = probe.dial.difference(probe.tolerance.as_celsius());
        let tolerance = tolerance.trim_start_matches('+');
        let verdict = if probe.within {
            Line::of(Role::Good, format!("within {tolerance}"))
        } else {
            Line::of(Role::Abnormal, format!("OUTSIDE {tolerance}"))
        };
        let turn = probe.dial.difference(probe.correction_c);
        lines.push(verdict.and(Role::Plain, format!(", turn dial {turn}")));
    }
    match due(view, press) {
        Some(text) => {
            let key = view.then(" ", Deed::Probe);
            lines.push(Line::of(Role::Due, format!("{key} PROBE: {text} ")));
        }
        None => {
            let at = view.shop.probed_at(press);
            let ago = at.map(|at| words::ago(view.now.since(at).span)).unwrap_or_default();
            lines.push(Line::of(Role::Plain, format!("probed {ago}")));
        }
    }
    if let Some((_, strips)) = view.shop.strips(press) {
        let slipped: Vec<&str> = CORNERS
            .iter()
            .zip(strips.held)
            .filter(|(_, held)| !held)
            .map(|(name, _)| *name)
            .collect();
        lines.push(if slipped.is_empty() {
            Line::of(Role::Plain, "strips: all four held")
        } else {
            Line::of(Role::Abnormal, format!("SLIPPED: {}", slipped.join(", ")))
        });
    }
    lines
}

/// The differences from the dial, as they lie on the platen, the back at the top.
fn map(probe: &PlatenChecked) -> impl Iterator<Item = Line> + use<'_> {
    let dial = probe.dial;
    probe.readings.iter().map(move |row| {
        let mut line = Line::default();
        for reading in row {
            let off = reading.as_celsius() - dial.as_celsius();
            let inside = within(off, 0.0, probe.tolerance.as_celsius());
            let role = if inside { Role::Strong } else { Role::Abnormal };
            let degrees = dial.difference(off);
            let mark = if inside { ' ' } else { '!' };
            line.add(role, format!("{degrees:>6}{mark} "));
        }
        line
    })
}

fn due(view: &View<'_>, press: PressNo) -> Option<String> {
    Some(match view.shop.probe_due(press, view.now)? {
        ProbeDue::Never => "never yet".into(),
        ProbeDue::Old(span) => words::ago(span),
        ProbeDue::OtherDial => "dial was turned".into(),
    })
}
