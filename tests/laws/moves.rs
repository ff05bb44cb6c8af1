//! Garments go to and fro between three benches of one shop, each with a history of its own: where one is, all agree on
//! once all have heard.

use dwell::shop::Shop;
use dwell::shop::facts::fact::Event;
use dwell::shop::facts::ids::{StationId, Tag};
use dwell::shop::floor::garment::Place;
use dwell::shop::rules::command::{Command, Refusal, Which};
use dwell::shop::rules::command::{Handover, Heard, TakenOver};
use dwell::shop::rules::questions::{Answer, Question};
use proptest::prelude::*;

use super::deeds::{Deed, deed, three_presses};
use super::difference::difference;
use super::world::{World, line, order};
use super::{as_stored, carry_out, places, without_undone};

/// What happens next at which bench.
#[derive(Debug, Clone)]
enum Next {
    Work(usize, Deed),
    /// A garment of another bench is taken over: the nth that is anywhere; whether its history can be had, and was read
    /// just now or some moves ago.
    Take {
        to: usize,
        garment: usize,
        how: How,
    },
    /// A bench hears the next of another's events.
    Hear(usize, usize),
}

#[derive(Debug, Clone, Copy)]
enum How {
    Handed,
    HandedLate,
    CutOff,
}

fn next() -> impl Strategy<Value = Next> {
    let how = prop_oneof![
        6 => Just(How::Handed),
        1 => Just(How::HandedLate),
        1 => Just(How::CutOff),
    ];
    prop_oneof![
        6 => (0..3usize, deed()).prop_map(|(bench, deed)| Next::Work(bench, deed)),
        3 => (0..3usize, 0..40usize, how).prop_map(|(to, garment, how)| Next::Take { to, garment, how }),
        4 => (0..3usize, 0..3usize).prop_map(|(to, from)| Next::Hear(to, from)),
    ]
}

/// Three benches, and how many of each other's events each has heard.
struct Floor {
    benches: Vec<World>,
    heard: [[usize; 3]; 3],
    /// What was read of a garment a while ago.
    late: Vec<(Tag, Handover)>,
}

impl Floor {
    fn new() -> Self {
        let bench = |id: &str| {
            let mut station = three_presses();
            station.id = id.parse().unwrap();
            station.name = format!("bench {id}");
            let mut world = World::new(station);
            world.must(order(vec![line(3, "dark-cotton"), line(1, "light-cotton")]));
            world
        };
        Self { benches: ["a", "b", "c"].map(bench).into(), heard: [[0; 3]; 3], late: Vec::new() }
    }

    fn id(&self, bench: usize) -> StationId {
        self.benches[bench].shop.id()
    }

    fn tags(&self) -> Vec<Tag> {
        let all = self.benches.iter().flat_map(|bench| bench.shop.floor().all());
        let mut tags: Vec<Tag> = all.map(|garment| garment.tag).collect();
        tags.sort();
        tags.dedup();
        tags
    }

    /// Who has a garment, by its own history.
    fn keepers(&self, tag: Tag) -> Vec<usize> {
        let has = |bench: &usize| {
            self.benches[*bench].shop.garment(tag).is_some_and(|garment| !garment.is_away())
        };
        (0..3).filter(has).collect()
    }

    fn take(&mut self, to: usize, tag: Tag, how: How) -> Result<Vec<Event>, Refusal> {
        let keeper = self.keepers(tag).into_iter().find(|keeper| *keeper != to);
        let fresh = keeper.and_then(|keeper| self.benches[keeper].shop.handover(tag, |_| 1));
        let late = self.late.iter().find(|(of, _)| *of == tag).map(|(_, handed)| handed.clone());
        self.late.extend(fresh.clone().map(|handed| (tag, handed)));
        let known = match how {
            How::Handed => fresh,
            How::HandedLate => late.or(fresh),
            How::CutOff => None,
        };
        let bench = &mut self.benches[to];
        let taken = match known {
            Some(handed) => TakenOver::handed(tag, handed, false),
            None => {
                let hash = *bench.shop.recipes().hash_of("dark-cotton").unwrap();
                let step = dwell::shop::facts::step::Step::Dry;
                let comes = dwell::shop::facts::fact::Comes::said(step, "dark-cotton", hash);
                TakenOver::said(tag, comes)
            }
        };
        bench.wait(0.7);
        bench.say(&Command::TakeOver(Box::new(taken)))
    }

    fn hear(&mut self, to: usize, from: usize) -> bool {
        let Some(event) = self.benches[from].events.get(self.heard[to][from]).cloned() else {
            return false;
        };
        self.heard[to][from] += 1;
        let name = self.benches[from].shop.station().unwrap().name.clone();
        if let Some(heard) = Heard::of(&event, &name) {
            let bench = &mut self.benches[to];
            bench.wait(0.7);
            match bench.say(&Command::Hear(heard)) {
                Ok(_) | Err(Refusal::NoSuchGarment(_) | Refusal::MoveKnown(_)) => {}
                Err(other) => panic!("{other}"),
            }
        }
        true
    }

    /// Everybody hears everything.
    fn hear_all(&mut self) {
        for to in 0..3 {
            for from in (0..3).filter(|from| *from != to) {
                while self.hear(to, from) {}
            }
        }
    }

    /// Wherever several stations are named somebody looks, opens the press where one is shut on it, and says which.
    fn settle(&mut self) {
        for _ in 0..20 {
            self.hear_all();
            let Some((bench, garment, answer)) = (0..3).find_map(|bench| {
                let asked = self.benches[bench].shop.questions().into_iter();
                let mut asked = asked.filter(|one| matches!(one, Question::Where { .. }));
                let one = asked.next()?;
                let Question::Where { garment, or, .. } = one else { return None };
                let answer = if or.is_some() { Answer::No } else { Answer::Yes };
                Some((bench, garment, one.answered(answer)?))
            }) else {
                return;
            };
            let world = &mut self.benches[bench];
            world.wait(0.7);
            if let Some(Place::InPress(press)) = world.shop.garment(garment).map(|one| one.place) {
                world.must(Command::Open { press });
            }
            world.must(answer);
        }
        panic!("it is never settled");
    }

    fn check(&self) -> Result<(), TestCaseError> {
        for bench in &self.benches {
            places::check(&bench.shop)?;
        }
        Ok(())
    }

    /// Each history tells the same shop again: as stored, as if what was taken back had never been.
    fn replays(&self) -> Result<(), TestCaseError> {
        for bench in &self.benches {
            let again = as_stored(&bench.events);
            prop_assert_eq!(difference(&bench.shop, &again), Vec::<String>::new());
            prop_assert!(bench.shop == again);
            let other = without_undone(&bench.events);
            prop_assert_eq!(difference(&bench.shop, &other), Vec::<String>::new());
            prop_assert!(bench.shop == other);
            let kept_at = bench.shop.beyond_undo();
            let mut kept = Shop::default();
            bench
                .events
                .iter()
                .filter(|event| event.seq <= kept_at)
                .for_each(|event| kept.apply(event));
            let mut kept = Shop::from_bytes(&kept.to_bytes().unwrap()).unwrap();
            bench
                .events
                .iter()
                .filter(|event| event.seq > kept_at)
                .for_each(|event| kept.apply(event));
            prop_assert_eq!(format!("{kept:?}"), format!("{:?}", bench.shop));
        }
        Ok(())
    }

    /// Where a garment is, by everybody's word.
    fn is_at_one(&self, tag: Tag) -> Result<(), TestCaseError> {
        let keepers = self.keepers(tag);
        prop_assert!(keepers.len() == 1, "{tag} is at {keepers:?}");
        let keeper = self.id(keepers[0]);
        for bench in &self.benches {
            if let Some(Place::Away(at)) = bench.shop.garment(tag).map(|garment| garment.place) {
                prop_assert_eq!(at, keeper, "{} by {}", tag, bench.shop.id());
            }
        }
        Ok(())
    }
}

proptest! {
    #![proptest_config(ProptestConfig {
        cases: 60,
        failure_persistence: None,
        ..ProptestConfig::default()
    })]

    #[test]
    fn every_garment_is_at_one_bench_once_all_have_heard(all in proptest::collection::vec(next(), 1..150)) {
        let mut floor = Floor::new();
        for next in &all {
            match next {
                Next::Work(bench, deed) => drop(carry_out(&mut floor.benches[*bench], deed)),
                Next::Take { to, garment, how } => {
                    let tags = floor.tags();
                    let taken = floor.take(*to, tags[garment % tags.len()], *how);
                    let moves = taken.is_ok();
                    // What stands is what others go by: nothing that moved can be taken back.
                    if moves {
                        let seq = floor.benches[*to].shop.seq();
                        let undoable = floor.benches[*to].shop.undoable().map(|(act, _)| act.0);
                        prop_assert!(undoable.is_none_or(|act| act < seq));
                    }
                }
                Next::Hear(to, from) if to != from => drop(floor.hear(*to, *from)),
                Next::Hear(..) => {}
            }
            floor.check()?;
        }
        floor.replays()?;
        floor.settle();
        floor.check()?;
        floor.replays()?;
        for tag in floor.tags() {
            floor.is_at_one(tag)?;
        }
    }
}

fn tag(text: &str) -> Tag {
    text.parse().unwrap()
}

/// Presses a garment at press 1 for so many seconds.
fn press(world: &mut World, garment: &str, seconds: f64) {
    let (press, by) =
        (dwell::shop::facts::ids::PressNo(1), dwell::shop::rules::command::By::Choice);
    world.must(Command::Shut { press, garment: tag(garment), by });
    world.wait(seconds);
    world.must(Command::Open { press });
}

/// One bench sprays, the other dries: all that is known comes with the garment, and it is made there like any other.
#[test]
fn what_is_known_of_a_garment_comes_with_it_and_it_is_made_to_its_end_there() {
    let mut floor = Floor::new();
    press(&mut floor.benches[0], "A1-01", 5.0);
    floor.benches[0].must(Command::HandworkDone(Which::Tagged(tag("A1-01"))));
    floor.benches[0].wait(600.0);
    let before = floor.benches[0].shop.garment(tag("A1-01")).unwrap().clone();
    floor.benches[1].wait(1200.0);
    floor.take(1, tag("A1-01"), How::Handed).unwrap();
    let shop = &floor.benches[1].shop;
    let here = shop.garment(tag("A1-01")).unwrap();
    assert_eq!(here.place, Place::Waiting(dwell::shop::facts::step::Step::Dry));
    assert_eq!(shop.recipe_of(here).unwrap().0, &before.recipe.unwrap());
    let order = shop.order(tag("A1-01").order_id()).unwrap();
    assert_eq!((order.form.name.as_str(), order.form.count()), ("Harbour choir", 1));
    // Its own order of the same number is another one.
    let own = shop.order(tag("B1-01").order_id()).unwrap();
    assert_eq!((own.form.count(), shop.floor().counted(own.id).left), (4, 4));
    assert_eq!(shop.mark_of(tag("A1-01")), Some("M"));
    // It has waited wet since it was sprayed, by the clock on the wall, not since it came.
    let waited = floor.benches[1].now.since(here.since).span.as_secs_f64();
    assert!((1190.0..1200.0).contains(&waited), "{waited}");
    // Taken back is what was done here, not that it came.
    assert_eq!(
        floor.benches[1].say(&Command::Undo).map(drop),
        Ok(()),
        "the order was taken by hand"
    );
    press(&mut floor.benches[1], "A1-01", 35.0);
    floor.benches[1].must(Command::Printed(Which::Tagged(tag("A1-01"))));
    press(&mut floor.benches[1], "A1-01", 90.0);
    assert_eq!(floor.benches[1].shop.garment(tag("A1-01")).unwrap().place, Place::Finished);
    assert_eq!(floor.benches[1].shop.floor().counted(tag("A1-01").order_id()).done, 1);
    // Its own bench hears of it: it is in no queue there, and is neither missing nor work.
    floor.hear_all();
    let shop = &floor.benches[0].shop;
    let stands = shop.floor().standing(shop.order(tag("A1-01").order_id()).unwrap());
    assert_eq!((stands.left, stands.away, stands.short), (3, 1, 0));
    let away: Vec<String> =
        shop.away(tag("A1-01").order_id()).iter().map(|(at, n)| format!("{n} at {at}")).collect();
    assert_eq!(away, ["1 at bench b"]);
    let refused = floor.benches[0].say(&Command::HandworkDone(Which::Tagged(tag("A1-01"))));
    assert_eq!(refused.unwrap_err().to_string(), "A1-01 is at bench b: take it over here first");
}

/// Two took it after the same move: it is said at both and at its own bench, and somebody says where it is.
#[test]
fn two_that_took_it_after_one_move_are_asked_and_a_chain_is_no_conflict() {
    let mut floor = Floor::new();
    let first = floor.benches[0].shop.handover(tag("A1-01"), |_| 1).unwrap();
    floor.take(1, tag("A1-01"), How::Handed).unwrap();
    // The same from a to c, though it is at b.
    floor.late = vec![(tag("A1-01"), first)];
    floor.take(2, tag("A1-01"), How::HandedLate).unwrap();
    floor.hear_all();
    let asked = |floor: &Floor, bench: usize| {
        let asked = floor.benches[bench].shop.questions().into_iter();
        asked.filter(|one| matches!(one, Question::Where { .. })).count()
    };
    assert_eq!([0, 1, 2].map(|bench| asked(&floor, bench)), [1, 1, 1]);
    let (garment, at) = (tag("A1-01"), floor.id(2));
    floor.benches[1].must(Command::SettleWhere { garment, at });
    floor.hear_all();
    assert_eq!([0, 1, 2].map(|bench| asked(&floor, bench)), [0, 0, 0]);
    assert_eq!(floor.keepers(garment), [2]);
    // From hand to hand, heard the last first: no question.
    floor.take(1, garment, How::Handed).unwrap();
    floor.benches[2].wait(1.0);
    while floor.hear(2, 1) {}
    floor.take(2, garment, How::Handed).unwrap();
    while floor.hear(0, 2) {}
    assert_eq!(asked(&floor, 0), 0);
    floor.hear_all();
    assert_eq!([0, 1, 2].map(|bench| asked(&floor, bench)), [0, 0, 0]);
    assert_eq!(floor.keepers(garment), [2]);
}

/// A press here is shut on what another bench says it has: that is asked, and it leaves once somebody says so.
#[test]
fn a_garment_in_a_press_here_that_another_bench_took_is_asked_about() {
    let mut floor = Floor::new();
    let (press, by) =
        (dwell::shop::facts::ids::PressNo(1), dwell::shop::rules::command::By::Choice);
    floor.benches[0].must(Command::Shut { press, garment: tag("A1-01"), by });
    floor.take(1, tag("A1-01"), How::CutOff).unwrap();
    floor.hear_all();
    let (garment, at) = (tag("A1-01"), floor.id(1));
    let elsewhere = Command::SettleWhere { garment, at };
    assert_eq!(floor.benches[0].say(&elsewhere).unwrap_err(), Refusal::InPress { garment, press });
    floor.benches[0].wait(5.0);
    floor.benches[0].must(Command::Open { press });
    assert_eq!(floor.keepers(garment), [0, 1], "nobody has looked yet");
    floor.benches[0].must(elsewhere);
    assert_eq!(floor.keepers(garment), [1]);
    // What was done with it before it left is beyond recall.
    let undone = floor.benches[0].say(&Command::Undo);
    assert!(undone.is_err() || floor.keepers(garment) == [1]);
}
