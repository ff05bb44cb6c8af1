//! Hand times are learned from undisturbed gaps alone.

use std::sync::Arc;
use std::time::Duration;

use dwell::figures::units::Span;
use dwell::forecast::crew::Crew;
use dwell::forecast::operator::{Operator, Turn};
use dwell::shop::books::hands::{ENOUGH, Known, Stretch, Work};
use dwell::shop::facts::ids::{PressNo, SheetNo};
use dwell::shop::facts::moment::{Boot, Up};
use dwell::shop::facts::recipe::Recipe;
use dwell::shop::facts::station::HandTimes;
use dwell::shop::floor::garment::Queue;
use dwell::shop::rules::command::{By, Command, Which};
use dwell::shop::rules::offer::{Choice, OfferedAct};

use super::world::{World, line, order, shipped, station};

const PRESS: PressNo = PressNo(1);

/// A bench with blanks of a recipe that is pressed first and sprayed then.
fn world(blanks: u32) -> World {
    let mut world = World::new(station(1));
    world.must(Command::ReadCaution);
    world.must(order(vec![line(blanks, "dark-cotton")]));
    world
}

/// One blank is pre-pressed: `loading` seconds from the last act to the shut press, opened `after` its time is up.
fn press(world: &mut World, loading: f64, after: f64) {
    world.wait(loading);
    let offers = world.shop.offers(&Choice::default(), world.now);
    let OfferedAct::Shut { garment, .. } = offers[0].act else { panic!("{offers:?}") };
    world.must(Command::Shut { press: PRESS, garment, by: By::Suggestion });
    let load = world.shop.load(PRESS).unwrap();
    let target = world.shop.pressing(load).unwrap().target.as_seconds();
    world.wait(target + after);
    world.must(Command::Open { press: PRESS });
}

fn learned(known: &Known, work: Work) -> Option<(usize, f64)> {
    known
        .learned
        .iter()
        .find(|one| one.work == work)
        .map(|one| (one.gaps, one.typical.as_seconds()))
}

fn paces(world: &World) -> Vec<i64> {
    world.shop.books().hands.paces(&world.shop.desk().people)
}

#[test]
fn with_fewer_than_ten_gaps_the_stations_times_stand() {
    let mut world = world(40);
    for _ in 0..ENOUGH {
        press(&mut world, 9.0, 4.0);
    }
    // The last opening is only counted once another act shows that it stands.
    let known = world.shop.hand_times(None);
    assert_eq!(learned(&known, Work::Unload), None);
    assert_eq!(known.times.unload, world.shop.station().unwrap().hands.unload);
    press(&mut world, 9.0, 4.0);
    let known = world.shop.hand_times(None);
    assert_eq!(learned(&known, Work::Unload), Some((ENOUGH, 4.0)));
    assert_eq!(learned(&known, Work::Load), Some((ENOUGH + 1, 9.0)));
    assert_eq!(learned(&known, Work::Spray), None);
}

/// Laying in a new sheet is no wipe: how long one takes is not learned from it.
#[test]
fn a_new_sheet_teaches_nothing_of_a_wipe() {
    let mut world = world(40);
    // The sheet comes with the first dry.
    press(&mut world, 9.0, 4.0);
    world.must(Command::HandworkDone(Which::First(1)));
    press(&mut world, 9.0, 4.0);
    for _ in 0..=ENOUGH {
        press(&mut world, 9.0, 4.0);
        world.wait(7.0);
        world.must(Command::RenewSheet(SheetNo(1)));
    }
    press(&mut world, 9.0, 4.0);
    assert_eq!(learned(&world.shop.hand_times(None), Work::Wipe), None);
}

/// Half of the gaps may be long ones: the median moves no further than to a gap that was there.
#[test]
fn a_chat_among_the_loads_changes_little() {
    let mut world = world(60);
    for n in 0..21 {
        press(&mut world, if n % 3 == 0 { 60.0 } else { 8.0 }, 3.0);
    }
    let known = world.shop.hand_times(None);
    assert_eq!(learned(&known, Work::Load).unwrap().1, 8.0);
    // And a real pause is left out altogether.
    press(&mut world, 900.0, 3.0);
    press(&mut world, 8.0, 3.0);
    assert_eq!(world.shop.hand_times(None).left_out.pause, 1);
}

#[test]
fn nothing_is_learned_over_a_restart_or_a_clock_that_was_set() {
    let mut world = world(60);
    for n in 0..20 {
        if n % 2 == 0 {
            // The wall clock jumps by an hour; the boot clock does not.
            world.now.at.0 += 3_600_000_000;
        } else {
            world.now.boot = Boot(n);
            world.now.up = Up(1_000_000);
        }
        press(&mut world, 8.0, 3.0);
    }
    let known = world.shop.hand_times(None);
    assert_eq!(learned(&known, Work::Load), None);
    assert!(known.left_out.clock >= 19, "{:?}", known.left_out);
    assert_eq!(known.times.load, world.shop.station().unwrap().hands.load);
}

/// With two at the bench nobody knows whose hands a gap is of.
#[test]
fn nothing_is_learned_of_two_people_at_one_bench() {
    let mut world = world(60);
    for who in ["am", "bo"] {
        world.must(Command::Sign(who.to_owned()));
    }
    for _ in 0..15 {
        press(&mut world, 8.0, 3.0);
    }
    let known = world.shop.hand_times(None);
    assert!(known.learned.is_empty() && known.left_out.shared > 20, "{known:?}");
}

#[test]
fn an_act_that_is_taken_back_or_takes_several_teaches_nothing() {
    let mut world = world(60);
    for _ in 0..12 {
        press(&mut world, 8.0, 3.0);
    }
    let before = world.shop.hand_times(None);
    for _ in 0..6 {
        // Shut far too late, and taken back: the gap goes with it.
        world.wait(80.0);
        let offers = world.shop.offers(&Choice::default(), world.now);
        let OfferedAct::Shut { garment, .. } = offers[0].act else { panic!("{offers:?}") };
        world.must(Command::Shut { press: PRESS, garment, by: By::Suggestion });
        world.must(Command::Undo);
    }
    // Ten sprayed in one act: how long one took is not known.
    world.wait(30.0);
    world.must(Command::HandworkDone(Which::First(10)));
    press(&mut world, 8.0, 3.0);
    let after = world.shop.hand_times(None);
    assert_eq!(learned(&after, Work::Spray), None);
    assert_eq!(learned(&after, Work::Load).unwrap().1, learned(&before, Work::Load).unwrap().1);
}

/// What was done and taken back leaves no gap behind, however often, and neither does what was corrected: only the acts
/// that stand are counted.
#[test]
fn neither_an_undone_nor_a_corrected_act_adds_a_gap() {
    let mut world = world(60);
    for _ in 0..ENOUGH {
        press(&mut world, 8.0, 3.0);
    }
    let shut_late = |world: &mut World| {
        world.wait(80.0);
        let offers = world.shop.offers(&Choice::default(), world.now);
        let OfferedAct::Shut { garment, .. } = offers[0].act else { panic!("{offers:?}") };
        world.must(Command::Shut { press: PRESS, garment, by: By::Suggestion });
    };
    // More of them than there are others: counted, they would be the median.
    for _ in 0..2 * ENOUGH {
        shut_late(&mut world);
        world.must(Command::Undo);
    }
    for _ in 0..2 * ENOUGH {
        shut_late(&mut world);
        world.must(Command::CorrectTime { ago: Some(70.0) });
        world.must(Command::Undo);
        world.must(Command::Undo);
    }
    // An act that stands, after which hands are known to be free again, and one that shows that it does.
    press(&mut world, 8.0, 3.0);
    press(&mut world, 8.0, 3.0);
    let known = world.shop.hand_times(None);
    let (gaps, typical) = learned(&known, Work::Load).unwrap();
    assert_eq!(typical, 8.0);
    // The first of all has nothing before it, and that after an undo has nothing that is known.
    assert_eq!(gaps, ENOUGH + 1, "{known:?}");
}

/// Each person has a pace of her own, and so has each recipe.
#[test]
fn times_are_learned_for_each_person() {
    let mut world = world(80);
    for (who, loading) in [("am", 7.0), ("bo", 15.0)] {
        world.must(Command::Sign(who.to_owned()));
        for _ in 0..14 {
            press(&mut world, loading, 3.0);
        }
        let hash =
            *world.shop.recipes().in_force().find(|(name, ..)| *name == "dark-cotton").unwrap().1;
        let known = world.shop.hand_times(Some(&hash));
        assert_eq!(learned(&known, Work::Load).unwrap().1, loading, "{who}");
        world.must(Command::Sign(who.to_owned()));
    }
    // Both together: she is quicker than the two are in the middle, he slower, each by what they load; they unload alike.
    for who in ["am", "bo"] {
        assert!(paces(&world).is_empty(), "one alone has times of her own");
        world.must(Command::Sign(who.to_owned()));
    }
    let pace = |loading: f64| ((loading / 11.0).sqrt() * 1000.0).round() as i64;
    let [am, bo] = paces(&world)[..] else { panic!("two are there") };
    assert!((am - pace(7.0)).abs() < 30 && (bo - pace(15.0)).abs() < 30, "{am} {bo}");
    // Somebody of whom nothing is known is as quick as usual.
    world.must(Command::Sign("cy".to_owned()));
    assert_eq!(paces(&world), [am, bo, 1000]);
}

/// Changes a shipped recipe at a bench.
fn keep(world: &mut World, name: &str, change: impl Fn(&mut Recipe)) {
    let mut recipe = shipped().recipes[name].as_ref().clone();
    change(&mut recipe);
    world.must(Command::KeepRecipe { name: name.to_owned(), recipe: Arc::new(recipe) });
}

/// Whoever waits for a cure of six minutes, or for a print of as many, is at work: what no machine fills is a pause.
#[test]
fn who_waits_for_a_machine_is_at_work_and_who_waits_for_none_has_paused() {
    let mut station = station(1);
    station.hands.print = Span::seconds(400);
    let mut world = World::new(station);
    keep(&mut world, "light-cotton", |recipe| {
        recipe.print = None;
        (recipe.cure.target, recipe.cure.longest) = (Span::seconds(360), Span::seconds(600));
    });
    world.must(Command::ReadCaution);
    world.must(order(vec![line(6, "light-cotton")]));
    let began = world.now;
    let mut rested = Duration::ZERO;
    for n in 0..6 {
        press(&mut world, 6.0, 1.0);
        world.wait(420.0);
        world.must(Command::Printed(Which::First(1)));
        press(&mut world, 6.0, 1.0);
        if n == 3 {
            rested = Duration::from_secs(900);
            world.wait(900.0);
        }
    }
    assert_eq!(world.shop.floor().count(Queue::Finished), 6);
    // A stretch is told of once it is full: ten minutes or a little more may be under way.
    let all: Vec<Stretch> = world.shop.books().hands.stretches().cloned().collect();
    let worked: Duration = all.iter().map(|one| one.span).sum();
    let pauses: Vec<Duration> =
        all.iter().flat_map(|one| &one.pauses).map(|(_, lasted)| *lasted).collect();
    let there = world.now.since(began).span - rested;
    assert!(
        worked <= there && worked + Duration::from_secs(900) > there,
        "{worked:?} of {there:?}"
    );
    assert_eq!(pauses.len(), 1, "{pauses:?}");
    assert!(pauses[0].abs_diff(rested) < Duration::from_secs(10), "{pauses:?}");
}

/// What a profile says of the printer is believed for a few prints, not for hours: where garments always wait for it, each
/// print tells how long it took.
#[test]
fn a_wrong_print_time_is_found_out_by_a_queue_that_is_never_empty() {
    for (said, really) in [(90u32, 280u32), (300, 150)] {
        let mut station = station(2);
        station.hands.print = Span::seconds(said.into());
        let mut world = World::new(station);
        for name in ["dark-cotton", "light-cotton"] {
            keep(&mut world, name, |recipe| recipe.print = None);
        }
        world.must(order(vec![line(30, "dark-cotton"), line(10, "light-cotton")]));
        let times = HandTimes { print: Span::seconds(really.into()), ..HandTimes::default() };
        let mut operator = Operator::with(5, Crew { times, ..Crew::default() });
        while world.shop.floor().count(Queue::Finished) < 12 {
            match operator.turn(&world.shop, world.now) {
                Turn::Act(command) => drop(world.say(&command)),
                Turn::Until(moment) => world.now = moment,
                Turn::Done => break,
            }
        }
        let known = world.shop.hand_times(None);
        let print = known.times.print.as_seconds();
        let gaps = learned(&known, Work::Print).map_or(0, |(gaps, _)| gaps);
        assert!((print / f64::from(really) - 1.0).abs() < 0.1, "{said}: {print} by {gaps}");
    }
}
