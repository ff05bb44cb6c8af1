//! What people type: every spelling of every unit, every numeric option and every numeric field of a profile, through
//! the built program.

use serde_json::Value;

use dwell::figures::units::table::{self, Kind, Unit};

use crate::bench::{Bench, order, recipe, station};

/// What units are worth (NIST SP 811, B.8, as `data/units.csv` has them; SI by definition), in cm, g, g/m2 and g/s.
const WORTH: [(&str, f64); 22] = [
    ("in", 2.54),
    ("ft", 30.48),
    ("yd", 91.44),
    ("cm", 1.0),
    ("mm", 0.1),
    ("m", 100.0),
    ("g", 1.0),
    ("kg", 1000.0),
    ("oz", 28.349_523_125),
    ("lb", 453.592_37),
    ("g/m2", 1.0),
    ("g/in2", 1_550.003_100_006_2),
    ("oz/yd2", 33.905_747_474_882_3),
    ("oz/in2", 28.349_523_125 * 1_550.003_100_006_2),
    ("g/s", 1.0),
    ("g/min", 1.0 / 60.0),
    ("oz/s", 28.349_523_125),
    ("oz/min", 28.349_523_125 / 60.0),
    ("ml/s", 1.0),
    ("ml/min", 1.0 / 60.0),
    ("l/min", 1000.0 / 60.0),
    ("degrees", 1.0),
];

fn answer(bench: &Bench, arguments: &[&str]) -> Value {
    let ran = bench.run(&[arguments, &["--json"]].concat());
    assert_eq!(ran.code, 0, "{arguments:?}: {}", ran.err);
    serde_json::from_str(&ran.out).unwrap()
}

fn near(found: &Value, wanted: f64, of: &str) {
    let found = found.as_f64().unwrap_or_else(|| panic!("{of}: no number"));
    assert!((found - wanted).abs() <= 1e-9 * wanted.abs(), "{of}: {found}, not {wanted}");
}

/// The same quantity in a unit: the option it goes to, and what the program says of it.
fn through(bench: &Bench, kind: Kind, text: &str) -> f64 {
    let said = |given: &[&str], name: &str| {
        let known = [("--flow", "1.9 g/s"), ("--fan", "6 in"), ("--coat", "200 g/m2")];
        let there = |option: &str| {
            given.contains(&option)
                || (option == "--flow" && given.contains(&"--caught"))
                || (option == "--fan" && given.contains(&"--angle"))
        };
        let rest = known.iter().filter(|(option, _)| !there(option));
        let rest: Vec<&str> = rest.flat_map(|(option, value)| [*option, *value]).collect();
        let area = ["--area", "100x100cm"];
        answer(bench, &[&["spray"], given, &rest[..], &area].concat())[name].as_f64().unwrap()
    };
    match kind {
        Kind::Length => said(&["--fan", text], "fan_width_cm"),
        Kind::Mass => said(&["--caught", text, "--in", "10"], "flow_g_s") * 10.0,
        Kind::Flow => said(&["--flow", text], "flow_g_s"),
        // A square metre: as many grams as there are on it.
        Kind::Coat => said(&["--coat", text], "grams_on"),
        Kind::Angle => said(&["--angle", text, "--distance", "10 in"], "fan_width_in"),
    }
}

#[test]
fn every_spelling_of_every_unit_is_read_for_what_it_is_worth() {
    let bench = Bench::new(2, 20);
    let mut seen = 0;
    for unit in table::all() {
        let Unit { kind, symbol, .. } = unit;
        let (_, worth) = WORTH.iter().find(|(name, _)| name == symbol).unwrap();
        // A quantity of that kind that a shop can have.
        let whole = match kind {
            Kind::Length => 15.24,
            Kind::Mass => 19.0,
            Kind::Coat => 230.0,
            Kind::Flow => 1.9,
            Kind::Angle => 65.0,
        };
        let number = whole / worth;
        let wanted = match kind {
            Kind::Angle => 2.0 * 10.0 * (65.0f64.to_radians() / 2.0).tan(),
            _ => whole,
        };
        for (n, name) in unit.spellings().enumerate() {
            let texts = [
                format!("{number} {name}"),
                format!("{number}{}", name.to_uppercase()),
                format!("{number} {name}.")
                    .replace('.', if n == 0 { "." } else { "," })
                    .replace(" ,", " "),
            ];
            let some = if n == 0 { &texts[..2] } else { &texts[1..2] };
            for text in some {
                let found = through(&bench, *kind, text);
                assert!((found - wanted).abs() < 1e-9 * wanted, "{text:?}: {found}, not {wanted}");
                seen += 1;
            }
        }
    }
    assert!(seen > 80, "{seen} spellings");
}

#[test]
fn sizes_heats_shares_and_times_are_read_as_people_type_them() {
    let bench = Bench::new(2, 20);
    let spray = ["spray", "--flow", "1,9 g/s", "--fan", "6in.", "--coat", "230 g/m^2"];
    let wanted = answer(&bench, &[&spray[..], &["--area", "14 in x 16 in"]].concat());
    for area in [
        "14x16in",
        "14 X 16 in",
        "14 × 16 in",
        "14 IN x 16 inches",
        "14\" x 16\"",
        "14 by 16 inch",
        "35.56 x 40.64 cm",
        "355,6mm x 406,4mm",
        "14in x 16",
        "１４ｘ１６ｉｎ",
    ] {
        let found = answer(&bench, &[&spray[..], &["--area", area]].concat());
        near(&found["grams_on"], wanted["grams_on"].as_f64().unwrap(), area);
    }
    for overlap in ["30", "30 %", "0.3", "0,3", "30 per cent"] {
        let found =
            answer(&bench, &[&spray[..], &["--area", "14x16in", "--overlap", overlap]].concat());
        assert_eq!(found["strokes"], wanted["strokes"], "{overlap}");
    }
    let steam = ["steam", "--area", "14x16in"];
    let wanted = answer(&bench, &[&steam[..], &["--plate", "340 F", "--seconds", "31"]].concat());
    for (plate, seconds) in [
        ("340F", "31s"),
        ("340 °f", "31 sec"),
        ("340 deg F", "0,5166666666666667 min"),
        ("340℉", "31.0"),
        ("340 fahrenheit", "31 SECONDS"),
    ] {
        let found =
            answer(&bench, &[&steam[..], &["--plate", plate, "--seconds", seconds]].concat());
        let (found, wanted) = (found["low"].as_f64().unwrap(), wanted["low"].as_f64().unwrap());
        assert!((found - wanted).abs() < 1e-6, "{plate} {seconds}: {found}, not {wanted}");
    }
    let celsius = answer(&bench, &[&steam[..], &["--plate", "171,1 °c"]].concat());
    assert_eq!(celsius["boiling_c"], wanted["boiling_c"]);
}

/// Options that take a quantity, each with the command it stands in and one that is right.
const OPTIONS: [(&[&str], &str, &str); 39] = [
    (
        &["coat", "--after", "186 g", "--area", "14x16in", "--recipe", "quick"],
        "--before",
        "152,4 g",
    ),
    (
        &["coat", "--before", "152 g", "--area", "14x16in", "--recipe", "quick"],
        "--after",
        "186,5 g",
    ),
    (&["coat", "--before", "152 g", "--after", "186 g", "--recipe", "quick"], "--area", "14x16in"),
    (&["spray", "--fan", "6 in", "--area", "14x16in", "--coat", "230 gsm"], "--flow", "1,9 g/s"),
    (
        &["spray", "--fan", "6 in", "--area", "14x16in", "--coat", "230 gsm", "--in", "10"],
        "--caught",
        "19,5 g",
    ),
    (
        &["spray", "--fan", "6 in", "--area", "14x16in", "--coat", "230 gsm", "--caught", "19 g"],
        "--in",
        "10,5",
    ),
    (&["spray", "--flow", "1.9 g/s", "--area", "14x16in", "--coat", "230 gsm"], "--angle", "65,5"),
    (&["spray", "--flow", "1.9 g/s", "--area", "14x16in", "--coat", "230 gsm"], "--fan", "6,5 in"),
    (
        &["spray", "--flow", "1.9 g/s", "--area", "14x16in", "--coat", "230 gsm", "--angle", "65"],
        "--distance",
        "11,5 in",
    ),
    (&["spray", "--flow", "1.9 g/s", "--fan", "6 in", "--coat", "230 gsm"], "--area", "14,5x16in"),
    (&["spray", "--flow", "1.9 g/s", "--fan", "6 in", "--area", "14x16in"], "--coat", "230,5 gsm"),
    (
        &["spray", "--flow", "1.9 g/s", "--fan", "6 in", "--area", "14x16in", "--coat", "230 gsm"],
        "--overlap",
        "30,5%",
    ),
    (
        &["spray", "--flow", "1.9 g/s", "--fan", "6 in", "--area", "14x16in", "--coat", "230 gsm"],
        "--kept",
        "85,5",
    ),
    (
        &["spray", "--flow", "1.9 g/s", "--fan", "6 in", "--area", "14x16in", "--coat", "230 gsm"],
        "--past",
        "2,5 in",
    ),
    (&["steam", "--area", "14x16in"], "--plate", "340,5 F"),
    (&["steam", "--plate", "340 F"], "--area", "14x16,5in"),
    (&["steam", "--plate", "340 F", "--area", "14x16in"], "--altitude", "1609,3 m"),
    (&["steam", "--plate", "340 F", "--area", "14x16in"], "--seconds", "31,5"),
    (&["platen", "GRID", "--tolerance", "9 F"], "--dial", "340,5 F"),
    (&["platen", "GRID", "--dial", "340 F"], "--tolerance", "9,5 F"),
    (&["chart", "GRAMS", "--high", "40"], "--low", "30,5"),
    (&["chart", "GRAMS", "--low", "30"], "--high", "40,5"),
    (&["art", "ART", "--garment", "#101820"], "--print", "12,5x14in"),
    (&["art", "ART", "--garment", "#101820"], "--lighter-by", "1,5"),
    (&["art", "ART", "--garment", "#101820"], "--share", "0,05%"),
    (&["plan", "--from-nothing", "ORDER"], "--presses", "3"),
    (&["plan", "--from-nothing", "ORDER"], "--printers", "2"),
    (&["plan", "--from-nothing", "ORDER"], "--operators", "2"),
    (&["plan", "--from-nothing", "ORDER"], "--seed", "7"),
    (&["plan", "--from-nothing", "ORDER", "--steps"], "--drawn", "7"),
    (&["rehearse", "--headless", "--garments", "2"], "--presses", "2"),
    (&["rehearse", "--headless", "--presses", "2"], "--garments", "2"),
    (&["rehearse", "--headless", "--garments", "2"], "--until", "1"),
    (&["--data", "MADE", "past"], "--last", "3"),
    (&["--data", "MADE", "trace"], "--press", "1"),
    (&["plan", "--jobs", "SHOP"], "--effort", "1"),
    (&["rehearse", "--headless", "--garments", "2"], "--seed", "7"),
    (&["rehearse", "--headless", "--garments", "2"], "--speed", "20,5"),
    (&["rehearse", "--headless", "--garments", "2"], "--weeks", "1"),
];

/// One that says something of a garment that a journal has to know: its right value comes as far as that.
const OF_A_GARMENT: (&[&str], &str, &str) =
    (&["--data", "MADE", "wash", "A9-01", "--grade", "4"], "--cycles", "10");

/// What is wrong everywhere.
const WRONG: [(&str, &str); 10] = [
    ("", "found nothing, expected"),
    ("-", "found \"-\", expected"),
    ("NaN", "found \"NaN\", expected"),
    ("inf", "found \"inf\", expected"),
    ("much", "found \"much\", expected"),
    ("--json", "found \"--json\", expected"),
    ("1,250", "mark between thousands"),
    ("1.250,5 g", "mark between thousands"),
    ("5 furlongs", "expected"),
    ("99999999999999999999999", "expected"),
];

#[test]
fn whatever_stands_behind_an_option_is_read_or_refused_in_words() {
    let bench = Bench::new(2, 20);
    let write = |name: &str, text: &str| {
        let path = bench.root.path().join(name);
        std::fs::write(&path, text).unwrap();
        path.to_str().unwrap().to_owned()
    };
    let files = [
        ("GRID", write("grid.csv", "338,340,341\n339,340,342\n")),
        ("GRAMS", write("grams.csv", "grams\n33\n34\n35\n")),
        ("ORDER", write("order.ron", &order(2))),
        ("MADE", bench.root.path().join("made").to_str().unwrap().to_owned()),
        ("ART", bench.root.path().join("art.png").to_str().unwrap().to_owned()),
        ("SHOP", format!("{}/tests/data/fattahi_sfjs01.txt", env!("CARGO_MANIFEST_DIR"))),
    ];
    image::RgbImage::from_pixel(4, 4, image::Rgb([200, 9, 9])).save(&files[4].1).unwrap();
    let made = bench.run(&["--data", &files[3].1, "rehearse", "--headless", "--garments", "2"]);
    assert_eq!(made.code, 0, "{}", made.err);
    for (command, option, good) in OPTIONS.into_iter().chain([OF_A_GARMENT]) {
        let named = |word: &&str| {
            files
                .iter()
                .find(|(name, _)| name == word)
                .map_or((*word).to_owned(), |(_, path)| path.clone())
        };
        let command: Vec<String> = command.iter().map(named).collect();
        let run = |value: &str| {
            let mut all: Vec<&str> = command.iter().map(String::as_str).collect();
            all.extend([option, value]);
            bench.run(&all)
        };
        let right = run(good);
        let wanted = if option == OF_A_GARMENT.1 { (2, "A9-01") } else { (0, "") };
        assert_eq!(right.code, wanted.0, "{command:?} {option} {good}: {}", right.err);
        assert!(right.err.contains(wanted.1), "{command:?} {option} {good}: {}", right.err);
        // A number, what stands behind it in the right one, and the same below zero.
        let below = format!("-{}", good.replace(',', "."));
        let more = [(below.as_str(), "expected")];
        for (value, words) in WRONG.iter().copied().chain(more) {
            // Any number may be a seed, and a chart is of anything, below zero too.
            let any = value.starts_with(['9', '-']) && value.len() > 1 && value != "--json";
            if any
                && (["--low", "--high"].contains(&option)
                    || value.starts_with('9') && option == "--seed")
            {
                continue;
            }
            let ran = run(value);
            let of = format!("{command:?} {option} {value:?}: {}", ran.err);
            assert_eq!((ran.code, ran.out.as_str()), (2, ""), "{of}");
            // A size needs its two sides before its numbers are looked at.
            let known = [words, "expected a size", "expected a low below"];
            assert!(known.iter().any(|words| ran.err.contains(words)), "{words}: {of}");
            assert!(ran.err.starts_with(&format!("dwell: {option}")), "{of}");
            assert!(
                !ran.err.contains("unexpected argument") && !ran.err.contains("panicked"),
                "{of}"
            );
        }
    }
}

#[test]
fn what_no_shop_has_is_refused_in_the_unit_that_was_typed() {
    let bench = Bench::new(2, 20);
    let area = ["--area", "14x16in"];
    let spray = [&["spray", "--coat", "230 gsm"], &area[..]].concat();
    let wide = [&["spray", "--coat", "230 gsm", "--flow", "2 g/s", "--fan", "6 in"][..]].concat();
    let cases: [(&[&str], &[&str], &str); 9] = [
        (
            &["steam"],
            &["--plate", "2000 F"],
            "--plate: found \"2000 F\", which is no heat for a press: expected 140 F to 446 F",
        ),
        (&["steam"], &["--plate", "2000 C"], "expected 60 C to 230 C"),
        (
            &spray[..5],
            &["--flow", "2 g/s", "--fan", "999 m"],
            "--fan: found \"999 m\", which is no width of a fan: expected 0.005 m to 1 m",
        ),
        (
            &spray[..5],
            &["--flow", "2 g/s", "--fan", "-6 in"],
            "which is below zero and no width of a fan: expected 0.2 in to 39.4 in",
        ),
        (
            &spray[..5],
            &["--flow", "0 oz/min", "--fan", "6 in"],
            "which is zero and no flow of a sprayer: expected 0.0212 oz/min",
        ),
        (
            &wide,
            &["--area", "14 ft x 16 ft"],
            "which is no side of a print, an area or a platen: expected 0.0328 ft to 6.56 ft",
        ),
        (
            &wide,
            &["--area", "14x16"],
            "found \"14x16\", which has no unit: expected a size such as",
        ),
        (&["steam"], &["--plate", "340"], "which is on no scale: expected a temperature such as"),
        (&["steam"], &["--plate", "340 F", "--altitude", "90 km"], "\"km\" is no unit of length"),
    ];
    for (command, more, words) in cases {
        let area: &[&str] =
            if more.contains(&"--area") || command.contains(&"--area") { &[] } else { &area };
        let ran = bench.run(&[command, more, area].concat());
        assert_eq!((ran.code, ran.out.as_str()), (2, ""), "{more:?}");
        assert!(ran.err.contains(words), "{words}\n is not in {}", ran.err);
    }
}

/// Fields of the station: what stands there, what is put in its place, and words of the error.
#[test]
fn a_field_of_a_profile_is_held_to_the_same_table() {
    let bench = Bench::new(2, 20);
    let sprayer = "flow: \"1.9 g/s\", fan: \"6 in\", overlap: \"30%\", kept: \"85%\", past: \"2 in\", holds: \"600 g\", \
                   flush_every: \"1day\"";
    let hands = "load: \"6s\", unload: \"7s\", spray: \"25s\", roll: \"8s\", print_load: \"14s\", print: \"190s\", \
                 print_unload: \"10s\", wipe: \"45s\", weigh: \"5s\", fill: \"120s\"";
    let good = station("Bench", 1).replace(
        "    sheet:",
        &format!(
            "altitude: \"0 m\",\nsprayer: ({sprayer}),\nplaten: (tolerance: \"9 F\", check_every: \"7days\"),\n\
             hands: ({hands}),\nbreaks: [(at: \"12:00\", lasts: \"30min\")],\n    sheet:"
        ),
    );
    let fields = [
        ("dial: \"340 F\"", "2000 F"),
        ("altitude: \"0 m\"", "90 mm 3"),
        ("altitude: \"0 m\"", "9000 m"),
        ("flow: \"1.9 g/s\"", "1.9 kg/s"),
        ("flow: \"1.9 g/s\"", "999 g/s"),
        ("fan: \"6 in\"", "999 m"),
        ("overlap: \"30%\"", "97%"),
        ("kept: \"85%\"", "0%"),
        ("past: \"2 in\"", "2 yd"),
        ("holds: \"600 g\"", "600 lb"),
        ("flush_every: \"1day\"", "1s"),
        ("tolerance: \"9 F\"", "900 F"),
        ("check_every: \"7days\"", "7s"),
        ("unload: \"7s\"", "7days"),
        ("print: \"190s\"", "190h"),
        ("at: \"12:00\"", "25:00"),
        ("lasts: \"30min\"", "30h"),
    ];
    refused_fields(&bench, &bench.station(), &good, &fields);
    let read = bench.run(&["profiles"]);
    assert_eq!(read.code, 0, "{}", read.err);
    let good = recipe(20);
    let fields = [
        ("set_point: \"340 F\"", "2000 F"),
        ("wet_at_most: \"10min\"", "10000h"),
        ("low: \"138 g/m2\"", "138 lb"),
        ("low: \"138 g/m2\"", "0 g/m2"),
        ("high: \"270 g/m2\"", "27000 g/m2"),
        ("good_for: \"21days\"", "21.5days"),
        ("target: \"20s\"", "20"),
    ];
    refused_fields(&bench, &bench.recipe(), &good, &fields);
}

/// Puts each wrong text, and those that are wrong everywhere, in a field's place.
fn refused_fields(bench: &Bench, path: &std::path::Path, good: &str, fields: &[(&str, &str)]) {
    for (field, wrong) in fields {
        let (name, value) = field.split_once(": ").unwrap();
        let right = value.trim_matches('"');
        let below = format!("-{right}");
        for value in [*wrong, "", "-", "NaN", "1,250 g", "much", &below] {
            // Below the sea there are shops.
            if value == "-0 m" {
                continue;
            }
            let bad = good.replacen(field, &format!("{name}: \"{value}\""), 1);
            assert_ne!(bad, good, "{field}");
            std::fs::write(path, &bad).unwrap();
            let ran = bench.run(&["profiles"]);
            assert_eq!((ran.code, ran.out.as_str()), (2, ""), "{field} {value:?}");
            assert!(ran.err.contains("expected"), "{field} {value:?}: {}", ran.err);
            let line = bad
                .lines()
                .position(|line| line.contains(&format!("{name}: \"{value}\"")))
                .unwrap()
                + 1;
            assert!(ran.err.contains(&format!(".ron:{line}:")), "{field} {value:?}: {}", ran.err);
        }
    }
    std::fs::write(path, good).unwrap();
}

#[test]
fn answers_come_back_in_the_units_that_were_typed() {
    let bench = Bench::new(2, 20);
    let coat = [
        "coat", "--recipe", "quick", "--before", "5.36 oz", "--after", "6.57 oz", "--area",
        "14x16in",
    ];
    let said = bench.run(&coat).out;
    assert!(said.starts_with("1.21 oz on 14 in x 16 in: 237 g/m2"), "{said}");
    let grid = bench.root.path().join("grid.csv");
    std::fs::write(&grid, "333,340\n347,340\n").unwrap();
    let grid = grid.to_str().unwrap();
    let said = bench.run(&["platen", grid, "--dial", "340 F", "--tolerance", "7 F"]).out;
    assert!(
        said.contains("verdict      within a tolerance of 7 F"),
        "exactly 7 F off is within: {said}"
    );
    assert!(said.contains("spread       14.0 F"), "{said}");
    // The profile's own tolerance, as it is written there.
    let text = std::fs::read_to_string(bench.station()).unwrap();
    let platen = "platen: (tolerance: \"7 F\", check_every: \"7days\"),\n    sheet:";
    std::fs::write(bench.station(), text.replace("    sheet:", platen)).unwrap();
    let said = bench.run(&["platen", grid, "--dial", "340 F"]).out;
    assert!(said.contains("within a tolerance of 7 F"), "{said}");
}
