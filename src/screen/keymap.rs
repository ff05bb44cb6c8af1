//! Keys become named deeds once, in one table. Footer and help are drawn from it.

use std::collections::{BTreeMap, HashMap};

use super::input::Key;
use crate::shop::facts::ids::PressNo;
use crate::shop::facts::station::Senseless;

/// What a key is for.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum Deed {
    Press(PressNo),
    Sprayed,
    Printed,
    SteamStopped,
    CleanSheet,
    SwapSheet,
    TakeOrder,
    Undo,
    Trouble,
    Store,
    Count,
    NextCandidate,
    NextPress,
    CorrectTime,
    SetDial,
    OutOfUse,
    Weigh,
    Probe,
    Pacing,
    Reasons,
    Stack,
    LookUp,
    Lot,
    Fill,
    Flushed,
    People,
    Quiet,
    Yes,
    No,
    NotSeen,
    NextScreen,
    Bench,
    Pace,
    Shelf,
    Coat,
    Past,
    Help,
    Repaint,
    Leave,
}

/// A deed with the name that the station's profile calls it by, its default keys, a short word for the
/// footer and a sentence for the help.
pub struct Entry {
    pub deed: Deed,
    pub name: String,
    keys: &'static [&'static str],
    pub word: &'static str,
    pub says: &'static str,
}

type Row = (Deed, &'static str, &'static [&'static str], &'static str, &'static str);

const PRESS_KEYS: [&[&str]; 9] = [
    &["1", "End"],
    &["2", "Down"],
    &["3", "PageDown"],
    &["4", "Left"],
    &["5", "g"],
    &["6", "Right"],
    &["7", "Home"],
    &["8", "Up"],
    &["9", "PageUp"],
];

const ROWS: &[Row] = &[
    (
        Deed::Sprayed,
        "sprayed",
        &["Enter"],
        "sprayed",
        "The longest waiting garment is sprayed and rolled",
    ),
    (
        Deed::Printed,
        "printed",
        &["0", "Insert"],
        "printed",
        "The longest waiting garment is printed",
    ),
    (
        Deed::SteamStopped,
        "steam-stopped",
        &["*"],
        "steam",
        "The steam of the drying press has stopped",
    ),
    (
        Deed::CleanSheet,
        "clean-sheet",
        &["/"],
        "wiped",
        "The most used sheet is wiped: both sides, cold, away from the press",
    ),
    (
        Deed::SwapSheet,
        "swap-sheet",
        &["w"],
        "swap",
        "A clean, cold sheet is laid in; the used one waits for its wipe",
    ),
    (Deed::Undo, "undo", &["-"], "undo", "Take back the last act"),
    (
        Deed::Trouble,
        "trouble",
        &[".", "Delete"],
        "trouble",
        "Something is wrong with the last garment, or the chosen one",
    ),
    (Deed::TakeOrder, "take-order", &["+"], "order", "Take in an order"),
    (Deed::Count, "count", &["n"], "count", "A number, then Enter, 0 or s, takes that many"),
    (Deed::Store, "store", &["s"], "store", "Dry garments go to the shelf instead of the printer"),
    (
        Deed::NextCandidate,
        "next-candidate",
        &["c"],
        "choose",
        "Step through the garments for an open press",
    ),
    (Deed::NextPress, "next-press", &["v"], "for press", "Choose for the next open press"),
    (
        Deed::CorrectTime,
        "correct-time",
        &["t"],
        "when",
        "The last act was before its key, or is not timed",
    ),
    (
        Deed::SetDial,
        "set-dial",
        &["d"],
        "dial",
        "A press was set to another heat or pressure, and settled",
    ),
    (Deed::OutOfUse, "out-of-use", &["o"], "out of use", "Take a press out of use, or back"),
    (
        Deed::Weigh,
        "weigh",
        &["m"],
        "weigh",
        "A garment is on the scale: before its spray, or after",
    ),
    (Deed::Pacing, "pacing", &["p"], "pacing", "Show how fast to move the hand, stroke by stroke"),
    (Deed::Reasons, "reasons", &["r"], "why", "Why a sheet clings: the causes with their evidence"),
    (
        Deed::Probe,
        "probe",
        &["h"],
        "probe",
        "A platen was probed, or strips of paper were laid under it",
    ),
    (Deed::Stack, "stack", &["k"], "stack", "The stack that is stored on, or one that was shifted"),
    (
        Deed::LookUp,
        "look-up",
        &["l"],
        "look up",
        "A garment by its tag: its story, treat again, wash sample",
    ),
    (Deed::Fill, "fill", &["i"], "fill", "The sprayer is filled: a checklist"),
    (Deed::Lot, "lot", &["j"], "lot", "A bottle's lot is registered from its label"),
    (Deed::Flushed, "flushed", &["a"], "flushed", "The sprayer was emptied and flushed"),
    (Deed::People, "people", &["b"], "bench", "Initials: who is at the bench; closing the shift"),
    (Deed::Quiet, "quiet", &["z"], "quiet", "Quiet the sounder until something new is wrong"),
    (Deed::Yes, "yes", &["y"], "yes", "Answer the question on its line"),
    (Deed::No, "no", &["x"], "no", "Answer the question on its line"),
    (Deed::NotSeen, "not-seen", &["u"], "not seen", "Answer the question on its line"),
    (Deed::NextScreen, "next-screen", &["Tab"], "panes", "The next pane"),
    (Deed::Bench, "bench", &["F1"], "bench", "The presses, the queues, the next act"),
    (Deed::Pace, "pace", &["F2"], "pace", "How many, how fast"),
    (Deed::Shelf, "shelf", &["F3"], "shelf", "What is stored"),
    (Deed::Coat, "coat", &["F4"], "coat", "How heavy the coats are, and how even the platens"),
    (Deed::Past, "past", &["F5"], "past", "What happened"),
    (Deed::Help, "help", &["?"], "help", "This page"),
    (Deed::Repaint, "repaint", &["ctrl-l"], "repaint", "Draw the whole screen anew"),
    (Deed::Leave, "leave", &["q", "ctrl-c"], "leave", "Leave the board; asks first"),
];

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

fn table() -> impl Iterator<Item = Entry> {
    let presses = (1u8..=9).zip(PRESS_KEYS).map(|(n, keys)| Entry {
        deed: Deed::Press(PressNo(n)),
        name: format!("shut-or-open-{n}"),
        keys,
        word: "press",
        says: "Shut that press on the garment named under it, or open it",
    });
    let rest = ROWS.iter().map(|(deed, name, keys, word, says)| Entry {
        deed: *deed,
        name: (*name).to_owned(),
        keys,
        word,
        says,
    });
    presses.chain(rest)
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

    /// The first key of a deed, as text; empty where it has none.
    pub fn key(&self, deed: Deed) -> String {
        let chords =
            self.entries.iter().find(|(entry, _)| entry.deed == deed).map(|(_, chords)| chords);
        chords.and_then(|chords| chords.first()).map_or_else(String::new, Key::to_string)
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
        let map = Keymap::with(&changes("undo", &["F7"])).unwrap();
        assert_eq!(map.key(Deed::Undo), "F7");
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
            ('+', "take-order"),
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
