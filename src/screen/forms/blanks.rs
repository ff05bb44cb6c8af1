//! A box of blanks was counted: a row for each colour and size that orders wait for, and only what came is typed.
//!
//! ```text
//! ══ Blanks, as counted ══════════════════ presses: * then 1 to 9 ══
//!  2 black S    2
//!  4 black M   [3]  1 short
//!  3 black L
//!  + record it   Enter next
//! ```

use super::Typed;
use super::entry::{At, Entry};
use super::text::Text;
use crate::screen::View;
use crate::screen::act::Effect;
use crate::screen::input::{Key, KeyCode, Mode, Takes};
use crate::screen::paint::Line;
use crate::screen::theme::Role;
use crate::screen::ui::Tone;
use crate::shop::Shop;
use crate::shop::facts::fact::short_or_over;
use crate::shop::rules::command::BlankKind;
use crate::shop::rules::command::{Command, Refusal};

/// What is wanted, and what of it was typed.
pub struct BlanksEntry {
    kinds: Vec<(BlankKind, Text)>,
    field: usize,
}

impl BlanksEntry {
    /// A row for each kind; None where no order waits for any.
    pub fn new(shop: &Shop) -> Option<Self> {
        let kinds: Vec<(BlankKind, Text)> =
            shop.blanks_wanted().into_iter().map(|kind| (kind, Text::default())).collect();
        (!kinds.is_empty()).then_some(Self { kinds, field: 0 })
    }

    fn submit(&mut self) -> Typed {
        let mut counts = Vec::new();
        for (n, (kind, text)) in self.kinds.iter().enumerate() {
            match text.trimmed() {
                "" => {}
                typed => match typed.parse() {
                    Ok(count) => counts.push((kind.clone(), count)),
                    Err(_) => {
                        self.go_to(n);
                        let text = "how many came? A whole number, then + again";
                        return Typed::Said(Tone::Refused, text.to_owned());
                    }
                },
            }
        }
        if counts.is_empty() {
            return Typed::Said(Tone::Refused, "how many came? Type a count, then +".to_owned());
        }
        Typed::Closed(vec![Effect::Do(Command::CountBlanks(counts))])
    }
}

impl Entry for BlanksEntry {
    fn mode(&self) -> Mode {
        Mode::Field(Takes::Figures)
    }

    fn fields(&self) -> usize {
        self.kinds.len()
    }

    fn here(&self) -> usize {
        self.field
    }

    fn choose_field(&mut self, field: usize) {
        self.field = field.min(self.kinds.len().saturating_sub(1));
    }

    fn text(&mut self) -> Option<&mut Text> {
        self.kinds.get_mut(self.field).map(|(_, text)| text)
    }

    fn key(&mut self, _: &At<'_>, key: &Key) -> Typed {
        match key.code {
            KeyCode::Char('+') => return self.submit(),
            KeyCode::Char(letter) if !letter.is_ascii_digit() => {}
            _ => {
                if let Some(text) = self.text() {
                    text.key(key);
                }
            }
        }
        Typed::Open
    }

    fn refused(&mut self, _: &Refusal) {}

    fn lines(&self, view: &View<'_>) -> (String, Vec<Line>) {
        let row = |(n, (kind, text)): (usize, &(BlankKind, Text))| {
            let (colour, wanted) = (view.shop.colour_name(kind.garment), kind.wanted);
            let name = format!("{wanted} {colour} {}", kind.mark);
            let hint = match text.trimmed().parse::<u32>() {
                Ok(count) => short_or_over(count, wanted),
                Err(_) => "how many came?".to_owned(),
            };
            text.line(name.trim(), n == self.field, &hint)
        };
        let mut lines: Vec<Line> = self.kinds.iter().enumerate().map(row).collect();
        let keys = "+ record it   Enter next   empty: not counted";
        lines.push(Line::of(Role::Strong, keys));
        ("Blanks, as counted".into(), lines)
    }
}
