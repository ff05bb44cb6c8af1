//! The page of keys, from the keymap.

use super::page::{Entry, Page};
use crate::screen::keymap::{Keymap, List, is_of_keypad};

/// Every deed of the board with its keys.
pub fn page(keys: &Keymap) -> Page {
    let mut page = Page::new("keys", 7, "the keys of the board, and what they record");
    page.text(
        "The sixteen keys of a numeric keypad do everything; the others are shortcuts on a whole keyboard. A key states \
         what has happened: the board records it, and flags what was early or late. With NumLock off the keypad's \
         cursor keys count as its digits. Keys are changed in station.ron by the names below: keys: {\"undo\": [\"-\", \
         \"F9\"]}; footer and help of the board follow.",
    );
    page.text(
        "In a form or list, * and a digit works a press, * Enter is the steam, * - undoes, * . leaves. A held key acts \
         once. Esc closes a form and lets go of a picked garment.",
    );
    page.text(
        "Hot platen: keep hands and forearms clear. Never reach into a closing press. The board is no safety device: \
         keep each press's own timer and buzzer on.",
    );
    page.heading("Keys of the keypad");
    let (keypad, others): (Vec<_>, Vec<_>) =
        keys.entries().partition(|(_, chords)| chords.iter().any(|key| is_of_keypad(*key)));
    let mut list = |rows: Vec<(&crate::screen::keymap::Entry, &[crate::screen::input::Key])>| {
        for (entry, chords) in rows {
            let chords: Vec<String> = chords.iter().map(ToString::to_string).collect();
            let way = match entry.listed {
                Some((List::Acts, key)) => format!("+ {key}"),
                Some((List::More, key)) => format!("+ . {key}"),
                Some((List::Trouble, key)) => format!(". {key}"),
                Some((List::Change, key)) => format!("+ . + {key}"),
                None => String::new(),
            };
            let all: Vec<&str> = chords
                .iter()
                .map(String::as_str)
                .chain([way.as_str()])
                .filter(|k| !k.is_empty())
                .collect();
            let text = format!(
                "{}. In station.ron: \"{}\".",
                entry.says.trim_end_matches('.'),
                entry.name
            );
            let term = format!("{}  ({})", all.join(", "), entry.word);
            let found = Entry::new(&term, &text).also(&entry.name).also(entry.word);
            page.entry(all.iter().fold(found, |found, key| found.also(key)));
        }
    };
    list(keypad);
    list(others);
    page
}
