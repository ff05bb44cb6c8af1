//! How late a prompt comes: the board's own deadlines, beside bare sleeps of the same spans in the same process.
//!
//! Four presses run on a made-up clock that is so fast that a second of theirs lasts some milliseconds: each is a
//! deadline. A prompt has come once its frame is drawn.

use std::collections::VecDeque;
use std::path::Path;
use std::sync::Arc;
use std::time::Duration;

use dwell::forecast::shift::{self, BEGINS};
use dwell::screen::keymap::Keymap;
use dwell::screen::theme::Theme;
use dwell::shell::board::{Board, Source};
use dwell::shell::clock::Clock;
use dwell::shell::follower::Follower;
use dwell::shell::journal::Reader;
use dwell::shell::profiles;
use dwell::shell::replay::{self, Replay};
use dwell::shop::Shop;
use dwell::shop::facts::fact::Event;
use dwell::shop::rules::command::{By, Command};
use dwell::shop::rules::offer::{Choice, OfferedAct};
use tokio::time::Instant;

use crate::{GROWTH, row};

const DEADLINES: usize = 10_000;
/// A made-up second lasts 5 ms.
const SPEED: f64 = 200.0;

/// A board on which four presses run for longer than the measurement lasts, over a shop and what its screen remembers.
fn board(mut shop: Shop, past: VecDeque<Event>) -> Board {
    let known = profiles::load(None).unwrap();
    let station = shift::station(&known.station, 4);
    let plan = shift::Plan { seed: 1, garments: 8, presses: 4, until: None };
    let now = shop.newest().map_or(BEGINS, |newest| newest.plus(Duration::from_secs(60)));
    let recipes = known.recipes.iter().map(|(name, recipe)| (name.clone(), Arc::clone(recipe)));
    for command in shift::opening(&station, recipes, plan, |_, _| None) {
        shift::state(&mut shop, station.id, &command, now);
    }
    for press in shop.press_numbers() {
        let offers = shop.offers(&Choice::default(), now);
        let offer = offers.iter().find(|offer| offer.press == press).unwrap();
        let OfferedAct::Shut { garment, .. } = offer.act else { panic!("{offer:?}") };
        let command = Command::Shut { press, garment, by: By::Suggestion };
        assert!(!shift::state(&mut shop, station.id, &command, now).is_empty());
    }
    let nowhere = std::env::temp_dir().join("no-journal-lies-here");
    let follower = Follower::start(&nowhere, (None, 0), 0).unwrap();
    let source = Source::Watches { follower, data: nowhere };
    let clock = Clock::made_up(now, SPEED);
    let keys = Arc::new(Keymap::default());
    let mut board = Board::new(shop, clock, source, keys, Theme { colour: true, halves: true });
    board.ui.past = past;
    board
}

/// A board over a made-up journal.
fn board_of(data: &Path) -> Board {
    let reader = Reader::open(data).unwrap().unwrap();
    let shop = Replay::of(data, &reader).unwrap().into_shop();
    let past = replay::lately(&reader, &shop).unwrap();
    board(shop, past)
}

/// Milliseconds: the middle, and that which one of a thousand exceeds.
fn told(mut late: Vec<Duration>) -> (f64, f64) {
    late.sort_unstable();
    let at = |share: usize| late[late.len() * share / 1000].as_secs_f64() * 1e3;
    (at(500), at(999))
}

/// `year` is a made-up journal of a year, `day` one of its first day.
pub fn measure(year: &Path, day: &Path) {
    let runtime = tokio::runtime::Builder::new_current_thread().enable_time().build().unwrap();
    let mut boards = [board(Shop::default(), Default::default()), board_of(day), board_of(year)];
    let (ours, bare) = runtime.block_on(async {
        let mut ours: [Vec<Duration>; 3] = Default::default();
        let mut bare = Vec::new();
        // Turn and turn about, so that what else the machine does falls on all.
        while bare.len() < DEADLINES {
            let mut span = Duration::ZERO;
            for (board, ours) in boards.iter_mut().zip(&mut ours) {
                span = board.next_deadline();
                let wake = Instant::now() + span;
                tokio::time::sleep_until(wake).await;
                board.tick();
                std::hint::black_box(board.frame((120, 36)));
                ours.push(wake.elapsed());
            }
            let wake = Instant::now() + span;
            tokio::time::sleep_until(wake).await;
            bare.push(wake.elapsed());
        }
        (ours.map(told), told(bare))
    });
    let [empty, day, year] = ours;
    let over = if empty.1 <= bare.1 + 5.0 { "" } else { "   OVER" };
    println!(
        "  {:<46} {:>10.3} ms   {:>10.3} ms   {:+.2} ms, at most +5 ms{over}",
        "lateness of a prompt, p99.9 of 10,000",
        empty.1,
        bare.1,
        empty.1 - bare.1
    );
    row("   after a year, beside a day", year.1, day.1, GROWTH, "");
    row("   the same, p50", year.0, day.0, GROWTH, "");
}
