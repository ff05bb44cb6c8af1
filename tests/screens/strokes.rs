//! The strokes that the remaining tasks take on the keypad; and `*` with a digit in every field of every form.

use dwell::screen::act::Effect;
use dwell::screen::input::{Key, KeyCode};
use dwell::screen::keymap::{Deed, Keymap};
use dwell::shop::facts::bottle::Contents;
use dwell::shop::facts::fact::LotRegistered;
use dwell::shop::facts::ids::PressNo;
use dwell::shop::rules::command::Command;

use super::keypad::{keys, on_keypad, shop, strike};
use super::stage::Stage;

/// What a task's strokes have stated, in words.
fn told(mut stage: Stage, strokes: usize, typed: &str) -> String {
    assert_eq!(keys(typed).len(), strokes, "{typed}");
    let before = stage.world.events.len();
    on_keypad(&mut stage, typed);
    let said = stage.world.events[before..].iter().map(|event| event.fact.in_words());
    said.collect::<Vec<_>>().join("; ")
}

#[test]
fn sheets_people_and_fills_take_as_few_strokes_as_they_are_said_to() {
    assert!(told(shop(), 1, "/").contains("wiped"));
    // The sheet that is used lies at the other press, which is shut.
    let mut stage = shop();
    stage.world.wait(40.0);
    stage.world.must(Command::Open { press: PressNo(1) });
    assert!(told(stage, 2, "+ 6").contains("set aside"));
    let mut stage = shop();
    stage.world.wait(600.0);
    assert!(stage.text(80, 24).contains("TOO LONG"));
    let stage = stage.struck("+0");
    assert!(told(stage, 2, "* 1").contains("opened press 1"));
    // A figure will do for initials: three strokes lead there, one ends it.
    assert!(told(shop(), 5, "+ . 6 7 Enter").contains("7 opens the shift"));
    let mut stage = shop();
    stage.world.must(Command::RegisterLot(LotRegistered {
        lot: "2118".to_owned(),
        contents: Contents::PretreatmentFluid,
        best_before: None,
        place: "booth".to_owned(),
    }));
    let said = told(stage, 14, "+ . 1 2 1 1 8 Enter 7 9 3 0 0 +");
    assert!(said.contains("sprayer filled: 300 g of lot 2118"), "{said}");
}

/// What an order that is typed comes to.
fn taken(stage: &mut Stage, typed: &str) -> dwell::shop::facts::order::OrderForm {
    match on_keypad(stage, typed).as_slice() {
        [Effect::Do(Command::TakeOrder { form, .. })] => form.clone(),
        other => panic!("{typed}: {other:?}: {}", stage.text(80, 24)),
    }
}

#[test]
fn a_second_line_takes_two_strokes_and_a_due_time_four() {
    let mut stage = Stage::empty(2);
    on_keypad(&mut stage, "+ 0 3 Enter Enter 1 / /");
    let second = ". 6";
    assert_eq!(keys(second).len(), 2);
    let form = taken(&mut stage, ". 6 +");
    assert_eq!(form.lines.iter().map(|line| line.count).collect::<Vec<_>>(), [3, 6]);
    let mut stage = Stage::empty(2);
    on_keypad(&mut stage, "+ 0 3 Enter Enter 1");
    // The last field, by way of the others.
    for _ in 0..9 {
        if stage.text(80, 24).contains("1600, fri 12:00") {
            break;
        }
        on_keypad(&mut stage, "Enter");
    }
    let due = "1 6 0 0";
    assert_eq!(keys(due).len(), 4);
    let form = taken(&mut stage, &format!("{due} +"));
    assert_eq!(form.due.map(|due| due.to_string()).as_deref(), Some("2026-03-02T16:00"));
}

/// Two S, four M and three L: each count at the place of its size, a dash between them.
#[test]
fn three_sizes_take_five_strokes() {
    let sizes = "2 - 4 - 3";
    assert_eq!(keys(sizes).len(), 5);
    let mut stage = Stage::empty(2);
    let form = taken(&mut stage, &format!("+ 0 {sizes} Enter Enter 1 +"));
    assert_eq!((form.count(), form.lines[0].sizes.to_string()), (9, "S 2, M 4, L 3".to_owned()));
    // One size alone, and a size that is passed over; a second line has its own row.
    let mut stage = Stage::empty(2);
    on_keypad(&mut stage, "+ 0 - 1 2 Enter Enter 1 / /");
    let form = taken(&mut stage, ". 1 - - 2 +");
    let rows: Vec<String> = form.lines.iter().map(|line| line.sizes.to_string()).collect();
    assert_eq!(rows, ["M 12", "S 1, L 2"]);
}

/// The rows of the form, without what is said of the last key.
fn form(stage: &Stage) -> Option<Vec<String>> {
    let text = stage.text(100, 36);
    let rows: Vec<&str> = text.lines().collect();
    let title = rows.iter().position(|row| row.starts_with("══ "))?;
    let own = rows[title + 1..].iter().filter(|row| !row.starts_with(" ! ") && !row.is_empty());
    Some(own.map(|row| row.trim_end().to_owned()).collect())
}

/// A press is worked from each field of each form, and nothing that was typed there changes.
#[test]
fn a_press_is_worked_from_every_field_of_every_form() {
    let map = Keymap::default();
    let (mut forms, mut fields) = (0, 0);
    for (entry, chords) in map.entries() {
        let Some(chord) = chords.first().copied() else { continue };
        // It is no form: presses are what its digits mean anyway.
        if matches!(entry.deed, Deed::Pacing | Deed::Press(_)) {
            continue;
        }
        for moves in 0..12 {
            let mut stage = shop();
            strike(&mut stage, &[chord]);
            let Some(first) = form(&stage) else { break };
            strike(&mut stage, &vec![Key::plain(KeyCode::Tab); moves]);
            // The field after the last is the first again; a form without fields closes.
            if moves > 0 && form(&stage).is_none_or(|now| now == first) {
                break;
            }
            strike(&mut stage, &[Key::letter('4')]);
            let Some(before) = form(&stage) else { continue };
            let effects = strike(&mut stage, &keys("* 2"));
            let shut =
                matches!(effects.as_slice(), [Effect::Do(Command::Shut { press: PressNo(2), .. })]);
            assert!(shut, "{} field {moves}: {effects:?}: {}", entry.name, stage.text(100, 36));
            let after = form(&stage);
            assert_eq!(after.as_ref(), Some(&before), "{} field {moves}", entry.name);
            (forms, fields) = (forms + usize::from(moves == 0), fields + 1);
        }
    }
    assert!(forms > 12 && fields > 30, "{forms} forms, {fields} fields");
}
