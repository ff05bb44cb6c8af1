//! What was finished, and since when it is counted: on the board, by `dwell pace` and in the report.

use std::time::Duration;

use dwell::shop::books::finished::Scope;
use dwell::shop::facts::ids::PressNo;
use dwell::shop::facts::moment::Wall;
use dwell::shop::facts::trouble::{Outcome, Trouble};
use dwell::shop::rules::command::{By, Command, Which};
use serde_json::Value;

use crate::bench::Bench;
use crate::sample::{bench, json, write};
use crate::world::{World, line, order, station};

const AN_HOUR: Duration = Duration::from_secs(3600);

fn shut(world: &mut World, tag: &str, seconds: f64) {
    let (press, garment) = (PressNo(1), tag.parse().unwrap());
    world.must(Command::Shut { press, garment, by: By::Choice });
    world.wait(seconds);
    world.must(Command::Open { press });
}

/// A garment goes all its way, in four minutes.
fn finish(world: &mut World, tag: &str) {
    shut(world, tag, 15.0);
    world.must(Command::HandworkDone(Which::First(1)));
    shut(world, tag, 40.0);
    world.must(Command::Printed(Which::First(1)));
    shut(world, tag, 90.0);
    world.wait(95.0);
}

fn trouble(world: &mut World, tag: &str, outcome: Outcome) {
    let (garment, trouble) = (tag.parse().unwrap(), Trouble::Undercured);
    world.must(Command::NoteTrouble { garment, trouble, outcome });
}

fn finished(world: &World) -> usize {
    world.shop.books().finished.count(world.now, AN_HOUR, Duration::ZERO)
}

fn pace(bench: &Bench, arguments: &[&str]) -> Value {
    let ran = bench.run(&[&["pace", "--json"], arguments].concat());
    assert_eq!((ran.code, ran.err.as_str()), (0, ""), "{arguments:?}");
    serde_json::from_str(&ran.out).unwrap()
}

#[test]
fn what_is_cured_again_or_put_out_is_finished_no_longer() {
    let mut world = World::new(station(1));
    world.must(order(vec![line(3, "dark-cotton")]));
    for tag in ["A1-01", "A1-02", "A1-03"] {
        finish(&mut world, tag);
    }
    trouble(&mut world, "A1-01", Outcome::StepAgain);
    trouble(&mut world, "A1-02", Outcome::Out);
    assert_eq!(finished(&world), 1);
    let rows = world.shop.books().losses.rows(world.now, AN_HOUR);
    // The cure that was in vain, 90 s and 12 s of hands; and all that the other one had been given.
    let press_s = 90.0 + 15.0 + 40.0 + 90.0;
    let hand_s = 12.0 + 3.0 * 12.0 + 33.0 + 24.0;
    assert!((rows[0].press_s - press_s).abs() < 1e-6, "{rows:?}");
    assert!((rows[0].hand_s - hand_s).abs() < 1e-6, "{rows:?}");
    shut(&mut world, "A1-01", 90.0);
    assert_eq!(finished(&world), 2);
    assert_eq!(world.shop.books().finished.first_pass(Scope::Since(Wall(0))), (1, 3));
    // Taken back, the one that was put out counts again.
    world.must(Command::Undo);
    world.must(Command::Undo);
    world.must(Command::Undo);
    assert_eq!(finished(&world), 2);
}

#[test]
fn every_figure_of_a_pace_is_of_the_time_that_was_asked_for() {
    let mut world = World::new(station(1));
    world.must(order(vec![line(9, "dark-cotton")]));
    for tag in ["A1-01", "A1-02", "A1-03", "A1-04"] {
        finish(&mut world, tag);
    }
    trouble(&mut world, "A1-04", Outcome::Out);
    world.wait(24.0 * 3600.0);
    for tag in ["A1-05", "A1-06"] {
        finish(&mut world, tag);
    }
    let bench = bench();
    write(&bench, world.events);
    for (day, finished, out) in [("2026-03-02", 3, 1), ("2026-03-03", 2, 0)] {
        let (pace, report) = (pace(&bench, &["--shift", day]), json(&bench, &["--shift", day]));
        assert_eq!((&pace["finished"], &pace["out"]), (&finished.into(), &out.into()), "{day}");
        for name in ["finished", "out", "second", "per_hour"] {
            assert_eq!(pace[name], report["output"][name], "{day}: {name}");
        }
        assert_eq!(pace["elements"], report["elements"]);
        let hours = pace["per_hour_over_s"].as_f64().unwrap() / 3600.0;
        assert!((hours - report["shift"]["hours"].as_f64().unwrap()).abs() < 1e-6);
        assert_eq!(pace["of"]["from"], report["shift"]["from"]);
        let text = bench.run(&["pace", "--shift", day]).out;
        assert!(text.starts_with(&format!("the shift of {day}: {day} ")), "{text}");
    }
    // Without a time it is today's, and the rate says over how long.
    let today = pace(&bench, &[]);
    assert_eq!((&today["finished"], &today["of"]["what"]), (&2.into(), &"today".into()));
    let text = bench.run(&["pace"]).out;
    assert!(text.contains("over the last 10 min"), "{text}");
}

#[test]
fn a_night_shift_keeps_its_count_over_midnight() {
    for signs in [true, false] {
        let mut world = World::new(station(1));
        world.must(order(vec![line(9, "dark-cotton")]));
        finish(&mut world, "A1-01");
        world.wait(13.9 * 3600.0);
        let began = world.now.at;
        if signs {
            world.must(Command::Sign("AK".into()));
        }
        finish(&mut world, "A1-02");
        world.wait(2.1 * 3600.0);
        finish(&mut world, "A1-03");
        assert_eq!(world.now.at.0 / 86_400_000_000, began.0 / 86_400_000_000 + 1, "past midnight");
        assert_eq!(world.shop.counted_since(world.now), began);
        let bench = bench();
        write(&bench, world.events.clone());
        assert_eq!(pace(&bench, &[])["finished"], 2, "that of the morning was another shift's");
        // Once it is closed, or long over, the new day counts for itself.
        if signs {
            world.must(Command::CloseShift);
            world.wait(60.0);
        } else {
            world.wait(6.0 * 3600.0);
        }
        let midnight = Wall((began.0 / 86_400_000_000 + 1) * 86_400_000_000);
        assert_eq!(world.shop.counted_since(world.now), midnight);
    }
}
