//! Why a sheet clings to a garment: every cause with its evidence, the likeliest first, and what to do.

use crate::screen::View;
use crate::screen::paint::Line;
use crate::screen::theme::Role;
use crate::screen::words::wrapped;
use crate::shop::causes::Suspect;
use crate::shop::ids::Tag;

/// Columns of a cause's evidence: a line fits a window on 80 columns.
const EVIDENCE: usize = 66;

/// The page: each cause, and for those that something speaks for what to do.
pub fn lines(tag: Tag, view: &View<'_>) -> (String, Vec<Line>) {
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

/// The causes in short, each on a line.
pub fn ranked(suspects: &[Suspect]) -> Vec<Line> {
    let row = |suspect: &Suspect| {
        let evidence = wrapped(&suspect.evidence, EVIDENCE).into_iter().next().unwrap_or_default();
        named(suspect).and(Role::Plain, format!(" {evidence}"))
    };
    suspects.iter().map(row).collect()
}

fn named(suspect: &Suspect) -> Line {
    let role = if suspect.points > 0 { Role::Strong } else { Role::Plain };
    Line::of(role, format!("{:>2}  {:<22}", suspect.points, suspect.cause.words()))
}
