//! An order that was taken in is changed, whatever it has of lines; one that is being typed is not lost.

use super::keypad::{keys, strike};
use super::stage::Stage;
use super::world::{line, order};
use dwell::screen::act::Effect;
use dwell::screen::input::{Key, KeyCode};
use dwell::shop::facts::ids::OrderNo;
use dwell::shop::facts::order::OrderLine;
use dwell::shop::rules::command::Command;

/// Two colours of six sizes are twelve lines: the last is reached, and each says which it is.
#[test]
fn each_of_twelve_lines_can_be_changed() {
    let sizes = ["S", "M", "L", "XL", "2XL", "3XL"];
    let colours = ["#1b2440", "#16181d"];
    let lines = colours.iter().flat_map(|colour| {
        sizes.map(|mark| OrderLine {
            mark: mark.to_owned(),
            garment: colour.parse().unwrap(),
            ..line(5, "dark-cotton")
        })
    });
    let mut stage = Stage::empty(2);
    stage.world.must(order(lines.collect()));
    let colour = stage.world.shop.station().unwrap().colour_name("#1b2440".parse().unwrap());
    // Fewer of the order, then the second page of its lines.
    strike(&mut stage, &[Key::letter('e'), Key::letter('1'), Key::letter('6')]);
    let first = stage.text(80, 24);
    assert!(first.contains(&format!("1  5 dark-cotton {colour} S")), "{first}");
    assert!(first.contains("Enter shows more") && !first.contains("10  "), "{first}");
    strike(&mut stage, &[Key::plain(KeyCode::Enter)]);
    let second = stage.text(80, 24);
    assert!(second.contains("3  5 dark-cotton black 3XL"), "{second}");
    // No line stands at the fourth place of this page.
    strike(&mut stage, &keys("4"));
    let effects = strike(&mut stage, &keys("3 2 + 1"));
    assert!(
        matches!(
            effects.as_slice(),
            [Effect::Do(Command::CancelOrder { fewer: Some((11, 2)), .. })]
        ),
        "{effects:?}: {}",
        stage.text(80, 24)
    );
    let counts: Vec<u32> = stage
        .world
        .shop
        .orders()
        .next()
        .unwrap()
        .form
        .lines
        .iter()
        .map(|line| line.count)
        .collect();
    assert_eq!(counts, [5, 5, 5, 5, 5, 5, 5, 5, 5, 5, 5, 3]);
}

/// With more orders than digits, Enter shows the next of them: the tenth is changed as the first is.
#[test]
fn the_tenth_order_is_changed_too() {
    let mut stage = Stage::empty(2);
    for _ in 0..10 {
        stage.world.must(order(vec![line(2, "dark-cotton")]));
    }
    strike(&mut stage, &[Key::letter('e')]);
    let first = stage.text(80, 24);
    assert!(first.contains("Enter shows more") && !first.contains("shared order"), "{first}");
    strike(&mut stage, &[Key::plain(KeyCode::Enter), Key::letter('2')]);
    let effects = strike(&mut stage, &keys("1"));
    let told = format!("{effects:?}: {}", stage.text(80, 24));
    let Some(Effect::Do(Command::ChangeOrder(change))) = effects.first() else {
        panic!("{told}");
    };
    assert_eq!(change.order.no, OrderNo(10), "{told}");
}

/// "-12" is twelve of the second size, in an order that was kept as in a new one.
#[test]
fn a_dash_begins_a_count_in_an_order_that_was_kept() {
    let kept = || {
        let mut stage = Stage::empty(2);
        strike(&mut stage, &keys("+ 0 3 Enter Enter 1 / / ."));
        strike(&mut stage, &[Key::plain(KeyCode::Esc)]);
        strike(&mut stage, &keys("+ 0"));
        assert!(stage.text(80, 24).contains("kept from before"), "{}", stage.text(80, 24));
        stage
    };
    let mut stage = kept();
    let effects = strike(&mut stage, &keys("- 1 2 +"));
    let Some(Effect::Do(Command::TakeOrder { form, .. })) = effects.first() else {
        panic!("{effects:?}: {}", stage.text(80, 24));
    };
    let rows: Vec<String> =
        form.lines.iter().map(|line| format!("{} {}", line.count, line.sizes)).collect();
    assert_eq!(rows, ["3 ", "12 M 12"]);
    // A dash alone says what throws it all away, and that does; erased, nothing is lost.
    let mut stage = kept();
    strike(&mut stage, &keys("-"));
    assert!(stage.text(80, 24).contains("+ throws all of this order away"));
    strike(&mut stage, &keys("/"));
    assert!(stage.text(80, 24).contains("3 dark-cotton"), "{}", stage.text(80, 24));
    let effects = strike(&mut stage, &keys("- +"));
    assert!(effects.is_empty() && stage.text(80, 24).contains("thrown away: a new order"));
    assert!(!stage.text(80, 24).contains("3 dark-cotton"), "{}", stage.text(80, 24));
}

/// What was said of a zip holds for its own line alone.
#[test]
fn a_pad_does_not_go_on_to_the_next_line() {
    let mut stage = Stage::empty(2);
    strike(&mut stage, &keys("+ 0 3 Enter Enter 1"));
    let pad = |stage: &Stage| {
        let text = stage.text(100, 30);
        let row = text.lines().find_map(|row| row.split("pad  ").nth(1)).unwrap_or_default();
        row.split("  ").map(str::trim).find(|part| !part.is_empty()).unwrap_or_default().to_owned()
    };
    strike(&mut stage, &keys("Enter Enter Enter Enter Enter . 1"));
    let before = pad(&stage);
    assert!(!before.is_empty() && !before.contains("a list"), "{}", stage.text(100, 30));
    strike(&mut stage, &[Key::plain(KeyCode::BackTab); 7]);
    strike(&mut stage, &keys("."));
    strike(&mut stage, &keys("6"));
    let effects = strike(&mut stage, &keys("+"));
    let Some(Effect::Do(Command::TakeOrder { form, .. })) = effects.first() else {
        panic!("{effects:?}: {}", stage.text(100, 30));
    };
    let pads: Vec<bool> = form.lines.iter().map(|line| line.pad.is_some()).collect();
    assert_eq!(pads, [true, false]);
}
