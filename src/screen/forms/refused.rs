//! Where a form cannot be opened: its reason stands in its place, and takes the figures that were meant for it.

use super::Typed;
use super::entry::{At, Entry};
use crate::screen::View;
use crate::screen::input::{Key, KeyCode, Mode, Takes};
use crate::screen::paint::Line;
use crate::screen::theme::Role;

/// Why there is nothing to fill in.
pub struct RefusedForm {
    title: &'static str,
    reason: String,
}

impl RefusedForm {
    pub fn new(title: &'static str, reason: String) -> Self {
        Self { title, reason }
    }
}

impl Entry for RefusedForm {
    fn mode(&self) -> Mode {
        Mode::Field(Takes::Figures)
    }

    fn key(&mut self, _: &At<'_>, key: &Key) -> Typed {
        match key.code {
            KeyCode::Enter => Typed::Closed(Vec::new()),
            _ => Typed::Open,
        }
    }

    fn lines(&self, _: &View<'_>) -> (String, Vec<Line>) {
        let lines = vec![
            Line::of(Role::Abnormal, self.reason.clone()),
            Line::of(Role::Plain, "What is typed now goes nowhere. Enter closes this."),
        ];
        (self.title.into(), lines)
    }
}
