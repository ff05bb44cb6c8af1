//! A shop with far more open orders than any has, beside one of an ordinary week: what the loop does for a key, part by
//! part.

use std::hint::black_box;
use std::time::Instant;

use dwell::forecast::workload;
use dwell::screen::act;
use dwell::screen::input::{Key, KeyCode};
use dwell::screen::keymap::Keymap;
use dwell::screen::meaning::{Meaning, Sight};
use dwell::screen::theme::Theme;
use dwell::screen::ui::{Pane, Standing, Ui};
use dwell::screen::{self, View};
use dwell::shop::facts::ids::{PressNo, Tag};
use dwell::shop::rules::command::{By, Command};
use jiff::tz::TimeZone;
use ratatui::buffer::Buffer;
use ratatui::layout::Rect;

use super::row;
use support::world::{World, line, order, station};

/// How often each part is done.
const ROUNDS: usize = 15;

/// A shop with so many orders of 50 garments each, one in ten of them on the shelf or wet, and no press that suits.
fn shop(orders: u32, suits: bool) -> (World, Ui) {
    let mut profile = station(4);
    if !suits {
        // Every press is set as no recipe wants it: the rule looks at all that waits.
        for press in &mut profile.presses {
            press.dial = "250 F".parse().unwrap();
        }
    }
    let mut world = World::new(profile);
    for _ in 0..orders {
        world.must(order(vec![line(25, "dark-cotton"), line(25, "light-cotton")]));
    }
    world.events.clear();
    (world, Ui::new(Keymap::default().into(), TimeZone::UTC, Standing::Writes))
}

/// The median of a few rounds, in milliseconds.
fn median_ms(mut work: impl FnMut()) -> f64 {
    let mut spans: Vec<f64> = (0..ROUNDS)
        .map(|_| {
            let started = Instant::now();
            work();
            started.elapsed().as_secs_f64() * 1e3
        })
        .collect();
    spans.sort_by(f64::total_cmp);
    spans[ROUNDS / 2]
}

/// Each part of what the loop does, with its name.
fn parts(orders: u32, suits: bool) -> Vec<(String, f64)> {
    let (mut world, mut ui) = shop(orders, suits);
    let mut found = Vec::new();
    let now = world.now;
    let meaning = median_ms(|| drop(black_box(Meaning::of(&world.shop, &ui, now))));
    found.push(("what the keys mean".to_owned(), meaning));
    found.push(("alarms".to_owned(), median_ms(|| drop(black_box(world.shop.alarms(now))))));
    found.push(("questions".to_owned(), median_ms(|| drop(black_box(world.shop.questions())))));
    let next = median_ms(|| {
        black_box(world.shop.next_deadline(now));
    });
    found.push(("the next deadline".to_owned(), next));
    let work = median_ms(|| drop(black_box(workload::of_shop(&world.shop, now))));
    found.push(("what a plan is made of".to_owned(), work));
    for pane in [Pane::Bench, Pane::Pace, Pane::Shelf, Pane::Coat, Pane::Past] {
        ui.pane = pane;
        let meant = Meaning::of(&world.shop, &ui, now);
        let alarms = world.shop.alarms(now);
        let frame = median_ms(|| {
            let (shop, offers, theme) =
                (&world.shop, &meant.offers, Theme { colour: true, halves: true });
            let mut cells = Buffer::empty(Rect::new(0, 0, 120, 36));
            let view = View::new(shop, &ui, (offers, &alarms), now, theme);
            screen::draw(&view, &mut cells);
            black_box(&cells);
        });
        found.push((format!("a frame of {pane:?}"), frame));
    }
    ui.pane = Pane::Bench;
    let key = median_ms(|| {
        let meant = Meaning::of(&world.shop, &ui, now);
        let sight = Sight { shop: &world.shop, meant: &meant, now };
        let key = Key::plain(KeyCode::Char('c'));
        drop(black_box(act::key(&mut ui, &sight, &key)));
    });
    found.push(("stepping to another garment".to_owned(), key));
    let tags: Vec<Tag> = world.shop.floor().all().map(|garment| garment.tag).collect();
    let mut tags = tags.into_iter().step_by(7);
    let acts = median_ms(|| {
        let Some(garment) = tags.next() else { return };
        let press = PressNo(1);
        world.wait(30.0);
        world.must(Command::Shut { press, garment, by: By::Scan });
        world.must(Command::Open { press });
    });
    found.push(("shut and opened".to_owned(), acts));
    let taken = median_ms(|| drop(world.must(order(vec![line(50, "dark-cotton")]))));
    found.push(("an order taken in".to_owned(), taken));
    found
}

pub fn measure() {
    for suits in [true, false] {
        let set = if suits { "" } else { ", no press set for any" };
        let (few, many) = (parts(20, suits), parts(2000, suits));
        for ((name, few), (_, many)) in few.into_iter().zip(many) {
            let what = format!("{name}, 100,000 garments open{set}");
            row(&what, &format!("{many:.3} ms"), &format!("{:.2} x of 1,000", many / few));
        }
    }
}
