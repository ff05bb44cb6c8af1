//! What is made again: by a garment's tag or an order, of this station alone.

use dwell::shop::facts::order::OrderLine;

use super::deeds::three_presses;
use super::world::{World, line, order};

#[test]
fn what_another_station_made_is_not_made_again_here() {
    let mut world = World::new(three_presses());
    world.must(order(vec![line(2, "dark-cotton")]));
    for (of, taken) in [("A1", true), ("1", true), ("A1-02", true), ("B1", false), ("B1-02", false)]
    {
        let remakes = Some(of.to_owned().try_into().unwrap());
        let said = world.say(&order(vec![OrderLine { remakes, ..line(1, "dark-cotton") }]));
        let refused = said.err().map(|refusal| refusal.to_string());
        assert_eq!(refused.is_none(), taken, "{of}: {refused:?}");
        assert!(refused.is_none_or(|text| text.starts_with(of) && text.contains("station")));
    }
}
