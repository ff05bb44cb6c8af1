//! A snapshot and the rows after it are as good as all rows: the same shop, down to what can be taken back.

use dwell::shop::Shop;
use dwell::shop::facts::fact::Event;
use dwell::shop::rules::command::Command;
use proptest::prelude::*;

use super::{carry_out, histories, start};

/// The shop as it comes back after a restart: kept as of an event, the later ones applied again.
fn restarted(events: &[Event], kept_at: u64) -> Shop {
    let early = |event: &&Event| event.seq <= kept_at;
    let mut kept = Shop::default();
    events.iter().take_while(early).for_each(|event| kept.apply(event));
    let mut shop = Shop::from_bytes(&kept.to_bytes().unwrap()).unwrap();
    events.iter().skip_while(early).for_each(|event| shop.apply(event));
    shop
}

/// Everything that there is to a shop, its queues and its before-images too.
fn whole(shop: &Shop) -> String {
    format!("{shop:?}")
}

proptest! {
    #![proptest_config(ProptestConfig { cases: 60, ..ProptestConfig::default() })]

    #[test]
    fn a_snapshot_and_the_rest_make_the_same_shop(
        before in histories(), after in histories(), undone in 0usize..90
    ) {
        let mut world = start();
        for deed in before.iter().cycle().take(before.len() * 2) {
            carry_out(&mut world, deed);
        }
        let kept_at = world.shop.beyond_undo();
        let same = |world: &super::World| {
            let again = restarted(&world.events, kept_at);
            prop_assert_eq!(again.to_bytes().unwrap(), world.shop.to_bytes().unwrap());
            prop_assert_eq!(whole(&again), whole(&world.shop));
            Ok(())
        };
        same(&world)?;
        // Across the snapshot and back: as much is taken back as can be, and other things are done.
        for _ in 0..undone {
            world.wait(0.7);
            if world.say(&Command::Undo).is_err() {
                break;
            }
        }
        same(&world)?;
        for deed in &after {
            carry_out(&mut world, deed);
        }
        same(&world)?;
    }
}

#[test]
fn what_is_kept_is_the_whole_shop_and_nothing_that_follows_from_it() {
    let world = start();
    let bytes = world.shop.to_bytes().unwrap();
    let again = Shop::from_bytes(&bytes).unwrap();
    assert!(again == world.shop);
    assert_eq!(again.seq(), world.shop.seq());
    assert_eq!(again.newest(), world.shop.newest());
    assert_eq!(again.undoable(), None, "the trail comes back with the rows");
    assert!(Shop::from_bytes(&bytes[..bytes.len() - 1]).is_err());
    assert!(Shop::from_bytes(&[&bytes[..], b"x"].concat()).is_err());
}
