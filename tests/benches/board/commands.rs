//! Accepting a command, decide and apply, in shops of several sizes and with a long history or none.

use std::hint::black_box;
use std::time::{Duration, Instant};

use dwell::shop::facts::ids::{PressNo, Tag};
use dwell::shop::rules::command::{By, Command};

use support::world::{World, line, order, station};

use super::row;

/// What a garment goes through here: pre-press, dry and cure, the handwork between them implied.
const PRESSES: usize = 3;

/// Takes in an order and brings its garments to the end; how long each command took.
fn work_through(world: &mut World, garments: u32) -> Vec<Duration> {
    world.must(order(vec![line(garments, "dark-cotton")]));
    let newest = world.shop.orders().next_back().map(|order| order.id);
    let mine = world.shop.floor().all().filter(|garment| Some(garment.order()) == newest);
    let tags: Vec<Tag> = mine.map(|garment| garment.tag).collect();
    let press = PressNo(1);
    let mut spans = Vec::with_capacity(tags.len() * PRESSES * 2);
    for _ in 0..PRESSES {
        for tag in &tags {
            let shut = Command::Shut { press, garment: *tag, by: By::Scan };
            for command in [shut, Command::Open { press }] {
                world.wait(1.0);
                let started = Instant::now();
                black_box(world.must(black_box(command)));
                spans.push(started.elapsed());
            }
        }
    }
    // The list of all events is the measurer's own, not the shop's.
    world.events.clear();
    spans
}

fn median_us(spans: &mut [Duration]) -> f64 {
    spans.sort_unstable();
    spans[spans.len() / 2].as_secs_f64() * 1e6
}

/// A shop of so many garments, often enough to measure; the median command in microseconds.
fn fresh(garments: u32, rounds: usize) -> f64 {
    let mut spans = Vec::new();
    for _ in 0..rounds {
        spans.extend(work_through(&mut World::new(station(2)), garments));
    }
    median_us(&mut spans)
}

/// The same after 100,000 events.
fn after_history(garments: u32) -> (f64, u64) {
    let mut world = World::new(station(2));
    while world.shop.seq() < 100_000 {
        work_through(&mut world, 200);
    }
    let events = world.shop.seq();
    (median_us(&mut work_through(&mut world, garments)), events)
}

pub fn measure() {
    let few = fresh(20, 100);
    let many = fresh(2000, 1);
    let (long, events) = after_history(2000);
    let ratio = |figure: f64, beside: f64| format!("{:.2} x", figure / beside);
    row("decide + apply, 20 garments, median", &format!("{few:.2} us"), "");
    row("decide + apply, 2,000 garments", &format!("{many:.2} us"), &ratio(many, few));
    let what = format!("decide + apply, 2,000 garments, after {events} events");
    row(&what, &format!("{long:.2} us"), &format!("{} of that without", ratio(long, many)));
}
