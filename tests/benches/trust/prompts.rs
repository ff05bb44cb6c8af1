//! How late a prompt comes: the board's own deadlines, beside bare sleeps of the same spans in the same process.
//!
//! Four presses run on a made-up clock that is so fast that a second of theirs lasts some milliseconds: each is a
//! deadline. A prompt has come once its frame is drawn.

use std::sync::Arc;
use std::time::Duration;

use dwell::forecast::shift::{self, BEGINS};
use dwell::screen::keymap::Keymap;
use dwell::screen::theme::Theme;
use dwell::shell::board::{Board, Source};
use dwell::shell::clock::Clock;
use dwell::shell::profiles;
use dwell::shop::Shop;
use dwell::shop::command::{By, Command};
use dwell::shop::offer::{Choice, OfferedAct};
use tokio::time::Instant;

const DEADLINES: usize = 10_000;
/// A made-up second lasts 5 ms.
const SPEED: f64 = 200.0;

/// A board on which four presses run for longer than the measurement lasts.
fn board() -> Board {
    let known = profiles::load(None).unwrap();
    let station = shift::station(&known.station, 4);
    let plan = shift::Plan { seed: 1, garments: 8, presses: 4, until: None };
    let mut shop = Shop::default();
    let recipes = known.recipes.iter().map(|(name, recipe)| (name.clone(), Arc::clone(recipe)));
    for command in shift::opening(&station, recipes, plan, |_, _| None) {
        shift::state(&mut shop, station.id, &command, BEGINS);
    }
    for press in shop.press_numbers() {
        let offers = shop.offers(&Choice::default());
        let offer = offers.iter().find(|offer| offer.press == press).unwrap();
        let OfferedAct::Shut { garment, .. } = offer.act else { panic!("{offer:?}") };
        let command = Command::Shut { press, garment, by: By::Suggestion };
        assert!(!shift::state(&mut shop, station.id, &command, BEGINS).is_empty());
    }
    let nowhere = std::env::temp_dir().join("no-journal-lies-here");
    let source = Source::Watches { reader: None, data: nowhere, version: 0 };
    let clock = Clock::made_up(BEGINS, SPEED);
    Board::new(shop, clock, source, Arc::new(Keymap::default()), Theme { colour: true })
}

/// Milliseconds: the middle, and that which one of a thousand exceeds.
fn told(mut late: Vec<Duration>) -> (f64, f64) {
    late.sort_unstable();
    let at = |share: usize| late[late.len() * share / 1000].as_secs_f64() * 1e3;
    (at(500), at(999))
}

pub fn measure() {
    let runtime = tokio::runtime::Builder::new_current_thread().enable_time().build().unwrap();
    let (ours, theirs) = runtime.block_on(async {
        let mut board = board();
        let (mut ours, mut theirs) = (Vec::new(), Vec::new());
        // Turn and turn about, so that what else the machine does falls on both.
        while ours.len() < DEADLINES {
            let span = board.next_deadline();
            let wake = Instant::now() + span;
            tokio::time::sleep_until(wake).await;
            board.tick();
            std::hint::black_box(board.frame((120, 36)));
            ours.push(wake.elapsed());
            let wake = Instant::now() + span;
            tokio::time::sleep_until(wake).await;
            theirs.push(wake.elapsed());
        }
        (told(ours), told(theirs))
    });
    let over = if ours.1 <= theirs.1 + 5.0 { "" } else { "   OVER" };
    println!(
        "  {:<46} {:>10.3} ms   {:>10.3} ms   {:+.2} ms, at most +5 ms{over}",
        "lateness of a prompt, p99.9 of 10,000",
        ours.1,
        theirs.1,
        ours.1 - theirs.1
    );
}
