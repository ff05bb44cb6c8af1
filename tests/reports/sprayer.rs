//! The sprayer over the weeks, from garments that were weighed on the board: a worn tip, a clog, and each hand's scatter.

use dwell::figures::units::Grams;
use dwell::shop::facts::ids::{PressNo, Tag};
use dwell::shop::rules::command::{By, Command};
use dwell::shop::rules::notices::Notice;
use serde_json::Value;

use crate::sample::{bench, write};
use crate::world::{World, line, order, station};

/// A shop of one press, and the last of its garments that was sprayed.
struct Weeks {
    world: World,
    piece: u16,
}

impl Weeks {
    fn new() -> Self {
        let mut world = World::new(station(1));
        world.must(order(vec![line(90, "dark-cotton")]));
        Self { world, piece: 0 }
    }

    /// One garment, sprayed with so much of the coat that was asked for.
    fn coat(&mut self, part: f64) {
        self.piece += 1;
        let garment: Tag = format!("A1-{:02}", self.piece).parse().unwrap();
        let press = PressNo(1);
        self.world.must(Command::Shut { press, garment, by: By::Choice });
        self.world.wait(15.0);
        self.world.must(Command::Open { press });
        let right = self.world.shop.grams_right(self.world.shop.garment(garment).unwrap()).unwrap();
        for grams in [150.0, 150.0 + part * right.0] {
            self.world.must(Command::Weigh { garment, grams: Grams(grams) });
        }
        self.world.wait(60.0);
    }

    /// A day of four, the next a day later.
    fn day(&mut self, part: f64) {
        for off in [0.96, 1.05, 0.99, 1.0] {
            self.coat(part * off);
        }
        self.world.wait(86_400.0 - 4.0 * 75.0);
    }

    fn notices(&self) -> Vec<Notice> {
        self.world.shop.notices(&[], self.world.now)
    }
}

#[test]
fn a_worn_tip_is_called_out_over_days_and_a_clog_at_once() {
    let mut weeks = Weeks::new();
    weeks.world.must(Command::Sign("AK".into()));
    let usual = [1.0, 1.03, 0.97, 1.02, 0.99, 1.01, 0.98, 1.0, 1.02, 0.98];
    usual.into_iter().for_each(|part| weeks.day(part));
    weeks.day(1.01);
    assert_eq!(weeks.notices(), [], "a sound one is let be");
    for n in 1..=6 {
        weeks.day(1.0 + 0.04 * f64::from(n));
    }
    assert_eq!(weeks.notices(), [Notice::SprayerDrifts]);
    let told = weeks.world.shop.notice_in_words(Notice::SprayerDrifts, weeks.world.now);
    assert!(told.contains("more than it did: a worn tip, or a slower hand. Catch a cup"), "{told}");
    // The day that runs changes nothing of that: it is said once a shift.
    weeks.coat(1.0);
    assert_eq!(weeks.notices(), [Notice::SprayerDrifts]);
    weeks.world.must(Command::Sign("AK".into()));
    weeks.world.must(Command::Sign("BM".into()));
    for _ in 0..2 {
        weeks.coat(0.55);
    }
    assert_eq!(weeks.notices(), [Notice::SprayerFell, Notice::SprayerDrifts]);
    let told = weeks.world.shop.notice_in_words(Notice::SprayerFell, weeks.world.now);
    assert!(told.contains("under the usual: clean the tip"), "{told}");
    // What was weighed by mistake and taken back was never there.
    weeks.world.must(Command::Undo);
    assert_eq!(weeks.notices(), [Notice::SprayerDrifts]);

    let bench = bench();
    write(&bench, weeks.world.events);
    let told = bench.run(&["chart", "--sprayer"]);
    assert_eq!((told.code, told.err.as_str()), (0, ""));
    for words in [
        "over 17 days",
        "a worn tip, or a slower hand",
        "hand AK",
        "hand BM",
        "2026-03-02   4 coats, +0 % on plan",
    ] {
        assert!(told.out.contains(words), "{words}: {}", told.out);
    }
    let said: Value =
        serde_json::from_str(&bench.run(&["chart", "--sprayer", "--json"]).out).unwrap();
    assert_eq!((&said["course"], &said["days"][0]["coats"]), (&"drifts".into(), &4.into()));
    assert!(said["drift"].as_f64().is_some_and(|by| (0.08..0.3).contains(&by)), "{said}");
    let hands: Vec<&str> = said["hands"]
        .as_array()
        .unwrap()
        .iter()
        .filter_map(|hand| hand["people"].as_str())
        .collect();
    assert_eq!(hands, ["AK", "BM"]);
    assert_eq!(said["hands"][1]["scatter"], Value::Null, "of one coat nothing is known");
}

/// A profile with another flow: what was usual before says nothing of it.
#[test]
fn another_flow_in_the_profile_begins_anew() {
    let mut weeks = Weeks::new();
    (0..11).for_each(|_| weeks.day(1.0));
    let days = |weeks: &Weeks| weeks.world.shop.books().sprayer.days().count();
    assert_eq!(days(&weeks), 11);
    let mut profile = station(1);
    let sprayer = profile.sprayer.as_mut().unwrap();
    sprayer.flow = "2.4 g/s".parse().unwrap();
    weeks.world.must(Command::SetStation(std::sync::Arc::new(profile)));
    weeks.day(1.2);
    assert_eq!((days(&weeks), weeks.notices()), (1, vec![]));
}
