//! Where two shops differ, thing by thing: both in full would fill pages.

use std::fmt::Debug;

use dwell::shop::Shop;

use crate::places::queues;

/// Everything that can be asked of a shop and has another answer in the other one.
pub fn difference(one: &Shop, other: &Shop) -> Vec<String> {
    let mut found = Vec::new();
    let mut put = |what: &str, same: bool, words: String| {
        if !same {
            found.push(format!("{what}: {words}"));
        }
    };
    let tags = |shop: &Shop| shop.floor().all().map(|garment| garment.tag).collect::<Vec<_>>();
    let garments = tags(one);
    put("garments", garments == tags(other), both(&garments, &tags(other)));
    for tag in garments {
        let (here, there) = (one.garment(tag), other.garment(tag));
        put("garment", here == there, both(&here, &there));
    }
    for queue in queues() {
        let line = |shop: &Shop| shop.floor().queue(queue).map(|g| g.tag).collect::<Vec<_>>();
        put("queue", line(one) == line(other), both(&queue, &(line(one), line(other))));
    }
    for press in one.press_numbers() {
        let as_it_is =
            |shop: &Shop| (shop.load(press).cloned(), shop.out_of_use(press), shop.setting(press));
        let (here, there) = (as_it_is(one), as_it_is(other));
        put("press", here == there, both(&here, &there));
    }
    put("desk", one.desk() == other.desk(), both(one.desk(), other.desk()));
    put("orders", one.orders().eq(other.orders()), "their lines or numbers".into());
    put("sheets", one.sheets() == other.sheets(), "their places or presses".into());
    put("recipes", one.recipes() == other.recipes(), "their names or texts".into());
    put("station", one.station() == other.station(), "its profile".into());
    found
}

fn both(here: &(impl Debug + ?Sized), there: &(impl Debug + ?Sized)) -> String {
    format!("{here:?} here, {there:?} there")
}
