//! What is read from three metres: the big words are read off the drawn cells by their dots, as far as they are as high
//! as the eye needs them.

use std::collections::BTreeSet;

use dwell::screen::theme::Theme;
use dwell::shop::facts::ids::PressNo;
use dwell::shop::facts::step::Step;
use dwell::shop::rules::offer::OfferedAct;
use support::eye::{self, Dots};

use super::stage::Stage;

/// Columns, rows, and how high a row is in millimetres on a screen of 24 inches.
const SIZES: [(u16, u16, f64); 5] =
    [(80, 24, 12.5), (100, 30, 10.0), (120, 36, 8.3), (200, 56, 5.3), (240, 67, 4.5)];
/// Twenty minutes of arc at three metres (the preferred height of ISO 9241-303, by public summaries).
const LEAST_MM: f64 = 17.5;
const COLOUR: Theme = Theme { colour: true, halves: true };
const PLAIN: Theme = Theme { colour: false, halves: true };
const CONSOLE: Theme = Theme { colour: true, halves: false };

/// The big words of a screen that are high enough.
fn read(stage: &Stage, (columns, rows, row_mm): (u16, u16, f64), theme: Theme) -> Vec<String> {
    let cells = stage.draw_as(columns, rows, theme);
    let mut dots = Dots::none(usize::from(columns), usize::from(rows));
    // The bar at the top is all ground.
    for (row, column) in (1..rows).flat_map(|row| (0..columns).map(move |column| (row, column))) {
        let cell = &cells[(column, row)];
        dots.put(
            (usize::from(column), usize::from(row)),
            cell.symbol(),
            super::stage::is_dot(cell),
        );
    }
    let words = eye::words(&dots).into_iter();
    let high = |word: &eye::Word| word.high as f64 / 2.0 * row_mm >= LEAST_MM;
    // The figures of presses beside each other stand on one row.
    let parts = |text: String| -> Vec<String> {
        let is_row = text.split(' ').all(|part| part.parse::<u32>().is_ok());
        if is_row { text.split(' ').map(str::to_owned).collect() } else { vec![text] }
    };
    words.filter(high).flat_map(|word| parts(word.text)).collect()
}

/// A shop in which some presses are shut, and the others are open with garments waiting for them.
fn half_shut(presses: usize) -> Stage {
    Stage::in_a_shift(presses, 8.0, presses.div_ceil(2).min(3))
}

/// What is offered at the open presses: press, step in big words, garment.
fn offered(stage: &Stage) -> Vec<(PressNo, Vec<&'static str>, String)> {
    let offers = stage.world.shop.offers(&stage.ui.choice, stage.world.now);
    let of = |press, act| match act {
        OfferedAct::Shut { garment, next, .. } => {
            let words = match next.step {
                Step::PrePress => vec!["PRE-PRESS", "PRE"],
                // What has to come first takes the step's place.
                Step::Dry => vec!["DRY", "WIPE", "PAPER"],
                _ => vec!["CURE"],
            };
            Some((press, words, garment.to_string()))
        }
        _ => None,
    };
    offers.into_iter().filter_map(|offer| of(offer.press, offer.act)).collect()
}

/// Every open press tells its number, its step and its garment, in every size, with colour and without.
#[test]
fn an_open_press_says_its_step_and_its_garment_from_afar() {
    for (size, presses, theme) in everywhere() {
        // Nine panels of 24 rows have no room for two big words each: there NEXT names the garment.
        if (size.1, presses) == (24, 9) {
            continue;
        }
        let stage = half_shut(presses);
        let there: BTreeSet<String> = read(&stage, size, theme).into_iter().collect();
        for (press, steps, garment) in offered(&stage) {
            let at = format!("press {press} of {presses} at {size:?} {theme:?}: {there:?}");
            assert!(there.contains(&press.to_string()), "{at}");
            assert!(steps.iter().any(|step| there.contains(*step)), "{steps:?} {at}");
            assert!(there.contains(&garment), "{garment} {at}");
        }
    }
}

fn everywhere() -> Vec<((u16, u16, f64), usize, Theme)> {
    let themes = |size, presses| [(size, presses, COLOUR), (size, presses, PLAIN)];
    let counts = |size| [1, 2, 4, 9].into_iter().flat_map(move |presses| themes(size, presses));
    SIZES.into_iter().flat_map(counts).collect()
}

/// The seconds of a shut press, as they stand in big figures.
fn seconds(stage: &Stage) -> Vec<String> {
    let shop = &stage.world.shop;
    let left = |press| {
        let load = shop.load(press)?;
        let target = shop.pressing(load)?.target.0.as_secs();
        let left = target.saturating_sub(load.elapsed(stage.world.now).span.as_secs());
        Some(if left < 100 { left.to_string() } else { format!("{}:{:02}", left / 60, left % 60) })
    };
    shop.press_numbers().into_iter().filter_map(left).collect()
}

/// Seconds, the act that comes next and every count, in every size.
#[test]
fn seconds_next_and_counts_are_read_from_afar() {
    for (size, presses, theme) in everywhere() {
        let stage = half_shut(presses);
        let there = read(&stage, size, theme);
        let at = format!("{presses} presses at {size:?} {theme:?}: {there:?}");
        for seconds in seconds(&stage) {
            assert!(there.contains(&seconds), "{seconds} {at}");
        }
        let is_act = |word: &String| {
            ["LOAD", "SPRAY", "PRINT", "OPEN", "CURE", "DRY", "WIPE", "WEIGH", "FILL", "WAIT"]
                .iter()
                .any(|verb| word.starts_with(&format!("{verb} ")))
        };
        assert!(there.iter().any(is_act), "{at}");
        let floor = stage.world.shop.floor();
        for step in Step::ALL {
            let count = floor.count(dwell::shop::floor::garment::Queue::Step(step)).to_string();
            assert!(there.contains(&count), "{step}: {count} {at}");
        }
    }
}

/// Where a press has no room for its garment in big letters, NEXT names it beside the press.
#[test]
fn next_names_the_garment_that_is_not_read_at_its_press() {
    let size = SIZES[0];
    for (presses, theme) in [(9, COLOUR), (9, PLAIN), (4, COLOUR)] {
        let mut stage = half_shut(presses);
        // The shut presses are due.
        stage.world.wait(60.0);
        let (press, load) = stage.world.shop.loads().next().unwrap();
        let said = read(&stage, size, theme);
        let act = said.iter().find(|word| word.starts_with("OPEN ")).unwrap_or_else(|| {
            panic!("{presses} presses, {press} due: {said:?}");
        });
        let named = act.split(' ').nth(2).unwrap_or_else(|| panic!("{act} names no garment"));
        let garment = named.parse().unwrap();
        let at = act.split(' ').nth(1).unwrap().parse().map(PressNo).unwrap();
        assert_eq!(stage.world.shop.load(at).unwrap().garment, garment, "{}", load.garment);
    }
    // Where all presses are open, it is the garment that the press is loaded with.
    let mut stage = Stage::empty(9);
    stage.world.must(super::world::order(vec![super::world::line(12, "dark-cotton")]));
    let said = read(&stage, size, COLOUR);
    assert!(said.iter().any(|word| word == "LOAD 1 A1-01"), "{said:?}");
    // With two presses it stands at the press already.
    let mut stage = Stage::empty(2);
    stage.world.must(super::world::order(vec![super::world::line(12, "dark-cotton")]));
    let said = read(&stage, size, COLOUR);
    assert!(said.iter().any(|word| word == "LOAD 1"), "{said:?}");
}

/// Behind an open form four presses go on saying step and garment at the smallest usual size, and their seconds.
#[test]
fn four_presses_are_read_from_afar_behind_a_form() {
    for (size, theme) in SIZES.into_iter().flat_map(|size| [(size, COLOUR), (size, PLAIN)]) {
        let stage = half_shut(4).struck("+0");
        let there = read(&stage, size, theme);
        let at = format!("{size:?} {theme:?}: {there:?}\n{}", stage.text(size.0, size.1));
        for (press, steps, garment) in offered(&stage) {
            assert!(there.contains(&press.to_string()), "{press} {at}");
            assert!(steps.iter().any(|step| there.iter().any(|word| word == step)), "{at}");
            assert!(there.contains(&garment), "{garment} {at}");
        }
        for seconds in seconds(&stage) {
            assert!(there.contains(&seconds), "{seconds} {at}");
        }
    }
}

/// Nine presses on a console of 24 rows: the two that are due first are read from afar, each of the others has a line.
#[test]
fn on_a_small_console_two_of_nine_presses_are_read_from_afar() {
    let stage = half_shut(9);
    let there = read(&stage, SIZES[0], CONSOLE);
    let text = stage.draw_as(80, 24, CONSOLE);
    let rows: Vec<String> =
        (0..24).map(|row| (0..80).map(|column| text[(column, row)].symbol()).collect()).collect();
    let read = seconds(&stage).iter().filter(|seconds| there.contains(seconds)).count();
    assert!(read >= 2, "{there:?}\n{}", rows.join("\n"));
    for press in 1..=9 {
        let line = rows.iter().any(|row| row.starts_with(&format!("{press}  ")));
        assert!(
            line || there.contains(&press.to_string()),
            "{press}: {there:?}\n{}",
            rows.join("\n")
        );
    }
}

/// A console has no half blocks: its letters are larger, so that at 80x24 three presses and more have room for number,
/// seconds and step, and for no garment; nine have none at 120x36 either.
#[test]
fn a_console_is_read_from_afar_too() {
    for size in SIZES {
        for presses in [1, 2, 4, 9] {
            let stage = half_shut(presses);
            let there = read(&stage, size, CONSOLE);
            let at = format!("{presses} presses at {size:?}: {there:?}");
            for (press, steps, garment) in offered(&stage) {
                // The two that are due first, and NEXT.
                let few = (size.1, presses) == (24, 9);
                assert!(few || there.contains(&press.to_string()), "{press} {at}");
                assert!(few || steps.iter().any(|step| there.iter().any(|w| w == step)), "{at}");
                // Where it is not read at its press, NEXT names that of the press that comes next.
                let read = there.iter().any(|word| word.split(' ').any(|word| word == garment));
                let is_small = (size.1 < 34 && presses > 2) || (size.1 < 56 && presses == 9);
                assert!(is_small || read, "{garment} {at}");
            }
        }
    }
}
