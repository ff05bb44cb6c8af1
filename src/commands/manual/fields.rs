//! What every field of the profiles and of an order takes: one table, which the compiler completes.
//!
//! Each table takes its structure apart by all of its fields, so a field that is added there has to be described here.
//! That defaults and examples are as the types have them is held by the tests below.

mod order;
mod recipe;
mod station;

use super::page::{Entry, Page};
use crate::figures::units::bounds::{Bounds, Written};

/// What may stand behind a field.
#[derive(Clone, Copy)]
pub enum Takes {
    /// As the words say.
    Words(&'static str),
    /// A quantity within bounds: the least and the most, in the unit of an example.
    Quantity(fn(&str) -> String),
    /// A structure of its own.
    Parts(&'static [Field]),
    /// Any number of structures in brackets.
    List(&'static [Field]),
}

/// What holds where a field is left out.
#[derive(Clone, Copy)]
pub enum Absent {
    /// It must be given.
    Refused,
    /// As if this stood there, in RON.
    Is(&'static str),
}

/// One field.
#[derive(Clone, Copy)]
pub struct Field {
    pub name: &'static str,
    /// A value in RON; empty where its parts have theirs.
    pub example: &'static str,
    pub default: Absent,
    pub takes: Takes,
    pub says: &'static str,
}

/// Between which two a quantity lies, in the unit of the example.
fn within<T: Written>(example: &str, bounds: Bounds) -> String {
    match T::read(example.trim_matches('"')) {
        Ok(typed) => {
            format!("{} to {}", typed.in_its_unit(bounds.least), typed.in_its_unit(bounds.most))
        }
        // A test reads every example.
        Err(wrong) => wrong.to_string(),
    }
}

/// Describes the fields of a structure, all of them.
macro_rules! fields {
    ($table:ident of $type:ident { $($field:ident: $example:literal, $default:expr, $takes:expr, $says:literal;)* }) => {
        pub const $table: &[super::Field] = &[$(super::Field {
            name: stringify!($field),
            example: $example,
            default: $default,
            takes: $takes,
            says: $says,
        }),*];
        // Takes the structure apart without "..": a field that is not described does not compile.
        const _: fn(&$type) = |$type { $($field: _),* }| ();
    };
}
use fields;

/// The files that a shop writes, each with its fields.
const FILES: [(&str, &str, &str, &[Field]); 3] = [
    ("station.ron", "Station", "the bench: its presses, sheets and habits", station::STATION),
    (
        "recipes/NAME.ron",
        "Recipe",
        "one kind of garment; an order names it by NAME",
        recipe::RECIPE,
    ),
    ("an order's file", "Order", "what `dwell take FILE` lays in the inbox", order::ORDER),
];

/// The page of files and profiles.
pub fn page() -> Page {
    let mut page = Page::new("files", 5, "the files of dwell, and each field of its profiles");
    page.text(
        "Profiles are RON: fields with a colon, texts in quotes, comments behind //. `dwell profiles --write DIR` writes \
         the built-in ones out with their comments; `dwell profiles` says which are in force and whether they read. A \
         running board reads them again when they are saved; one that does not read leaves the last good one in force \
         and says file, line and column.",
    );
    page.text(
        "They are looked for in the directory of --profiles, then of DWELL_PROFILES, then in the user's configuration \
         directory (~/.config/dwell), then in /etc/dwell; the first that is there counts. What it lacks, the station or \
         all recipes, is built in.",
    );
    page.text(
        "A quantity is a text of a number and its unit: \"340 F\" or \"171 C\", \"14 in x 16 in\" or \"35 cm x 40 cm\", \
         \"200 g/m2\" or \"5.9 oz/yd2\", \"1.9 g/s\", \"30%\", \"90s\", \"10min\", \"1day\". A range below is told in the \
         unit of its example; other units do as well. Where nothing is said of a source, figures of recipes and \
         station are from memory or common practice: confirm them with the makers of fluid, ink and press.",
    );
    for (file, structure, what, fields) in FILES {
        page.heading(&format!("{file}: {structure}(...)"));
        page.text(&format!("It states {what}."));
        describe(&mut page, fields, "");
    }
    page.heading("The data directory");
    for (name, says) in DATA {
        page.entry(Entry::new(name, says));
    }
    page
}

fn describe(page: &mut Page, fields: &[Field], within: &str) {
    for field in fields {
        let path = format!("{within}{}", field.name);
        page.entry(Entry::new(&path, &sentences(field)).also(field.name));
        if let Takes::Parts(parts) | Takes::List(parts) = field.takes {
            describe(page, parts, &format!("{path}."));
        }
    }
}

/// All that is known of a field, in sentences.
fn sentences(field: &Field) -> String {
    let takes = match field.takes {
        Takes::Words(words) => words.to_owned(),
        Takes::Quantity(range) => range(field.example),
        Takes::Parts(_) => "( ... ) with the fields below".to_owned(),
        Takes::List(_) => "[( ... ), ...], each with the fields below".to_owned(),
    };
    let default = match field.default {
        Absent::Refused => "must be given".to_owned(),
        Absent::Is(default) => format!("default {default}"),
    };
    let example = match field.example {
        "" => String::new(),
        example => format!(" Example: {}: {example}", field.name),
    };
    format!("{} Takes {takes}; {default}.{example}", field.says)
}

/// What lies in the data directory.
const DATA: &[(&str, &str)] = &[
    (
        "journal.sqlite",
        "Every act, in SQLite: table events(station, seq, act, at, boot, up, version, kind, body, sum), each row chained \
         to the one before by sum; views garments, press_cycles, weigh_ins, shelf, fills, wash_results and facts. It \
         may be read while the board runs. The directory is ~/.local/share/dwell, or as --data or DWELL_DATA say; \
         /var/lib/dwell for the board that the system starts.",
    ),
    ("nightly.json", "What the nightly check and copy of a setup came to; the board shows it."),
    ("inbox", "Orders and wash results that wait for the board to take them in."),
    ("log", "What the program noticed beside the work, bounded in size."),
    ("lock", "Held by the board that writes: there is one."),
    ("saved-upto", "How far the journal was saved, so that a missing end is noticed."),
    ("rehearsal-clock", "How the clock of a rehearsal on a screen runs, for those who watch it."),
    ("snapshot", "Makes starts quick; may be deleted, and is made again."),
];

#[cfg(test)]
mod tests {
    use std::path::PathBuf;

    use super::*;
    use crate::shell::profiles::{order_from, read_texts};

    /// The fields in RON, each with its example, or with what `other` has for its path.
    fn written(
        fields: &[Field],
        path: &str,
        other: &dyn Fn(&str, &Field) -> Option<String>,
    ) -> String {
        let rows = fields.iter().filter_map(|field| {
            let path = format!("{path}{}", field.name);
            let value = other(&path, field).or_else(|| match field.takes {
                Takes::Parts(parts) => {
                    Some(format!("({})", written(parts, &format!("{path}."), other)))
                }
                Takes::List(parts) => {
                    Some(format!("[({})]", written(parts, &format!("{path}."), other)))
                }
                _ => Some(field.example.to_owned()),
            })?;
            (!value.is_empty()).then(|| format!("{}: {value},\n", field.name))
        });
        rows.collect()
    }

    /// Reads the three files; of a recipe and a station what they became, as JSON.
    fn read(name: &str, structure: &str, inside: &str) -> Result<String, String> {
        let text = format!("{structure}({inside})");
        let built_in = read_texts(&[("station.ron".into(), STATION.to_owned())], None).unwrap();
        let json = |value: serde_json::Result<String>| Ok(value.unwrap());
        match structure {
            "Station" => {
                let read = read_texts(&[(PathBuf::from("station.ron"), text)], None);
                json(serde_json::to_string(&*read.map_err(|wrong| wrong.to_string())?.station))
            }
            "Recipe" => {
                let texts =
                    [("station.ron".into(), STATION.to_owned()), ("recipes/one.ron".into(), text)];
                let read = read_texts(&texts, None).map_err(|wrong| wrong.to_string())?;
                json(serde_json::to_string(&*read.recipes["one"]))
            }
            _ => {
                let recipe = written(recipe::RECIPE, "", &|_, _| None);
                let texts = [
                    ("station.ron".into(), STATION.to_owned()),
                    ("recipes/dark-cotton.ron".into(), format!("Recipe({recipe})")),
                ];
                let recipes = read_texts(&texts, None).unwrap_or(built_in).recipes;
                let read = order_from(&PathBuf::from(name), &text, &recipes);
                json(serde_json::to_string(&read.map_err(|wrong| wrong.to_string())?))
            }
        }
    }

    const STATION: &str = "Station(name: \"A\", presses: [(name: \"L\", dial: \"340 F\")], sheet: (wipe_at: 10, wipe_by: 12))";

    #[test]
    fn every_example_reads() {
        for (file, structure, _, fields) in FILES {
            let text = written(fields, "", &|_, _| None);
            if let Err(wrong) = read(file, structure, &text) {
                panic!("{file}: {wrong}\n{text}");
            }
        }
    }

    /// Field by field: left out, and with the default that the manual tells, it is the same.
    #[test]
    fn every_default_is_what_holds_where_nothing_is_said() {
        for (file, structure, _, fields) in FILES {
            for (path, field) in all(fields, "") {
                let with = |text: &str| {
                    let other = |at: &str, _: &Field| (at == path).then(|| text.to_owned());
                    read(file, structure, &written(fields, "", &other))
                };
                let left_out = with("");
                match field.default {
                    Absent::Refused => assert!(left_out.is_err(), "{file}: {path} may be left out"),
                    Absent::Is(default) => {
                        assert!(left_out.is_ok(), "{file}: {path}: {left_out:?}");
                        assert_eq!(left_out, with(default), "{file}: {path}");
                    }
                }
            }
        }
    }

    /// Past the end of the range that the manual tells a value is refused, and the field is named.
    #[test]
    fn a_quantity_past_its_range_is_refused_by_its_name() {
        for (file, structure, _, fields) in FILES {
            for (path, field) in all(fields, "") {
                let Takes::Quantity(range) = field.takes else { continue };
                let past = past_the_end(&range(field.example), field.example);
                let other = |at: &str, _: &Field| (at == path).then(|| past.clone());
                let wrong = read(file, structure, &written(fields, "", &other)).unwrap_err();
                assert!(wrong.contains(field.name), "{path}, {past}: {wrong}");
            }
        }
    }

    /// Twice the most of a range, in RON as the example is.
    fn past_the_end(range: &str, example: &str) -> String {
        let (_, most) = range.rsplit_once(" to ").unwrap();
        let unit = most.trim_start_matches(|c: char| c.is_ascii_digit() || c == '.');
        let number: f64 = most[..most.len() - unit.len()].parse().unwrap();
        let twice = format!("{}{unit}", 2.0 * number);
        match (example.contains(" x "), example.starts_with('"')) {
            (true, _) => format!("\"{twice} x {twice}\""),
            (false, true) => format!("\"{twice}\""),
            (false, false) => format!("{:.1}", 2.0 * number),
        }
    }

    fn all(fields: &'static [Field], path: &str) -> Vec<(String, &'static Field)> {
        let mut found = Vec::new();
        for field in fields {
            let path = format!("{path}{}", field.name);
            found.push((path.clone(), field));
            if let Takes::Parts(parts) | Takes::List(parts) = field.takes {
                found.extend(all(parts, &format!("{path}.")));
            }
        }
        found
    }
}
