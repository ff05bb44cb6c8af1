//! The shop as the journal tells it, read through the library.

use dwell::shell::journal::Reader;
use dwell::shop::Shop;
use dwell::shop::facts::ids::Tag;
use dwell::shop::facts::step::Step;
use dwell::shop::floor::garment::{Place, Queue};

use crate::bench::Bench;

/// The shop after the first `upto` events.
pub fn shop(bench: &Bench, upto: u64) -> Shop {
    let mut shop = Shop::default();
    let reader = Reader::open(&bench.data()).unwrap().expect("a journal");
    let take = |event: dwell::shop::facts::fact::Event| {
        if event.seq <= upto {
            shop.apply(&event);
        }
    };
    reader.events_after(0, take).unwrap();
    shop
}

fn queues() -> Vec<Queue> {
    let mut queues = Step::ALL.map(Queue::Step).to_vec();
    queues.extend([Queue::Undecided, Queue::Shelf, Queue::Finished, Queue::Out]);
    queues
}

fn tags(shop: &Shop, queue: Queue) -> Vec<Tag> {
    shop.floor().queue(queue).map(|garment| garment.tag).collect()
}

/// Every garment stands in one queue or in one press, and nowhere else.
pub fn assert_each_in_one_place(shop: &Shop, garments: usize) {
    let mut found: Vec<Tag> = shop.loads().map(|(_, load)| load.garment).collect();
    for (press, load) in shop.loads() {
        let place = shop.garment(load.garment).unwrap().place;
        assert_eq!(place, Place::InPress(press), "{}", load.garment);
    }
    found.extend(queues().into_iter().flat_map(|queue| tags(shop, queue)));
    found.sort();
    let all: Vec<Tag> = shop.floor().all().map(|garment| garment.tag).collect();
    assert_eq!(found, all);
    assert_eq!(all.len(), garments);
}

/// Whether the same things are where they are in both shops.
pub fn same(one: &Shop, other: &Shop) -> bool {
    let (presses, others) = (one.press_numbers(), other.press_numbers());
    one.floor().all().eq(other.floor().all())
        && queues().into_iter().all(|queue| tags(one, queue) == tags(other, queue))
        && presses == others
        && presses.into_iter().all(|press| {
            one.load(press) == other.load(press)
                && one.out_of_use(press) == other.out_of_use(press)
                && one.setting(press) == other.setting(press)
        })
        && one.sheets() == other.sheets()
        && one.orders().eq(other.orders())
        && one.desk() == other.desk()
}
