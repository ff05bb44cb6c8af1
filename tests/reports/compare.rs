//! Groups side by side: every figure worked out by hand, the limits by a coin that nobody can blame.

use dwell::shop::facts::ids::PressNo;
use dwell::shop::facts::trouble::{Outcome, Trouble};
use dwell::shop::rules::command::{By, Command, Which};
use serde_json::Value;

use crate::bench::Bench;
use crate::markup::{parts, texts};
use crate::sample::{bench, rehearsed, write};
use crate::world::{World, line, order, station};

fn shut(world: &mut World, press: u8, tag: &str, seconds: f64) {
    let (press, garment) = (PressNo(press), tag.parse().unwrap());
    world.must(Command::Shut { press, garment, by: By::Choice });
    world.wait(seconds);
    world.must(Command::Open { press });
    world.wait(20.0);
}

/// A garment goes all its way: the cure in the second press.
fn finish(world: &mut World, tag: &str) {
    shut(world, 1, tag, 15.0);
    world.must(Command::HandworkDone(Which::First(1)));
    shut(world, 1, tag, 40.0);
    world.must(Command::Printed(Which::First(1)));
    shut(world, 2, tag, 105.0);
}

fn trouble(world: &mut World, tag: &str, outcome: Outcome) {
    let (garment, trouble) = (tag.parse().unwrap(), Trouble::Scorched);
    world.must(Command::NoteTrouble { garment, trouble, outcome });
}

/// On Monday AK finishes 30 and spoils 1; on Tuesday BM finishes 6 and spoils 13, and one is finished by both.
fn two_days() -> World {
    let mut world = World::new(station(2));
    world.must(Command::Sign("AK".into()));
    world.must(order(vec![line(60, "dark-cotton")]));
    for n in 1..=31 {
        finish(&mut world, &format!("A1-{n:02}"));
    }
    trouble(&mut world, "A1-31", Outcome::Out);
    world.must(Command::CloseShift);
    world.wait(86_400.0 - 5.0 * 3600.0);
    world.must(Command::Sign("BM".into()));
    for n in 32..=51 {
        if n == 51 {
            world.must(Command::Sign("AK".into()));
        }
        let tag = format!("A1-{n:02}");
        finish(&mut world, &tag);
        if (38..=50).contains(&n) {
            trouble(&mut world, &tag, Outcome::Out);
        }
    }
    world.must(Command::CloseShift);
    world
}

fn told(world: &World) -> Bench {
    let bench = bench();
    write(&bench, world.events.clone());
    bench
}

fn compare(bench: &Bench, arguments: &[&str]) -> Vec<Value> {
    let ran = bench.run(&[&["compare", "--json", "--by"], arguments].concat());
    assert_eq!((ran.code, ran.err.as_str()), (0, ""), "{arguments:?}");
    serde_json::from_str::<Value>(&ran.out).unwrap().as_array().unwrap().clone()
}

fn of(rows: &[Value], names: &[&str]) -> Vec<(String, Vec<Value>)> {
    let one = |row: &Value| {
        let group = row["group"].as_str().unwrap().to_owned();
        (group, names.iter().map(|name| row[*name].clone()).collect())
    };
    rows.iter().map(one).collect()
}

fn expect(rows: &[Value], names: &[&str], expected: &[(&str, Vec<Value>)]) {
    let expected: Vec<(String, Vec<Value>)> =
        expected.iter().map(|(group, values)| ((*group).to_owned(), values.clone())).collect();
    assert_eq!(of(rows, names), expected);
}

#[test]
fn days_and_people_are_counted_as_by_hand_and_only_what_chance_does_not_do_is_named() {
    let bench = told(&two_days());
    let names = ["made", "came", "rejects", "beyond", "opened"];
    let row = |made: u32, came: u32, rejects: u32, beyond: bool, opened: u32| -> Vec<Value> {
        vec![made.into(), came.into(), rejects.into(), beyond.into(), opened.into()]
    };
    let (monday, tuesday) = (row(30, 31, 1, true, 93), row(7, 20, 13, true, 60));
    for (by, first, second) in
        [("shift", "2026-03-02", "2026-03-03"), ("weekday", "Monday", "Tuesday")]
    {
        let rows = compare(&bench, &[by]);
        expect(&rows, &names, &[(first, monday.clone()), (second, tuesday.clone())]);
        // 37 of 51 were right. By SciPy's binomial distribution, 8 to 20 of 20 and 14 to 29 of 31 are chance.
        assert_eq!((&rows[1]["low"], &rows[1]["high"]), (&0.4.into(), &1.0.into()));
        assert_eq!(
            (&rows[0]["low"], &rows[0]["high"]),
            (&(14.0 / 31.0).into(), &(29.0 / 31.0).into())
        );
        assert_eq!(rows[1]["first_pass"], 0.35);
    }
    let all = row(37, 51, 14, false, 153);
    expect(&compare(&bench, &["week"]), &names, &[("2026-W10", all.clone())]);
    expect(&compare(&bench, &["recipe"]), &names, &[("Dark cotton", all)]);
    // What two people did together is nobody's alone.
    expect(
        &compare(&bench, &["person"]),
        &names,
        &[
            ("AK", row(30, 31, 1, true, 93)),
            ("AK+BM", row(1, 1, 0, false, 3)),
            ("BM", row(6, 19, 13, true, 57)),
        ],
    );
    // Of a press, its presses: the rejects were noted after the cure.
    let rows = compare(&bench, &["press"]);
    expect(
        &rows,
        &["made", "came", "first_pass"],
        &[
            ("1 Left", vec![102.into(), 102.into(), 1.0.into()]),
            ("2 Right", vec![51.into(), 51.into(), (37.0 / 51.0).into()]),
        ],
    );
}

#[test]
fn a_range_of_days_leaves_the_others_out_and_what_is_not_there_is_said() {
    let bench = told(&two_days());
    let rows = compare(&bench, &["shift", "--from", "2026-03-03"]);
    expect(&rows, &["made", "beyond"], &[("2026-03-03", vec![7.into(), false.into()])]);
    for (arguments, says) in [
        (&["shift", "--to", "2026-03-01"][..], "shifts began from 2026-03-02 to 2026-03-03"),
        (&["shift", "--from", "2026-03-03", "--to", "2026-03-02"], "the earlier day first"),
        (&["month"], "possible values"),
    ] {
        let ran = bench.run(&[&["compare", "--by"], arguments].concat());
        assert_eq!((ran.code, ran.out.as_str()), (2, ""), "{arguments:?}");
        assert!(ran.err.contains(says), "{arguments:?}: {}", ran.err);
    }
    let ran = crate::sample::bench().run(&["compare", "--by", "shift"]);
    assert_eq!(ran.code, 2);
}

/// What was finished and taken back is in no group, whenever that was.
#[test]
fn what_no_longer_stands_is_in_no_group() {
    let mut world = World::new(station(2));
    world.must(order(vec![line(4, "dark-cotton")]));
    finish(&mut world, "A1-01");
    finish(&mut world, "A1-02");
    world.must(Command::Undo);
    let rows = compare(&told(&world), &["shift"]);
    assert_eq!((&rows[0]["made"], &rows[0]["opened"]), (&1.into(), &5.into()));
    world.must(Command::Open { press: PressNo(2) });
    trouble(&mut world, "A1-01", Outcome::StepAgain);
    let rows = compare(&told(&world), &["shift"]);
    assert_eq!((&rows[0]["made"], &rows[0]["first_pass"]), (&1.into(), &1.0.into()));
}

#[test]
fn the_forms_say_the_same_and_the_page_fetches_nothing() {
    let bench = told(&two_days());
    let rows = compare(&bench, &["weekday"]);
    let run = |form: &str| {
        let ran = bench.run(&["compare", "--by", "weekday", "--format", form]);
        assert_eq!((ran.code, ran.err.as_str()), (0, ""), "{form}");
        ran.out
    };
    assert_eq!(run("json"), bench.run(&["compare", "--by", "weekday", "--json"]).out);
    let csv = run("csv");
    let mut table = csv::Reader::from_reader(csv.as_bytes());
    let head: Vec<String> = table.headers().unwrap().iter().map(str::to_owned).collect();
    for (row, record) in rows.iter().zip(table.records().map(Result::unwrap)) {
        for (name, value) in head.iter().zip(record.iter()) {
            let json = match &row[name] {
                Value::Null => String::new(),
                Value::String(text) => text.clone(),
                other => other.to_string(),
            };
            let same = value.parse::<f64>().ok().zip(json.parse::<f64>().ok());
            assert!(same.map_or(value == json, |(a, b)| a == b), "{name}: {value}, {json}");
        }
    }
    let (text, page) = (run("text"), run("html"));
    for said in
        ["Tuesday: 35.0 % of 20 garments right at once, below what chance does", "Monday", "96.8 %"]
    {
        assert!(
            text.split_whitespace().collect::<Vec<_>>().join(" ").contains(said),
            "{said}: {text}"
        );
    }
    assert!(text.lines().all(|line| line.chars().count() <= 80), "{text}");
    let parts = parts(&page);
    assert_eq!(texts(&parts, "h2"), ["Beyond chance", "Right at once", "Side by side"]);
    assert!(
        texts(&parts, "text").iter().any(|text| text == "35.0 % below"),
        "in words, not by colour"
    );
    for word in ["<script", "<link", "<img", "src=", "href=", "url(", "@import", "http:", "https:"]
    {
        assert!(!page.contains(word), "{word}");
    }
}

/// The report and the comparison count the same things of the same shift.
#[test]
fn the_report_and_the_comparison_agree_of_a_shift() {
    let bench = rehearsed("7", "40", "3");
    let report = crate::sample::json(&bench, &[]);
    let row = &compare(&bench, &["shift"])[0];
    for (name, of) in [
        ("made", &report["output"]["finished"]),
        ("first_pass", &report["output"]["first_pass_yield"]),
        ("rejects", &report["output"]["out"]),
        ("hours", &report["shift"]["hours"]),
        ("sprayed", &report["fluid"]["sprayed"]),
        ("each_g", &report["fluid"]["each_g"]),
    ] {
        assert_eq!(&row[name], of, "{name}");
    }
    let near = |a: &Value, b: &Value| (a.as_f64().unwrap() - b.as_f64().unwrap()).abs() < 1e-9;
    assert!(near(&row["lost_minutes"], &report["output"]["lost_minutes"]));
}

/// A shift beside the one before it and the usual one: the third of these finishes one garment, and the two before it
/// finished two and four.
#[test]
fn a_report_stands_beside_the_shift_before_and_the_usual_one() {
    let mut world = World::new(station(2));
    world.must(order(vec![line(20, "dark-cotton")]));
    let mut next = 1;
    for count in [3, 4, 2, 1] {
        for _ in 0..count {
            finish(&mut world, &format!("A1-{next:02}"));
            next += 1;
        }
        world.wait(20.0 * 3600.0);
    }
    let bench = told(&world);
    let report = crate::sample::json(&bench, &[]);
    let beside = &report["beside"];
    assert_eq!(beside["last"]["finished"], 2.0);
    assert_eq!((&beside["usual"]["finished"], &beside["usual_of"]), (&3.0.into(), &3.into()));
    let text = crate::sample::must(&bench, &[]);
    assert!(text.contains("BESIDE OTHER SHIFTS"), "{text}");
    assert!(crate::sample::json(&bench, &["--shift", "2026-03-02"])["beside"].is_null());
    let second = crate::sample::json(&bench, &["--shift", "2026-03-03"]);
    assert!(second["beside"]["usual"].is_null(), "of one shift nothing is usual");
}
