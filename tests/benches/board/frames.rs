//! One frame of the Bench at 200x56 with nine presses, beside a plain frame of the same size by the library's own
//! widgets.

use std::hint::black_box;
use std::time::Instant;

use dwell::forecast::operator::{Operator, Turn};
use dwell::screen::keymap::Keymap;
use dwell::screen::theme::Theme;
use dwell::screen::ui::{Standing, Ui};
use dwell::screen::{self, View};
use jiff::tz::TimeZone;
use ratatui::buffer::Buffer;
use ratatui::layout::Rect;
use ratatui::widgets::{Block, Paragraph, Widget, Wrap};

use super::row;
use support::world::{World, line, order, station};

const SIZE: Rect = Rect::new(0, 0, 200, 56);
const PRESSES: usize = 9;
/// Minutes into the shift that the frame shows.
const MINUTES: f64 = 12.0;
const ROUNDS: usize = 101;
/// Frames a round: one alone is too short for the clock.
const FRAMES: u32 = 20;

/// Nine presses of which five are shut, in the middle of a shift.
fn shop() -> World {
    let mut world = World::new(station(PRESSES));
    world.must(order(vec![line(28, "dark-cotton"), line(4, "light-cotton")]));
    let begin = world.now;
    let mut operator = Operator::new(7);
    loop {
        let late = world.now.since(begin).seconds() > MINUTES * 60.0;
        if late && world.shop.alarms(world.now).is_empty() && world.shop.loads().count() >= 5 {
            return world;
        }
        match operator.turn(&world.shop, world.now) {
            Turn::Act(command) => drop(world.say(&command)),
            Turn::Until(moment) => world.now = moment,
            Turn::Done => return world,
        }
    }
}

/// A frame of nine boxes of text, which no change of ours touches.
fn plain() {
    const TEXT: &str = "340 F medium, running: 40 to 75 s, steam by 35 s; sheet 1: 7 of 10 presses since its wipe; \
                        the next blank is laid in, the press is shut, its key is pressed";
    let mut cells = Buffer::empty(SIZE);
    let (wide, high) = (SIZE.width / 3, SIZE.height / 3);
    for n in 0..9 {
        let place = Rect::new(n % 3 * wide, n / 3 * high, wide, high);
        let block = Block::bordered().title("340 F medium");
        let inside = block.inner(place);
        block.render(place, &mut cells);
        Paragraph::new(TEXT).wrap(Wrap { trim: true }).render(inside, &mut cells);
    }
    black_box(cells);
}

/// Microseconds of one of many frames.
fn span(frame: &impl Fn()) -> f64 {
    let started = Instant::now();
    for _ in 0..FRAMES {
        frame();
    }
    started.elapsed().as_secs_f64() * 1e6 / f64::from(FRAMES)
}

fn median(mut all: Vec<f64>) -> f64 {
    all.sort_by(f64::total_cmp);
    all[all.len() / 2]
}

pub fn measure() {
    let world = shop();
    let (shop, now) = (&world.shop, world.now);
    let ui = Ui::new(Keymap::default().into(), TimeZone::UTC, Standing::Writes);
    let theme = Theme { colour: true, halves: true };
    let asked = || (shop.offers(&ui.choice, now), shop.alarms(now));
    let (offers, alarms) = asked();
    let drawn = || {
        let mut cells = Buffer::empty(SIZE);
        screen::draw(&View::new(shop, &ui, (&offers, &alarms), now, theme), &mut cells);
        black_box(cells);
    };
    let ask = || drop(black_box(asked()));
    // In turn, so that whatever else the machine does meets all alike.
    let rounds = (0..ROUNDS).map(|_| (span(&drawn), span(&plain), span(&ask)));
    let (mut bench, mut beside, mut offered) = (Vec::new(), Vec::new(), Vec::new());
    for (drawn, plain, ask) in rounds {
        bench.push(drawn);
        beside.push(plain);
        offered.push(ask);
    }
    let (bench, beside, offered) = (median(bench), median(beside), median(offered));
    row("a plain frame, 200x56", &format!("{beside:.0} us"), "");
    let ratio = format!("{:.2} x", bench / beside);
    row("a frame of the Bench, 200x56, nine presses", &format!("{bench:.0} us"), &ratio);
    row("what is asked of the shop for it", &format!("{offered:.0} us"), "");
}
