//! Garments of a shared order that the hub has granted, and that their board has not recorded: it died, or cannot make them.

use support::pty::Pty;
use support::waiting::wait;

use crate::passing::{board, named};
use crate::shared::{change, lay, take, wait_parts};
use crate::shop::{Shop, role};

/// What the lead is told of the line of the only shared order.
fn line(shop: &Shop) -> serde_json::Value {
    let orders = shop.lead()["orders"].clone();
    let shared = orders.as_array().unwrap().iter().find(|one| one["shared"] == true);
    shared.map_or(serde_json::Value::Null, |one| one["lines"][0].clone())
}

/// The program dies when the hub has granted and nobody has recorded it: the lead sees that it is not begun, nobody else is
/// given it, and the board takes it in when it is back, and says so.
#[test]
fn what_was_granted_to_a_board_that_died_before_it_recorded_it_is_seen_and_taken_in() {
    let Some(shop) = Shop::open() else { return };
    let (north, south) = (shop.bench("a"), shop.bench("b"));
    named(&north, "North bench");
    named(&south, "South bench");
    // As long as this test wants, not as long as a hub waits.
    shop.server.sql("ALTER FUNCTION hub.take_part(text, int, int, text) SET lock_timeout = 0");
    shop.server.sql(&format!("ALTER ROLE {} SET statement_timeout = 0", role("b")));
    let (at_north, mut at_south) = (board(&north), board(&south));
    lay(&north, "Lantern walk", 12);
    at_south.wait_for("12 of 12 left");
    let held = shop.server.hold("SELECT FROM hub.shared_lines FOR UPDATE");
    take(&mut at_south, "A1", "5");
    let waits = "SELECT count(*) FROM pg_stat_activity WHERE wait_event_type = 'Lock' AND query ~ 'hub.take_part'";
    wait(|| "it asks".to_owned(), || (shop.server.sql(waits) == "1").then_some(()));
    at_south.kill();
    drop(held);
    wait_parts(&shop, "b - 5");
    assert!(south.past_of("order-taken").is_empty());

    at_north.wait_for("7 of 12 left");
    let granted = serde_json::json!([{ "station": "b", "count": 5 }]);
    assert_eq!(line(&shop)["granted"], granted);
    assert_eq!((&line(&shop)["untaken"], &line(&shop)["taken"]), (&7.into(), &0.into()));
    let by = shop.address(support::postgres::OWNER);
    let mut lead = Pty::start(&shop.owner, &["hub", "--address", &by], &[]);
    lead.wait_for("5 granted to South bench and not begun");

    let mut at_south = Pty::board(&south);
    let words = "5 garments of A1 \"Lantern walk\" taken to make here, as order 1; granted";
    at_south.wait_for(words);
    wait_parts(&shop, "b B1 5");
    lead.wait_until("nothing is unbegun", |screen| !screen.contains("not begun"));
    assert_eq!(line(&shop)["granted"], serde_json::json!([]));
    assert_eq!(south.past_of("order-taken").len(), 1);
    lead.key(b"q");
    let mut at_north = at_north;
    for (pty, bench) in [(&mut at_north, north), (&mut at_south, south)] {
        assert_eq!(pty.leave(), 0);
        bench.assert_sound();
    }
}

/// What was granted and not begun when its order was cancelled goes back.
#[test]
fn what_was_granted_and_not_begun_goes_back_where_its_order_is_cancelled() {
    let Some(shop) = Shop::open() else { return };
    let (north, south) = (shop.bench("a"), shop.bench("b"));
    let mut at_north = board(&north);
    let mut at_south = board(&south);
    lay(&north, "Lantern walk", 12);
    at_south.wait_for("12 of 12 left");
    assert_eq!(at_south.leave(), 0);
    let granted = "SELECT granted FROM hub.take_part('A1', 0, 5, 'b-9-abcdef')";
    assert_eq!(shop.sql_as("b", granted).unwrap(), "5");
    change(&mut at_north, &["1", "7"], "Cancel it for all stations?");
    at_north.keys("1");
    at_north.wait_for("cancelled, for all stations");
    shop.wait_equal(&north, "a");
    let mut at_south = Pty::board(&south);
    at_south
        .wait_for("A1 \"Lantern walk\" is cancelled for all stations: 5 garments of it given back");
    wait_parts(&shop, "");
    assert!(south.past_of("order-taken").is_empty());
    for (pty, bench) in [(&mut at_north, north), (&mut at_south, south)] {
        assert_eq!(pty.leave(), 0);
        bench.assert_sound();
    }
}

/// What was granted to a board that lacks the recipe by then waits for it, and says so.
#[test]
fn what_was_granted_waits_for_its_recipe() {
    let Some(shop) = Shop::open() else { return };
    let (north, south) = (shop.bench("a"), shop.bench("b"));
    let recipe = south.profiles().join("recipes/quick.ron");
    let other = recipe.with_file_name("other.ron");
    std::fs::rename(&recipe, &other).unwrap();
    let (mut at_north, mut at_south) = (board(&north), board(&south));
    lay(&north, "Lantern walk", 12);
    wait(
        || "the line is at the hub".to_owned(),
        || (shop.server.sql("SELECT count FROM hub.shared_lines") == "12").then_some(()),
    );
    let granted = "SELECT granted FROM hub.take_part('A1', 0, 5, 'b-9-abcdef')";
    assert_eq!(shop.sql_as("b", granted).unwrap(), "5");
    at_south.wait_for("A1 \"Lantern walk\": 5 garments GRANTED TO THIS STATION ARE NOT BEGUN");
    std::fs::copy(&other, &recipe).unwrap();
    wait_parts(&shop, "b B1 5");
    at_south.wait_until("it is begun", |screen| !screen.contains("NOT BEGUN"));
    for (pty, bench) in [(&mut at_north, north), (&mut at_south, south)] {
        assert_eq!(pty.leave(), 0);
        bench.assert_sound();
    }
}
