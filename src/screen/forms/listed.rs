//! The numbered list of a field: what could be typed into it, chosen by a digit.

use super::place;
use crate::screen::input::{Key, KeyCode};
use crate::screen::paint::Line;
use crate::screen::theme::Role;

/// As many to a page as there are digits.
const PAGE: usize = 9;

/// An open list.
pub struct Listed {
    items: Vec<String>,
    page: usize,
}

/// What a key did in it.
pub enum Chose {
    Item(String),
    /// Back to the field.
    Back,
    /// It stays open, and something may be to be said.
    Nothing(Option<String>),
}

impl Listed {
    pub fn new(items: Vec<String>) -> Self {
        Self { items, page: 0 }
    }

    fn pages(&self) -> usize {
        self.items.len().div_ceil(PAGE).max(1)
    }

    pub fn key(&mut self, key: &Key) -> Chose {
        match key.code {
            KeyCode::Char('/') | KeyCode::Backspace => Chose::Back,
            KeyCode::Char('.') => {
                self.page = (self.page + 1) % self.pages();
                Chose::Nothing(None)
            }
            KeyCode::Char(digit) => {
                let item = place(digit)
                    .filter(|place| *place < PAGE)
                    .and_then(|place| self.items.get(self.page * PAGE + place));
                item.map_or_else(|| self.hint(), |item| Chose::Item(item.clone()))
            }
            _ => self.hint(),
        }
    }

    fn hint(&self) -> Chose {
        Chose::Nothing(Some("a number from the list, . for more, / back".into()))
    }

    pub fn lines(&self, field: &str) -> (String, Vec<Line>) {
        let here = self.items.iter().skip(self.page * PAGE).take(PAGE);
        let row = |(n, item): (usize, &String)| {
            Line::of(Role::Strong, n.to_string()).and(Role::Plain, format!("  {item}"))
        };
        let mut lines: Vec<Line> = (1..).zip(here).map(row).collect();
        let more = match self.pages() {
            1 => String::new(),
            pages => format!(". more (page {} of {pages})   ", self.page + 1),
        };
        lines.push(Line::of(Role::Plain, format!("{more}/ back")));
        (format!("Choose: {field}"), lines)
    }
}
