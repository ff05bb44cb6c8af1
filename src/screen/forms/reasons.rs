//! Why a sheet clings to a garment: every cause with its evidence, the likeliest first, and what to do.

use crate::screen::paint::Line;
use crate::screen::theme::Role;
use crate::shop::Shop;
use crate::shop::causes::Suspect;
use crate::shop::ids::Tag;

/// The page.
pub fn lines(tag: Tag, shop: &Shop) -> (String, Vec<Line>) {
    let suspects = shop.suspects(tag);
    let mut lines = ranked(&suspects);
    if let Some(first) = suspects.first() {
        lines.push(Line::default());
        lines.push(Line::of(Role::Strong, format!("first: {}", first.cause.advice())));
        lines.push(Line::of(Role::Plain, "The points are plain rules, listed in the README."));
    }
    lines.push(Line::of(Role::Plain, "any key closes"));
    (format!("Why does the sheet cling to {tag}?"), lines)
}

/// The causes, each on a line.
pub fn ranked(suspects: &[Suspect]) -> Vec<Line> {
    let row = |suspect: &Suspect| {
        let role = if suspect.points > 0 { Role::Strong } else { Role::Plain };
        Line::of(role, format!("{:>2}  {:<22} ", suspect.points, suspect.cause.words()))
            .and(Role::Plain, suspect.evidence.clone())
    };
    suspects.iter().map(row).collect()
}
