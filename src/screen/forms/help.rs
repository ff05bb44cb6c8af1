//! The page of keys and cautions, drawn from the live table.

use std::cell::Cell;

use crate::screen::input::{Key, KeyCode, Mode};
use ratatui::buffer::Buffer;
use ratatui::layout::Rect;

use super::entry::{At, Entry};
use super::{Typed, strip};
use crate::screen::View;
use crate::screen::act::Effect;
use crate::screen::cells;
use crate::screen::keymap::{Deed, Keymap};
use crate::screen::paint::{self, Line};
use crate::screen::theme::Role;
use crate::shop::facts::ids::PressNo;

/// Said where the work is; the README says the same at length.
pub const CAUTIONS: [&str; 6] = [
    "The board is no safety device: keep each press's own timer and buzzer on.",
    "Hot platen: keep hands and forearms clear. Never reach into a closing press.",
    "Wiping alcohol and its vapour burn: cold sheet, away from the press.",
    "Do not breathe spray or drying steam: extraction at booth and press.",
    "Gloves, eyes, mask: as the data sheets of fluid and ink say.",
    "Local codes, and whoever is licensed to judge, come before this board.",
];

/// Columns of the keys' names.
const NAMES: usize = 16;

/// How far it has been scrolled. Only the drawing knows where its end is.
#[derive(Default)]
pub struct Help {
    scroll: Cell<usize>,
    page: Cell<usize>,
}

impl Help {
    fn move_by(&self, lines: usize, down: bool) {
        let from = self.scroll.get();
        self.scroll.set(if down { from.saturating_add(lines) } else { from.saturating_sub(lines) });
    }
}

impl Entry for Help {
    fn mode(&self) -> Mode {
        Mode::Pages
    }

    fn key(&mut self, at: &At<'_>, key: &Key) -> Typed {
        match key.code {
            KeyCode::Down | KeyCode::Char('2') => self.move_by(1, true),
            KeyCode::Up | KeyCode::Char('8') => self.move_by(1, false),
            KeyCode::PageDown | KeyCode::Char('3' | ' ') => self.move_by(self.page.get(), true),
            KeyCode::PageUp | KeyCode::Char('9') => self.move_by(self.page.get(), false),
            KeyCode::Char('7' | 't') => return Typed::Effects(vec![Effect::TestSounder]),
            KeyCode::Char('1') => return Typed::FirstDay,
            _ if at.keys.deed(key) == Some(Deed::Repaint) => {
                return Typed::Effects(vec![Effect::Repaint]);
            }
            _ => return Typed::Closed(Vec::new()),
        }
        Typed::Open
    }

    fn takes_ctrl(&self, keys: &Keymap, key: &Key) -> bool {
        keys.deed(key) == Some(Deed::Repaint)
    }

    fn lines(&self, view: &View<'_>) -> (String, Vec<Line>) {
        (String::new(), lines(&view.ui.keys, usize::from(u16::MAX)))
    }

    /// Draws a page of it into its strip.
    fn draw(&self, view: &View<'_>, area: Rect, buf: &mut Buffer) -> bool {
        let title = "Help: 3 and 9 turn it, 7 tests the sounder, 1 first day";
        let inside = strip::open(view, title, false, area, buf);
        let said = view.ui.message.as_ref().map(|said| Line::of(Role::Strong, said.text.clone()));
        let said = said.map_or_else(Vec::new, |said| said.folded(usize::from(inside.width)));
        let said_at = inside.height.saturating_sub(u16::try_from(said.len()).unwrap_or(0));
        paint::lines(buf, view.theme, paint::skip(inside, 0, said_at), &said);
        let inside = Rect { height: said_at, ..inside };
        let room = usize::from(inside.height).max(1);
        let lines = lines(&view.ui.keys, usize::from(inside.width.saturating_sub(1)));
        let top = self.scroll.get().min(lines.len().saturating_sub(room));
        self.scroll.set(top);
        self.page.set(room.saturating_sub(1).max(1));
        paint::lines(buf, view.theme, inside, &lines[top..]);
        let last = lines.len().min(top + room);
        let place = format!(" {} to {last} of {} ", top + 1, lines.len());
        let row = paint::row_of(area, 0);
        paint::right(buf, view.theme, row, Role::Plain, &place);
        true
    }
}

fn lines(keys: &Keymap, width: usize) -> Vec<Line> {
    let cautions = CAUTIONS.iter().flat_map(|text| cells::wrapped(text, width));
    let mut lines: Vec<Line> = cautions.map(|text| Line::of(Role::Abnormal, text)).collect();
    lines.push(Line::default());
    for (entry, chords) in keys.entries() {
        if matches!(entry.deed, Deed::Press(PressNo(2..)))
            && chords.first().map(Key::to_string)
                == entry.name.strip_prefix("shut-or-open-").map(str::to_owned)
        {
            // The digits are alike: the first stands for all.
            continue;
        }
        let mut names: Vec<String> = chords.iter().map(Key::to_string).collect();
        let way = keys.key(entry.deed);
        if !names.contains(&way) {
            names.push(way);
        }
        let keys = match entry.deed {
            Deed::Press(PressNo(1)) => format!("1 to 9 ({})", names.join(" ")),
            _ => names.join(" "),
        };
        // What it says goes on under its beginning: the end of a sentence may be what keeps somebody from harm.
        let said = cells::wrapped(entry.says, width.saturating_sub(NAMES));
        let names = std::iter::once(keys).chain(std::iter::repeat(String::new()));
        lines.extend(said.into_iter().zip(names).map(|(text, keys)| {
            Line::of(Role::Strong, format!("{keys:<NAMES$}")).and(Role::Plain, text)
        }));
    }
    lines
}
