//! The rows of an order that is being typed.

use super::field;
use super::known::Known;
use super::order::OrderEntry;
use super::order_fields::{Field, Said, Seen};
use super::order_lists::{row, sizes_of};
use super::text::Text;
use crate::figures::sketch;
use crate::screen::View;
use crate::screen::paint::Line;
use crate::screen::theme::Role;
use crate::shop::facts::order::{Backdrop, OrderLine};
use crate::shop::facts::typed_due::{in_words, typed_due};

/// Its title and rows.
pub fn lines(entry: &OrderEntry, view: &View<'_>) -> (String, Vec<Line>) {
    let here = entry.at_field();
    let size = entry.chosen().map_or("", Known::a_size);
    let typed = typed_due(entry.due.trimmed(), view.now, view.shop.zone());
    let due = match typed {
        Ok(due) => format!("read as {}", in_words(due, view.now, view.shop.zone())),
        Err(_) => "1600, fri 12:00, 28-1600".to_owned(),
    };
    let recipe = match entry.chosen() {
        Some(known) => format!("{} {}", entry.recipe + 1, known.title),
        None => "none".into(),
    };
    let said = match entry.underbase {
        _ if !entry.asks() => "as the recipe says",
        Said::Yes => "yes",
        Said::No => "no",
        _ if entry.shown_artwork().is_some_and(|seen| seen.underbase) => "yes, by the artwork",
        _ if entry.shown_artwork().is_some() => "no, by the artwork",
        Said::Nothing => "?",
        Said::Later => "asked later",
    };
    let count = match row(entry.count.trimmed(), view.shop) {
        // Beside what is typed there is little room: a row that is too wide leaves its place in the form.
        Some(Ok(row)) => row.to_string(),
        Some(Err(wrong)) => wrong.to_string(),
        None => {
            let first: Vec<String> = sizes_of(view.shop).into_iter().take(3).collect();
            format!("how many, or {}", first.join("-"))
        }
    };
    let cloth = entry.chosen().and_then(|known| known.cloth);
    let cloth = cloth.map_or_else(String::new, |cloth| format!(" ({})", cloth.words()));
    let (print, cloth) = (format!("{size}; . a list"), format!("as its recipe{cloth}; . a list"));
    let text = |name, input: &Text, of, hint| input.line(name, here == of, hint);
    let mut lines: Vec<Line> = Vec::new();
    if entry.kept {
        lines.push(super::entry::kept_line("- and + at garments"));
    }
    lines.extend(entry.lines.iter().map(|line| {
        let OrderLine { count, recipe, garment, mark, sizes, .. } = line;
        let colour = view.shop.colour_name(*garment);
        Line::of(Role::Plain, format!("{count} {recipe} {colour} {mark}{sizes}"))
    }));
    lines.extend([
        text("garments", &entry.count, Field::Count, &count),
        field("recipe", &recipe, here == Field::Recipe, &format!("1 to {}", entry.recipes.len())),
        field("underbase", said, here == Field::Underbase, "art lighter? 1 yes 2 no 3 later"),
        text("name", &entry.name, Field::Name, ""),
        text("colour", &entry.garment, Field::Garment, "a name or #rrggbb; . a list"),
        text("artwork", &entry.art, Field::Art, "its file; . a list"),
        text("size mark", &entry.mark, Field::Mark, "M, XL; . a list"),
        text("pad", &entry.pad, Field::Pad, "over a zip; . a list"),
        text("print", &entry.print, Field::Print, &print),
        text("places", &entry.places, Field::Places, ". a list"),
        text("due", &entry.due, Field::Due, &due),
        text("cloth", &entry.cloth, Field::Cloth, &cloth),
    ]);
    lines.extend(entry.shared.map(|shared| {
        let said = if shared { "yes" } else { "no" };
        field("shared", said, here == Field::Shared, "with all stations: 1 yes 2 no")
    }));
    if entry.shown_artwork().is_some() {
        // The sketch stands beside the fields: what is told goes below it.
        lines.resize(lines.len().max(sketch::ROWS), Line::default());
    }
    lines.extend(artwork_line(entry, here));
    lines.extend([
        Line::of(Role::Strong, "+ take it in  Enter next  / erase, back  * . keep for later"),
        Line::of(Role::Plain, ". in garments: one more line"),
    ]);
    ("A new order".into(), lines)
}

/// What the look at the artwork has told.
fn artwork_line(entry: &OrderEntry, here: Field) -> Option<Line> {
    if entry.art.trimmed().is_empty() {
        return None;
    }
    if entry.asks_backdrop() {
        let said = match entry.backdrop {
            None => "?",
            Some(Backdrop::Keep) => "printed",
            Some(Backdrop::Drop) => "not printed",
        };
        let hint = "a border of one colour: 1 printed 2 not";
        return Some(field("border", said, here == Field::Backdrop, hint));
    }
    Some(match &entry.seen.as_ref()?.1 {
        Seen::Awaited => Line::of(Role::Plain, "looking at the artwork ..."),
        Seen::Art(artwork) => Line::of(Role::Plain, artwork.reason.clone()),
        Seen::Border => return None,
        Seen::Not(reason) => Line::of(Role::Abnormal, reason.clone()),
    })
}
