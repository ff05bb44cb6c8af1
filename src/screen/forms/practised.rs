//! The page at the end of a practice: what went otherwise, and what that means in the shop.
//!
//! ```text
//! ══ What went otherwise ══════════════════════════════════════ 1 to 2 of 3 ══
//!  A1-01 dry: opened early, after 16 s
//!     Water is left in the coat, and white that lies on it comes off in the wash.
//!     In the shop it is dried again before it costs ink: LOAD offers it.
//!  Enter goes on
//! ```

use std::cell::Cell;
use std::time::Duration;

use ratatui::buffer::Buffer;
use ratatui::layout::Rect;

use super::entry::{At, Entry};
use super::{Typed, strip};
use crate::screen::View;
use crate::screen::act::Effect;
use crate::screen::cells;
use crate::screen::input::{Key, KeyCode, Mode};
use crate::screen::paint::{self, Line};
use crate::screen::practised::Practised;
use crate::screen::theme::Role;

/// Somebody reads it.
const STAYS: Duration = Duration::from_secs(600);

/// The page, and which of the things stand on it. Only the drawing knows how many have room.
pub struct PractisedPage {
    came: Practised,
    first: Cell<usize>,
    shown: Cell<usize>,
}

impl PractisedPage {
    pub fn new(came: Practised) -> Self {
        Self { came, first: Cell::new(0), shown: Cell::new(1) }
    }

    /// The lines of the thing at a place, for so many columns.
    fn told(&self, place: usize, width: usize) -> Vec<Line> {
        let Some(one) = self.came.otherwise.get(place) else { return Vec::new() };
        let mut lines = vec![Line::of(Role::Strong, one.what.clone())];
        let means = cells::wrapped(one.means, width.saturating_sub(3)).into_iter();
        lines.extend(means.map(|text| Line::of(Role::Plain, format!("   {text}"))));
        lines
    }
}

impl Entry for PractisedPage {
    fn mode(&self) -> Mode {
        Mode::Pages
    }

    fn stays(&self) -> Duration {
        STAYS
    }

    fn is_whole(&self) -> bool {
        true
    }

    fn key(&mut self, _: &At<'_>, key: &Key) -> Typed {
        let next = self.first.get() + self.shown.get();
        match key.code {
            KeyCode::Enter | KeyCode::PageDown | KeyCode::Char('3' | ' ')
                if next < self.came.otherwise.len() =>
            {
                self.first.set(next);
            }
            KeyCode::PageUp | KeyCode::Char('9') => {
                self.first.set(self.first.get().saturating_sub(self.shown.get()));
            }
            KeyCode::Enter | KeyCode::Char('q') => return Typed::Closed(vec![Effect::Leave]),
            _ => return Typed::Said(crate::screen::ui::Tone::Note, "Enter goes on".to_owned()),
        }
        Typed::Open
    }

    fn lines(&self, _: &View<'_>) -> (String, Vec<Line>) {
        let width = usize::from(u16::MAX);
        let all = (0..self.came.otherwise.len()).flat_map(|place| self.told(place, width));
        ("What went otherwise".into(), all.collect())
    }

    fn draw(&self, view: &View<'_>, area: Rect, buf: &mut Buffer) -> bool {
        let inside = strip::open(view, "What went otherwise", false, area, buf);
        let width = usize::from(inside.width.saturating_sub(1));
        // The last row says what goes on.
        let room = usize::from(inside.height.saturating_sub(1));
        let (first, all) = (self.first.get(), self.came.otherwise.len());
        let mut lines: Vec<Line> = Vec::new();
        let mut next = first;
        while next < all {
            let told = self.told(next, width);
            // One that is longer than the page is begun all the same.
            if next > first && lines.len() + told.len() > room {
                break;
            }
            lines.extend(told);
            next += 1;
        }
        self.shown.set((next - first).max(1));
        lines.truncate(room);
        paint::lines(buf, view.theme, inside, &lines);
        let goes_on = if next < all { "Enter shows more" } else { "Enter leaves the practice" };
        let last = paint::skip(inside, 0, u16::try_from(room).unwrap_or(0));
        paint::lines(buf, view.theme, last, &[Line::of(Role::Strong, goes_on)]);
        let place = format!(" {} to {next} of {all} ", first + 1);
        paint::right(buf, view.theme, paint::row_of(area, 0), Role::Plain, &place);
        true
    }
}
