//! What a garment asks for at the press. A press step with a shape: it hovers, closes, is lifted half-way and closed again, and its garment rests before it is
//! printed. One key begins it; what is to be done then stands on the panel and beside NEXT at its second. How long, a
//! recipe says: the figures here are from memory.

use std::sync::Arc;
use std::time::Duration;

use dwell::figures::units::{Grams, Span};
use dwell::forecast::coats::Coats;
use dwell::screen::ui::Pane;
use dwell::shop::facts::fact::{Fact, Timing};
use dwell::shop::facts::ids::PressNo;
use dwell::shop::facts::order::OrderLine;
use dwell::shop::facts::pad::Tender;
use dwell::shop::facts::recipe::Recipe;
use dwell::shop::facts::station::Station;
use dwell::shop::rules::causes::Cause;
use dwell::shop::rules::command::{By, Command, Which};

use super::stage::Stage;
use super::world::{line, order};

const PRESS: PressNo = PressNo(1);

fn says(stage: &Stage, words: &str) {
    let text = stage.text(80, 24);
    assert!(text.contains(words), "{words}:\n{text}");
}

/// A bench whose recipe hovers 6 s, lifts 4 s in the middle of its 15 s pre-press, and lets garments rest for 30 s.
fn shaped() -> Stage {
    let mut stage = Stage::empty(1);
    stage.world.must(Command::ReadCaution);
    let mut recipe = Recipe::clone(stage.world.shop.recipes().named("dark-cotton").unwrap());
    recipe.prepress.hover = Some(Span::seconds(6));
    recipe.prepress.lift = Some(Span::seconds(4));
    recipe.rest = Some(Span::seconds(30));
    recipe.check().unwrap();
    let (name, recipe) = ("dark-cotton".to_owned(), Arc::new(recipe));
    stage.world.must(Command::KeepRecipe { name, recipe });
    stage.world.must(order(vec![line(1, "dark-cotton")]));
    stage
}

#[test]
fn what_is_to_be_done_at_a_shaped_press_is_said_at_its_second() {
    let mut stage = shaped();
    says(&stage, "hover 6s, then close; lift it half-way for 4s");
    says(&stage, "lay it in, press 1 as you begin");
    let shut = Command::Shut { press: PRESS, garment: "A1-01".parse().unwrap(), by: By::Choice };
    stage.world.must(shut);
    let begun = stage.world.now;
    let due = stage.world.shop.next_deadline(begun).unwrap();
    assert!(due > Duration::from_secs(6) && due < Duration::from_secs(7), "{due:?}");
    // 6 s hovering, 7.5 s shut, 4 s lifted, 7.5 s shut.
    for (second, word, beside) in [
        (0.0, "HOVER", None),
        (5.0, "HOVER", None),
        (7.0, "CLOSE IT", Some("A1-01 pre-press: now, no key")),
        (12.0, "RUNNING", None),
        (14.0, "LIFT IT", Some("A1-01 pre-press: half-way, no key")),
        (18.0, "CLOSE IT", Some("A1-01 pre-press: now, no key")),
        (23.0, "RUNNING", None),
        (26.0, "OPEN NOW", None),
    ] {
        stage.world.now = begun.plus(Duration::from_secs_f64(second));
        says(&stage, word);
        beside.into_iter().for_each(|words| says(&stage, words));
    }
    // The whole of it counts: it is neither early nor late.
    let opened = stage.world.must(Command::Open { press: PRESS });
    let Fact::PressOpened(opened) = &opened[0].fact else { panic!("{opened:?}") };
    assert_eq!((opened.seconds, opened.timing), (Some(26.0), Timing::InTime));
}

/// A zip in the print and a colour that scorches are said of the first of a line in a press, and not again.
#[test]
fn a_pad_and_a_tender_colour_are_said_once_a_line() {
    let mut stage = Stage::empty(1);
    stage.world.must(Command::ReadCaution);
    let mut station = Station::clone(stage.world.shop.station().unwrap());
    station.tender.insert("Black".to_owned(), Tender::Scorches);
    station.check().unwrap();
    stage.world.must(Command::SetStation(Arc::new(station)));
    let pad = Some("zip".parse().unwrap());
    stage.world.must(order(vec![OrderLine { pad, ..line(2, "dark-cotton") }]));
    let words = ["zip: a pad of 6 mm under the print", "black scorches: try it cooler"];
    words.iter().for_each(|words| says(&stage, words));
    let shut = Command::Shut { press: PRESS, garment: "A1-01".parse().unwrap(), by: By::Choice };
    let mut events = stage.world.must(shut);
    stage.world.wait(15.0);
    events.extend(stage.world.must(Command::Open { press: PRESS }));
    events.iter().for_each(|event| stage.ui.remember(event));
    let text = stage.text(80, 24);
    assert!(words.iter().all(|words| !text.contains(words)), "{text}");
    // A colour that the station does not know is a slip of the pen.
    let mut station = Station::clone(stage.world.shop.station().unwrap());
    station.tender.insert("blakc".to_owned(), Tender::Marks);
    assert!(station.check().unwrap_err().to_string().starts_with("tender: \"blakc\" is no colour"));
}

#[test]
fn a_garment_rests_before_it_is_printed() {
    let mut stage = shaped();
    let shut = Command::Shut { press: PRESS, garment: "A1-01".parse().unwrap(), by: By::Choice };
    stage.world.must(shut.clone());
    stage.world.wait(26.0);
    stage.world.must(Command::Open { press: PRESS });
    stage.world.must(Command::HandworkDone(Which::First(1)));
    stage.world.must(shut);
    stage.world.wait(40.0);
    stage.world.must(Command::Open { press: PRESS });
    says(&stage, "let it rest 30 s more");
    stage.world.wait(20.0);
    says(&stage, "let it rest 10 s more");
    stage.world.wait(10.0);
    let text = stage.text(80, 24);
    assert!(!text.contains("let it rest"), "{text}");
}

/// Press 1 dries the first garment, by a recipe that hovers for so long first.
fn drying(hover: Option<Span>) -> Stage {
    let mut stage = Stage::empty(1);
    stage.world.must(Command::ReadCaution);
    let mut recipe = Recipe::clone(stage.world.shop.recipes().named("dark-cotton").unwrap());
    recipe.dry.hover = hover;
    recipe.check().unwrap();
    let (name, recipe) = ("dark-cotton".to_owned(), Arc::new(recipe));
    stage.world.must(Command::KeepRecipe { name, recipe });
    stage.world.must(order(vec![line(1, "dark-cotton")]));
    let garment = "A1-01".parse().unwrap();
    let shut = Command::Shut { press: PRESS, garment, by: By::Choice };
    stage.world.must(shut.clone());
    stage.world.wait(16.0);
    stage.world.must(Command::Open { press: PRESS });
    stage.world.must(Command::Weigh { garment, grams: Grams(150.0) });
    stage.world.must(Command::HandworkDone(Which::First(1)));
    stage.world.must(Command::Weigh { garment, grams: Grams(178.0) });
    stage.world.must(shut);
    stage
}

/// The second of the steam is counted from the key, and so is the one by which it should have stopped: a platen that
/// hovers for 6 s first makes both later, wherever they are told, and nobody is blamed for too much fluid.
#[test]
fn the_steam_of_a_dry_that_hovers_is_later_by_its_hover_everywhere() {
    let by_hover = |hover, second: f64| {
        let mut stage = drying(hover);
        let load = stage.world.shop.load(PRESS).unwrap();
        let made_up = Coats::new(7).steam(&stage.world.shop, PRESS, load).unwrap();
        stage.world.wait(second);
        stage.world.must(Command::SteamStopped { press: PRESS });
        let shop = &stage.world.shop;
        let suspects = shop.suspects("A1-01".parse().unwrap(), stage.world.now);
        let fluid = suspects.into_iter().find(|one| one.cause == Cause::TooMuchFluid).unwrap();
        let coat = stage.on(Pane::Coat).text(120, 36);
        (made_up, fluid.evidence, coat)
    };
    let (plain, late, coat) = by_hover(None, 38.0);
    assert!(late.contains("steam until 38 s, should stop by 35 s"), "{late}");
    assert!(coat.contains("gone by 35 s"), "{coat}");
    let (hovering, right, coat) = by_hover(Some(Span::seconds(6)), 38.0);
    assert!(right.contains("steam gone at 38 s"), "{right}");
    assert!(coat.contains("gone by 41 s"), "{coat}");
    assert!((hovering - plain - 6.0).abs() < 1e-9, "{plain} {hovering}");
}
