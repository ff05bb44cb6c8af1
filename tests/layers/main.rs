//! The rules of the house, as absences: what a room may not import, read or call.

mod circles;
mod source;

use circles::circles;
use source::{Source, all, is_word_at, tests, text_of};

/// Each room, and the rooms that it may not name.
const IMPORTS: [(&str, &[&str]); 5] = [
    ("figures", &["label", "shop", "screen", "forecast", "shell", "commands"]),
    ("label", &["shop", "screen", "forecast", "shell", "commands"]),
    ("shop", &["screen", "forecast", "shell", "commands"]),
    ("forecast", &["screen", "shell", "commands"]),
    ("screen", &["forecast", "shell", "commands"]),
];

/// The rooms inside the shop, and what their files may not name: facts, floor, books, rules, each knows those before it.
const INSIDE_THE_SHOP: [(&str, &[&str]); 3] = [
    ("shop/facts/", &["shop::floor", "shop::books", "shop::rules", "shop::Shop"]),
    ("shop/floor/", &["shop::books", "shop::rules"]),
    ("shop/books/", &["shop::rules"]),
];

/// What touches the world: only `shell` and `commands` may.
const WORLD: [&str; 20] = [
    "std::fs",
    "std::env",
    "std::process",
    "std::net",
    "std::io::stdout",
    "std::io::stdin",
    "tokio",
    "rusqlite",
    "notify",
    "rustix",
    "Instant::now",
    "SystemTime",
    "Timestamp::now",
    "Zoned::now",
    "thread::sleep",
    "thread::spawn",
    "println!",
    "print!",
    "eprintln!",
    "dbg!",
];

/// What reads a clock of the machine.
const CLOCKS: [&str; 4] = ["SystemTime", "clock_gettime", "Timestamp::now", "Zoned::now"];

/// The one file that may.
const CLOCK_FILE: &str = "shell/clock.rs";

/// What a test may not do by itself, and what does it for all tests.
const NOT_IN_TESTS: [(&str, &str); 9] = [
    ("SystemTime::now", "support/program.rs knows the present moment"),
    ("Timestamp::now", "support/program.rs knows the present moment"),
    ("Zoned::now", "support/program.rs knows the present moment"),
    ("Clock::machine", "support/program.rs knows the present moment"),
    ("TimeZone::system", "support/program.rs knows the zone"),
    (
        "CARGO_BIN_EXE_dwell",
        "support/program.rs starts the program, with a clock of the tests' own",
    ),
    ("Instant::now() <", "support/waiting.rs waits, however slow the machine is"),
    ("elapsed() <", "support/waiting.rs waits, however slow the machine is"),
    ("SKIPPED", "support/skipped.rs says so where it is seen"),
];

/// What makes a file, opens one for writing, or gives one another's name. `Connection::open` makes a database where
/// there is none.
const MAKERS: [&str; 9] = [
    "fs::write",
    "File::create",
    "create_new",
    "OpenOptions",
    "fs::copy",
    "hard_link",
    "fs::rename",
    "tempfile",
    "Connection::open",
];

/// Where that may be, and why: everything else goes through the first of them.
const MAY_MAKE: [(&str, &[&str]); 5] = [
    ("shell/new_file.rs", &["create_new", "OpenOptions", "fs::rename", "tempfile"]),
    // The files that stay open and are written in place: never through a link.
    ("shell/private.rs", &["OpenOptions"]),
    // The same for the log, whose files a library turns over.
    ("shell/log.rs", &["OpenOptions"]),
    // Writes what it read once more, to the same file; makes none.
    ("shell/journal/resync.rs", &["OpenOptions"]),
    // A second name for a journal that another takes the place of; fails where something has it.
    ("shell/journal/backup.rs", &["hard_link"]),
];

/// The rooms in which files may name each other in a circle, and how many arrows such a circle has at most. A form, a pane and
/// an act each know the others by the state of the screen that they share.
const CIRCLES: [(&str, usize); 1] = [("screen::", 240)];

/// The most lines of a file.
const MOST_LINES: usize = 500;

/// The most lines of a function: it fits a tall screen.
const MOST_LINES_OF_ONE: usize = 80;

/// Everything that a file does and may not, as "path:line: what".
fn faults(source: &Source) -> Vec<String> {
    let mut faults = Vec::new();
    let room = source.path.split(['/', '.']).next().unwrap_or_default();
    let pure = IMPORTS.iter().find(|(name, _)| *name == room);
    for (number, line) in source.code() {
        let line = line.as_str();
        let mut fault = |what: &str| faults.push(format!("{}:{number}: {what}", source.path));
        for other in pure.iter().flat_map(|(_, others)| *others) {
            if names_room(line, other) {
                fault(&format!("{room} may not know {other}"));
            }
        }
        let inside = INSIDE_THE_SHOP.iter().find(|(room, _)| source.path.starts_with(room));
        for other in inside.iter().flat_map(|(_, others)| *others) {
            if is_word_at(line, other) {
                fault(&format!("{} may not know {other}", source.path));
            }
        }
        if pure.is_some() && room != "forecast" && is_word_at(line, "rand") {
            fault("only a forecast draws lots");
        }
        if pure.is_some() {
            for word in WORLD.iter().filter(|word| is_word_at(line, word)) {
                fault(&format!("{room} may not touch {word}"));
            }
        }
        if source.path != CLOCK_FILE {
            for word in CLOCKS.iter().filter(|word| is_word_at(line, word)) {
                fault(&format!("only {CLOCK_FILE} reads a clock: {word}"));
            }
        }
        if !source.is_test(number) {
            for word in MAKERS.iter().filter(|word| is_word_at(line, word)) {
                let may = MAY_MAKE.iter().find(|(path, _)| *path == source.path);
                if !may.is_some_and(|(_, words)| words.contains(word)) {
                    fault(&format!("only {} makes files: {word}", MAY_MAKE[0].0));
                }
            }
        }
        if line.contains("#[allow(") || line.contains("#![allow(") {
            fault("an expectation with a reason, never a bare allow");
        }
        if is_word_at(line, "unsafe") {
            fault("nothing here is unsafe");
        }
    }
    let lines = source.text.lines().count();
    if lines > MOST_LINES {
        faults.push(format!("{}: {lines} lines, at most {MOST_LINES}", source.path));
    }
    for (number, name, lines) in source.functions().filter(|(.., lines)| *lines > MOST_LINES_OF_ONE)
    {
        let what = format!("{name} has {lines} lines, at most {MOST_LINES_OF_ONE}");
        faults.push(format!("{}:{number}: {what}", source.path));
    }
    if !source.text.starts_with("//!") {
        faults.push(format!("{}: opens with no word on what it is for", source.path));
    }
    faults
}

/// Whether a line of code names a room of this crate.
fn names_room(line: &str, room: &str) -> bool {
    ["crate::", "dwell::"].iter().any(|root| is_word_at(line, &format!("{root}{room}")))
}

#[test]
fn the_source_keeps_the_rules_of_the_house() {
    let sources = all();
    assert!(sources.len() > 40, "only {} files were found", sources.len());
    for (room, _) in IMPORTS {
        assert!(sources.iter().any(|s| s.path.starts_with(room)), "no file of {room} was read");
    }
    let faults: Vec<String> = sources.iter().flat_map(faults).collect();
    assert!(faults.is_empty(), "\n{}", faults.join("\n"));
}

/// Files in a circle are understood all at once or not at all: where one is needed, its type has no home of its own yet.
#[test]
fn no_files_name_each_other_in_a_circle() {
    for circle in circles(&all()) {
        let (from, _) = circle[0].split_once(" -> ").unwrap();
        let may =
            CIRCLES.iter().find(|(room, _)| from.starts_with(room)).map_or(0, |(_, most)| *most);
        let (said, many) = (circle.join("\n"), circle.len());
        assert!(many <= may, "a circle of {many} arrows, at most {may}:\n{said}");
    }
}

/// A test that goes by the machine's clock, its zone or its speed fails some day.
#[test]
fn no_test_goes_by_the_machines_clock_or_speed() {
    let sources = tests();
    assert!(sources.len() > 100, "only {} files were found", sources.len());
    let faults: Vec<String> = sources.iter().flat_map(faults_of_test).collect();
    assert!(faults.is_empty(), "\n{}", faults.join("\n"));
    let found = |line: &str| faults_of_test(&Source::new("terminal/x.rs", line)).len();
    assert_eq!(found("    while Instant::now() < end {"), 1);
    assert_eq!(found("    let at = Timestamp::now() + an_hour;"), 1);
    assert_eq!(found("    let struck = Instant::now();"), 0);
}

fn faults_of_test(source: &Source) -> Vec<String> {
    let mut faults = Vec::new();
    for (number, line) in source.code() {
        let line = line.as_str();
        for (word, instead) in NOT_IN_TESTS.iter().filter(|(word, _)| line.contains(word)) {
            faults.push(format!("tests/{}:{number}: no {word}: {instead}", source.path));
        }
    }
    faults
}

#[test]
fn the_clocks_are_read_where_they_should_be() {
    let clock = text_of(CLOCK_FILE);
    for word in ["SystemTime::now", "clock_gettime"] {
        assert!(
            clock.contains(word),
            "{CLOCK_FILE} does not read {word}: does the rule still hold?"
        );
    }
}

#[test]
fn the_check_sees_what_it_is_for() {
    for (path, line) in [
        ("figures/units.rs", "use crate::shop::Shop;"),
        ("shop/mod.rs", "use crate::screen::theme;"),
        ("shop/press.rs", "    let x = crate::forecast::shift::run();"),
        ("shop/facts/order.rs", "use crate::shop::floor::garment::Garment;"),
        ("shop/facts/day.rs", "use crate::shop::Shop;"),
        ("shop/floor/shelf.rs", "use crate::shop::rules::command::Refusal;"),
        ("shop/books/tally.rs", "    crate::shop::rules::offer::next()"),
        ("shop/rules/offer.rs", "use rand::Rng;"),
        ("screen/act.rs", "use crate::shell::clock;"),
        ("screen/act.rs", "use crate::{forecast, shop};"),
        (
            "screen/act.rs",
            "use crate::{\n    shop::Shop,\n    shell::clock::{\n        Clock,\n    },\n};",
        ),
        (
            "shop/facts/order.rs",
            "use crate::shop::{\n    facts::day::Day,\n    floor::garment::Garment,\n};",
        ),
        ("forecast/shift.rs", "use crate::commands::run;"),
        ("forecast/shift.rs", "use crate::screen::ui::Ui;"),
        ("shop/mod.rs", "let text = std::fs::read(path);"),
        ("shop/mod.rs", "let now = Instant::now();"),
        ("screen/mod.rs", "use tokio::time;"),
        ("figures/units.rs", "println!(\"{x}\");"),
        ("shell/board.rs", "let now = SystemTime::now();"),
        ("commands/mod.rs", "let now = jiff::Timestamp::now();"),
        ("commands/mod.rs", "#[allow(dead_code)]"),
        ("commands/art.rs", "let file = File::create(&unfinished)?;"),
        ("commands/figures/plot.rs", "std::fs::write(path, svg)?;"),
        ("shell/profiles.rs", "let mut options = std::fs::OpenOptions::new();"),
        ("shell/journal/resync.rs", "std::fs::rename(from, to)?;"),
        ("shell/journal/reader.rs", "let journal = Connection::open(path)?;"),
        ("shell/journal/writer.rs", "unsafe { x() }"),
    ] {
        let source = Source::new(path, &format!("//! What it is for.\n{line}\n"));
        let found = faults(&source);
        assert_eq!(found.len(), 1, "{path}: {line}: {found:?}");
        assert!(found[0].starts_with(&format!("{path}:2: ")), "{found:?}");
    }
}

#[test]
fn the_check_passes_over_what_is_no_fault() {
    for (path, line) in [
        ("shop/mod.rs", "use crate::figures::units::Span;"),
        ("shop/floor/shelf.rs", "use crate::shop::facts::day::Day;"),
        ("shop/rules/offer.rs", "use crate::shop::books::coats::CoatBook;"),
        ("forecast/shift.rs", "use rand::Rng;"),
        ("shop/mod.rs", "// std::fs is the shell's, and so is crate::shell"),
        ("shop/mod.rs", "/// Never println! here."),
        ("screen/mod.rs", "let notifying = tokiosk + shop_shell;"),
        ("shell/clock.rs", "let now = SystemTime::now();"),
        ("shell/run.rs", "let started = Instant::now();"),
        ("forecast/shift.rs", "use crate::shop::Shop;"),
        ("shell/new_file.rs", "std::fs::rename(from, to)"),
        ("shell/journal/reader.rs", "Connection::open_with_flags(path, flags)"),
        ("shell/journal/row.rs", "#[cfg(test)]\nmod tests { fn x() { std::fs::write(a, b) } }"),
        ("shop/mod.rs", "#[expect(dead_code, reason = \"for later\")]"),
    ] {
        let source = Source::new(path, &format!("//! What it is for.\n{line}\n"));
        assert_eq!(faults(&source), Vec::<String>::new(), "{path}: {line}");
    }
}

#[test]
fn a_long_file_or_function_and_a_file_that_says_nothing_are_faults() {
    let long = Source::new("shell/long.rs", &format!("//! Long.\n{}", "\n".repeat(MOST_LINES)));
    assert_eq!(faults(&long).len(), 1);
    let body = "        x();\n".repeat(MOST_LINES_OF_ONE - 2);
    let long = |body: &str| {
        Source::new(
            "shell/x.rs",
            &format!("//! X.\nimpl X {{\n    pub async fn x() {{\n{body}    }}\n}}\n"),
        )
    };
    assert_eq!(faults(&long(&body)), Vec::<String>::new());
    let more = format!("{body}        x();\n");
    assert_eq!(faults(&long(&more)), ["shell/x.rs:3: x has 81 lines, at most 80"]);
    let silent = Source::new("shell/silent.rs", "use std::fs;\n");
    assert_eq!(faults(&silent).len(), 1);
}
