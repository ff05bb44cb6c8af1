//! The lead's pane: when it will be ready, against what is due; and what it says of what it has no room for.

use dwell::forecast::{outlook, workload};
use dwell::screen::ui::Pane;
use dwell::shop::facts::ids::PressNo;
use dwell::shop::facts::order::OrderForm;
use dwell::shop::facts::rank::Rank;
use dwell::shop::rules::command::{By, Command};
use insta::assert_snapshot;

use super::stage::Stage;
use super::world::line;

/// A shop before its first act with these orders, each with its count and due time. It is Monday, 8:00.
fn with(orders: &[(&str, u32, Option<&str>)]) -> Stage {
    let mut stage = Stage::empty(2).on(Pane::Pace);
    stage.world.must(Command::ReadCaution);
    for (name, count, due) in orders {
        let due = due.map(|due| due.parse().unwrap());
        let lines = vec![line(*count, "dark-cotton")];
        let form =
            OrderForm { name: (*name).to_owned(), rank: Rank::USUAL, due, shared: false, lines };
        stage.world.must(Command::TakeOrder { form, file: None });
    }
    foresee(&mut stage);
    stage
}

fn foresee(stage: &mut Stage) {
    let now = stage.world.now;
    let work = workload::of_shop(&stage.world.shop, now).unwrap();
    stage.ui.outlook = outlook::of(&work, now);
}

/// An order that is hours early is not late because another one takes until the evening.
#[test]
fn each_order_is_held_against_its_own_due_time() {
    // The printer alone takes 150 times 14 + 240 + 10 s, until 19:00.
    let orders = [("Small", 4, Some("2026-03-02T12:00")), ("Big", 150, Some("2026-03-02T23:30"))];
    let text = with(&orders).text(120, 36);
    assert!(!text.contains("LATE") && text.contains(" to spare"), "{text}");
    assert!(text.contains("Big, due 23:30"), "{text}");
    // Now it is the small one that is tight, and the big one is not spoken of.
    let orders = [("Small", 4, Some("2026-03-02T08:05")), ("Big", 150, Some("2026-03-02T23:45"))];
    let text = with(&orders).text(120, 36);
    assert!(text.contains("Small, due 08:05") && text.contains(" min LATE"), "{text}");
    assert!(text.contains("all of it by 2"), "{text}");
    assert_eq!(text.matches("LATE").count(), 2, "above, and in the order's own row: {text}");
}

/// An order whose time has passed is late, and what the others need is still said.
#[test]
fn an_overdue_order_hides_nothing() {
    let orders = [("Over", 2, Some("2026-03-02T07:00")), ("Later", 10, Some("2026-03-02T18:00"))];
    let text = with(&orders).text(120, 36);
    assert!(text.contains("Over, due 07:00") && text.contains(" min LATE"), "{text}");
    assert!(text.contains("needed 1.2"), "twelve in ten hours: {text}");
}

/// A finish on another day has its day, in the words and in the order's row.
#[test]
fn a_finish_after_midnight_has_its_day() {
    let text = with(&[("Tomorrow", 290, Some("2026-03-03T12:00"))]).text(120, 36);
    assert!(text.contains("READY Tue 0") && text.contains("due Tue 12:00"), "{text}");
}

/// However much there is, it is said when it will be ready and what would help.
#[test]
fn much_work_is_foreseen_too() {
    let text = with(&[("Much", 400, Some("2026-03-06T12:00"))]).text(120, 36);
    assert!(text.contains("READY Tue ") && text.contains("one more printer would save "), "{text}");
    let mut stage = with(&[("None", 4, None)]);
    stage.world.must(Command::OutOfUse {
        press: PressNo(1),
        reason: dwell::shop::facts::outage::OutOfUse::Broken,
    });
    stage.world.must(Command::OutOfUse {
        press: PressNo(2),
        reason: dwell::shop::facts::outage::OutOfUse::Broken,
    });
    foresee(&mut stage);
    let text = stage.text(120, 36);
    assert!(text.contains("READY unknown: no heat press"), "{text}");
}

/// Open orders stand first, by due time; what there is no room for is counted.
#[test]
fn the_orders_that_are_due_first_stand_first() {
    let due: Vec<String> = (0..12).map(|n| format!("2026-03-03T{:02}:00", 20 - n)).collect();
    let names: Vec<String> = (0..12).map(|n| format!("Order {n}")).collect();
    let orders: Vec<(&str, u32, Option<&str>)> =
        names.iter().zip(&due).map(|(name, due)| (name.as_str(), 2, Some(due.as_str()))).collect();
    let stage = with(&orders);
    for (columns, rows) in [(80, 24), (120, 36)] {
        let text = stage.text(columns, rows);
        let first = text.lines().position(|line| line.contains("Order 11 ")).expect(&text);
        let next = text.lines().position(|line| line.contains("Order 10 ")).expect(&text);
        assert!(first < next, "{text}");
        let shown = (0..12).filter(|n| text.contains(&format!("  Order {n} "))).count();
        let more = text.lines().find(|line| line.contains("more: a larger window"));
        let counted =
            more.map_or(0, |line| line.split("and ").nth(1).unwrap()[..2].trim().parse().unwrap());
        assert_eq!(shown + counted, 12, "{text}");
    }
}

#[test]
fn pace_80x24_with_orders_that_are_due() {
    let orders = [("Small", 4, Some("2026-03-02T12:00")), ("Big", 150, Some("2026-03-02T22:00"))];
    assert_snapshot!(with(&orders).text(80, 24));
}

#[test]
fn pace_200x56_with_orders_that_are_due() {
    let orders = [("Small", 4, Some("2026-03-02T12:00")), ("Big", 150, Some("2026-03-02T22:00"))];
    assert_snapshot!(with(&orders).text(200, 56));
}

/// What was finished stays in the day's work when its order is fulfilled; an order that is never due is foreseen too.
#[test]
fn the_days_work_does_not_shrink() {
    let mut stage = with(&[("Small", 1, None), ("Big", 9, None)]);
    assert!(stage.text(120, 36).contains("0 of 10 finished "), "{}", stage.text(120, 36));
    let text = stage.text(120, 36);
    let row = text.lines().find(|line| line.contains("  Big ")).expect(&text);
    assert!(
        row.trim_end().ends_with(|end: char| end.is_ascii_digit()) && row.contains("08:"),
        "{text}"
    );
    for step in ["pre-press", "dry", "cure"] {
        let (press, garment) = (PressNo(1), "A1-01".parse().unwrap());
        stage.world.must(Command::Shut { press, garment, by: By::Scan });
        stage.world.wait(if step == "cure" { 91.0 } else { 41.0 });
        stage.world.must(Command::Open { press });
    }
    foresee(&mut stage);
    let text = stage.text(120, 36);
    assert!(text.contains("1 of 10 finished "), "{text}");
    assert!(text.contains("fulfilled"), "{text}");
}
