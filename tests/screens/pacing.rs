//! The circle from the pacing screen to the scale to the verdict.

use dwell::figures::coat::Verdict;
use dwell::figures::fan::Profile;
use dwell::figures::strokes::Onto;
use dwell::figures::units::{Centimetres, Grams, Share};
use dwell::screen::pacing::Beat;
use dwell::shop::facts::fact::Fact;
use dwell::shop::facts::ids::PressNo;
use dwell::shop::facts::order::OrderLine;
use dwell::shop::facts::station::Sprayer;
use dwell::shop::rules::command::{By, Command};

use super::stage::Stage;
use super::world::{World, line, order, station};

/// A shop whose first garment is pre-pressed and weighed, about to be sprayed.
fn stage(change: impl FnOnce(&mut Sprayer), line: OrderLine) -> Stage {
    let mut station = station(1);
    change(station.sprayer.as_mut().unwrap());
    let mut stage = Stage::empty(1);
    stage.world = World::new(station);
    stage.world.must(order(vec![line]));
    let (press, garment) = (PressNo(1), "A1-01".parse().unwrap());
    stage.world.must(Command::Shut { press, garment, by: By::Scan });
    stage.world.wait(15.0);
    stage.world.must(Command::Open { press });
    stage.world.must(Command::Weigh { garment, grams: Grams(150.0) });
    stage
}

/// What the pacing screen says that the scale will show, once its strokes are over, and what it counts them over.
fn paced(stage: Stage) -> (Stage, f64, String) {
    let mut stage = stage.struck("p");
    assert!(stage.ui.pacing.is_some(), "no pace is shown");
    // What is said at the end stays for two seconds.
    let is_over = |stage: &Stage| {
        let beat = stage.ui.pacing.as_ref().map(|pacing| pacing.beat(stage.world.now).0);
        beat == Some(Beat::Over)
    };
    for _ in 0..4000 {
        stage.world.wait(0.5);
        if is_over(&stage) {
            let text = stage.text(120, 36);
            let (_, rest) = text.split_once("the scale should show ").unwrap();
            let (grams, over) = rest.split_once(" g more, over ").unwrap();
            let over = over.lines().next().unwrap().trim_end_matches([' ', '│']).to_owned();
            return (stage, grams.parse().unwrap(), over);
        }
    }
    panic!("the strokes never end");
}

/// Weighs what the screen said; the verdict.
fn weighed(mut stage: Stage, grams: f64) -> (Verdict, f64) {
    let garment = "A1-01".parse().unwrap();
    let events = stage.world.must(Command::Weigh { garment, grams: Grams(150.0 + grams) });
    let coat = events.iter().find_map(|event| match &event.fact {
        Fact::CoatWeighed(fact) => Some((fact.verdict, fact.coat.0)),
        _ => None,
    });
    coat.unwrap_or_else(|| panic!("{grams} g are no coat: {events:?}"))
}

/// What the screen says, sprayed and put on the scale, is inside and within a twentieth of the target: for what lies
/// past the edge, both profiles, edges and overlaps, for a print of 4 x 4 in, one of 14 x 16 in and none.
#[test]
fn what_the_pacing_screen_says_the_scale_calls_inside() {
    for onto in [Onto::Garment, Onto::Mask, Onto::Board] {
        for (profile, overlap, past) in [
            (Profile::Tapered, 0.3, 5.08),
            (Profile::Even, 0.0, 0.0),
            (Profile::Tapered, 0.7, 12.0),
            (Profile::Even, 0.5, 5.08),
        ] {
            for print in [Some("4 in x 4 in"), Some("14 in x 16 in"), None] {
                let print = print.map(|size| size.parse().unwrap());
                let sprayer = |sprayer: &mut Sprayer| {
                    (sprayer.onto, sprayer.profile) = (onto, profile);
                    (sprayer.overlap, sprayer.past) =
                        (Share(overlap), sprayer.past.alike(Centimetres(past)));
                };
                let stage = stage(sprayer, OrderLine { print, ..line(2, "dark-cotton") });
                let (stage, grams, over) = paced(stage);
                let said = if print.is_some() { "print" } else { "no print on the order line" };
                assert!(over.contains(said), "{over}");
                let (verdict, coat) = weighed(stage, grams);
                assert_eq!(verdict, Verdict::Inside, "{grams} g: {coat} g/m2");
                assert!((coat - 200.0).abs() < 10.0, "{grams} g: {coat} g/m2");
            }
        }
    }
}

/// Each place of a garment has its print: the second round is counted over its own.
#[test]
fn each_place_has_its_print() {
    let prints = [("back".to_owned(), "4 in x 4 in".parse().unwrap())].into();
    let places = vec!["back".to_owned(), "front".to_owned()];
    let print = Some("14 in x 16 in".parse().unwrap());
    let line = OrderLine { print, prints, places, ..line(1, "dark-cotton") };
    let (_, small, over) = paced(stage(|_| (), line.clone()));
    assert!(over.contains("4 in x 4 in print"), "{over}");
    assert_eq!(line.print_of(1), print);
    let front = OrderLine { prints: [].into(), ..line };
    let (_, large, _) = paced(stage(|_| (), front));
    assert!(large > 5.0 * small, "{large} g and {small} g");
}

/// A "no" to the fan stands where somebody is about to spray until somebody says that it runs.
#[test]
fn a_fan_that_does_not_run_is_named_before_the_spray() {
    let mut stage = stage(|_| (), line(2, "dark-cotton"));
    stage.world.must(Command::Sign("AK".into()));
    stage.world.must(Command::SayFan(Some(false)));
    let off = |stage: &Stage| stage.text(120, 36).contains("no spraying");
    assert!(off(&stage), "{}", stage.text(120, 36));
    let paced = stage.struck("p");
    let text = paced.text(120, 36);
    assert!(text.contains("the fan at the spray booth does not run"), "{text}");
    let mut stage = paced.struck("p");
    stage.world.must(Command::SayFan(None));
    assert!(off(&stage), "not to have seen it says nothing");
    stage.world.must(Command::SayFan(Some(true)));
    assert!(!off(&stage));
}

/// What is said of a chosen garment rests on its recorded steps.
#[test]
fn a_chosen_garment_is_to_be_sprayed_where_nobody_recorded_that() {
    let mut stage = stage(|_| (), line(2, "dark-cotton"));
    stage.ui.choice.scanned = Some("A1-01".parse().unwrap());
    let text = stage.text(120, 36);
    assert!(text.contains("roll it, then"), "{text}");
    assert!(text.contains("also records it as sprayed"), "said at its press: {text}");
}
