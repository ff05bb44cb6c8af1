//! What every form says of itself, so that what is alike in all of them is done in one place.

use std::time::Duration;

use ratatui::buffer::Buffer;
use ratatui::layout::Rect;

use super::Typed;
use super::text::Text;
use crate::screen::View;
use crate::screen::act::{Effect, LookRequest};
use crate::screen::input::{Key, KeyCode, Mode};
use crate::screen::instrument::Readings;
use crate::screen::keymap::{Deed, Keymap};
use crate::screen::meaning::Sight;
use crate::screen::paint::Line;
use crate::screen::theme::Role;
use crate::shop::facts::order::Artwork;
use crate::shop::rules::command::Refusal;

/// How long a form stays open without a key.
const STAYS: Duration = Duration::from_secs(20);

/// A form that was left half filled in, and is there again when it is next opened.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub enum Draft {
    Order,
    Probe,
}

impl Draft {
    /// What opens it again.
    pub fn deed(self) -> Deed {
        match self {
            Draft::Order => Deed::TakeOrder,
            Draft::Probe => Deed::Probe,
        }
    }
}

/// The head of a draft that is open again, and by what keys it can be thrown away.
pub fn kept_line(keys: &str) -> Line {
    Line::of(Role::Abnormal, format!("kept from before: go on, or press {keys} to throw it away"))
}

/// Where a key was struck: what there is to act upon, and what keys are for.
pub struct At<'a> {
    pub sight: &'a Sight<'a>,
    pub keys: &'a Keymap,
}

/// A form. Its fields are counted from none; a list without fields has one.
pub trait Entry {
    /// What the keys are for in it as it stands.
    fn mode(&self) -> Mode {
        Mode::Lists
    }

    /// Takes a key that is none of those that are alike in all forms.
    fn key(&mut self, at: &At<'_>, key: &Key) -> Typed;

    /// Its title and rows.
    fn lines(&self, view: &View<'_>) -> (String, Vec<Line>);

    /// How many fields it has.
    fn fields(&self) -> usize {
        1
    }

    /// The field that the cursor is in.
    fn here(&self) -> usize {
        0
    }

    /// Another field is the one that the cursor is in.
    fn choose_field(&mut self, _field: usize) {}

    /// Puts the cursor into a field.
    fn go_to(&mut self, field: usize) {
        self.choose_field(field);
        if let Some(text) = self.text() {
            text.enter();
        }
    }

    /// Whether the cursor passes over a field.
    fn skips(&self, _field: usize) -> bool {
        false
    }

    /// The cursor has come to another field.
    fn moved(&mut self, _at: &At<'_>) -> Typed {
        Typed::Open
    }

    /// The text of the field that the cursor is in; None where it is a choice.
    fn text(&mut self) -> Option<&mut Text> {
        None
    }

    /// Whether that field takes a path, in which `/` is a letter.
    fn is_path(&self) -> bool {
        false
    }

    /// Its name, above its list.
    fn field_name(&self) -> &'static str {
        ""
    }

    /// What can be chosen for it by number; None where it has no list.
    fn list(&self, _sight: &Sight<'_>) -> Option<Vec<String>> {
        None
    }

    /// One of those was chosen, and stands in it.
    fn chose(&mut self, _at: &At<'_>) -> Typed {
        Typed::Open
    }

    /// Takes what a scanner read or a scale sent; else what it wants instead.
    fn scan(&mut self, _sight: &Sight<'_>, _text: &str) -> Result<Typed, &'static str> {
        Err("no field here asks for it")
    }

    /// Takes what instruments with a cable show.
    fn reads(&mut self, _sight: &Sight<'_>, _readings: &Readings) -> Typed {
        Typed::Open
    }

    /// The shop has refused what was filled in: puts the cursor where the reason lies.
    fn refused(&mut self, _refusal: &Refusal) {
        if let Some(text) = self.text() {
            text.enter();
        }
    }

    /// Whether the digits are its own, so that the press keys are dead.
    fn owns_digits(&self) -> bool {
        true
    }

    /// Whether it takes the whole screen below the bar.
    fn is_whole(&self) -> bool {
        false
    }

    /// Whether it knows this key with Ctrl.
    fn takes_ctrl(&self, _keys: &Keymap, _key: &Key) -> bool {
        false
    }

    /// What it is a draft of, where it is kept when it is left.
    fn draft(&self) -> Option<Draft> {
        None
    }

    /// Opens it again.
    fn reopen(&mut self) {}

    /// What it still states when it is left.
    fn abandoned(&self) -> Vec<Effect> {
        Vec::new()
    }

    /// Takes what was seen of an artwork.
    fn looked(&mut self, _request: &LookRequest, _found: Result<Option<Artwork>, String>) {}

    /// The artwork that is drawn beside its rows.
    fn artwork(&self) -> Option<&Artwork> {
        None
    }

    /// Whether the answers to questions stand on it.
    fn lists_answers(&self) -> bool {
        false
    }

    /// How long it stays open without a key.
    fn stays(&self) -> Duration {
        STAYS
    }

    /// Draws itself, where it is no title with rows below; whether it did.
    fn draw(&self, _view: &View<'_>, _area: Rect, _buf: &mut Buffer) -> bool {
        false
    }

    /// Takes a key that does the same in the fields of all forms: Enter goes on, `/` erases and goes back.
    fn common_key(&mut self, at: &At<'_>, key: &Key) -> Option<Typed> {
        if !matches!(self.mode(), Mode::Field(_)) {
            return None;
        }
        match key.code {
            KeyCode::Enter | KeyCode::Tab if self.fields() > 1 => {
                let count = self.fields();
                let on = (1..=count).map(|n| (self.here() + n) % count);
                let next = on.into_iter().find(|field| !self.skips(*field));
                self.go_to(next.unwrap_or(0));
                Some(self.moved(at))
            }
            KeyCode::BackTab if self.fields() > 1 => {
                let count = self.fields();
                let back = (1..=count).map(|n| (self.here() + count - n) % count);
                let last = back.into_iter().find(|field| !self.skips(*field));
                self.go_to(last.unwrap_or(0));
                Some(self.moved(at))
            }
            KeyCode::Char('/') if !self.is_path() => Some(self.erase(at)),
            _ => None,
        }
    }

    /// Erases a figure; in an empty field goes back one; in the first it leaves.
    fn erase(&mut self, at: &At<'_>) -> Typed {
        if self.text().is_some_and(Text::erase) {
            return Typed::Open;
        }
        match (0..self.here()).rev().find(|field| !self.skips(*field)) {
            Some(before) => {
                self.go_to(before);
                self.moved(at)
            }
            None => Typed::Left,
        }
    }
}
