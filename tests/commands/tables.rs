//! Orders from the tables that shops have them in: each row is said, nothing is taken by half, nothing twice.

use std::fs;
use std::path::{Path, PathBuf};

use dwell::shell::order_folder::Stamp;
use serde_json::Value;

use crate::bench::{Bench, Ran};
use crate::pty::Pty;

fn table(name: &str) -> PathBuf {
    PathBuf::from(concat!(env!("CARGO_MANIFEST_DIR"), "/tests/data/tables")).join(name)
}

/// A bench with the shipped recipes, whose profile says this besides.
fn bench(says: &str) -> Bench {
    let bench = Bench::new(2, 20);
    let own = bench.profiles().join("recipes");
    fs::create_dir_all(&own).unwrap();
    let shipped = concat!(env!("CARGO_MANIFEST_DIR"), "/profiles/recipes");
    for recipe in ["dark-cotton.ron", "light-cotton.ron"] {
        fs::copy(format!("{shipped}/{recipe}"), own.join(recipe)).unwrap();
    }
    bench.station_says(says);
    bench
}

fn take(bench: &Bench, name: &str, more: &[&str]) -> Ran {
    let path = table(name);
    bench.run(&[&["take", path.to_str().unwrap()], more].concat())
}

/// The orders that lie in the inbox, in the order in which the board takes them.
fn inbox(bench: &Bench) -> Vec<Value> {
    let files = fs::read_dir(bench.data().join("inbox")).into_iter().flatten();
    let mut paths: Vec<PathBuf> = files.map(|file| file.unwrap().path()).collect();
    paths.sort();
    paths.iter().map(|path| serde_json::from_slice(&fs::read(path).unwrap()).unwrap()).collect()
}

/// Name, due and lines as (count, mark, colour, recipe, places).
fn told(order: &Value) -> String {
    let text = |value: &Value| value.as_str().unwrap_or("-").to_owned();
    let line = |line: &Value| {
        let places = line["places"].as_array().unwrap().iter().map(text).collect::<Vec<_>>();
        let [mark, colour, recipe] = ["mark", "garment", "recipe"].map(|name| text(&line[name]));
        format!("{} {mark} {colour} {recipe} {}", line["count"], places.join("+"))
    };
    let lines = order["lines"].as_array().unwrap().iter().map(line).collect::<Vec<_>>();
    format!("{}, {}: {}", text(&order["name"]), text(&order["due"]), lines.join("; "))
}

/// A spreadsheet with a title, merged cells, a row of sizes below the head, an empty row and a row of totals.
#[test]
fn a_spreadsheet_as_a_shop_makes_it_is_taken_row_by_row() {
    let bench = bench("");
    let ran = take(&bench, "merged.xlsx", &[]);
    assert_eq!(ran.code, 0, "{}{}", ran.out, ran.err);
    let orders: Vec<String> = inbox(&bench).iter().map(told).collect();
    assert_eq!(
        orders,
        [
            "Harbour choir, 2026-12-04T16:00: 2 S #16181d dark-cotton front; 4 M #16181d dark-cotton front; \
             1 2XL #16181d dark-cotton front; 3 M #1b2440 dark-cotton front+back; 3 L #1b2440 dark-cotton front+back",
            "Lantern walk, 2026-12-05T09:30: 12 M #ffffff light-cotton front",
        ]
    );
    for words in ["line 5: Harbour choir: 2 garments S black", "line 9: passed over"] {
        assert!(ran.out.contains(words), "{words}:\n{}", ran.out);
    }
}

/// The heads are in another language: the profile says what they mean.
#[test]
fn a_profiles_map_names_the_columns() {
    let unnamed = take(&bench(""), "semicolons.csv", &[]);
    assert_eq!(unnamed.code, 2);
    assert!(unnamed.err.contains("no row names the columns"), "{}", unnamed.err);
    let says = "tables: Some((columns: {\"Bestellung\": \"order\", \"Anzahl\": \"count\", \"Größe\": \"size\", \
                \"Farbe\": \"colour\", \"Rezept\": \"recipe\", \"Termin\": \"due\"})),";
    let bench = bench(says);
    let ran = take(&bench, "semicolons.csv", &[]);
    assert_eq!(ran.code, 0, "{}", ran.err);
    let orders: Vec<String> = inbox(&bench).iter().map(told).collect();
    assert_eq!(
        orders,
        [
            "Chor am Hafen, 2026-12-04T17:00: 12 M #16181d dark-cotton front; 6 L #16181d dark-cotton front",
            "Laternenlauf, -: 4 S #f4f1ea light-cotton front",
        ]
    );
}

#[test]
fn a_date_that_could_be_two_is_asked_for_or_said_by_the_profile() {
    let unasked = take(&bench(""), "slashes.csv", &[]);
    assert_eq!(unasked.code, 2);
    assert!(
        unasked.out.contains("line 2: NOT TAKEN: due: 12/03/2027 could be two dates"),
        "{}",
        unasked.out
    );
    for (says, more, wanted) in [
        ("", &["--dates", "day-first"][..], "2027-03-12T17:00"),
        ("", &["--dates", "month-first"], "2027-12-03T17:00"),
        ("tables: Some((dates: Some(DayFirst))),", &[], "2027-03-12T17:00"),
    ] {
        let bench = bench(says);
        let ran = take(&bench, "slashes.csv", more);
        assert_eq!(ran.code, 0, "{}{}", ran.out, ran.err);
        let orders = inbox(&bench);
        assert_eq!((&orders[0]["due"], &orders[0]["rank"]), (&wanted.into(), &1.into()));
    }
}

/// Asked once, and kept: by the board too, once it has taken the answer in.
#[test]
fn what_was_said_of_a_date_is_kept() {
    let bench = bench("");
    let file = table("slashes.csv");
    let arguments = ["take", file.to_str().unwrap(), "--underbase", "no"];
    let mut pty = Pty::start(&bench, &arguments, &[]);
    pty.wait_for("12/03/2027 could be two dates: does the day stand first?");
    pty.burst(b"yes\r");
    pty.wait_for("is queued for the board");
    assert_eq!(pty.end_within(std::time::Duration::from_secs(60)), 0);
    let laid = inbox(&bench);
    assert_eq!((laid.len(), &laid[0]["first"]), (3, &"DayFirst".into()));
    assert_eq!(laid[1]["due"], "2027-03-12T17:00");
    let again = take(&bench, "slashes.csv", &["--json"]);
    assert_eq!(again.code, 0, "{}", again.out);
    let mut pty = Pty::board(&bench);
    pty.wait_for("Night ferry");
    pty.wait_saved();
    assert_eq!(pty.leave(), 0);
    let again = take(&bench, "slashes.csv", &["--json"]);
    assert_eq!(again.code, 0, "{}", again.out);
    let said: Value = serde_json::from_str(&again.out).unwrap();
    assert!(said["laid"][0]["there"].as_str().unwrap().contains("taken already"), "{said}");
}

#[test]
fn an_order_with_a_wrong_row_is_left_out_and_nothing_is_taken_unasked() {
    let bench = bench("");
    let refused = take(&bench, "sums.csv", &["--json"]);
    assert_eq!(refused.code, 2);
    assert!(refused.err.contains("--partly"), "{}", refused.err);
    assert_eq!(inbox(&bench).len(), 0);
    let said: Value = serde_json::from_str(&refused.out).unwrap();
    let why = |n: usize| said["rows"][n]["what"]["Err"].as_str().unwrap_or("-").to_owned();
    assert!(why(1).contains("10, but its sizes make 9"), "{said}");
    assert!(why(2).contains("found \"nightblue\""), "{said}");
    assert_eq!((why(0).as_str(), why(3).as_str()), ("-", "-"));
    let shown = take(&bench, "sums.csv", &["--preview"]);
    assert_eq!((shown.code, inbox(&bench).len()), (0, 0));
    let partly = take(&bench, "sums.csv", &["--partly"]);
    assert_eq!(partly.code, 0);
    let names: Vec<Value> = inbox(&bench).iter().map(|order| order["name"].clone()).collect();
    assert_eq!(names, ["Harbour choir", "Allotment fair"]);
}

/// The second order's picture is not there: the first one is not taken for all of them.
#[test]
fn nothing_is_laid_before_every_picture_was_looked_at() {
    let bench = bench("");
    let path = bench.root.path().join("orders.csv");
    let rows = "order,count,colour,recipe,art\nHarbour choir,2,black,dark-cotton,\n\
                Lantern walk,3,black,dark-cotton,nowhere.png\n";
    fs::write(&path, rows).unwrap();
    let ran = bench.run(&["take", path.to_str().unwrap()]);
    assert_eq!(ran.code, 2, "{}", ran.out);
    assert!(ran.err.contains("nowhere.png"), "{}", ran.err);
    assert_eq!(inbox(&bench).len(), 0);
}

/// From JSON to the board, and the same table once more, before and after it was taken.
#[test]
fn nothing_is_taken_twice() {
    let bench = bench("");
    assert_eq!(take(&bench, "objects.json", &["--underbase", "no"]).code, 0);
    let again = take(&bench, "objects.json", &["--underbase", "no"]);
    assert_eq!(again.code, 0);
    assert!(again.out.contains("it is queued for the board already"), "{}", again.out);
    assert_eq!(inbox(&bench).len(), 1);
    let mut pty = Pty::board(&bench);
    pty.wait_for("14 blanks");
    pty.wait_saved();
    assert_eq!(pty.leave(), 0);
    let later = take(&bench, "objects.json", &["--underbase", "no"]);
    assert!(later.out.contains("it was taken already, as order 1"), "{}", later.out);
    assert_eq!(inbox(&bench).len(), 0);
}

/// What the program prints to be filled in is what it reads.
#[test]
fn the_template_is_taken_as_it_is() {
    let bench = bench("");
    let template = bench.run(&["take", "--template"]);
    assert_eq!(template.code, 0);
    let path = bench.root.path().join("orders.csv");
    fs::write(&path, &template.out).unwrap();
    let ran = bench.run(&["take", path.to_str().unwrap()]);
    assert_eq!(ran.code, 0, "{}{}", ran.out, ran.err);
    let orders = inbox(&bench);
    assert_eq!(orders.len(), 1);
    // What its garments are made of, where that is not as the recipe says.
    let lines = orders[0]["lines"].as_array().unwrap();
    let cloths: Vec<&str> = lines.iter().filter_map(|line| line["cloth"].as_str()).collect();
    assert_eq!((lines.len(), cloths), (6, vec!["Blend", "Blend"]));
    let wrong = [
        ("order,count,colour,recipe,cloth\nChoir,1,black,dark-cotton,wool\n", "nothing was taken"),
        ("order,colour\nChoir,black\n", "no column says how many"),
        ("a,b\n1,2\n", "no row names"),
        ("order,count,Qty\nChoir,1,1\n", "names a column that is there already"),
    ];
    for (text, words) in wrong {
        fs::write(&path, text).unwrap();
        let ran = bench.run(&["take", path.to_str().unwrap()]);
        assert_eq!(ran.code, 2);
        assert!(ran.err.contains(words), "{}", ran.err);
    }
}

/// What the board is answered by whoever reads a file of its folder for it.
fn for_the_board(bench: &Bench, path: &Path, stamp: Stamp) -> Value {
    let answer = bench.root.path().join("answer.json");
    let (path, to) = (path.to_str().unwrap(), answer.to_str().unwrap());
    let ran = bench.run(&["take", path, "--for-board", to, "--stamp", &stamp.to_string()]);
    assert_eq!((ran.code, ran.err.as_str()), (0, ""));
    serde_json::from_slice(&fs::read(answer).unwrap()).unwrap()
}

/// One that was whole is replaced by one that is half written: nothing of that is laid.
#[test]
fn another_file_than_the_board_saw_is_not_taken() {
    let bench = bench("");
    let path = bench.root.path().join("orders.csv");
    fs::copy(table("sums.csv"), &path).unwrap();
    let seen = Stamp::at(&path).unwrap();
    fs::write(&path, "order,count,colour,recipe\nHarbour choir,1").unwrap();
    let answer = for_the_board(&bench, &path, seen);
    assert_eq!((&answer["changed"], inbox(&bench).len()), (&Value::Bool(true), 0), "{answer}");
    fs::copy(table("sums.csv"), &path).unwrap();
    let answer = for_the_board(&bench, &path, Stamp::at(&path).unwrap());
    assert_eq!((&answer["changed"], inbox(&bench).len()), (&Value::Bool(false), 2), "{answer}");
}

#[test]
fn the_board_is_told_the_first_wrong_rows_and_how_many_there_are() {
    let bench = bench("");
    let path = bench.root.path().join("orders.csv");
    let rows = (0..500).map(|n| format!("Harbour choir {n},many,black,dark-cotton\n"));
    fs::write(&path, format!("order,count,colour,recipe\n{}", rows.collect::<String>())).unwrap();
    let not_taken = &for_the_board(&bench, &path, Stamp::at(&path).unwrap())["not_taken"];
    let first = not_taken["first"].as_array().unwrap();
    assert_eq!((first.len(), &not_taken["more"]), (20, &Value::from(480)), "{not_taken}");
    assert!(first[19].as_str().unwrap().starts_with("orders.csv line 21: count"), "{not_taken}");
}
