//! The strokes that the remaining tasks take on the keypad; and `*` with a digit in every field of every form.

use dwell::screen::act::Effect;
use dwell::screen::input::{Key, KeyCode};
use dwell::screen::keymap::{Deed, Keymap};
use dwell::shop::facts::bottle::Contents;
use dwell::shop::facts::cloth::Cloth;
use dwell::shop::facts::fact::LotRegistered;
use dwell::shop::facts::ids::PressNo;
use dwell::shop::rules::command::{By, Command};

use super::keypad::{keys, on_keypad, shop, strike};
use super::stage::Stage;
use super::world::{line, order};

/// A task of an operator at the keypad.
struct Task {
    name: &'static str,
    /// So many strokes it takes.
    strokes: usize,
    shop: fn() -> Stage,
    /// What has been struck already, and is not counted.
    before: &'static str,
    typed: &'static str,
    /// What is struck afterwards, so that it is seen what came of it.
    after: &'static str,
    /// What was stated, asked of the shell or shown.
    told: &'static str,
}

const fn task(
    name: &'static str,
    strokes: usize,
    (shop, before): (fn() -> Stage, &'static str),
    typed: &'static str,
    after: &'static str,
    told: &'static str,
) -> Task {
    Task { name, strokes, shop, before, typed, after, told }
}

fn empty() -> Stage {
    Stage::empty(2)
}

/// A garment has been dried a while ago, and its press is open.
fn dried() -> Stage {
    let mut stage = shop();
    stage.world.wait(30.0);
    stage.world.must(Command::Open { press: PressNo(1) });
    stage
}

fn late() -> Stage {
    let mut stage = shop();
    stage.world.wait(600.0);
    assert!(stage.text(80, 24).contains("TOO LONG"));
    stage
}

/// Twelve blanks have been pre-pressed, one after the other.
fn twelve_pressed() -> Stage {
    let mut stage = Stage::empty(1);
    stage.world.must(order(vec![line(12, "dark-cotton")]));
    for n in 1..=12 {
        let (press, garment) = (PressNo(1), format!("A1-{n:02}").parse().unwrap());
        stage.world.must(Command::Shut { press, garment, by: By::Scan });
        stage.world.wait(15.0);
        stage.world.must(Command::Open { press });
    }
    stage
}

/// A bottle's label has been read in.
fn labelled() -> Stage {
    let mut stage = shop();
    stage.world.must(Command::RegisterLot(LotRegistered {
        lot: "2118".to_owned(),
        contents: Contents::PretreatmentFluid,
        best_before: None,
        place: "booth".to_owned(),
    }));
    stage
}

/// Past the other fields to the last one.
const TO_DUE: &str = "+ 0 3 Enter Enter 1 Enter Enter Enter Enter Enter Enter Enter Enter";

#[rustfmt::skip]
const TASKS: [Task; 24] = [
    task("press", 1, (shop, ""), "2", "", "shut press 2"),
    task("sprayed", 1, (shop, ""), "Enter", "", "sprayed A1-02"),
    task("printed", 1, (shop, ""), "0", "", "printed A1-03"),
    task("undo", 1, (shop, ""), "-", "", "undid"),
    task("wiped", 1, (shop, ""), "/", "", "wiped, both sides"),
    task("steam", 1, (shop, ""), "*", "", "steam of press 1 stopped"),
    task("answer a question", 2, (shop, ""), "+ 1", "", "read: the board is no safety device"),
    task("next screen", 2, (shop, ""), "+ Enter", "", "[Pace]"),
    task("trouble with its outcome", 3, (shop, ""), ". 1 3", "", "scorched: second quality"),
    task("weigh 152.4", 8, (shop, ""), "+ 9 1 5 2 . 4 Enter", "", "A1-02 weighs 152.4 g dry"),
    task("order of 12, underbase", 7, (empty, ""), "+ 0 1 2 + 1 +", "", "taken in: 12 garments"),
    task("due today 16:00", 4, (empty, TO_DUE), "1 6 0 0", "+", "taken in: 3 garments"),
    task("late press from a form", 2, (late, "+ 0"), "* 1", "", "opened press 1"),
    task("fill 300 g", 14, (labelled, ""), "+ . 1 2 1 1 8 Enter 7 9 3 0 0 +", "", "sprayer filled: 300 g of lot 2118"),
    task("store", 2, (shop, ""), "+ 4", "", "stored A1-03"),
    task("swap sheet", 2, (dried, ""), "+ 6", "", "set aside"),
    task("quiet", 2, (late, ""), "+ -", "", "Quiet"),
    task("why it clings", 2, (dried, ""), ". 0", "", "Why does the sheet cling"),
    task("pick, one press open", 3, (shop, ""), "+ 7 2", "", "shuts press 2 on"),
    task("12 sprayed", 5, (twelve_pressed, ""), "+ 8 1 2 Enter", "", "sprayed A1-12"),
    task("second line of 6", 2, (empty, "+ 0 3 Enter Enter 1 / /"), ". 6", "+", "taken in: 9 garments"),
    task("20 s earlier", 5, (dried, ""), ". - 2 0 Enter", "", "20 s before you pressed the key"),
    task("cancel a form", 2, (shop, "+ 0 1"), "* .", "", "kept for later"),
    // A figure will do for initials: three strokes lead there, one ends it.
    task("initials", 5, (shop, ""), "+ . 6 7 Enter", "", "7 opens the shift"),
];

/// Each task takes as many strokes as it is said to, and none takes more than that to come to what it is for.
#[test]
fn each_task_takes_as_few_strokes_as_it_is_said_to() {
    for task in TASKS {
        let mut stage = (task.shop)();
        on_keypad(&mut stage, task.before);
        let before = stage.world.events.len();
        assert_eq!(keys(task.typed).len(), task.strokes, "{}", task.name);
        let mut effects = on_keypad(&mut stage, task.typed);
        effects.extend(on_keypad(&mut stage, task.after));
        let facts = stage.world.events[before..].iter().map(|event| event.fact.in_words());
        let shown = [stage.text(120, 36), format!("{effects:?}")];
        let said: Vec<String> = facts.chain(shown).collect();
        assert!(said.iter().any(|text| text.contains(task.told)), "{}: {said:#?}", task.name);
    }
}

/// What an order that is typed comes to.
fn taken(stage: &mut Stage, typed: &str) -> dwell::shop::facts::order::OrderForm {
    match on_keypad(stage, typed).as_slice() {
        [Effect::Do(Command::TakeOrder { form, .. })] => form.clone(),
        other => panic!("{typed}: {other:?}: {}", stage.text(80, 24)),
    }
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

/// What the stroke table types as a due time is that of the order.
#[test]
fn four_figures_are_a_due_time() {
    let mut stage = Stage::empty(2);
    on_keypad(&mut stage, TO_DUE);
    let form = taken(&mut stage, "1 6 0 0 +");
    assert!(form.due.is_some_and(|due| due.to_string().contains("16:00")), "{form:?}");
}

/// A zip, hood, pocket or seam is two strokes in its field.
#[test]
fn a_pad_takes_two_strokes() {
    let mut stage = Stage::empty(2);
    // By way of name, colour, artwork and size mark.
    on_keypad(&mut stage, "+ 0 3 Enter Enter 1 Enter Enter Enter Enter Enter");
    let pad = ". 2";
    assert_eq!(keys(pad).len(), 2);
    let form = taken(&mut stage, &format!("{pad} +"));
    assert_eq!(form.lines[0].pad.map(|pad| pad.to_string()).as_deref(), Some("hood"));
}

/// What a garment is made of is two strokes in the last field; who does not want it never comes there. The press says that
/// its dye does not bear the heat, as of an order from a file.
#[test]
fn a_cloth_takes_two_strokes_and_its_dye_is_warned_of() {
    let mut stage = Stage::empty(2);
    on_keypad(&mut stage, TO_DUE);
    on_keypad(&mut stage, "Enter");
    let text = stage.text(100, 36);
    assert!(text.contains("as its recipe (cotton); . a list"), "{text}");
    let cloth = ". 3";
    assert_eq!(keys(cloth).len(), 2);
    let form = taken(&mut stage, &format!("{cloth} +"));
    assert_eq!(form.lines[0].cloth, Some(Cloth::Polyester));
    stage.world.must(Command::TakeOrder { form, file: None });
    stage.ui.form = None;
    let text = stage.text(200, 56);
    assert!(text.contains("polyester at 340 F: its dye may migrate above 300 F"), "{text}");
    // Nothing typed: as the recipe says.
    let mut stage = Stage::empty(2);
    on_keypad(&mut stage, TO_DUE);
    assert_eq!(taken(&mut stage, "Enter +").lines[0].cloth, None);
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
