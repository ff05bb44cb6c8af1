//! Keys become named deeds once, in one table. Footer and help are drawn from it.

mod table;

use std::collections::{BTreeMap, HashMap};

use super::input::{Key, KeyCode};
use crate::shop::facts::check::Senseless;
use table::table;
pub use table::{Deed, Entry, List};

/// Whether a key is one of the sixteen of a numeric keypad.
pub fn is_of_keypad(key: Key) -> bool {
    let is_there = |letter: char| letter.is_ascii_digit() || "*/+-.".contains(letter);
    !key.ctrl
        && match key.code {
            KeyCode::Char(letter) => is_there(letter),
            code => code == KeyCode::Enter,
        }
}

/// The keys in force.
pub struct Keymap {
    entries: Vec<(Entry, Vec<Key>)>,
}

impl Default for Keymap {
    fn default() -> Self {
        let keys = |keys: &[&str]| keys.iter().filter_map(|key| Key::read(key)).collect();
        let entries = table().map(|entry| {
            let chords = keys(entry.keys);
            (entry, chords)
        });
        Self { entries: entries.collect() }
    }
}

impl Keymap {
    /// The defaults, changed as the station's profile says.
    ///
    /// # Errors
    /// A name that no deed has, a text that no key has, a key that would do two things.
    pub fn with(changes: &BTreeMap<String, Vec<String>>) -> Result<Self, Senseless> {
        let mut map = Self::default();
        for (name, keys) in changes {
            let field = || format!("keys.\"{name}\"");
            let entry = map.entries.iter_mut().find(|(entry, _)| entry.name == *name);
            let Some((_, chords)) = entry else {
                let names: Vec<String> = table().map(|entry| entry.name).collect();
                let reason = format!("nothing is called that; there are: {}", names.join(", "));
                return Err(Senseless::new(field(), reason));
            };
            let read = |name: &String| {
                let found = crate::shop::facts::words::clean(name, 20);
                let Some(key) = Key::read(name) else {
                    let expected = "a key such as \"1\", \"Enter\", \"F6\", \"ctrl-r\"";
                    let reason = format!("found \"{found}\", expected {expected}");
                    return Err(Senseless::new(field(), reason));
                };
                match key.why_unbindable() {
                    Some(why) => {
                        let reason = format!("\"{found}\" can do nothing: {why}");
                        Err(Senseless::new(field(), reason))
                    }
                    None => Ok(key),
                }
            };
            *chords = keys.iter().map(read).collect::<Result<_, _>>()?;
        }
        map.check()?;
        Ok(map)
    }

    /// Checks what a scanner sends before a tag: a character that nothing else means.
    ///
    /// # Errors
    /// A bound key, or a character that no scanner can send by itself or that a tag begins with.
    pub fn check_prefix(&self, prefix: char) -> Result<(), Senseless> {
        let key = Key::letter(prefix);
        let reason = if let Some(deed) = self.deed(&key) {
            let entry = self.entries.iter().find(|(entry, _)| entry.deed == deed);
            let name = entry.map_or("", |(entry, _)| entry.name.as_str());
            format!("{key} is the key of \"{name}\": each scan would do that")
        } else if let Some(why) = key.why_unbindable() {
            format!("{:?} can stand before no tag: {why}", prefix.to_string())
        } else if !prefix.is_ascii() {
            format!("\"{prefix}\" is more than one byte: a scanner sends ASCII")
        } else if prefix.is_ascii_digit() || prefix == '-' || prefix == '.' {
            format!("\"{prefix}\" stands in tags and weights")
        } else {
            return Ok(());
        };
        let expected = "expected a character that is nothing else here, such as '~'";
        Err(Senseless::new("scanner_prefix", format!("{reason}; {expected}")))
    }

    fn check(&self) -> Result<(), Senseless> {
        let mut seen: HashMap<Key, &str> = HashMap::new();
        for (entry, chords) in &self.entries {
            for chord in chords {
                if let Some(other) = seen.insert(*chord, &entry.name) {
                    let reason =
                        format!("the key {chord} would do both \"{other}\" and \"{}\"", entry.name);
                    return Err(Senseless::new("keys", reason));
                }
            }
        }
        Ok(())
    }

    /// What a key does.
    pub fn deed(&self, key: &Key) -> Option<Deed> {
        let found = self.entries.iter().find(|(_, chords)| chords.contains(key));
        found.map(|(entry, _)| entry.deed)
    }

    /// How a deed is done, by the keypad alone where that can be: its own key there, or the ones that lead to it by a
    /// list, as "+ 9"; else its first key. Empty where it has none.
    pub fn key(&self, deed: Deed) -> String {
        let Some((entry, chords)) = self.entries.iter().find(|(entry, _)| entry.deed == deed)
        else {
            return String::new();
        };
        let own = chords.iter().find(|chord| is_of_keypad(**chord));
        match (own, entry.listed, chords.first()) {
            (Some(own), ..) => own.to_string(),
            (None, Some((list, key)), _) => format!("{} {key}", self.opens(list)),
            (None, None, Some(first)) => first.to_string(),
            (None, None, None) => String::new(),
        }
    }

    /// The first key that does it at once, on whatever keyboard there is; empty where there is none.
    pub fn shortcut(&self, deed: Deed) -> String {
        let entry = self.entries.iter().find(|(entry, _)| entry.deed == deed);
        let first = entry.and_then(|(_, chords)| chords.first());
        first.map_or_else(String::new, Key::to_string)
    }

    /// The keys that open a list.
    fn opens(&self, list: List) -> String {
        match list {
            List::Acts => self.key(Deed::Acts),
            List::More => self.key(Deed::Acts) + " .",
            List::Trouble => self.key(Deed::Trouble),
            List::Change => self.key(Deed::ChangeOrder),
        }
    }

    /// What a name in capitals and small letters does, as a command card has it.
    pub fn named(&self, name: &str) -> Option<Deed> {
        let found = self.entries.iter().find(|(entry, _)| entry.name.eq_ignore_ascii_case(name));
        found.map(|(entry, _)| entry.deed)
    }

    /// What a key does in a list, with its words.
    pub fn listed(&self, list: List, key: &Key) -> Option<&Entry> {
        let name = key.to_string();
        let found = self.entries.iter().find(|(entry, _)| entry.listed == Some((list, &name)));
        found.map(|(entry, _)| entry)
    }

    /// Every entry with its keys, in the order of the table.
    pub fn entries(&self) -> impl Iterator<Item = (&Entry, &[Key])> {
        self.entries.iter().map(|(entry, chords)| (entry, chords.as_slice()))
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn changes(name: &str, keys: &[&str]) -> BTreeMap<String, Vec<String>> {
        BTreeMap::from([(name.to_owned(), keys.iter().map(|k| (*k).to_owned()).collect())])
    }

    #[test]
    fn the_defaults_do_not_clash_and_every_key_reads_back() {
        let map = Keymap::with(&BTreeMap::new()).unwrap();
        for (entry, chords) in map.entries() {
            assert_eq!(chords.len(), entry.keys.len(), "{}", entry.name);
            for chord in chords {
                assert_eq!(Key::read(&chord.to_string()), Some(*chord));
            }
        }
    }

    #[test]
    fn a_clash_a_wrong_name_and_a_wrong_key_are_errors() {
        for (name, keys) in [("undo", ["1"]), ("fly", ["f"]), ("undo", ["F13"]), ("undo", ["["])] {
            assert!(Keymap::with(&changes(name, &keys)).is_err(), "{name} {keys:?}");
        }
        let map = Keymap::with(&changes("undo", &["F9"])).unwrap();
        assert_eq!(map.key(Deed::Undo), "F9");
    }

    /// The profile would read, and the key would never come.
    #[test]
    fn a_key_that_no_terminal_tells_from_another_is_an_error_with_the_reason() {
        for (key, why) in [("ctrl-m", "Enter"), ("ctrl-i", "Tab"), ("ctrl-h", "Backspace")] {
            let wrong = Keymap::with(&changes("undo", &[key])).err().unwrap().to_string();
            assert!(wrong.contains(why), "{key}: {wrong}");
        }
        for key in ["ctrl-1", "ctrl-A", "Esc"] {
            assert!(Keymap::with(&changes("undo", &[key])).is_err(), "{key}");
        }
    }

    #[test]
    fn a_prefix_that_means_something_else_is_an_error_with_words() {
        let map = Keymap::default();
        assert!(map.check_prefix('~').is_ok());
        for (prefix, word) in [
            ('1', "shut-or-open-1"),
            ('+', "acts"),
            ('-', "undo"),
            ('q', "leave"),
            ('\u{1b}', "no character"),
            ('\r', "no character"),
            ('[', "other keys"),
            ('O', "other keys"),
            ('\u{9b}', "no character"),
            ('§', "more than one byte"),
        ] {
            let wrong = map.check_prefix(prefix).err().map(|wrong| wrong.to_string());
            assert!(wrong.as_ref().is_some_and(|w| w.contains(word)), "{prefix:?}: {wrong:?}");
        }
        let map = Keymap::with(&changes("undo", &["~"])).unwrap();
        assert!(map.check_prefix('~').is_err());
    }
}
