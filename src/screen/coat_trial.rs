//! The trial that runs, on the Coat screen: what to do next, what is known, its garments.
//!
//! ```text
//!  Trial of Dark cotton   8 of at least 8 garments graded
//!  Grade no. 5 after 5 washes   f
//!  low edge    so far: 153 g/m2; 103 to 168 (nine times in ten)
//!  high edge   so far: 293 g/m2; 243 to 372 (nine times in ten)
//!  no.  aimed  coat  white  wash
//!    5    158   157    4-5     5
//! ```

use ratatui::buffer::Buffer;
use ratatui::layout::Rect;

use super::View;
use super::forms::trial::{spray_sentence, spray_text};
use super::keymap::Deed;
use super::paint::{self, Line};
use super::theme::Role;
use crate::figures::trial::answer::LEAST;
use crate::figures::trial::text::in_a_line;
use crate::shop::facts::fact::GradedAfter;
use crate::shop::floor::trial::{Graded, TrialGarment, TrialRun, TrialStep};

/// Draws the trial, the newest of its garments where not all have room.
pub fn draw(view: &View<'_>, run: &TrialRun, area: Rect, buf: &mut Buffer) {
    let width = usize::from(area.width.saturating_sub(1));
    let lines = head(view, run).iter().flat_map(|line| line.folded(width)).collect::<Vec<_>>();
    paint::lines(buf, view.theme, area, &lines);
    let below = paint::skip(area, 0, u16::try_from(lines.len() + 1).unwrap_or(u16::MAX));
    let room = usize::from(below.height.saturating_sub(1));
    if room == 0 || run.garments.is_empty() {
        return;
    }
    let mut rows = vec![Line::of(Role::Strong, "no.  aimed   coat  white   wash")];
    let garments = (1..).zip(&run.garments).skip(run.garments.len().saturating_sub(room));
    rows.extend(garments.map(|(no, one)| Line::of(Role::Plain, row(run, no, one))));
    paint::lines(buf, view.theme, below, &rows);
}

/// What to do next, and what is known.
fn head(view: &View<'_>, run: &TrialRun) -> Vec<Line> {
    let title = view.shop.trial_title().unwrap_or_default();
    let next = match view.acts() {
        true => format!("{}: {}", view.ui.keys.key(Deed::Trial), next(view, run)),
        false => next(view, run),
    };
    let graded = run.answer.garments;
    let least = if graded < LEAST { format!(", no answer before {LEAST}") } else { String::new() };
    let mut lines = vec![
        Line::of(Role::Strong, format!("Trial of {title}   "))
            .and(Role::Plain, format!("{graded} graded{least}")),
        Line::of(Role::Strong, next),
    ];
    let Ok(asked) = run.asked() else { return lines };
    // What to do stands above already; a round that has begun is not the next one.
    let known = run.answer.rows(asked, run.begun.cycles).into_iter();
    let known = known.filter(|(name, _)| graded > 0 && !matches!(*name, "now" | "next round"));
    lines.extend(known.map(|row| Line::of(Role::Plain, in_a_line(&row))));
    lines
}

fn next(view: &View<'_>, run: &TrialRun) -> String {
    match run.next() {
        TrialStep::WeighDry { no, aim } => {
            format!("Weigh blank no. {no} dry, then {}", spray_text(view.shop, no, aim))
        }
        TrialStep::WeighCoated { no, aim, .. } => {
            format!("{}, then weigh it", spray_sentence(view.shop, no, aim))
        }
        TrialStep::Grade { no, after: GradedAfter::Cure } => {
            format!("Print and cure this round, then grade the white of no. {no}")
        }
        TrialStep::Grade { no, after: GradedAfter::Wash } => {
            format!("Wash those that passed {} times, then grade no. {no}", run.begun.cycles)
        }
        TrialStep::Over(_) => run.answer.advice(),
    }
}

fn row(run: &TrialRun, no: usize, one: &TrialGarment) -> String {
    let graded = |graded: Graded, wanted: bool| match graded {
        Graded::Seen(seen) => seen.to_string(),
        Graded::Lost => "lost".to_owned(),
        Graded::NotYet if wanted => "?".to_owned(),
        Graded::NotYet => "-".to_owned(),
    };
    let coat = one.coat.map_or_else(|| "?".to_owned(), |coat| format!("{:.0}", coat.0));
    let (white, wash) = (graded(one.white, true), graded(one.wash, run.is_washed(one)));
    format!("{no:>3}  {:>5.0}  {coat:>5}  {white:>5}  {wash:>5}", one.aimed.0)
}
