//! All acts that no key of the keypad does by itself, drawn as its keys lie.
//!
//! ```text
//! ══ All acts ════════════════════════════ presses: * then 1 to 9 ══
//!  7 pick a garment     8 how many        9 weigh
//!  4 store              -                 6 swap
//!  1 yes                2 no              3 not seen
//!  0 new order          . more            - quiet
//!  Enter next screen    / back
//!  ? A1-01: still steaming when press 1 was opened?
//! ```

use std::time::Duration;

use super::Typed;
use super::entry::{At, Entry};
use crate::screen::View;
use crate::screen::chrome;
use crate::screen::input::{Key, KeyCode};
use crate::screen::keymap::List;
use crate::screen::paint::Line;
use crate::screen::theme::Role;
use crate::screen::ui::Tone;

/// The list closes so long after its last key: its digits are the presses' otherwise.
const STAYS: Duration = Duration::from_secs(8);
/// Columns of a key with its word.
const CELL: usize = 24;
/// The keys of a keypad as they lie, but for those that lead on or back.
const ROWS: [[&str; 3]; 4] = [["7", "8", "9"], ["4", "5", "6"], ["1", "2", "3"], ["0", ".", "-"]];

/// The list, at its first page or its second.
pub struct ActList {
    page: List,
}

impl ActList {
    pub fn new() -> Self {
        Self { page: List::Acts }
    }

    /// Whether it is the page with the answers to questions.
    fn has_answers(&self) -> bool {
        self.page == List::Acts
    }
}

impl Entry for ActList {
    fn key(&mut self, at: &At<'_>, key: &Key) -> Typed {
        match (self.page, key.code) {
            (List::Acts, KeyCode::Char('.')) => {
                self.page = List::More;
                return Typed::Open;
            }
            (List::More, KeyCode::Char('/')) => {
                self.page = List::Acts;
                return Typed::Open;
            }
            (_, KeyCode::Char('/')) => return Typed::LetsGo,
            _ => {}
        }
        match at.keys.listed(self.page, key) {
            Some(entry) => Typed::Deed(entry.deed),
            None => {
                Typed::Said(Tone::Note, format!("{key} does nothing in this list; / leaves it"))
            }
        }
    }

    fn lists_answers(&self) -> bool {
        self.has_answers()
    }

    fn stays(&self) -> Duration {
        STAYS
    }

    fn lines(&self, view: &View<'_>) -> (String, Vec<Line>) {
        let keys = &view.ui.keys;
        let word = |key: &str| match (self.page, key) {
            (List::Acts, ".") => Some("more"),
            (_, "/") => Some("back"),
            _ => Key::read(key).and_then(|key| Some(keys.listed(self.page, &key)?.word)),
        };
        let mut lines: Vec<Line> = ROWS.iter().map(|row| cells(row, &word)).collect();
        // The `+` that opens the list opens nothing on its first page.
        let last: &[&str] = if self.has_answers() { &["Enter", "/"] } else { &["Enter", "/", "+"] };
        lines.push(cells(last, &word));
        // Its answers never move, and answer only what stands here.
        if self.has_answers() {
            lines.extend(chrome::question_line(view));
        }
        let title = if self.page == List::Acts { "All acts" } else { "More acts" };
        (title.into(), lines)
    }
}

/// A row of keys with what each does.
fn cells(row: &[&str], word: &dyn Fn(&str) -> Option<&'static str>) -> Line {
    let mut line = Line::of(Role::Plain, " ");
    for key in row {
        let text = word(key).unwrap_or("-");
        let role = if text == "-" { Role::Plain } else { Role::Strong };
        let rest = CELL.saturating_sub(key.len() + 1);
        line.add(role, format!("{key} ")).add(Role::Plain, format!("{text:<rest$}"));
    }
    line
}
