//! Memory over thirty days: what the board keeps in mind is bounded, so the thirtieth day needs what the tenth did.

use std::io::Seek;
use std::sync::Arc;
use std::time::Duration;

use dwell::forecast::operator::{Operator, Turn};
use dwell::screen::keymap::Keymap;
use dwell::screen::theme::Theme;
use dwell::shell::board::{Board, Source};
use dwell::shell::profiles;
use dwell::shop::Shop;
use dwell::shop::facts::moment::{Boot, Moment, Up, Wall};
use dwell::shop::facts::order::{OrderForm, OrderLine};
use dwell::shop::facts::rank::Rank;
use dwell::shop::rules::command::Command as Say;

use crate::bench::Bench;
use crate::keys::standing;
use support::program::program;

/// What a run without a screen needed.
struct Needed {
    /// The most kibibytes that were resident (proc(5), VmHWM), looked at until its end.
    peak: u64,
    /// Garments that lay on the shelf then: work that is still to be done, each with its story.
    on_shelf: u64,
}

/// Without a journal: a day takes it less than a second, and what waits to be written would pile up as it never does at
/// a bench.
fn needed(weeks: u32) -> Needed {
    let weeks = weeks.to_string();
    let mut answer = tempfile::tempfile().unwrap();
    let mut child = program()
        .env("HOME", "/nowhere")
        .args(["rehearse", "--headless", "--weeks", &weeks, "--garments", "450", "--json"])
        .stdout(answer.try_clone().unwrap())
        .spawn()
        .unwrap();
    let status = format!("/proc/{}/status", child.id());
    let mut peak = 0;
    while child.try_wait().unwrap().is_none() {
        let text = std::fs::read_to_string(&status).unwrap_or_default();
        let line = text.lines().find_map(|line| line.strip_prefix("VmHWM:"));
        let found = line.and_then(|line| line.split_whitespace().next()?.parse().ok());
        peak = found.unwrap_or(0).max(peak);
        std::thread::sleep(Duration::from_millis(2));
    }
    assert!(child.wait().unwrap().success() && peak > 0);
    answer.rewind().unwrap();
    let answer: serde_json::Value = serde_json::from_reader(answer).unwrap();
    Needed { peak, on_shelf: answer["on_shelf"].as_u64().unwrap() }
}

/// Five, ten and thirty working days of 450 garments through the program. Of finished ones 2,000 are kept in mind,
/// which the fifth day fills; the shelf goes on growing with the scenario, and is work, not history: a kibibyte is
/// allowed for each garment that lies there more. Beyond that ten days came to thirty as 1 to 1.06, and thirty to sixty as
/// 1 to 1.03: what is learned from fills its bounds by the twentieth day.
#[test]
fn the_thirtieth_day_needs_the_memory_of_the_fifth() {
    let [five, ten, thirty] = [1, 2, 6].map(needed);
    for (days, fewer, percent) in [(5, five, 110), (10, ten, 108)] {
        let Needed { peak, on_shelf } = thirty;
        let allowed = fewer.peak * percent / 100 + on_shelf.saturating_sub(fewer.on_shelf);
        assert!(peak <= allowed, "{} KiB after {days} days, {peak} after 30", fewer.peak);
    }
}

const HOUR: i64 = 3_600_000_000;

/// A made-up operator with a new order each morning.
fn days(garments: u32) -> impl FnMut(&Shop, Moment) -> Turn {
    let mut operator = Operator::new(5);
    let mut last = -1;
    move |shop, now| {
        let day = now.up.0 / (24 * HOUR);
        if day == last {
            return operator.turn(shop, now);
        }
        last = day;
        let line = OrderLine {
            mark: "M".into(),
            underbase: Some(true),
            ..OrderLine::plain(garments, "quick", "#16181d".parse().unwrap())
        };
        let form = OrderForm {
            name: format!("Day {day}"),
            rank: Rank::USUAL,
            due: None,
            shared: false,
            lines: vec![line],
        };
        Turn::Act(Say::TakeOrder { form, file: None })
    }
}

/// How long everything is that a shop holds when it is written out: each of its parts, seen or not.
fn size(board: &Board) -> [usize; 2] {
    [format!("{:?}", board.shop).len(), board.ui.past.len()]
}

/// The board itself, with its books and its history pane, over days that come to rest each night.
#[test]
fn what_a_board_keeps_in_mind_stops_growing() {
    let bench = Bench::new(3, 20);
    let begin = Moment { at: Wall(1_772_438_400_000_000), boot: Boot::MADE_UP, up: Up(0) };
    let source = Source::Rehearses {
        writer: None,
        operator: Box::new(days(250)),
        until: Some(begin),
        teller: None,
    };
    let keys = Arc::new(Keymap::default());
    let mut board = Board::new(
        Shop::default(),
        standing(begin),
        source,
        keys,
        Theme { colour: true, halves: true },
    );
    board.put_in_force(&profiles::load(Some(&bench.profiles())).unwrap());
    let mut at_night = Vec::new();
    for hour in 0..30 * 24 {
        let now = Moment { at: Wall(begin.at.0 + hour * HOUR), up: Up(hour * HOUR), ..begin };
        board.clock = standing(now);
        // A tick takes at most a thousand turns.
        for _ in 0..3 {
            board.tick();
        }
        board.frame((120, 36));
        if hour % 24 == 23 {
            at_night.push(size(&board));
        }
    }
    let done = board.shop.floor().all().filter(|garment| garment.is_done()).count();
    // The long done are let go of when an order comes in: the last day's stand beside the 2,000.
    assert!((2000..2400).contains(&done), "{done} done");
    assert_eq!(board.shop.floor().all().count(), done, "all work was done each night");
    assert!(board.shop.seq() > 30 * 250 * 8, "{} events", board.shop.seq());
    // One night leaves more behind than another: the most of a week is held against that of a later one.
    let most = |nights: &[[usize; 2]], part: usize| nights.iter().map(|night| night[part]).max();
    for (name, part) in ["shop", "past"].iter().zip(0..) {
        let [second, last] =
            [&at_night[7..14], &at_night[23..]].map(|nights| most(nights, part).unwrap());
        assert!(
            last * 100 <= second * 105,
            "{name}: {second} in week 2, {last} at the end: {at_night:?}"
        );
    }
}
