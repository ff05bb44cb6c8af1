//! What the first day says, by what the board asks at that moment: never of a thing that is not there.

use dwell::screen::ui::Practice;
use dwell::shop::facts::ids::PressNo;
use dwell::shop::facts::step::Step;
use dwell::shop::rules::command::{By, Command, Which};

use super::next_words::too_little_fluid;
use super::stage::Stage;
use super::world::{World, line, order, station};

const PRESS: PressNo = PressNo(1);

fn first_day(world: World) -> Stage {
    let mut stage = Stage::empty(1);
    stage.world = world;
    stage.ui.practice = Some(Practice::FirstDay);
    stage.world.must(Command::ReadCaution);
    stage
}

fn at_station(change: impl Fn(&mut dwell::shop::facts::station::Station)) -> Stage {
    let mut own = station(1);
    change(&mut own);
    first_day(World::new(own))
}

/// The strip's words, without its line breaks.
fn says(stage: &Stage, words: &str) {
    let text = stage.text(80, 24);
    let strip = text.split("First day").nth(1).unwrap_or_default();
    let said: Vec<&str> = strip.split_whitespace().collect();
    assert!(said.join(" ").contains(words), "{words}:\n{text}");
}

fn shut(stage: &mut Stage, tag: &str) {
    let garment = tag.parse().unwrap();
    stage.world.must(Command::Shut { press: PRESS, garment, by: By::Scan });
}

fn pressed(stage: &mut Stage, tag: &str, seconds: f64) {
    shut(stage, tag);
    stage.world.wait(seconds);
    stage.world.must(Command::Open { press: PRESS });
}

#[test]
fn one_without_a_coat_has_no_sheet_to_tell_of_it() {
    let mut stage = at_station(|_| {});
    let mut plain = line(1, "dark-cotton");
    plain.underbase = Some(false);
    stage.world.must(order(vec![plain]));
    pressed(&mut stage, "A1-01", 15.0);
    says(&stage, "This one takes no fluid here");
    let mut coated = at_station(|_| {});
    coated.world.must(order(vec![line(1, "dark-cotton")]));
    pressed(&mut coated, "A1-01", 15.0);
    coated.world.must(Command::HandworkDone(Which::First(1)));
    pressed(&mut coated, "A1-01", 40.0);
    says(&coated, "How the sheet came off");
}

#[test]
fn what_comes_before_the_spray_is_said_first() {
    let mut stage = at_station(|_| {});
    stage.world.must(order(vec![line(1, "dark-cotton")]));
    pressed(&mut stage, "A1-01", 15.0);
    says(&stage, "WEIGH: this garment is one of those");
    stage.world.must(Command::Sign("AK".into()));
    stage.world.must(Command::SayFan(Some(false)));
    says(&stage, "FAN ON: somebody has said");
    stage.world.must(Command::SayFan(Some(true)));
    too_little_fluid(&mut stage);
    says(&stage, "FILL: there is not enough fluid");
}

#[test]
fn a_press_that_opens_by_itself_is_unloaded() {
    let mut stage = at_station(|own| own.presses[0].opens_itself = true);
    stage.world.must(order(vec![line(1, "dark-cotton")]));
    shut(&mut stage, "A1-01");
    says(&stage, "This press opens by itself");
    stage.world.wait(60.0);
    says(&stage, "UNLOAD: by its profile this press opens by itself");
}

#[test]
fn a_step_that_no_press_serves_is_no_riddle() {
    let mut stage = at_station(|own| own.presses[0].uses = vec![Step::Dry, Step::Cure]);
    stage.world.must(order(vec![line(1, "dark-cotton")]));
    says(&stage, "no press of this station serves this step (pre-press)");
}

#[test]
fn the_shelf_says_how_long_by_the_recipe() {
    let mut stage = at_station(|_| {});
    stage.world.must(order(vec![line(1, "dark-cotton")]));
    pressed(&mut stage, "A1-01", 15.0);
    stage.world.must(Command::HandworkDone(Which::First(1)));
    pressed(&mut stage, "A1-01", 40.0);
    stage.world.must(Command::Store(Which::All));
    says(&stage, "keeps for 21 days, and 30 days at the most");
}
