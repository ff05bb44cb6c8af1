//! What a press was doing, on a time line made by hand: 6 s of unloading, 6 s of loading, a target of 15 s.

use std::time::Duration;

use dwell::shop::books::press_spans::{Doing, PressSpans};
use dwell::shop::facts::ids::PressNo;
use dwell::shop::facts::moment::{Boot, Moment, Up, Wall};
use dwell::shop::facts::outage::OutOfUse;
use dwell::shop::facts::station::Station;
use dwell::shop::rules::command::{By, Command, Which};

use crate::world::{World, line, order, station};

const ONE: PressNo = PressNo(1);

struct Shift {
    world: World,
}

impl Shift {
    fn new(station: Station) -> Self {
        let mut shift = Self { world: World::new(station) };
        shift.must(order(vec![line(9, "dark-cotton")]));
        shift
    }

    fn must(&mut self, command: Command) {
        self.world.must(command);
    }

    fn spans(&self) -> &PressSpans {
        &self.world.shop.books().spans
    }

    fn shut(&mut self, tag: &str) {
        self.must(Command::Shut { press: ONE, garment: tag.parse().unwrap(), by: By::Scan });
    }

    fn press(&mut self, tag: &str, seconds: f64) {
        self.shut(tag);
        self.world.wait(seconds);
        self.must(Command::Open { press: ONE });
    }

    /// Whole seconds of each span within the last so many, oldest first.
    fn told(&self, seconds: u64) -> Vec<(Doing, u64)> {
        let spans = self.spans().spans(ONE, self.world.now, Duration::from_secs(seconds));
        assert_tiled(&spans, seconds);
        spans.iter().map(|span| (span.doing, span.length().as_secs())).collect()
    }
}

fn assert_tiled(spans: &[dwell::shop::books::press_spans::PressSpan], seconds: u64) {
    assert_eq!(spans.first().unwrap().from, Duration::from_secs(seconds));
    assert_eq!(spans.last().unwrap().to, Duration::ZERO);
    assert!(spans.windows(2).all(|pair| pair[0].to == pair[1].from), "{spans:?}");
}

#[test]
fn a_cycle_is_loading_running_past_target_unloading_and_idle() {
    let mut shift = Shift::new(station(2));
    shift.world.wait(30.0);
    shift.press("A1-01", 19.0);
    shift.world.wait(21.0);
    use Doing::{Changing, Idle, PastTarget, Running};
    let all =
        [(Idle, 24), (Changing, 6), (Running, 15), (PastTarget, 4), (Changing, 6), (Idle, 15)];
    assert_eq!(shift.told(70), all);
    assert_eq!(shift.told(25), [(PastTarget, 4), (Changing, 6), (Idle, 15)]);
    assert_eq!(shift.told(22), [(PastTarget, 1), (Changing, 6), (Idle, 15)]);
    let now = shift.world.now;
    assert_eq!(shift.spans().cycles(ONE, now, Duration::from_secs(70)), 1);
    assert_eq!(shift.spans().cycles(ONE, now, Duration::from_secs(20)), 0);
    let totals = shift.spans().totals(ONE, now, Duration::from_secs(70));
    assert_eq!(totals.map(|total| total.as_secs()), [15, 4, 12, 39, 0, 0]);
    // A press of which nothing is known stands idle.
    let other = shift.spans().spans(PressNo(2), now, Duration::from_secs(70));
    assert_eq!((other.len(), other[0].doing), (1, Idle));
}

#[test]
fn one_that_is_still_shut_runs_until_now() {
    let mut shift = Shift::new(station(1));
    shift.shut("A1-01");
    shift.world.wait(10.0);
    assert_eq!(shift.told(10), [(Doing::Running, 10)]);
    shift.world.wait(10.0);
    assert_eq!(shift.told(20), [(Doing::Running, 15), (Doing::PastTarget, 5)]);
}

#[test]
fn a_wipe_takes_the_time_before_its_key_and_at_most_a_minute() {
    let mut shift = Shift::new(station(1));
    shift.press("A1-01", 15.0);
    shift.must(Command::HandworkDone(Which::First(1)));
    shift.press("A1-01", 40.0);
    shift.world.wait(36.0);
    let sheet = shift.world.shop.sheets().all().find(|sheet| sheet.presses > 0).unwrap().no;
    shift.must(Command::CleanSheet(sheet));
    shift.world.wait(14.0);
    use Doing::{Idle, SheetWork};
    // 36 s since the press was opened: all of it is taken for the wipe, as nobody knows better.
    assert_eq!(shift.told(50), [(SheetWork, 36), (Idle, 14)]);
    shift.press("A1-02", 15.0);
    shift.must(Command::HandworkDone(Which::First(1)));
    shift.press("A1-02", 40.0);
    shift.world.wait(100.0);
    shift.must(Command::CleanSheet(sheet));
    assert_eq!(shift.told(100), [(Doing::Changing, 6), (Idle, 34), (SheetWork, 60)]);
}

#[test]
fn out_of_use_is_neither_idle_nor_running() {
    let mut shift = Shift::new(station(1));
    shift.must(Command::OutOfUse { press: ONE, reason: OutOfUse::HeatingUp });
    shift.world.wait(20.0);
    shift.must(Command::BackInUse { press: ONE });
    shift.world.wait(10.0);
    shift.press("A1-01", 15.0);
    use Doing::{Changing, Idle, OutOfUse as Out, Running};
    assert_eq!(shift.told(45), [(Out, 20), (Idle, 4), (Changing, 6), (Running, 15)]);
}

#[test]
fn one_that_opens_itself_is_never_past_its_target() {
    let mut own = station(1);
    own.presses[0].opens_itself = true;
    let mut shift = Shift::new(own);
    shift.press("A1-01", 25.0);
    shift.world.wait(10.0);
    use Doing::{Changing, Idle, Running};
    assert_eq!(shift.told(35), [(Running, 15), (Idle, 10), (Changing, 6), (Idle, 4)]);
}

#[test]
fn what_was_so_many_seconds_ago_is_moved_and_what_is_undone_never_was() {
    let mut shift = Shift::new(station(1));
    shift.world.wait(60.0);
    shift.press("A1-01", 15.0);
    shift.world.wait(30.0);
    shift.shut("A1-02");
    shift.must(Command::CorrectTime { ago: Some(10.0) });
    shift.world.wait(5.0);
    use Doing::{Changing, Idle, Running};
    // Shut 15 s before now.
    assert_eq!(shift.told(35), [(Changing, 6), (Idle, 8), (Changing, 6), (Running, 15)]);
    shift.must(Command::Undo);
    shift.must(Command::Undo);
    assert_eq!(shift.told(35), [(Changing, 6), (Idle, 29)]);
}

#[test]
fn a_wall_clock_that_jumps_moves_no_span() {
    let mut shift = Shift::new(station(1));
    shift.world.wait(30.0);
    shift.shut("A1-01");
    shift.world.wait(15.0);
    shift.world.now.at.0 -= 40_000_000_000;
    shift.must(Command::Open { press: ONE });
    shift.world.wait(20.0);
    use Doing::{Changing, Idle, Running};
    assert_eq!(shift.told(41), [(Changing, 6), (Running, 15), (Changing, 6), (Idle, 14)]);
    // Across a restart of the machine only the wall clock is left.
    let at = Wall(shift.world.now.at.0 + 10_000_000);
    shift.world.now = Moment { at, boot: Boot(77), up: Up(1) };
    assert_eq!(shift.told(30).last(), Some(&(Idle, 24)));
}

#[test]
fn marks_are_kept_for_a_day_and_the_state_before_them_beyond() {
    let mut shift = Shift::new(station(1));
    let sheet_work = |shift: &mut Shift| {
        shift.must(Command::OutOfUse { press: ONE, reason: OutOfUse::BeingCleaned });
        shift.world.wait(600.0);
        shift.must(Command::BackInUse { press: ONE });
        shift.world.wait(600.0);
    };
    for _ in 0..300 {
        sheet_work(&mut shift);
    }
    shift.must(Command::OutOfUse { press: ONE, reason: OutOfUse::Broken });
    // 300 rounds of 20 min are 100 h: what is kept of them is a day's worth, not all of it.
    let now = shift.world.now;
    let kept = shift.spans().totals(ONE, now, Duration::from_secs(100 * 3600));
    let out = kept[5].as_secs();
    assert!((11 * 3600..=13 * 3600).contains(&out), "{out}");
    let day = shift.spans().totals(ONE, now, Duration::from_secs(86_400));
    assert_eq!(day.map(|total| total.as_secs() / 60), [0, 0, 0, 720, 0, 720]);
}
