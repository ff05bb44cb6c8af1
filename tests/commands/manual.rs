//! The manual: everything that can be typed, struck, written into a profile or found in a journal stands in it.

use std::collections::BTreeSet;
use std::fs;

use crate::bench::{Bench, Ran};

/// Every command, with the options that its own help names.
fn commands(bench: &Bench) -> Vec<String> {
    let ran = bench.run(&["--help"]);
    let (_, rest) = ran.out.split_once("Commands:\n").unwrap();
    let rows = rest.lines().take_while(|line| !line.is_empty());
    rows.filter(|line| !line.starts_with("   "))
        .map(|line| line.split_whitespace().next().unwrap().to_owned())
        .collect()
}

fn options_of(help: &str) -> BTreeSet<String> {
    let words = help.split(|c: char| c.is_whitespace() || ",[".contains(c));
    let options = words.filter(|word| word.starts_with("--") && word.len() > 2);
    options
        .map(|word| word.trim_end_matches(|c: char| !c.is_ascii_alphanumeric()).to_owned())
        .collect()
}

/// A page of `man` as a reader sees it, near enough: its escapes for hyphens and fonts are taken out.
fn plain(page: &str) -> String {
    page.replace("\\-", "-")
        .replace("\\fB", "")
        .replace("\\fR", "")
        .replace("\\fI", "")
        .replace("\\*(Aq", "'")
}

#[test]
fn every_command_and_option_has_its_page() {
    let bench = Bench::new(2, 20);
    let pages = bench.root.path().join("pages");
    assert_eq!(bench.run(&["help", "--pages", pages.to_str().unwrap()]).code, 0);
    let commands = commands(&bench);
    assert!(commands.len() > 20 && commands.contains(&"help".to_owned()), "{commands:?}");
    for command in &commands {
        let help = bench.run(&[command, "--help"]);
        let page = plain(&fs::read_to_string(pages.join(format!("dwell-{command}.1"))).unwrap());
        let options = options_of(&help.out);
        assert!(options.contains("--data") && options.contains("--help"), "{command}: {options:?}");
        for option in options {
            assert!(page.contains(&option), "{command} {option} is not on its page:\n{page}");
        }
        // What `help COMMAND` prints is what the command says of itself.
        assert_eq!(bench.run(&["help", command]).out.lines().next(), help.out.lines().next());
    }
    let main = fs::read_to_string(pages.join("dwell.1")).unwrap();
    for command in commands {
        assert!(plain(&main).contains(&format!("dwell-{command}(1)")), "{command}:\n{main}");
    }
    for page in ["dwell-shop.7", "dwell-keys.7", "dwell-words.7", "dwell-files.5", "dwell-hub.7"] {
        assert!(fs::read_to_string(pages.join(page)).unwrap().contains(".SH NAME"), "{page}");
    }
}

fn told(bench: &Bench, word: &str) -> String {
    let Ran { code, out, err } = bench.run(&["help", word]);
    assert_eq!((code, err.as_str()), (0, ""), "{word}");
    out
}

/// The names of deeds and keys as the program itself lists them when a profile names one that is none.
#[test]
fn every_deed_of_the_keymap_is_found_by_its_name_and_its_keys() {
    let bench = Bench::new(2, 20);
    let station = fs::read_to_string(bench.station()).unwrap();
    let wrong = station.replace("sheet:", "keys: {\"fly\": [\"f\"]}, sheet:");
    fs::write(bench.station(), wrong).unwrap();
    let said = bench.run(&["profiles"]).err;
    let (_, names) = said.lines().next().unwrap().split_once("there are: ").unwrap();
    let names: Vec<&str> = names.split(", ").collect();
    assert!(names.len() > 40, "{names:?}");
    // A profile that does not read leaves help its usual keys.
    let all = told(&bench, "keys");
    let unfolded = all.split_whitespace().collect::<Vec<_>>().join(" ");
    for name in names {
        assert!(unfolded.contains(&format!("In station.ron: \"{name}\".")), "{name}");
        assert!(told(&bench, name).contains(&format!("\"{name}\"")), "{name}");
    }
    for (key, says) in
        [("F6", "Take in an order"), ("*", "steam"), ("+ . 7", "set to another heat")]
    {
        assert!(told(&bench, key).contains(says), "{key}");
    }
    assert!(!told(&bench, "m").contains("model"), "a letter is a key, not the beginning of a word");
    // The shop's own keys, where its profile has others.
    fs::write(bench.station(), station.replace("sheet:", "keys: {\"undo\": [\"F9\"]}, sheet:"))
        .unwrap();
    assert!(told(&bench, "F9").contains("Take back the last act"));
}

/// The fields as the reader of the profiles lists them when it meets one that is none.
#[test]
fn every_field_of_the_profiles_is_found_with_its_default_and_range() {
    let bench = Bench::new(2, 20);
    let built_in = bench.root.path().join("built-in");
    bench.run(&["profiles", "--write", built_in.to_str().unwrap()]);
    let profiles = ["--profiles", built_in.to_str().unwrap()];
    let mut seen = 0;
    for (file, structures) in [
        (
            "station.ron",
            &["Station(", "presses: [(", "sheet: (", "sprayer: Some((", "platen: (", "hands: ("][..],
        ),
        (
            "recipes/dark-cotton.ron",
            &["Recipe(", "prepress: (", "dry: (", "coat: (", "keep: (", "artwork: ("],
        ),
        ("orders/harbour-choir.ron", &["Order(", "lines: [("]),
    ] {
        let path = built_in.join(file);
        // Comments hold examples of the fields: what counts is what is read.
        let text = fs::read_to_string(&path).unwrap();
        let good: String =
            text.lines().map(|line| line.split("//").next().unwrap().to_owned() + "\n").collect();
        for structure in structures {
            let opened = good
                .split_whitespace()
                .collect::<Vec<_>>()
                .join(" ")
                .replace("[ (", "[(")
                .replace("( ", "(");
            assert!(opened.contains(structure), "{file}: {structure}\n{opened}");
            fs::write(&path, opened.replacen(structure, &format!("{structure}nonsense: 1, "), 1))
                .unwrap();
            let ran = match file.starts_with("orders") {
                true => bench.run(&[profiles[0], profiles[1], "take", path.to_str().unwrap()]),
                false => bench.run(&[profiles[0], profiles[1], "profiles"]),
            };
            let (_, expected) =
                ran.err.split_once(", expected ").unwrap_or_else(|| panic!("{}", ran.err));
            let fields: Vec<&str> = expected.split('`').skip(1).step_by(2).collect();
            assert!(!fields.is_empty(), "{}", ran.err);
            for field in fields {
                let told = told(&bench, field).split_whitespace().collect::<Vec<_>>().join(" ");
                let says = ["Takes", "default", "must be given"];
                assert!(
                    told.contains(says[0]) && says[1..].iter().any(|s| told.contains(s)),
                    "{field}: {told}"
                );
                seen += 1;
            }
        }
        fs::write(&path, text).unwrap();
    }
    assert!(seen > 80, "{seen}");
    assert!(
        told(&bench, "sprayer.flow").contains("Takes 0.01 g/s to 100"),
        "{}",
        told(&bench, "sprayer.flow")
    );
}

/// Whatever a rehearsed shift brings into a journal can be looked up.
#[test]
fn the_kinds_of_events_of_a_shift_are_found() {
    let bench = Bench::new(2, 20);
    let data = bench.root.path().join("made-up");
    let data = data.to_str().unwrap();
    let ran =
        bench.run(&["rehearse", "--headless", "--seed", "7", "--garments", "24", "--data", data]);
    assert_eq!(ran.code, 0, "{}", ran.err);
    let past = bench.run(&["past", "--json", "--data", data]).out;
    let kinds: BTreeSet<String> = past
        .lines()
        .map(|line| {
            serde_json::from_str::<serde_json::Value>(line).unwrap()["kind"]
                .as_str()
                .unwrap()
                .to_owned()
        })
        .collect();
    assert!(kinds.len() > 10, "{kinds:?}");
    for kind in kinds {
        assert!(told(&bench, &kind).contains(&kind), "{kind}");
    }
}

#[test]
fn what_is_nearly_a_word_is_told_the_nearest_and_nonsense_is_not() {
    let bench = Bench::new(2, 20);
    for (typed, nearest) in [
        ("underbsae", "`underbase`"),
        ("pres-shut", "`press-shut`"),
        ("wipe_att", "`wipe_at`"),
        ("platten", "`platen`"),
        ("rehearsel", "`rehearse`"),
    ] {
        let ran = bench.run(&["help", typed]);
        assert_eq!((ran.code, ran.out.as_str()), (2, ""), "{typed}");
        assert!(ran.err.contains("Nearest: ") && ran.err.contains(nearest), "{typed}: {}", ran.err);
    }
    let ran = bench.run(&["help", "qqqqqqq"]);
    assert!(ran.code == 2 && !ran.err.contains("Nearest"), "{}", ran.err);
    // Two words need no quotes, an option is a word too, and all that a word means is told.
    assert!(bench.run(&["help", "first", "pass"]).out.contains("first quality"));
    assert!(bench.run(&["help", "--print"]).out.contains("dwell coat --print"));
    let coat = told(&bench, "coat");
    for part in ["Usage: dwell coat", "The window", "F4"] {
        assert!(coat.contains(part), "{part}: {coat}");
    }
    assert_eq!(bench.run(&["help"]).out.lines().next(), bench.run(&["--help"]).out.lines().next());
}
