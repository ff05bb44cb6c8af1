//! The views that people ask say what the books say: what was undone is in neither, what was corrected in both.

use std::collections::BTreeMap;

use dwell::figures::units::Grams;
use dwell::shop::Shop;
use dwell::shop::books::Book;
use dwell::shop::books::entry::{Done, Entry};
use dwell::shop::books::ledger::Ledger;
use dwell::shop::books::openings::Openings;
use dwell::shop::facts::step::Step;
use dwell::shop::facts::trouble::{Outcome, Trouble};
use dwell::shop::floor::garment::Place;
use dwell::shop::rules::command::{Command, Which};
use rusqlite::Connection;

use crate::bench::Bench;
use crate::sample::{bench, full_morning, work, write};
use crate::world::World;

/// What the views tell, counted from the entries.
#[derive(Debug, Clone, Default, PartialEq)]
struct Counted {
    /// By garment: events, presses, troubles, whether it was cured.
    garments: BTreeMap<String, (i64, i64, i64, i64)>,
    /// The grams per square metre of each weight, and the grams of each fill, by the number of the event.
    weights: Vec<(i64, f64)>,
    /// The garment of each weight, and what that weighed dry.
    coats: Vec<(String, f64)>,
    fills: Vec<(i64, f64)>,
}

impl Book for Counted {
    fn take(&mut self, entry: &Entry) {
        let seq = i64::try_from(entry.seq).unwrap();
        match &entry.done {
            Done::CoatWeighed(fact) => {
                // The last weight of a coat counts.
                let same = |(garment, before): &(String, f64)| {
                    *garment == fact.garment.to_string() && *before == fact.before.0
                };
                if let Some(n) = self.coats.iter().position(same) {
                    self.coats.remove(n);
                    self.weights.remove(n);
                }
                self.coats.push((fact.garment.to_string(), fact.before.0));
                self.weights.push((seq, fact.coat.0));
            }
            Done::Filled { grams, .. } => self.fills.push((seq, *grams)),
            _ => {}
        }
        let Some(garment) = entry.garment else { return };
        let counts = self.garments.entry(garment.to_string()).or_default();
        counts.0 += 1;
        match &entry.done {
            Done::Opened(opened) => {
                counts.1 += 1;
                counts.3 |= i64::from(opened.opening.step == Step::Cure);
            }
            Done::Trouble { .. } => counts.2 += 1,
            _ => {}
        }
    }
}

/// A morning after which times are corrected, weights taken, and much is undone.
fn morning() -> World {
    let mut world = full_morning();
    let presses = world.shop.press_numbers();
    for (n, seconds) in (0..30).zip([3.0, 21.0, 44.0, 95.0].into_iter().cycle()) {
        world.wait(seconds);
        let press = presses[n % 2];
        match world.shop.load(press).is_some() {
            true => drop(world.say(&Command::Open { press })),
            false => work(&mut world, n as u64, 120.0),
        }
        match n % 5 {
            0 => drop(world.say(&Command::CorrectTime { ago: Some(1.0) })),
            1 => drop(world.say(&Command::CorrectTime { ago: None })),
            2 => drop(world.say(&Command::Undo)),
            3 => drop(world.say(&Command::Store(Which::First(1)))),
            _ => {
                let garment = world.shop.desk().last.unwrap();
                drop(world.say(&Command::Weigh { garment, grams: Grams(180.0) }));
                let (trouble, outcome) = (Trouble::Scorched, Outcome::GoOn);
                drop(world.say(&Command::NoteTrouble { garment, trouble, outcome }));
            }
        }
    }
    world
}

fn rows<T>(
    bench: &Bench,
    sql: &str,
    read: impl Fn(&rusqlite::Row<'_>) -> rusqlite::Result<T>,
) -> Vec<T> {
    let journal = Connection::open(bench.data().join("journal.sqlite")).unwrap();
    let mut statement = journal.prepare(sql).unwrap();
    statement.query_map([], |row| read(row)).unwrap().map(Result::unwrap).collect()
}

#[test]
fn the_views_say_what_the_books_say() {
    let world = morning();
    let (mut shop, mut openings) = (Shop::default(), Ledger::<Openings>::default());
    let (mut again, mut counted) = (Shop::default(), Ledger::<Counted>::default());
    for event in &world.events {
        shop.apply_for(event, &mut openings);
        again.apply_for(event, &mut counted);
    }
    for kind in ["undone", "time-corrected", "stored", "coat-weighed", "sprayer-filled"] {
        assert!(world.events.iter().any(|event| event.fact.kind() == kind), "no {kind}");
    }
    let bench = bench();
    write(&bench, world.events);
    let cycles =
        rows(&bench, "SELECT seq, tag, seconds, timing FROM press_cycles ORDER BY seq", |row| {
            Ok((row.get(0)?, row.get(1)?, row.get(2)?, row.get(3)?))
        });
    let of_books: Vec<(i64, String, Option<f64>, String)> = openings
        .now()
        .0
        .iter()
        .map(|(seq, opening)| {
            let timing = serde_json::to_value(opening.timing).unwrap();
            let timing = timing.as_str().unwrap().to_owned();
            (i64::try_from(*seq).unwrap(), opening.garment.to_string(), opening.seconds, timing)
        })
        .collect();
    assert_eq!(cycles, of_books);
    let counted = counted.now();
    let garments = "SELECT tag, events, presses, troubles, cured FROM garments";
    let garments: BTreeMap<String, _> = rows(&bench, garments, |row| {
        Ok((row.get(0)?, (row.get(1)?, row.get(2)?, row.get(3)?, row.get(4)?)))
    })
    .into_iter()
    .collect();
    let corrections: Vec<String> =
        rows(&bench, "SELECT tag FROM facts WHERE kind = 'time-corrected'", |row| row.get(0));
    // A correction is an event of its garment to the view.
    let mut of_books = counted.garments.clone();
    for tag in corrections {
        of_books.get_mut(&tag).unwrap().0 += 1;
    }
    assert_eq!(garments, of_books);
    let pair = |row: &rusqlite::Row<'_>| Ok((row.get(0)?, row.get(1)?));
    assert_eq!(
        rows(&bench, "SELECT seq, coat_g_m2 FROM weigh_ins ORDER BY seq", pair),
        counted.weights
    );
    assert_eq!(rows(&bench, "SELECT seq, grams FROM fills ORDER BY seq", pair), counted.fills);
    let shelf: Vec<String> = rows(&bench, "SELECT tag FROM shelf ORDER BY tag", |row| row.get(0));
    let mut there: Vec<String> = shop
        .floor()
        .all()
        .filter(|garment| garment.place == Place::Shelf)
        .map(|garment| garment.tag.to_string())
        .collect();
    there.sort();
    assert_eq!(shelf, there);
}
