//! Orders against their due times, through the binary.

use serde_json::Value;

use crate::bench::{self, Bench};
use crate::number;
use support::program::{up, wall_at, zone};

/// The path of an order of so many garments that is due so many minutes from now, by the bench's own clock.
fn order(bench: &Bench, name: &str, garments: u32, minutes: i64) -> String {
    let at = wall_at(up()) + jiff::SignedDuration::from_mins(minutes);
    let due = at.in_tz(&zone()).unwrap().strftime("%Y-%m-%dT%H:%M").to_string();
    let text = bench::order(garments)
        .replace("    lines:", &format!("    due: Some(\"{due}\"),\n    lines:"));
    let start = text.find("name: \"").unwrap() + "name: \"".len();
    let end = start + text[start..].find('"').unwrap();
    let path = bench.root.path().join(format!("{name}.ron"));
    std::fs::write(&path, format!("{}{name}{}", &text[..start], &text[end..])).unwrap();
    path.to_str().unwrap().to_owned()
}

fn told(bench: &Bench, orders: &[String], more: &[&str]) -> (Value, String) {
    let orders: Vec<&str> = orders.iter().map(String::as_str).collect();
    let plain = bench.run(&[&["plan", "--from-nothing"][..], &orders, more].concat());
    assert_eq!((plain.code, plain.err.as_str()), (0, ""));
    let json = bench.run(&[&["plan", "--from-nothing", "--json"][..], &orders, more].concat());
    (serde_json::from_str(&json.out).unwrap(), plain.out)
}

/// One garment goes its way step by step: no second printer makes it faster, however much it would save the rest.
#[test]
fn no_change_is_said_to_meet_what_it_does_not_meet() {
    let bench = Bench::new(2, 20);
    let orders = [order(&bench, "Urgent", 1, 3), order(&bench, "Big", 80, 3000)];
    let (plan, text) = told(&bench, &orders, &[]);
    assert!(number(&plan, "late_s") > 0.0 && plan["meets_due"].is_null(), "{plan}");
    assert!(
        text.contains("! Urgent is late by ") && text.contains("no single change meets it"),
        "{text}"
    );
    let printers: Vec<&Value> = plan["what_if"].as_array().unwrap().iter().collect();
    assert!(printers.iter().any(|change| number(change, "saves_s") > 600.0), "{text}");
}

/// What is said to meet a due time does, and where nothing is said nothing does.
#[test]
fn the_change_that_meets_a_due_time_meets_it() {
    let bench = Bench::new(2, 20);
    let mut said = 0;
    for minutes in [15, 30] {
        let orders = [order(&bench, "Early", 9, minutes)];
        let (plan, text) = told(&bench, &orders, &[]);
        if plan["late_s"].is_null() {
            assert!(!text.contains("is late by"), "{text}");
            continue;
        }
        let with = |flag: &str, count: &str| {
            let (plan, _) = told(&bench, &orders, &[flag, count]);
            plan["late_s"].is_null()
        };
        let changes = [
            ("one more press", with("--presses", "3")),
            ("one more operator", with("--operators", "2")),
            ("one more printer", with("--printers", "2")),
        ];
        match plan["meets_due"].as_str() {
            Some(meets) => {
                assert!(changes.iter().any(|(change, met)| *change == meets && *met), "{text}");
                said += 1;
            }
            None => assert!(changes.iter().all(|(_, met)| !met), "{changes:?} {text}"),
        }
    }
    assert!(said > 0, "in none of these does a change help");
}

/// Every order that is due is looked at, however many there are.
#[test]
fn all_orders_that_are_due_are_told_of() {
    let bench = Bench::new(2, 20);
    let mut orders: Vec<String> =
        (0..9).map(|n| order(&bench, &format!("Order {n}"), 2, 600 + n)).collect();
    orders.push(order(&bench, "Late", 30, 605));
    orders.reverse();
    let (plan, text) = told(&bench, &orders, &[]);
    assert_eq!(plan["orders"].as_array().unwrap().len(), 10);
    let names: Vec<&str> =
        text.lines().filter(|line| line.contains(" due 2")).map(|line| &line[..7]).collect();
    assert_eq!(names.len(), 10, "{text}");
    assert!(names.is_sorted_by_key(|name| *name != "Order 0"), "{text}");
}

/// How many printers there are stands in the station's profile; a number that is none is refused.
#[test]
fn the_stations_printers_are_planned_with() {
    let bench = Bench::new(2, 20);
    let orders = [order(&bench, "Choir", 20, 3000)];
    let (one, _) = told(&bench, &orders, &[]);
    let (two, _) = told(&bench, &orders, &["--printers", "2"]);
    let station = std::fs::read_to_string(bench.station()).unwrap();
    let with =
        |count: &str| station.replacen("presses:", &format!("printers: {count},\n    presses:"), 1);
    std::fs::write(bench.station(), with("2")).unwrap();
    let (own, text) = told(&bench, &orders, &[]);
    assert_eq!((number(&own, "printers"), number(&one, "printers")), (2.0, 1.0));
    assert_eq!(number(&own, "makespan_s"), number(&two, "makespan_s"));
    assert!(number(&own, "makespan_s") < number(&one, "makespan_s"));
    assert!(text.contains("20 garments, 2 presses, 2 printers, 1 operator:"), "{text}");
    for wrong in ["0", "10"] {
        std::fs::write(bench.station(), with(wrong)).unwrap();
        let ran = bench.run(&["plan", "--from-nothing", &orders[0]]);
        assert_eq!(ran.code, 2);
        assert!(
            ran.err.contains("printers: ") && ran.err.contains("expected 1 to 9"),
            "{}",
            ran.err
        );
    }
}

/// What the model does not know of a station is said where the station has it, and only there.
#[test]
fn what_no_plan_knows_is_said() {
    let bench = Bench::new(2, 20);
    let orders = [order(&bench, "Choir", 4, 3000)];
    let (plan, text) = told(&bench, &orders, &[]);
    assert!(
        plan["left_out"].as_array().unwrap().is_empty() && !text.contains("left out"),
        "{text}"
    );
    let station = std::fs::read_to_string(bench.station()).unwrap();
    let own = station.replacen("dial: ", "uses: [\"pre-press\", \"dry\"], dial: ", 1);
    std::fs::write(bench.station(), own).unwrap();
    let recipe = std::fs::read_to_string(bench.recipe()).unwrap();
    let hotter = recipe.replace("cure: (", "cure: (set_point: \"320 F\", ");
    assert_ne!(hotter, recipe);
    std::fs::write(bench.recipe(), hotter).unwrap();
    let (plan, text) = told(&bench, &orders, &[]);
    // Which press serves what, and how long a dial settles, are in the plan.
    assert_eq!(plan["left_out"].as_array().unwrap().len(), 1, "{plan}");
    assert!(text.contains("left out     the hands that turn a dial"), "{text}");
}
