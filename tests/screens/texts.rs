//! Everything that the program can say on its screens, in one file that somebody can read aloud: `texts.txt`.
//!
//! It is made from the program, so that no text is forgotten: each refusal with a sample of what it speaks of (a new
//! one does not compile without), each trouble and each act of their tables, each form and answer as an act's key
//! brings it up, and then every text that stands in the source of the screen, the shop and the board.

use std::fmt::Write;
use std::path::{Path, PathBuf};

use dwell::figures::coat::NoCoat;
use dwell::figures::platen::NoGrid;
use dwell::figures::units::{Grams, Rectangle, Temperature};
use dwell::screen::keymap::{Deed, Keymap};
use dwell::shop::facts::bottle::Contents;
use dwell::shop::facts::check::Senseless;
use dwell::shop::facts::ids::{Neighbour, OrderNo, PressNo, SheetNo, Tag};
use dwell::shop::facts::morning::MorningCheck;
use dwell::shop::facts::outage::OutOfUse;
use dwell::shop::facts::step::Step;
use dwell::shop::facts::trouble::Trouble;
use dwell::shop::rules::command::NoTrialStep;
use dwell::shop::rules::command::Refusal;

use super::literals;
use super::stage::Stage;

/// A sample of every refusal; and a match that lacks one for each that has none.
macro_rules! refusals {
    ($($name:ident $(($($part:expr),*))? $({$($field:ident: $value:expr),*})?;)*) => {
        fn refusals() -> Vec<Refusal> {
            let all = vec![$(Refusal::$name $(($($part),*))? $({$($field: $value),*})?),*];
            for refusal in &all {
                match refusal {
                    $(Refusal::$name { .. } => {})*
                }
            }
            all
        }
    };
}

fn tag() -> Tag {
    "A1-04".parse().unwrap()
}

fn lot() -> String {
    "F-118".to_owned()
}

fn bench() -> Neighbour {
    Neighbour { station: "b".parse().unwrap(), name: "South bench".to_owned() }
}

const PRESS: PressNo = PressNo(2);
const SHEET: SheetNo = SheetNo(3);
const ORDER: OrderNo = OrderNo(3);

refusals! {
    NoStation;
    NoSuchPress(PRESS);
    NoSuchGarment(tag());
    PressIsShut { press: PRESS, garment: tag() };
    PressIsOpen(PRESS);
    PressOutOfUse { press: PRESS, reason: OutOfUse::Broken };
    PressInUse(PRESS);
    InPress { garment: tag(), press: PRESS };
    NotInPress(tag());
    AtAnother { garment: tag(), bench: bench() };
    IsHere(tag());
    MoveKnown(tag());
    PartKnown;
    Finished(tag());
    Out(tag());
    Undecided(tag());
    StepBefore { garment: tag(), step: Step::Spray };
    NotWaiting { garment: tag(), wanted: Step::Print };
    NoneWaits(Step::Spray);
    FewerWait { step: Step::Spray, there: 3, asked: 12 };
    NoneToStore;
    NoStack;
    NothingOnStack("2".to_owned());
    NothingToRenew(tag());
    NoLot;
    NoPlaceForLot(lot());
    LotKnown { lot: lot(), contents: Contents::Ink, before: "2027-03-31".to_owned() };
    SamePlace { place: "booth".to_owned(), contents: Contents::Ink };
    NoSuchLot(lot());
    WrongBottle { lot: lot(), contents: Contents::Ink };
    LotPast { lot: lot(), day: "2026-03-01".parse().unwrap() };
    NoFill(Grams(9000.0));
    NothingToFlush;
    NoInitials;
    BenchIsFull;
    NoShift;
    HeatNotAwaited;
    NotOnTheList(MorningCheck::NozzleCheck);
    NoHumidity(101);
    FanNotAsked;
    SampleKnown(tag());
    NoSample(tag());
    NotYetCured(tag());
    NoCycles(0);
    WashKnown(tag());
    ReturnKnown(ORDER);
    StillHere(tag());
    NoRecipe(tag());
    NotDrying(PRESS);
    SteamNoted { press: PRESS, seconds: 31.0 };
    SteamNotAsked(tag());
    NoGarmentsWeight(Grams(3.0));
    NotWeighedBefore(tag());
    DriedAlready(tag());
    Coat(NoCoat::Lighter { before: Grams(170.0), after: Grams(150.0) });
    TooMuchCoat { grams: Grams(150.0), area: Rectangle::inches(14.0, 16.0) };
    NothingChecked(PRESS);
    WeightNotAsked(tag());
    Trial(NoTrialStep::OtherFluid { now: "F-119".to_owned(), then: lot() });
    Grid(NoGrid::Ragged { row: 2, found: 2, expected: 3 });
    NoPlatensHeat(Temperature::celsius(900.0));
    NoSuchSheet(SHEET);
    SheetIsClean(SHEET);
    SheetInUse { sheet: SHEET, press: PRESS };
    NothingToSwap(PRESS);
    NoCleanSheet;
    OfAnother { order: "B3".to_owned().try_into().unwrap(), bench: bench() };
    MadeElsewhere("B3".to_owned());
    NoSuchOrder(ORDER);
    NoSuchLine { order: ORDER, line: 4, there: 2 };
    NothingChanged(ORDER);
    NothingToCancel(ORDER);
    FewerLeft { order: ORDER, there: 4, asked: 9 };
    NotAsked;
    NothingToCorrect;
    TooLongAgo(900.0);
    NothingToUndo;
    LaidForAll("A17 \"Harbour choir\"".into());
    SaidForAll("A17 \"Harbour choir\"".into());
    CancelledForAll("A17 \"Harbour choir\"".into());
    SenselessOrder(Senseless::new("lines[0].count", "0 garments: expected 1 to 9999"));
    OrderKnown;
}

/// What an act's key brings up: a form with its rows, or the message and the question.
fn brought_up(mut stage: Stage, keys: &[dwell::screen::input::Key]) -> String {
    for key in keys {
        stage.world.wait(0.2);
        stage.key(*key);
    }
    let text = stage.text(100, 30);
    let rows: Vec<&str> = text.lines().map(str::trim_end).collect();
    let strip = rows.iter().position(|row| row.starts_with("══ "));
    let from = strip.unwrap_or(rows.len().saturating_sub(3));
    // What the footer says stands above: the keys of all acts.
    let end = if strip.is_some() { rows.len() } else { rows.len().saturating_sub(1) };
    // So does the row of more keys, where no question takes its place.
    let is_said = |row: &&&str| !row.trim().is_empty() && !row.contains("s store  w swap");
    let rows = rows[from..end].iter().filter(is_said);
    rows.map(|row| format!("  {row}\n")).collect()
}

fn acts(text: &mut String) {
    let map = Keymap::default();
    text.push_str("\n# What each key is for\n");
    for (entry, _) in map.entries() {
        writeln!(text, "{}: {} ({})", map.key(entry.deed), entry.says, entry.word).unwrap();
    }
    text.push_str("\n# What each act brings up: before the first order, then in a shift\n");
    // All presses say the same.
    let another_press = |deed: Deed| matches!(deed, Deed::Press(press) if press.0 != 1);
    for (entry, keys) in map.entries().filter(|(entry, _)| !another_press(entry.deed)) {
        writeln!(text, "\n{}", entry.name).unwrap();
        let keys: Vec<_> = keys.first().copied().into_iter().collect();
        let stages = [Stage::empty(2), Stage::in_a_shift(2, 20.0, 1)];
        let mut said = stages.map(|stage| brought_up(stage, &keys)).to_vec();
        said.dedup();
        said.iter().for_each(|one| text.push_str(one));
    }
}

fn troubles(text: &mut String) {
    text.push_str("\n# Troubles: causes, what to do, what can become of the garment\n");
    for trouble in Trouble::ALL {
        let row = trouble.row();
        let becomes: Vec<&str> = row.becomes.iter().map(|outcome| outcome.words()).collect();
        let becomes = becomes.join(", ");
        writeln!(text, "{}: {} / {} / {becomes}", row.words, row.causes, row.remedy).unwrap();
    }
}

/// What these say to SQLite nobody reads.
const STORED: [&str; 5] = [
    "journal/reader.rs",
    "journal/row.rs",
    "journal/schema.rs",
    "journal/story.rs",
    "journal/views.rs",
];

fn is_rust(path: &Path) -> bool {
    path.extension().is_some_and(|end| end == "rs")
}

/// The files whose texts come to a screen.
fn sources() -> Vec<PathBuf> {
    fn under(directory: &Path, found: &mut Vec<PathBuf>) {
        let entries = std::fs::read_dir(directory).unwrap().map(|entry| entry.unwrap().path());
        for path in entries {
            match path.is_dir() {
                true => under(&path, found),
                false => found.push(path),
            }
        }
    }
    let mut found = Vec::new();
    for room in ["screen", "shop", "shell"] {
        under(&support::root().join("src").join(room), &mut found);
    }
    let is_said = |path: &PathBuf| {
        let is = |end: &str| path.ends_with(end);
        is_rust(path) && !is("tests.rs") && !STORED.iter().any(|file| is(file))
    };
    found.retain(is_said);
    found.sort();
    found
}

fn of_source(text: &mut String) {
    text.push_str("\n# Every text in the source, in braces what is put in\n");
    for path in sources() {
        let source = std::fs::read_to_string(&path).unwrap();
        let name = path.strip_prefix(support::root().join("src")).unwrap().display().to_string();
        // A word alone is a label on the screen; elsewhere it is the name of something.
        let least_words = if name.starts_with("screen") { 1 } else { 2 };
        let said = literals::texts(&source, least_words);
        if !said.is_empty() {
            writeln!(text, "\n{name}").unwrap();
            said.iter().for_each(|one| writeln!(text, "  {one}").unwrap());
        }
    }
}

/// Accepted like a picture, with `INSTA_UPDATE=always`, and read.
#[test]
fn all_that_the_program_can_say_stands_in_one_file() {
    let mut text = String::from(
        "All that the program can say on its screens. Made by tests/screens/texts.rs.\n",
    );
    text.push_str("\n# Why something is not done\n");
    refusals().iter().for_each(|refusal| writeln!(text, "{refusal}").unwrap());
    troubles(&mut text);
    acts(&mut text);
    of_source(&mut text);
    let path = support::root().join("tests/screens/texts.txt");
    let kept = std::fs::read_to_string(&path).unwrap_or_default();
    if kept == text {
        return;
    }
    if std::env::var("INSTA_UPDATE").is_ok_and(|how| how == "always") {
        return std::fs::write(&path, text).unwrap();
    }
    let other = kept.lines().zip(text.lines()).find(|(kept, now)| kept != now);
    panic!(
        "tests/screens/texts.txt is not what the program says: {other:?}; INSTA_UPDATE=always writes it"
    );
}
