//! The folder of orders: whatever a shop lays there is taken once it is whole, once, and what is not taken is said.

use std::fs::{self, OpenOptions};
use std::io::Write;
use std::path::{Path, PathBuf};
use std::time::Duration;

use crate::bench::Bench;
use crate::pty::Pty;

/// A bench with the shipped recipes, whose profile names a folder and says this of tables besides.
fn bench(says: &str) -> (Bench, PathBuf) {
    let bench = Bench::new(2, 20);
    let own = bench.profiles().join("recipes");
    let shipped = concat!(env!("CARGO_MANIFEST_DIR"), "/profiles/recipes");
    for recipe in ["dark-cotton.ron", "light-cotton.ron"] {
        fs::copy(format!("{shipped}/{recipe}"), own.join(recipe)).unwrap();
    }
    let folder = bench.root.path().join("orders");
    fs::create_dir(&folder).unwrap();
    bench.station_says(&format!("tables: Some((folder: Some(\"{}\"), {says})),", folder.display()));
    (bench, folder)
}

/// Lays one of the tables that shops have made.
fn lay(folder: &Path, name: &str) {
    let table = concat!(env!("CARGO_MANIFEST_DIR"), "/tests/data/tables");
    fs::copy(format!("{table}/{name}"), folder.join(name)).unwrap();
}

fn in_folder(folder: &Path) -> Vec<String> {
    let files = fs::read_dir(folder).into_iter().flatten();
    let mut names: Vec<String> =
        files.map(|file| file.unwrap().file_name().into_string().unwrap()).collect();
    names.sort();
    names
}

/// The orders in the journal, each with its garments and when it is due.
fn taken(bench: &Bench) -> Vec<String> {
    let told = |order: serde_json::Value| {
        let form = &order["form"];
        let lines = form["lines"].as_array().unwrap().iter();
        let count: u64 = lines.map(|line| line["count"].as_u64().unwrap()).sum();
        format!(
            "{} {count} {}",
            form["name"].as_str().unwrap(),
            form["due"].as_str().unwrap_or("-")
        )
    };
    let mut orders: Vec<String> = bench.past_of("order-taken").into_iter().map(told).collect();
    orders.sort();
    orders
}

/// They go through the inbox, which the board looks into twice a second.
fn wait_taken(pty: &Pty, bench: &Bench, orders: &[&str]) {
    pty.wait_until("the orders are in the journal", |_| taken(bench) == orders);
}

fn wait_moved(pty: &Pty, folder: &Path, names: &[&str]) {
    pty.wait_until("the files were moved", |_| in_folder(&folder.join("taken")) == names);
}

const GERMAN: &str = "columns: {\"Bestellung\": \"order\", \"Anzahl\": \"count\", \"Größe\": \"size\", \"Farbe\": \
                      \"colour\", \"Rezept\": \"recipe\", \"Termin\": \"due\"},";

#[test]
fn spreadsheets_tables_and_json_are_taken_once_and_moved() {
    let (bench, folder) = bench(GERMAN);
    // Beside the tables lies what is none: artwork, and what another program has in the works.
    fs::write(folder.join("choir.png"), "no picture").unwrap();
    fs::write(folder.join(".~lock.merged.xlsx#"), "somebody").unwrap();
    lay(&folder, "merged.xlsx");
    let mut pty = Pty::board(&bench);
    wait_moved(&pty, &folder, &["merged.xlsx"]);
    lay(&folder, "semicolons.csv");
    pty.wait_for("semicolons.csv: 2 orders taken; the file is now taken/semicolons.csv");
    let all = [
        "Chor am Hafen 18 2026-12-04T17:00",
        "Harbour choir 13 2026-12-04T16:00",
        "Lantern walk 12 2026-12-05T09:30",
        "Laternenlauf 4 -",
    ];
    wait_taken(&pty, &bench, &all);
    // The same file comes once more.
    lay(&folder, "merged.xlsx");
    wait_moved(&pty, &folder, &["merged-2.xlsx", "merged.xlsx", "semicolons.csv"]);
    pty.wait_for("merged.xlsx: all of it was taken before");
    assert_eq!(taken(&bench), all);
    assert_eq!(in_folder(&folder), [".~lock.merged.xlsx#", "choir.png", "taken"]);
    assert!(!pty.contents().contains("NOT TAKEN"), "{}", pty.contents());
    assert_eq!(pty.leave(), 0);
}

/// One of whose rows some are wrong is taken by its other orders and stays until it is mended; a kill doubles nothing.
#[test]
fn a_wrong_row_is_said_until_it_is_mended() {
    let (bench, folder) = bench("");
    lay(&folder, "sums.csv");
    let mut pty = Pty::board(&bench);
    pty.wait_for("NOT TAKEN: sums.csv line 3: count: 10, but its sizes make 9 (and 1 more");
    pty.wait_for("`dwell take FILE --preview`");
    let right = ["Allotment fair 5 -", "Harbour choir 9 -"];
    wait_taken(&pty, &bench, &right);
    pty.kill();
    let mut pty = Pty::board(&bench);
    pty.wait_for("NOT TAKEN: sums.csv line 3");
    assert_eq!(taken(&bench), right);
    let text = fs::read_to_string(folder.join("sums.csv")).unwrap();
    let text = text.replace("walk,10,", "walk,9,").replace("nightblue", "navy");
    fs::write(folder.join("sums.csv"), text).unwrap();
    wait_moved(&pty, &folder, &["sums.csv"]);
    pty.wait_for("sums.csv: 2 orders taken, 2 before");
    pty.wait_until("nothing is wrong any more", |screen| !screen.contains("NOT TAKEN: "));
    wait_taken(
        &pty,
        &bench,
        &["Allotment fair 5 -", "Harbour choir 9 -", "Lantern walk 9 -", "Night ferry crew 1 -"],
    );
    assert_eq!(pty.leave(), 0);
    bench.assert_sound();
}

/// Which is the day is asked once, on the board, and kept over a start; undone, it is asked again.
#[test]
fn what_stands_first_in_a_date_is_asked_once_and_kept() {
    let (bench, folder) = bench("");
    let again = |name: &str, first: &str, second: &str| {
        let text = include_str!("../data/tables/slashes.csv");
        let text = text.replace("Night ferry crew", first).replace("Allotment fair", second);
        fs::write(folder.join(name), text).unwrap();
    };
    let mut pty = Pty::board(&bench);
    pty.wait_for("No safety device");
    pty.keys("+1");
    lay(&folder, "slashes.csv");
    pty.wait_for("12/03/2027 in slashes.csv: does the day stand first?");
    pty.keys("+1");
    pty.wait_for("dates of tables: the day stands first");
    wait_moved(&pty, &folder, &["slashes.csv"]);
    pty.wait_until("nothing is asked any more", |screen| !screen.contains("day stand first?"));
    wait_taken(
        &pty,
        &bench,
        &["Allotment fair 10 2027-03-11T17:00", "Night ferry crew 8 2027-03-12T17:00"],
    );
    assert_eq!(pty.leave(), 0);
    let mut pty = Pty::board(&bench);
    again("second.csv", "Harbour choir", "Lantern walk");
    wait_moved(&pty, &folder, &["second.csv", "slashes.csv"]);
    pty.keys("-");
    pty.wait_for("undid: dates of tables");
    again("third.csv", "River class", "Garden show");
    pty.wait_for("12/03/2027 in third.csv: does the day stand first?");
    assert_eq!(taken(&bench).len(), 4);
    assert_eq!(pty.leave(), 0);
}

/// The profile's word on it goes before all.
#[test]
fn a_date_that_could_be_two_waits_for_its_answer() {
    let (bench, folder) = bench("");
    lay(&folder, "slashes.csv");
    let mut pty = Pty::board(&bench);
    pty.wait_for("NOT TAKEN: slashes.csv line 2: due: 12/03/2027 could be two dates");
    assert_eq!((taken(&bench), in_folder(&folder)), (vec![], vec!["slashes.csv".to_owned()]));
    let own = fs::read_to_string(bench.station()).unwrap();
    let says = own.replacen("tables: Some((", "tables: Some((dates: DayFirst, ", 1);
    fs::write(bench.station(), says).unwrap();
    wait_moved(&pty, &folder, &["slashes.csv"]);
    pty.wait_until("nothing waits any more", |screen| !screen.contains("NOT TAKEN"));
    wait_taken(
        &pty,
        &bench,
        &["Allotment fair 10 2027-03-11T17:00", "Night ferry crew 8 2027-03-12T17:00"],
    );
    assert_eq!(pty.leave(), 0);
}

/// Whoever writes it may rest for longer than a file that is whole.
#[test]
fn a_file_that_is_still_written_is_not_read() {
    let (bench, folder) = bench("");
    let mut pty = Pty::board(&bench);
    let path = folder.join("orders.csv");
    let mut file = OpenOptions::new().create(true).append(true).open(&path).unwrap();
    std::thread::sleep(Duration::from_secs(2));
    file.write_all(b"order,count,colour,recipe\nHarbour choir,2,black,dark-cotton\nLantern walk,1")
        .unwrap();
    std::thread::sleep(Duration::from_secs(8));
    assert_eq!(in_folder(&folder), ["orders.csv"], "{}", pty.contents());
    assert_eq!(taken(&bench).len(), 0);
    assert!(!pty.contents().contains("NOT TAKEN"), "{}", pty.contents());
    file.write_all(b"2,black,dark-cotton\n").unwrap();
    drop(file);
    wait_moved(&pty, &folder, &["orders.csv"]);
    pty.wait_until("both are there", |_| {
        taken(&bench) == ["Harbour choir 2 -", "Lantern walk 12 -"]
    });
    pty.wait_saved();
    assert_eq!(pty.leave(), 0);
}

/// Taken again with another count it would be made twice.
#[test]
fn an_open_order_that_was_changed_in_its_table_is_not_taken_beside_it() {
    let (bench, folder) = bench("");
    lay(&folder, "objects.json");
    let mut pty = Pty::board(&bench);
    wait_moved(&pty, &folder, &["objects.json"]);
    pty.wait_until("it is there", |_| taken(&bench).len() == 1);
    let text = fs::read_to_string(folder.join("taken/objects.json")).unwrap();
    fs::write(folder.join("objects.json"), text.replace("12,", "13,")).unwrap();
    pty.wait_for("NOT TAKEN: objects.json line 1: \"Harbour choir\" is on the board as order 1");
    fs::write(folder.join("objects.json"), text.replace("Harbour", "Second")).unwrap();
    pty.wait_for("objects.json: 1 order taken; the file is now taken/objects-2.json");
    pty.wait_saved();
    assert_eq!(pty.leave(), 0);
}

/// A sheet with one cell in its farthest corner fills all memory; a link and a pipe lead anywhere.
#[test]
fn whatever_lies_there_does_not_end_the_board() {
    let (bench, folder) = bench("");
    bench.take(2);
    lay(&folder, "stray.xlsx");
    std::os::unix::fs::symlink("/dev/zero", folder.join("zero.csv")).unwrap();
    let mut pty = Pty::board(&bench);
    pty.wait_for("2 blanks");
    pty.key(b"1");
    pty.wait_for("RUNNING");
    pty.wait_for("NOT TAKEN: stray.xlsx: it cannot be read, its sheet may be far too large");
    pty.wait_for("(and 1 more");
    fs::remove_file(folder.join("stray.xlsx")).unwrap();
    pty.wait_for("NOT TAKEN: zero.csv: it is no regular file");
    fs::remove_file(folder.join("zero.csv")).unwrap();
    fs::write(folder.join("letter.odt"), "no table").unwrap();
    pty.wait_for("NOT TAKEN: letter.odt: no table of orders: expected .csv");
    fs::remove_dir_all(&folder).unwrap();
    pty.wait_for("make the folder of orders");
    fs::create_dir(&folder).unwrap();
    pty.wait_until("all is well", |screen| !screen.contains("NOT TAKEN: "));
    pty.wait_saved();
    assert_eq!(pty.leave(), 0);
}
