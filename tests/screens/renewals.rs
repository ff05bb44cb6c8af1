//! A PTFE sheet is thrown away, worn, curled or creased, and a new one laid in: the board names the sheet before and
//! after, asks, and never speaks of an age that nobody knows.

use std::sync::Arc;

use dwell::screen::input::{Key, KeyCode};
use dwell::shop::facts::fact::Fact;
use dwell::shop::facts::ids::{PressNo, SheetNo};
use dwell::shop::facts::station::Station;
use dwell::shop::floor::sheets::Sheet;
use dwell::shop::rules::command::{By, Command, Which};

use super::stage::Stage;
use super::world::{line, order};

/// A bench of so many presses, whose sheets last two presses.
fn bench(presses: usize) -> Stage {
    let mut stage = Stage::empty(presses);
    stage.world.must(Command::ReadCaution);
    let mut station = Station::clone(stage.world.shop.station().unwrap());
    station.sheet.life = 2;
    stage.world.must(Command::SetStation(Arc::new(station)));
    stage.world.must(order(vec![line(12, "dark-cotton")]));
    stage
}

/// A garment goes through a press up to its dry, which presses its sheet once.
fn dries(stage: &mut Stage, press: u8, piece: u8) {
    let press = PressNo(press);
    let garment = format!("A1-{piece:02}").parse().unwrap();
    stage.world.must(Command::Shut { press, garment, by: By::Choice });
    stage.world.wait(15.0);
    stage.world.must(Command::Open { press });
    stage.world.must(Command::HandworkDone(Which::Tagged(garment)));
    stage.world.must(Command::Shut { press, garment, by: By::Choice });
    stage.world.wait(40.0);
    stage.world.must(Command::Open { press });
}

fn sheet(stage: &Stage, no: u32) -> Sheet {
    *stage.world.shop.sheets().get(SheetNo(no)).unwrap()
}

fn says(stage: &Stage, words: &str) {
    let text = stage.text(120, 36);
    assert!(text.contains(words), "{words}:\n{text}");
}

fn says_nothing_of(stage: &Stage, words: &str) {
    let text = stage.text(120, 36);
    assert!(!text.contains(words), "{words}:\n{text}");
}

/// The key that asks which.
fn asks(stage: &mut Stage) {
    stage.key(Key::plain(KeyCode::F(8)));
}

/// The sheets that were thrown away, by what was recorded.
fn renewed(stage: &Stage) -> Vec<u32> {
    let of = |fact: &Fact| match fact {
        Fact::SheetRenewed(fact) => Some(fact.sheet.0),
        _ => None,
    };
    stage.world.events.iter().filter_map(|event| of(&event.fact)).collect()
}

/// A sheet that lay there already may be of any age: nothing is said of it until a new one is laid in.
#[test]
fn a_sheet_is_worn_once_it_has_been_new_and_seen_its_life() {
    let mut stage = bench(1);
    for piece in [1, 2, 3] {
        dries(&mut stage, 1, piece);
        says_nothing_of(&stage, "worn");
    }
    assert_eq!((sheet(&stage, 1).presses, sheet(&stage, 1).life), (3, None));
    asks(&mut stage);
    says(&stage, "Throw away sheet 1 and lay in a new one?");
    says(&stage, "sheet 1 in press 1, dry: age not known");
    let mut stage = stage.struck("+");
    let told = stage.world.events.last().unwrap().fact.in_words();
    assert_eq!(told, "sheet 1 thrown away, a new one laid in");
    assert_eq!((sheet(&stage, 1).presses, sheet(&stage, 1).life), (0, Some(0)));
    dries(&mut stage, 1, 4);
    dries(&mut stage, 1, 5);
    stage.world.must(Command::CleanSheet(SheetNo(1)));
    says(&stage, "sheet 1 worn, 2 presses: a new one, then + . .");
    let mut stage = stage.struck("+..");
    says(&stage, "sheet 1 in press 1, dry: worn, 2 presses");
    assert_eq!(renewed(&stage), [1], "asked for, nothing is thrown away yet");
    stage = stage.struck("+");
    let told = stage.world.events.last().unwrap().fact.in_words();
    assert_eq!(told, "sheet 1 thrown away after 2 presses, a new one laid in");
    assert_eq!(sheet(&stage, 1).life, Some(0));
    says_nothing_of(&stage, "worn");
    stage.world.must(Command::Undo);
    says(&stage, "sheet 1 worn, 2 presses");
}

/// The sheet that is called worn is the one that is thrown away, however much others have seen; any other is reached by
/// its number, one that is creased after few presses as well.
#[test]
fn the_sheet_that_is_named_is_the_one_that_is_thrown_away() {
    let mut stage = bench(2);
    for (press, piece) in [(1, 1), (1, 2), (1, 3), (2, 4)] {
        dries(&mut stage, press, piece);
    }
    let old = sheet(&stage, 1);
    stage.world.must(Command::RenewSheet(SheetNo(2)));
    dries(&mut stage, 2, 5);
    dries(&mut stage, 2, 6);
    says(&stage, "sheet 2 worn, 2 presses: a new one");
    asks(&mut stage);
    says(&stage, "Throw away sheet 2 and lay in a new one?");
    let mut stage = stage.struck("/");
    assert_eq!(renewed(&stage), [2]);
    asks(&mut stage);
    stage = stage.struck("+");
    assert_eq!(renewed(&stage), [2, 2]);
    assert_eq!(sheet(&stage, 1), old, "what press 1's sheet has seen stands");
    // None is worn now: the next dry comes to press 1, and the other is reached by its number.
    asks(&mut stage);
    says(&stage, "Throw away sheet 1 and lay in a new one?");
    stage = stage.struck("2");
    says(&stage, "Throw away sheet 2 and lay in a new one?");
    stage = stage.struck("+");
    assert_eq!(renewed(&stage), [2, 2, 2]);
}

/// A sheet that is set aside, or lies in a shut press, is not thrown away by a key that means another.
#[test]
fn only_sheets_of_open_presses_are_thrown_away() {
    let mut stage = bench(2);
    dries(&mut stage, 1, 1);
    stage.world.must(Command::RenewSheet(SheetNo(1)));
    dries(&mut stage, 1, 2);
    dries(&mut stage, 1, 3);
    says(&stage, "sheet 1 worn, 2 presses");
    stage.world.must(Command::SwapSheet { press: PressNo(1) });
    says_nothing_of(&stage, "worn");
    asks(&mut stage);
    says(&stage, "Throw away sheet 2 and lay in a new one?");
    says_nothing_of(&stage, "sheet 1 ");
    let mut stage = stage.struck("/");
    let garment = "A1-04".parse().unwrap();
    stage.world.must(Command::Shut { press: PressNo(1), garment, by: By::Choice });
    asks(&mut stage);
    says(&stage, "no PTFE sheet to throw away: none was used yet, or its press is shut");
    assert_eq!(renewed(&stage), [1]);
}
