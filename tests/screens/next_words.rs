//! What NEXT says beside its big words, at the smallest usual size: what holds the shop back is fed, what is stored is no
//! end of its order, and every act names its key.

use dwell::figures::units::Grams;
use dwell::shop::facts::bottle::Contents;
use dwell::shop::facts::fact::{LotRegistered, SprayerFilled};
use dwell::shop::facts::ids::PressNo;
use dwell::shop::facts::step::Pressure;
use dwell::shop::rules::command::{By, Command, Which};

use super::stage::Stage;
use super::world::{line, order};

const PRESS: PressNo = PressNo(1);

/// A garment through pre-press, or through the dryer too.
fn pressed(stage: &mut Stage, tag: &str, times: usize) {
    for seconds in [15.0, 40.0].into_iter().take(times) {
        let garment = tag.parse().unwrap();
        stage.world.must(Command::Shut { press: PRESS, garment, by: By::Scan });
        stage.world.wait(seconds);
        stage.world.must(Command::Open { press: PRESS });
    }
}

fn shop(garments: u32) -> Stage {
    let mut stage = Stage::empty(1);
    stage.world.must(Command::ReadCaution);
    stage.world.must(order(vec![line(garments, "dark-cotton")]));
    stage
}

fn says(stage: &Stage, words: &str) {
    let text = stage.text(80, 24);
    assert!(text.contains(words), "{words}:\n{text}");
}

/// The sprayer has less in it than a garment takes.
pub fn too_little_fluid(stage: &mut Stage) {
    stage.world.must(Command::RegisterLot(LotRegistered {
        lot: "F1".to_owned(),
        contents: Contents::PretreatmentFluid,
        best_before: None,
        place: "booth".to_owned(),
    }));
    stage.world.must(Command::FillSprayer(SprayerFilled {
        lot: "F1".to_owned(),
        grams: Grams(2.0),
        scanned: true,
        over: None,
        fluid: None,
    }));
}

/// The sprayer is filled once the printer has been served.
#[test]
fn an_empty_sprayer_does_not_stand_before_a_printer_that_waits() {
    let mut stage = shop(2);
    pressed(&mut stage, "A1-01", 2);
    too_little_fluid(&mut stage);
    pressed(&mut stage, "A1-02", 1);
    stage.world.wait(900.0);
    says(&stage, "or FILL: not enough fluid for A1-02");
    stage.world.must(Command::Printed(Which::First(1)));
    pressed(&mut stage, "A1-01", 1);
    says(&stage, "not enough fluid for A1-02");
    assert!(!stage.text(80, 24).contains("or FILL"), "{}", stage.text(80, 24));
}

#[test]
fn what_is_stored_is_no_end_of_its_order() {
    let mut stage = shop(1);
    pressed(&mut stage, "A1-01", 2);
    stage.world.must(Command::Store(Which::All));
    stage.world.wait(20.0);
    says(&stage, "1 on the shelf: + 7 picks one");
}

/// The caution is never what cuts the key off.
#[test]
fn a_wipe_names_its_keys_beside_its_caution() {
    let mut stage = shop(12);
    for n in 1..=12 {
        if stage.text(80, 24).contains("alcohol burns") {
            break;
        }
        pressed(&mut stage, &format!("A1-{n:02}"), 2);
    }
    for words in ["both sides, then /", "alcohol burns", "or swap it: + 6"] {
        says(&stage, words);
    }
}

/// Where all that waits wants another heat, the press is set to it before anything else; both heats are said.
#[test]
fn a_press_at_another_heat_is_what_comes_next() {
    let mut stage = shop(2);
    let dial = "220 F".parse().unwrap();
    stage.world.must(Command::SetDial { press: PRESS, dial, pressure: Pressure::Medium });
    says(&stage, "press 1 to ");
    says(&stage, "it is set to ");
    says(&stage, "when it is turned: ");
}
