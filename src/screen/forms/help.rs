//! The page of keys and cautions, drawn from the live table.

use crossterm::event::{KeyCode, KeyEvent};
use ratatui::buffer::Buffer;
use ratatui::layout::Rect;

use super::Typed;
use crate::screen::View;
use crate::screen::act::Effect;
use crate::screen::keymap::{Chord, Deed, Keymap};
use crate::screen::paint::{self, Line};
use crate::screen::theme::Role;
use crate::shop::ids::PressNo;

/// Said where the work is; the README says the same at length.
pub const CAUTIONS: [&str; 6] = [
    "The board is no safety device: keep each press's own timer and buzzer on.",
    "A platen burns at a touch. Reach in only over an open press.",
    "Wiping alcohol and its vapour burn: cold sheet, away from the press.",
    "Do not breathe spray or drying steam: extraction at booth and press.",
    "Gloves, eyes, mask: as the data sheets of fluid and ink say.",
    "Local codes, and whoever is licensed to judge, come before this board.",
];

/// How far it has been scrolled.
#[derive(Default)]
pub struct Help {
    scroll: usize,
}

impl Help {
    pub fn key(&mut self, keys: &Keymap, key: &KeyEvent) -> Typed {
        match key.code {
            KeyCode::Down | KeyCode::Char('2') => self.scroll += 1,
            KeyCode::Up | KeyCode::Char('8') => self.scroll = self.scroll.saturating_sub(1),
            KeyCode::PageDown | KeyCode::Char('3' | ' ') => self.scroll += 10,
            KeyCode::PageUp | KeyCode::Char('9') => self.scroll = self.scroll.saturating_sub(10),
            KeyCode::Char('t') => return Typed::Effects(vec![Effect::TestSounder]),
            _ if keys.deed(key) == Some(Deed::Repaint) => {
                return Typed::Effects(vec![Effect::Repaint]);
            }
            _ => return Typed::Closed(Vec::new()),
        }
        Typed::Open
    }

    pub fn draw(&self, view: &View<'_>, area: Rect, buf: &mut Buffer) {
        let lines = lines(&view.ui.keys);
        let room = usize::from(area.height.saturating_sub(2));
        let top = self.scroll.min(lines.len().saturating_sub(room));
        let shown: Vec<Line> = lines.into_iter().skip(top).collect();
        let title = "Keys   t tests the sounder, 2 and 8 scroll, any other key closes";
        paint::window(buf, view.theme, area, title, &shown);
    }
}

fn lines(keys: &Keymap) -> Vec<Line> {
    let mut lines: Vec<Line> =
        CAUTIONS.iter().map(|text| Line::of(Role::Abnormal, *text)).collect();
    lines.push(Line::default());
    for (entry, chords) in keys.entries() {
        if matches!(entry.deed, Deed::Press(PressNo(2..)))
            && chords.first().map(Chord::to_string)
                == entry.name.strip_prefix("shut-or-open-").map(str::to_owned)
        {
            // The digits are alike: the first stands for all.
            continue;
        }
        let names: Vec<String> = chords.iter().map(Chord::to_string).collect();
        let keys = match entry.deed {
            Deed::Press(PressNo(1)) => format!("1 to 9 ({})", names.join(" ")),
            _ => names.join(" "),
        };
        let mut line = Line::default();
        line.add(Role::Strong, format!("{keys:<16}"));
        line.add(Role::Plain, entry.says);
        lines.push(line);
    }
    lines
}
