//! Why a sheet clings to a garment: every cause with its evidence, the likeliest first, and what to do.

use super::Typed;
use super::entry::{At, Entry};
use crate::screen::View;
use crate::screen::cells::wrapped;
use crate::screen::input::Key;
use crate::screen::paint::Line;
use crate::screen::theme::Role;
use crate::shop::facts::ids::Tag;
use crate::shop::facts::words::counted;
use crate::shop::rules::causes::Suspect;

/// Columns of a cause's evidence: a line fits a window on 80 columns.
const EVIDENCE: usize = 66;

/// The page for one garment.
pub struct Reasons(pub Tag);

impl Entry for Reasons {
    fn key(&mut self, _: &At<'_>, _: &Key) -> Typed {
        Typed::Closed(Vec::new())
    }

    fn lines(&self, view: &View<'_>) -> (String, Vec<Line>) {
        lines(self.0, view)
    }
}

/// The page: each cause, and for those that something speaks for what to do.
fn lines(tag: Tag, view: &View<'_>) -> (String, Vec<Line>) {
    let mut lines = Vec::new();
    for suspect in view.shop.suspects(tag, view.now) {
        lines.push(named(&suspect));
        let evidence = wrapped(&suspect.evidence, EVIDENCE).into_iter();
        lines.extend(evidence.map(|text| Line::of(Role::Plain, format!("      {text}"))));
        if suspect.points > 0 {
            let text = format!("      do: {}", suspect.cause.advice());
            lines.push(Line::of(Role::Strong, text));
        }
    }
    lines.push(Line::of(Role::Plain, "points by the README's rules; any key closes"));
    (format!("Why does the sheet cling to {tag}?"), lines)
}

/// The causes that something speaks for in short, each on a line under its evidence's beginning.
pub fn ranked(suspects: &[Suspect]) -> Vec<Line> {
    const BESIDE: usize = 36;
    let mut lines = vec![Line::of(Role::Plain, "likely causes (for reading): . 0 tells more")];
    for suspect in suspects.iter().filter(|suspect| suspect.points > 0) {
        let mut heads = std::iter::once(named(suspect));
        let evidence = wrapped(&suspect.evidence, BESIDE).into_iter();
        lines.extend(evidence.map(|text| {
            let blank = || Line::of(Role::Plain, " ".repeat(NAMED));
            heads.next().unwrap_or_else(blank).and(Role::Plain, text)
        }));
    }
    lines
}

/// Columns of a cause with its points.
const NAMED: usize = 36;

/// A cause with its points behind it: a figure before it would look like a key.
fn named(suspect: &Suspect) -> Line {
    let role = if suspect.points > 0 { Role::Strong } else { Role::Plain };
    let points = counted(suspect.points, "point");
    Line::of(role, format!("{:<24}{points:<12}", suspect.cause.words()))
}
