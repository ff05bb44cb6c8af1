//! Pictures of the panes at the sizes that matter: 80x24, 120x36, 200x56 and what lies below.

use dwell::screen::ui::{Pane, Saved};
use insta::assert_snapshot;

use super::stage::Stage;

/// Two presses, twenty minutes into a shift.
fn shift() -> Stage {
    Stage::in_a_shift(2, 20.0, 2)
}

#[test]
fn bench_80x24_in_a_shift() {
    assert_snapshot!(shift().text(80, 24));
}

#[test]
fn bench_80x24_before_the_first_order() {
    assert_snapshot!(Stage::empty(2).text(80, 24));
}

#[test]
fn bench_80x24_overdue_and_not_saved() {
    let mut stage = shift();
    stage.world.wait(500.0);
    stage.ui.saved = Saved::Not { events: 3, reason: "no space left on the device".into() };
    let text = stage.text(80, 24);
    assert!(text.contains("NOT SAVED") && text.contains("TOO LONG"), "{text}");
    assert_snapshot!(text);
}

#[test]
fn bench_120x36_with_four_presses() {
    assert_snapshot!(Stage::in_a_shift(4, 12.0, 3).text(120, 36));
}

#[test]
fn bench_80x24_with_nine_presses() {
    assert_snapshot!(Stage::in_a_shift(9, 8.0, 3).text(80, 24));
}

#[test]
fn bench_200x56_with_one_press() {
    assert_snapshot!(Stage::in_a_shift(1, 15.0, 1).text(200, 56));
}

#[test]
fn pace_120x36() {
    assert_snapshot!(shift().on(Pane::Pace).text(120, 36));
}

#[test]
fn shelf_80x24() {
    let stage = Stage::in_a_shift(2, 110.0, 0);
    let mut stage = stage.on(Pane::Shelf);
    stage.world.must(super::world::order(vec![super::world::line(2, "dark-cotton")]));
    for tag in ["A2-01", "A2-02"].map(|tag| tag.parse().unwrap()) {
        treat(&mut stage, tag);
    }
    let mut stage = stage.struck("s");
    let text = stage.text(80, 24);
    assert!(text.contains("A2-01") && text.contains("A2-02"), "{text}");
    assert_snapshot!(text);
    stage.world.wait(31.0 * 86_400.0);
    let text = stage.text(120, 36);
    assert!(text.contains("PAST ITS DAY"), "{text}");
    assert_snapshot!("shelf_120x36_a_month_later", text);
    // Shifted as well: on the narrowest rows both words are there, whole.
    stage.world.must(dwell::shop::rules::command::Command::DisturbStack("1".into()));
    let text = stage.text(80, 24);
    assert!(text.contains("PAST, SHIFTED") && text.contains("within a week 0"), "{text}");
}

#[test]
fn the_forms_of_the_supplies_80x24() {
    let fill = Stage::empty(2).struck("i").text(80, 24);
    let lot = Stage::empty(2).struck("jF-118\t1").text(80, 24);
    let people = Stage::empty(2).struck("bak").text(80, 24);
    let stack = Stage::empty(2).struck("k").text(80, 24);
    let look = Stage::in_a_shift(2, 10.0, 1).struck("lA1-02").text(80, 24);
    assert_snapshot!([fill, lot, people, stack, look].join("\n"));
}

/// Brings a garment through pre-press and dry.
fn treat(stage: &mut Stage, tag: dwell::shop::facts::ids::Tag) {
    use dwell::shop::rules::command::{By, Command};
    let press = dwell::shop::facts::ids::PressNo(1);
    if stage.world.shop.load(press).is_some() {
        stage.world.must(Command::Open { press });
    }
    for seconds in [15.0, 40.0] {
        stage.world.must(Command::Shut { press, garment: tag, by: By::Scan });
        stage.world.wait(seconds);
        stage.world.must(Command::Open { press });
    }
}

#[test]
fn coat_80x24_after_a_day() {
    let mut stage = Stage::empty(2);
    stage.world.must(super::world::order(vec![super::world::line(16, "dark-cotton")]));
    // Grams of fluid: the hand slows in the end.
    let coats = [27.1, 29.4, 28.0, 30.2, 27.7, 28.9, 27.5, 29.0, 30.6, 31.2, 30.9, 38.8];
    for (n, grams) in (1..).zip(coats) {
        weigh(&mut stage, &format!("A1-{n:02}"), grams);
    }
    let text = stage.on(Pane::Coat).text(80, 24);
    assert!(text.contains("one beyond a limit, heavier") && text.contains("too heavy"), "{text}");
    assert_snapshot!(text);
}

/// Brings a garment through pre-press, scale, spray, scale and dry; its steam stops as its coat is heavy.
fn weigh(stage: &mut Stage, tag: &str, grams: f64) {
    use dwell::figures::units::Grams;
    use dwell::shop::rules::command::{By, Command, Which};
    let (press, garment) = (dwell::shop::facts::ids::PressNo(1), tag.parse().unwrap());
    stage.world.must(Command::Shut { press, garment, by: By::Scan });
    stage.world.wait(15.0);
    stage.world.must(Command::Open { press });
    stage.world.must(Command::Weigh { garment, grams: Grams(150.0) });
    stage.world.must(Command::HandworkDone(Which::Tagged(garment)));
    stage.world.must(Command::Weigh { garment, grams: Grams(150.0 + grams) });
    stage.world.must(Command::Shut { press, garment, by: By::Scan });
    stage.world.wait(grams * 0.83);
    stage.world.must(Command::SteamStopped { press });
    stage.world.wait(40.0 - grams * 0.83);
    stage.world.must(Command::Open { press });
}

#[test]
fn coat_120x36_before_the_first_weight() {
    assert_snapshot!(Stage::empty(4).on(Pane::Coat).text(120, 36));
}

#[test]
fn the_forms_of_the_figures_80x24() {
    let scale = Stage::in_a_shift(2, 3.0, 1).struck("m152.4").text(80, 24);
    let probe = Stage::empty(2).struck("h\t340\t338.5\t335").text(80, 24);
    let why = dried().struck("r").text(80, 24);
    assert!(why.contains("too much fluid"), "{why}");
    assert_snapshot!([scale, probe, why].join("\n"));
}

#[test]
fn the_pace_80x24_stroke_by_stroke() {
    let mut stage = Stage::in_a_shift(2, 3.0, 1).struck("p");
    let mut pictures = Vec::new();
    for seconds in [1.0, 4.0, 12.5, 2.0] {
        stage.world.wait(seconds);
        pictures.push(stage.text(80, 24));
    }
    assert!(pictures[1].contains("ACROSS 1 of 4") && pictures[2].contains("UP AND DOWN"));
    assert_snapshot!(pictures.join("\n"));
}

#[test]
fn past_80x24() {
    assert_snapshot!(shift().on(Pane::Past).text(80, 24));
}

/// A history of several days says at each change which day it is, and always that of its topmost row.
#[test]
fn the_past_tells_its_days_apart() {
    use dwell::shop::rules::command::Command;
    let mut stage = shift().on(Pane::Past);
    stage.world.wait(86_400.0);
    let before = stage.world.events.len();
    for press in [1, 2].map(dwell::shop::facts::ids::PressNo) {
        stage.world.must(Command::Open { press });
    }
    stage.world.events[before..].iter().for_each(|event| stage.ui.remember(event));
    let text = stage.text(80, 24);
    let days: Vec<&str> =
        text.lines().map(str::trim).filter(|row| row.contains("day 20")).collect();
    assert_eq!(days, ["Tuesday 2026-03-03", "Monday 2026-03-02"], "{text}");
    stage.ui.scroll = 4;
    let text = stage.text(80, 24);
    assert!(!text.contains("Tuesday") && text.contains("Monday 2026-03-02"), "{text}");
}

/// A shop whose only garment was just dried.
fn dried() -> Stage {
    use dwell::shop::facts::ids::PressNo;
    use dwell::shop::rules::command::{By, Command};
    let mut stage = Stage::empty(2);
    stage.world.must(crate::world::order(vec![crate::world::line(1, "dark-cotton")]));
    let (press, garment) = (PressNo(1), "A1-01".parse().unwrap());
    for seconds in [15.0, 40.0] {
        stage.world.must(Command::Shut { press, garment, by: By::Scan });
        stage.world.wait(seconds);
        stage.world.must(Command::Open { press });
    }
    stage
}

/// Every trouble that can be seen of a dried garment, and what becomes of one of them.
#[test]
fn the_lists_of_troubles_80x24() {
    let strip = |stage: Stage| {
        let text = stage.text(80, 24);
        let rows: Vec<&str> = text.lines().skip(13).collect();
        rows.join("\n")
    };
    let lists = [".", ".5", ".57"].map(|keys| strip(dried().struck(keys)));
    assert_snapshot!(lists.join("\n\n"));
}

/// Points are no keys: no row of a list begins with a figure that would do nothing.
#[test]
fn the_list_of_what_becomes_of_a_clinging_sheet_has_figures_for_its_keys_alone() {
    let stage = dried().struck(".4");
    let text = stage.text(80, 24);
    assert!(text.contains("likely causes (for reading)"), "{text}");
    let list = text.lines().skip_while(|row| !row.contains("What becomes of it?")).skip(1);
    // Two columns: the outcomes with their keys, and what can have been the cause.
    let cells = list.flat_map(|row| {
        let cells: Vec<char> = row.chars().collect();
        let column = |range: &[char]| range.iter().collect::<String>().trim_start().to_owned();
        let (left, right) = cells.split_at(cells.len().min(40));
        [column(left), column(right)]
    });
    let figures: Vec<char> = cells
        .filter_map(|cell| cell.chars().next())
        .filter(|letter| letter.is_ascii_digit())
        .collect();
    assert_eq!(figures, ['1', '2', '3', '4'], "{text}");
}

/// What stands between a person and harm is never cut at the usual size.
#[test]
fn questions_messages_and_help_are_whole_80x24() {
    use dwell::screen::ui::Tone;
    let mut stage = shift();
    let now = stage.world.now;
    let long = "A1-02 wants 320 F firm: set press 2, let it settle, then d; c chooses all the same, \
                and so on to the end";
    stage.ui.say(Tone::Note, long, now);
    let text = stage.text(80, 24);
    assert!(text.contains("to the end"), "{text}");
    let mut help = String::new();
    let mut stage = Stage::empty(2).struck("?");
    for _ in 0..7 {
        help += &stage.text(80, 24);
        stage = stage.struck(" ");
    }
    let words = help.replace(['│', '\n'], " ");
    let words: Vec<&str> = words.split_whitespace().collect();
    let words = words.join(" ");
    for whole in ["cold, away from the press", "waits for its wipe", "1 to 9 of"] {
        assert!(words.contains(whole), "{whole}:\n{help}");
    }
}

/// Without colour a press that is over its longest time differs from one that is due by more than its word.
#[test]
fn without_colour_too_long_is_marked() {
    let marks = |stage: &Stage| {
        let cells = stage.draw(80, 24, false);
        cells.content.iter().filter(|cell| cell.symbol() == "!").count()
    };
    let mut stage = Stage::in_a_shift(2, 20.0, 2);
    let presses = [1, 2].map(dwell::shop::facts::ids::PressNo);
    let due = |stage: &Stage| {
        let shop = &stage.world.shop;
        let left = presses.map(|press| {
            let load = shop.load(press).unwrap();
            let target = shop.pressing(load).unwrap().target.as_seconds();
            target - load.elapsed(stage.world.now).seconds()
        });
        left.into_iter().fold(f64::INFINITY, f64::min)
    };
    let left = due(&stage);
    stage.world.wait(left.max(0.0) + 1.0);
    assert!(stage.text(80, 24).contains("OPEN NOW") && marks(&stage) == 0);
    stage.world.wait(500.0);
    assert!(marks(&stage) > 20, "{}", stage.text(80, 24));
}

/// From afar the number of a press is as high as its seconds.
#[test]
fn the_number_of_a_shut_press_is_drawn_large() {
    for (presses, columns, rows) in [(2, 80, 24), (4, 80, 24), (4, 120, 36), (1, 200, 56)] {
        let stage = Stage::in_a_shift(presses, 12.0, 1);
        let cells = stage.draw(columns, rows, false);
        let grains = cells.content.iter().filter(|cell| cell.symbol() == "▒").count();
        assert!(grains >= 12, "{presses} presses at {columns}x{rows}");
    }
}

#[test]
fn order_form_80x24() {
    assert_snapshot!(Stage::empty(2).struck("+0Lantern walk").text(80, 24));
}

#[test]
fn help_80x24() {
    assert_snapshot!(Stage::empty(2).struck("?").text(80, 24));
}

#[test]
fn small_60x15_and_30x5() {
    let stage = shift();
    let (list, line) = (stage.text(60, 15), stage.text(30, 5));
    assert_snapshot!(format!("{list}\n{line}"));
}

/// What stands on every panel every time is read by nobody: once a shift it is said.
#[test]
fn standing_remarks_are_said_once_a_shift() {
    use dwell::shop::facts::ids::PressNo;
    use dwell::shop::rules::command::{By, Command};
    let mut stage = Stage::empty(2);
    stage.world.must(crate::world::order(vec![crate::world::line(4, "dark-cotton")]));
    let mut press = |tag: &str, seconds: f64| {
        let text = stage.text(120, 36);
        let never = text.matches("platen never probed").count();
        let before = stage.world.events.len();
        let garment = tag.parse().unwrap();
        stage.world.must(Command::Shut { press: PressNo(1), garment, by: By::Scan });
        stage.world.events[before..].iter().for_each(|event| stage.ui.remember(event));
        stage.world.wait(seconds / 2.0);
        let text = stage.text(120, 36);
        let said = ["settings not confirmed", "its steam carries fluid"];
        let said = said.map(|words| text.contains(words));
        stage.world.wait(seconds / 2.0);
        stage.world.must(Command::Open { press: PressNo(1) });
        (never, said)
    };
    // Press 2 is not used at all: that its platen was never probed goes on standing there.
    assert_eq!(press("A1-01", 15.0), (2, [true, false]));
    assert_eq!(press("A1-01", 40.0), (1, [false, true]));
    assert_eq!(press("A1-02", 15.0), (1, [false, false]));
    assert_eq!(press("A1-02", 40.0), (1, [false, false]));
}
