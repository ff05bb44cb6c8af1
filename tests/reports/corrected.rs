//! A time that was corrected, or said not to be known, is so in every figure: report, pace, trace, views.

use std::time::Duration;

use dwell::shop::books::finished::Scope;
use dwell::shop::books::press_spans::Doing;
use dwell::shop::facts::ids::PressNo;
use dwell::shop::rules::command::{By, Command, Which};
use rusqlite::Connection;
use serde_json::Value;

use crate::bench::Bench;
use crate::sample::{bench, json, must, write};
use crate::world::{World, line, order, station};

/// The last opening in a press of a tag, corrected as is said.
fn press(world: &mut World, tag: &str, seconds: f64) {
    let (press, garment) = (PressNo(1), tag.parse().unwrap());
    world.must(Command::Shut { press, garment, by: By::Choice });
    world.wait(seconds);
    world.must(Command::Open { press });
}

fn correct(world: &mut World, ago: Option<f64>) {
    world.must(Command::CorrectTime { ago });
    world.wait(5.0);
}

/// A cure that was corrected, one that was not timed, and a drying whose correction was taken back.
fn corrected() -> Bench {
    let mut world = World::new(station(2));
    world.must(order(vec![line(3, "dark-cotton")]));
    for tag in ["A1-01", "A1-02"] {
        press(&mut world, tag, 15.0);
        world.must(Command::HandworkDone(Which::First(1)));
        press(&mut world, tag, 40.0);
        world.must(Command::Printed(Which::First(1)));
    }
    press(&mut world, "A1-01", 300.0);
    correct(&mut world, Some(190.0));
    press(&mut world, "A1-02", 300.0);
    correct(&mut world, None);
    press(&mut world, "A1-03", 16.0);
    correct(&mut world, Some(10.0));
    world.must(Command::Undo);
    let bench = bench();
    write(&bench, world.events);
    bench
}

fn trace(bench: &Bench, tag: &str) -> Value {
    let ran = bench.run(&["trace", tag, "--json"]);
    assert_eq!((ran.code, ran.err.as_str()), (0, ""));
    serde_json::from_str(&ran.out).unwrap()
}

fn cycle(bench: &Bench, tag: &str, n: usize) -> (Value, Value, Value) {
    let story = trace(bench, tag);
    let cycle = &story["cycles"][n];
    (cycle["seconds"].clone(), cycle["timing"].clone(), cycle["corrected"].clone())
}

#[test]
fn the_report_and_the_pace_count_with_the_corrected_time() {
    let bench = corrected();
    let report = json(&bench, &[]);
    assert_eq!(report["losses"], Value::Array(Vec::new()), "nothing was shut too long");
    // The cure of 110 s is 5 s past its target of 105; a pre-press of 16 s is 1 s past its own.
    let past = &report["past_target"];
    assert_eq!((&past["garments"], &past["too_long"]), (&2.into(), &0.into()));
    assert_eq!(past["longest"]["seconds"], 5.0);
    let elements = &report["elements"];
    let shut = 2.0 * (15.0 + 40.0) + 110.0 + 16.0;
    assert_eq!(elements["APT"], shut);
    // Each press is laid in and taken out of, 12 s by the station's hand times, the one that was not timed too.
    assert_eq!(elements["AUBT"], shut + 7.0 * 12.0);
    // Six were shut for 5 s and 1 s longer than planned.
    assert_eq!(elements["PRI"], (shut - 5.0 - 1.0) / 6.0);
    // What was not timed is in no figure of time, but what it finished is finished.
    assert_eq!(elements["PQ"], 6.0);
    assert_eq!((&elements["IP"], &elements["GP"]), (&2.0.into(), &2.0.into()));
    assert_eq!(report["output"]["finished"], 2);
    assert!(must(&bench, &[]).contains("1 of the presses were not timed"));
    let pace = bench.run(&["pace", "--json", "--shift", "2026-03-02"]);
    let pace: Value = serde_json::from_str(&pace.out).unwrap();
    assert_eq!(pace["elements"], *elements);
}

/// What was opened at five minutes instead of 110 s came out then, and everything that is told of it says so.
#[test]
fn a_corrected_opening_moves_the_garment_its_finish_and_the_strip() {
    let mut world = World::new(station(2));
    world.must(order(vec![line(3, "dark-cotton")]));
    press(&mut world, "A1-01", 15.0);
    world.must(Command::HandworkDone(Which::First(1)));
    press(&mut world, "A1-01", 40.0);
    world.must(Command::Printed(Which::First(1)));
    press(&mut world, "A1-01", 300.0);
    let opened = world.now;
    correct(&mut world, Some(190.0));
    let (shop, ago) = (&world.shop, Duration::from_secs(190));
    let garment = "A1-01".parse().unwrap();
    assert_eq!(shop.garment(garment).unwrap().since, opened.minus(ago));
    let finished = shop.books().finished.all(Scope::From(0));
    assert_eq!(finished, [(garment, opened.minus(ago))]);
    let spans = shop.books().spans.spans(PressNo(1), world.now, Duration::from_secs(305));
    let spans: Vec<(Doing, u64)> =
        spans.iter().map(|span| (span.doing, span.length().as_secs())).collect();
    // 105 s of the cure, 5 s past it, 6 s of unloading, idle since: 5 s have passed since it was said.
    use Doing::{Changing, Idle, PastTarget, Running};
    assert_eq!(spans, [(Running, 105), (PastTarget, 5), (Changing, 6), (Idle, 189)]);
    // Taken back, it came out when its key said.
    world.must(Command::Undo);
    assert_eq!(world.shop.garment(garment).unwrap().since, opened);
    assert_eq!(world.shop.books().finished.all(Scope::From(0)), [(garment, opened)]);
}

#[test]
fn a_trace_tells_the_corrected_time_in_both_forms() {
    let bench = corrected();
    let told = |seconds: Value, timing: &str, corrected| (seconds, timing.into(), corrected);
    assert_eq!(cycle(&bench, "A1-01", 2), told(110.0.into(), "in-time", true.into()));
    assert_eq!(cycle(&bench, "A1-02", 2), told(Value::Null, "not-timed", true.into()));
    assert_eq!(cycle(&bench, "A1-03", 0), told(16.0.into(), "in-time", false.into()));
    let text = bench.run(&["trace", "A1-01"]).out;
    assert!(text.contains("A1-01 cure after 110 s; corrected, its key said 300 s"), "{text}");
    let text = bench.run(&["trace", "A1-02"]).out;
    assert!(text.contains("A1-02 cure, not timed; said later"), "{text}");
}

#[test]
fn the_view_of_press_cycles_tells_the_corrected_time() {
    let bench = corrected();
    let database = Connection::open(bench.data().join("journal.sqlite")).unwrap();
    let sql = "SELECT tag, seconds, timing, corrected FROM press_cycles ORDER BY seq";
    let mut statement = database.prepare(sql).unwrap();
    let rows: Vec<(String, Option<f64>, String, bool)> = statement
        .query_map([], |row| Ok((row.get(0)?, row.get(1)?, row.get(2)?, row.get(3)?)))
        .unwrap()
        .map(Result::unwrap)
        .collect();
    assert_eq!(rows.len(), 7);
    let row = |n: usize| {
        let (tag, seconds, timing, corrected) = &rows[n];
        (tag.as_str(), *seconds, timing.as_str(), *corrected)
    };
    assert_eq!(row(4), ("A1-01", Some(110.0), "in-time", true));
    assert_eq!(row(5), ("A1-02", None, "not-timed", true));
    assert_eq!(row(6), ("A1-03", Some(16.0), "in-time", false), "its correction was taken back");
}
