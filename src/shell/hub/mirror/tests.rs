//! Histories that are made by hand: what counts of them, and what is said of those that do not fit.

use super::*;
use crate::shop::facts::fact::{Fact, FanSaid};
use crate::shop::facts::ids::ActNo;
use crate::shop::facts::moment::Up;

const SECOND: i64 = 1_000_000;

/// Rows `from..=to` of a life, after a row with the sum `before`; `fan` makes one history differ from another.
fn rows(life: i32, (from, to): (u64, u64), before: i64, fan: bool) -> Vec<Row> {
    let mut sum = before;
    let row = |seq: u64| {
        let span = i64::try_from(seq).unwrap() * SECOND;
        let event = Event {
            station: StationId::default(),
            seq,
            act: ActNo(seq),
            moment: Moment { at: Wall(span), boot: Boot(7), up: Up(span) },
            fact: Fact::FanSaid(FanSaid { running: Some(fan) }),
        };
        let stored = Stored::of(&event, sum).unwrap();
        sum = stored.sum;
        Row { life, stored }
    };
    (from..=to).map(row).collect()
}

fn sum_at(rows: &[Row], seq: u64) -> i64 {
    let at = |row: &&Row| u64::try_from(row.stored.seq).unwrap() == seq;
    rows.iter().find(at).map_or(FIRST_SUM, |row| row.stored.sum)
}

/// A head at the end of `rows`, whose last life began as `lives` says; each life has written up to its `last`.
fn head(rows: &[Row], lives: &[(i32, u64, i64, u64)]) -> Head {
    let last = rows.last().unwrap();
    let lives: Vec<Life> = lives
        .iter()
        .map(|(no, after, after_sum, last)| Life {
            no: *no,
            after: *after,
            after_sum: *after_sum,
            last: *last,
        })
        .collect();
    Head {
        station: StationId::default(),
        life: last.life,
        upto: u64::try_from(last.stored.seq).unwrap(),
        sum: last.stored.sum,
        heard: Some(Wall(last.stored.at + 5)),
        lives,
    }
}

/// Answers what a mirror asks for from all rows of a hub, a few at a time, until it asks for nothing more.
fn catch_up(mirror: &mut Mirror, hub: &[Row]) -> Result<(), Fault> {
    while let Some(wanted) = mirror.wanted() {
        let lives = mirror.head().lives.clone();
        // The history that counts: of each number the row of the newest life that began before it.
        let counts = |row: &&Row| {
            let newest = lives.iter().rev().find(|life| life.after < row.seq());
            row.seq() > wanted.after && newest.is_some_and(|life| life.no == row.life)
        };
        let batch: Vec<Row> = hub.iter().filter(counts).take(3).cloned().collect();
        mirror.take(&batch, |_, _| ())?;
    }
    Ok(())
}

#[test]
fn a_life_goes_on_from_a_row_of_an_earlier_one_and_what_came_after_that_row_is_left_out() {
    let first = rows(1, (1, 9), FIRST_SUM, true);
    let second = rows(2, (7, 12), sum_at(&first, 6), false);
    let third = rows(3, (11, 14), sum_at(&second, 10), true);
    let hub: Vec<Row> = [first.clone(), second.clone(), third.clone()].concat();
    let all = head(
        &third,
        &[(1, 0, FIRST_SUM, 9), (2, 6, sum_at(&first, 6), 12), (3, 10, sum_at(&second, 10), 14)],
    );
    // From nothing, and by one who had followed each life while it was written.
    let mut fresh = Mirror::new(all.clone());
    catch_up(&mut fresh, &hub).unwrap();
    let mut followed = Mirror::new(head(&first, &[(1, 0, FIRST_SUM, 9)]));
    catch_up(&mut followed, &hub).unwrap();
    assert_eq!((followed.seq(), followed.left_out()), (9, 0));
    let of_two = head(&second, &[(1, 0, FIRST_SUM, 9), (2, 6, sum_at(&first, 6), 12)]);
    followed.hear(of_two);
    catch_up(&mut followed, &hub).unwrap();
    assert_eq!((followed.seq(), followed.left_out()), (12, 3));
    followed.hear(all);
    catch_up(&mut followed, &hub).unwrap();
    for mirror in [&fresh, &followed] {
        assert_eq!((mirror.seq(), mirror.sum, mirror.life), (14, third[3].stored.sum, 3));
        assert_eq!(mirror.left_out(), 3 + 2);
    }
    assert_eq!(fresh.shop(), followed.shop());
}

#[test]
fn a_life_that_went_on_from_before_the_one_before_it_takes_all_of_that_one_away() {
    let first = rows(1, (1, 9), FIRST_SUM, true);
    let second = rows(2, (7, 8), sum_at(&first, 6), false);
    let third = rows(3, (3, 5), sum_at(&first, 2), true);
    let hub: Vec<Row> = [first.clone(), second.clone(), third.clone()].concat();
    let lives = [(1, 0, FIRST_SUM, 9), (2, 6, sum_at(&first, 6), 8), (3, 2, sum_at(&first, 2), 5)];
    let mut mirror = Mirror::new(head(&third, &lives));
    catch_up(&mut mirror, &hub).unwrap();
    assert_eq!((mirror.seq(), mirror.left_out()), (5, 7 + 2));
}

#[test]
fn a_row_with_a_flipped_byte_a_gap_and_another_stations_row_are_named() {
    let hub = rows(1, (1, 6), FIRST_SUM, true);
    let station = StationId::default();
    let after = |change: &dyn Fn(&mut Vec<Row>)| {
        let mut wrong = hub.clone();
        change(&mut wrong);
        let mut mirror = Mirror::new(head(&hub, &[(1, 0, FIRST_SUM, 6)]));
        let fault = catch_up(&mut mirror, &wrong).unwrap_err();
        assert_eq!(mirror.fault(), Some(&fault));
        assert_eq!(mirror.wanted(), None, "nothing is read after a fault");
        (fault, mirror.seq())
    };
    let flipped = after(&|rows| rows[3].stored.body = rows[3].stored.body.replace("true", "tRue"));
    assert_eq!(flipped, (Fault::Sum { station, seq: 4 }, 3));
    assert_eq!(after(&|rows| drop(rows.remove(3))), (Fault::Gap { station, missing: 4 }, 3));
    let foreign = after(&|rows| rows[4].stored.station = "b".into());
    assert_eq!(foreign, (Fault::Sum { station, seq: 5 }, 4));
}

#[test]
fn a_hub_that_falls_back_is_waited_for_and_one_with_another_history_is_said() {
    let hub = rows(1, (1, 9), FIRST_SUM, true);
    let lives = [(1, 0, FIRST_SUM, 9)];
    let mut mirror = Mirror::new(head(&hub, &lives));
    catch_up(&mut mirror, &hub).unwrap();
    mirror.hear(head(&hub[..5], &lives));
    assert_eq!((mirror.wanted(), mirror.missing_there(), mirror.fault()), (None, 4, None));
    // The same again, and more: it goes on.
    let more = rows(1, (1, 12), FIRST_SUM, true);
    mirror.hear(head(&more, &lives));
    catch_up(&mut mirror, &more).unwrap();
    assert_eq!((mirror.seq(), mirror.fault()), (12, None));
    // Something else in its place, seen once the hub has as many rows, or more.
    mirror.hear(head(&more[..5], &lives));
    let fork = [more[..5].to_vec(), rows(1, (6, 14), sum_at(&more, 5), false)].concat();
    let another = Fault::Another { station: StationId::default(), seq: 12 };
    for upto in [12, 14] {
        let mut mirror = Mirror::new(head(&more, &lives));
        catch_up(&mut mirror, &more).unwrap();
        let shop = mirror.shop().clone();
        mirror.hear(head(&fork[..upto], &lives));
        drop(catch_up(&mut mirror, &fork));
        assert_eq!(mirror.fault(), Some(&another), "{upto} rows");
        assert_eq!(*mirror.shop(), shop, "the last picture stays");
    }
    // A life that begins elsewhere than it did before.
    let mut mirror = Mirror::new(head(&hub, &lives));
    catch_up(&mut mirror, &hub).unwrap();
    mirror.hear(head(&hub, &[(1, 3, 77, 9)]));
    assert!(matches!(mirror.fault(), Some(Fault::Another { seq: 4, .. })));
}

#[test]
fn the_stations_moment_goes_by_its_own_clock_whatever_the_hubs_shows() {
    let lives = |last: u64| [(1, 0, FIRST_SUM, last)];
    let heard = |upto: u64, at: i64| {
        let rows = rows(1, (1, upto), FIRST_SUM, true);
        (Head { heard: Some(Wall(at)), ..head(&rows, &lives(upto)) }, rows)
    };
    // The clocks agree, and nothing has happened for an hour.
    let hour = 3600 * SECOND;
    let (first, hub) = heard(3, hour);
    let mut mirror = Mirror::new(first);
    assert_eq!(mirror.now(Wall(0)), None);
    catch_up(&mut mirror, &hub).unwrap();
    assert_eq!(mirror.now(Wall(hour)).unwrap().up, Up(hour));
    // The station's is ahead: it says so by a moment that the hub has not seen yet.
    let (first, hub) = heard(3, -hour);
    let mut mirror = Mirror::new(first);
    catch_up(&mut mirror, &hub).unwrap();
    let now = mirror.now(Wall(-hour + SECOND)).unwrap();
    assert_eq!((now.up, now.at, now.boot), (Up(4 * SECOND), Wall(4 * SECOND), Boot(7)));
    // The station's is a day behind: the first row that is waited for says so.
    let day = 24 * hour;
    let (first, hub) = heard(3, 3 * SECOND + day);
    let mut mirror = Mirror::new(first);
    catch_up(&mut mirror, &hub).unwrap();
    let (next, hub) = heard(4, 4 * SECOND + day);
    mirror.hear(next);
    catch_up(&mut mirror, &hub).unwrap();
    assert_eq!(mirror.now(Wall(10 * SECOND + day)).unwrap().up, Up(10 * SECOND));
}
