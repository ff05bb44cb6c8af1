//! Orders that all stations share, over random stories of one station: the same shop comes back from its journal alone,
//! and no more is taken than an order has as long as nothing that was given back is taken back.

use dwell::shop::Shop;
use dwell::shop::facts::fact::{Fact, Leaves, NewDue, PartOf};
use dwell::shop::facts::ids::{OrderId, PressNo, Tag};
use dwell::shop::facts::order::OrderForm;
use dwell::shop::facts::rank::Rank;
use dwell::shop::facts::station::HubProfile;
use dwell::shop::floor::garment::Place;
use dwell::shop::floor::shared::{Says, Word};
use dwell::shop::rules::command::{By, Command, OrderChange};
use dwell::shop::rules::command::{Granted, HeardWord};
use dwell::shop::rules::shared::SharedBoard;
use proptest::prelude::*;

use super::world::{World, line, own, station};

/// As many garments are under way at most: none is taken out again.
const PRESSES: u32 = 4;

/// A bench with a hub, before its first order.
fn bench() -> World {
    let hub = HubProfile {
        address: "postgres://127.0.0.1/dwell".into(),
        role: "dwell_a".into(),
        password_file: "/etc/dwell/hub-password".into(),
        ca: None,
    };
    let mut world = World::new(dwell::shop::facts::station::Station {
        hub: Some(hub),
        ..station(PRESSES as usize)
    });
    world.must(Command::ReadCaution);
    world
}

/// A part of a shared order, granted as a hub grants it: all that is asked for, or none.
fn grant(world: &mut World, of: OrderId, count: u32) {
    let board = SharedBoard::default().with(&world.shop);
    let left = board.lines().iter().find(|line| line.order == of).map_or(0, |line| line.left());
    let Some(form) = board.laid(of).cloned().filter(|_| (1..=left).contains(&count)) else {
        return;
    };
    let grant = format!("asking-{}", world.shop.seq());
    let part = PartOf { of, line: 0, count, grant };
    world.must(Command::TakePart(Box::new(Granted { part, form, words: Vec::new() })));
}

/// One act of a story; what cannot be said then is passed over.
fn carry_out(world: &mut World, (what, a, b): (u8, u32, u32)) {
    world.wait(1.0);
    let order = own(a % world.shop.next_order().max(1) + 1);
    let shared = |count| OrderForm {
        name: "Lantern walk".into(),
        due: None,
        rank: Rank::USUAL,
        shared: true,
        lines: vec![line(count, "dark-cotton")],
    };
    let leaves = Leaves::CHOICES[(b / 3) as usize % 3];
    let command = match what {
        0 => Command::TakeOrder { form: shared(b % 12 + 1), file: None },
        1..4 => return grant(world, order, b % 5 + 1),
        4 => Command::ChangeOrder(OrderChange {
            rank: Some(Rank::ALL[b as usize % 3]),
            ..OrderChange::of(order)
        }),
        5 => Command::CancelOrder { order, fewer: Some((0, b % 3 + 1)), leaves },
        6 => Command::CancelOrder { order, fewer: None, leaves },
        7 => {
            let due = NewDue::At("2030-01-04 16:00".parse().unwrap());
            let says = if b % 2 == 0 { Says::Due(due) } else { Says::Rank(Rank::RUSH) };
            let station = "b".parse().unwrap();
            let word = Word { no: u64::from(b % 7), station, seq: u64::from(b), says };
            let heard = HeardWord { order, life: 1, word, bench: "South bench".into() };
            Command::HearWord(Box::new(heard))
        }
        8 => {
            let press = PressNo((b % PRESSES + 1) as u8);
            let waiting = world.shop.floor().of_order(order).find(|one| one.begun.is_none());
            let Some(garment) = waiting.map(|garment| garment.tag) else { return };
            Command::Shut { press, garment, by: By::Scan }
        }
        9 => Command::Undo,
        _ => Command::Sign(["AK", "BM"][b as usize % 2].into()),
    };
    drop(world.say(&command));
}

/// Words of three stations on the first order, said after some others or not, each by a row of its own.
fn words() -> impl Strategy<Value = Vec<Word>> {
    let word = (0u64..4, 0usize..3, 0u32..4, 1u32..4);
    proptest::collection::vec(word, 1..12).prop_map(|words| {
        let word = |(seq, (no, station, kind, what)): (u64, (u64, usize, u32, u32))| Word {
            no,
            station: ["a", "b", "c"][station].parse().unwrap(),
            seq,
            says: match kind {
                0 => Says::Cancelled,
                1 => Says::Due(NewDue::At(format!("2030-01-0{what} 16:00").parse().unwrap())),
                _ => Says::Rank(Rank::ALL[what as usize % 3]),
            },
        };
        (1..).zip(words).map(word).collect()
    })
}

fn hear(shop: &mut Shop, word: Word, world: &World) {
    let heard = HeardWord { order: own(1), life: 1, word, bench: "South bench".into() };
    // What does not count beside what is known is refused.
    drop(shop.act(own(1).station, &Command::HearWord(Box::new(heard)), world.now));
}

fn stories(kinds: std::ops::Range<u8>) -> impl Strategy<Value = Vec<(u8, u32, u32)>> {
    proptest::collection::vec((kinds, 0u32..1000, 0u32..1000), 1..90)
}

proptest! {
    #![proptest_config(ProptestConfig { cases: 80, ..ProptestConfig::default() })]

    #[test]
    fn the_journal_alone_gives_the_same_parts_and_words(story in stories(0..11)) {
        let mut world = bench();
        story.iter().for_each(|deed| carry_out(&mut world, *deed));
        let mut again = Shop::default();
        world.events.iter().for_each(|event| again.apply(event));
        prop_assert_eq!(format!("{again:?}"), format!("{:?}", world.shop));
        let kept_at = world.shop.beyond_undo();
        let mut kept = Shop::default();
        world.events.iter().take_while(|event| event.seq <= kept_at).for_each(|event| kept.apply(event));
        let mut shop = Shop::from_bytes(&kept.to_bytes().unwrap()).unwrap();
        world.events.iter().skip_while(|event| event.seq <= kept_at).for_each(|event| shop.apply(event));
        prop_assert_eq!(shop.to_bytes().unwrap(), world.shop.to_bytes().unwrap());
    }

    /// Words hide others of their kind alone, and it is the same at every station which counts, in whatever order they are
    /// heard and whoever has heard which of them.
    #[test]
    fn the_same_words_give_the_same_board_in_whatever_order_they_come(
        words in words(),
        order in Just((0..12).collect::<Vec<usize>>()).prop_shuffle(),
    ) {
        let mut world = bench();
        carry_out(&mut world, (0, 0, 11));
        let heard = |order: &mut dyn Iterator<Item = usize>| {
            let mut shop = world.shop.clone();
            order.filter_map(|n| words.get(n)).for_each(|word| hear(&mut shop, *word, &world));
            shop
        };
        let board = SharedBoard::of([&heard(&mut (0..12))]);
        prop_assert_eq!(&SharedBoard::of([&heard(&mut order.iter().copied())]), &board);
        let (some, others) = order.split_at(words.len() / 2);
        let some = heard(&mut some.iter().copied());
        let others = heard(&mut others.iter().copied());
        prop_assert_eq!(&SharedBoard::of([&some, &others]), &board);
        prop_assert_eq!(&SharedBoard::of([&others, &some]), &board);
        prop_assert_eq!(&SharedBoard::default().with(&others).with(&some), &board);
        // One of each kind counts: that with the highest number, whatever was said of other things.
        for kind in [0, 1, 2] {
            let of_kind = words.iter().filter(|word| word.says.kind() == kind);
            let highest = of_kind.map(|word| word.no).max();
            let counts = board.words().find(|(_, word)| word.says.kind() == kind);
            prop_assert_eq!(counts.map(|(_, word)| word.no), highest);
        }
    }

    #[test]
    fn no_more_is_taken_than_an_order_has(story in stories(0..9)) {
        let mut world = bench();
        for deed in story {
            carry_out(&mut world, deed);
            let board = SharedBoard::default().with(&world.shop);
            for line in &board.lines() {
                prop_assert_eq!(line.over(), 0);
                // Each part is as many garments as are wanted of it.
                for (part, count) in &line.parts {
                    let wanted = world.shop.floor().of_order(*part).filter(|garment| garment.is_wanted());
                    prop_assert_eq!(wanted.count(), *count as usize);
                }
            }
        }
        let taken = world.events.iter().filter(|event| matches!(event.fact, Fact::OrderTaken(_)));
        let mut numbers: Vec<_> = taken.map(|event| match &event.fact {
            Fact::OrderTaken(taken) => taken.order,
            _ => unreachable!("an order taken"),
        }).collect();
        numbers.sort();
        let all = numbers.len();
        numbers.dedup();
        prop_assert_eq!(numbers.len(), all, "each has a number of its own");
    }
}

/// What all stations go by is no key's to take back: undo says what to do instead, and the act before it stands.
#[test]
fn undo_after_what_all_stations_share_takes_nothing_back() {
    let mut world = bench();
    world.must(Command::Sign("AK".into()));
    let refused = |world: &mut World, says: &str| {
        let before = world.events.len();
        let said = world.say(&Command::Undo).map(drop).unwrap_err().to_string();
        assert!(said.contains(says), "{said}");
        assert_eq!(world.events.len(), before, "nothing is recorded");
    };
    carry_out(&mut world, (0, 0, 11));
    refused(&mut world, "cancel A1 \"Lantern walk\" instead: it is laid for all stations");
    world.must(Command::ChangeOrder(OrderChange {
        rank: Some(Rank::RUSH),
        ..OrderChange::of(own(1))
    }));
    refused(&mut world, "change A1 \"Lantern walk\" again instead");
    // Another act of a hand is taken back as ever, and what was before it is not.
    world.must(Command::Sign("BM".into()));
    world.must(Command::Undo);
    assert_eq!(world.shop.desk().people, ["AK"]);
    refused(&mut world, "change A1 \"Lantern walk\" again instead");
    assert_eq!(world.shop.desk().people, ["AK"]);
    let (fewer, leaves) = (None, Leaves::Finish);
    world.must(Command::CancelOrder { order: own(1), fewer, leaves });
    refused(&mut world, "lay a new order instead: A1 \"Lantern walk\" is cancelled");
}

/// Makes a garment from its first press to its last.
fn make(world: &mut World, garment: Tag) {
    let press = PressNo(1);
    for _ in 0..6 {
        if world.shop.garment(garment).is_some_and(|one| one.place == Place::Finished) {
            return;
        }
        world.must(Command::Shut { press, garment, by: By::Scan });
        world.wait(120.0);
        world.must(Command::Open { press });
        world.wait(30.0);
    }
    panic!("{garment} is not finished: {:?}", world.shop.garment(garment));
}

/// Of the orders that a station has laid those come first of which something is to be made, the newest first; what is done
/// comes behind them, and what is cancelled not at all.
#[test]
fn orders_that_were_laid_here_are_listed_the_open_ones_first() {
    let mut world = bench();
    for _ in 0..11 {
        carry_out(&mut world, (0, 0, 0));
    }
    // Taken in full and made, as the last of them; taken and not made.
    for (of, is_made) in [(11, true), (10, false)] {
        let order = own(world.shop.next_order());
        grant(&mut world, own(of), 1);
        if is_made {
            make(&mut world, order.tag(1));
        }
    }
    world.must(Command::CancelOrder { order: own(9), fewer: None, leaves: Leaves::Finish });
    let listed = SharedBoard::of([&world.shop]).laid_by(world.shop.id());
    let wanted = [10, 8, 7, 6, 5, 4, 3, 2, 1].map(own);
    assert_eq!(listed, wanted);
    world.must(Command::CancelOrder { order: own(1), fewer: None, leaves: Leaves::Finish });
    let listed = SharedBoard::of([&world.shop]).laid_by(world.shop.id());
    assert_eq!(listed.last(), Some(&own(11)), "what is done comes last: {listed:?}");
}
