//! What is asked of a shop with a history: every answer is of one shop, and none contradicts another.

use serde_json::Value;

use crate::bench::{self, Bench};
use crate::number;

/// A bench with an order, and a journal of a rehearsal of which a quarter is done.
struct Shop {
    bench: Bench,
    data: String,
    order: String,
}

const PRESSES: &str = "3";
const GARMENTS: u32 = 80;

fn shop() -> Shop {
    let bench = Bench::new(2, 20);
    let data = bench.root.path().join("rehearsal").to_str().unwrap().to_owned();
    let order = bench.root.path().join("order.ron");
    std::fs::write(&order, bench::order(30)).unwrap();
    let order = order.to_str().unwrap().to_owned();
    let garments = GARMENTS.to_string();
    let shift = ["rehearse", "--headless", "--presses", PRESSES, "--garments", &garments];
    let ran = bench.run(&[&shift[..], &["--until", "20", "--data", &data]].concat());
    assert_eq!((ran.code, ran.err.as_str()), (0, ""));
    Shop { bench, data, order }
}

impl Shop {
    fn asked(&self, words: &[&str]) -> Value {
        let ran = self.bench.run(&[words, &["--json", "--data", &self.data]].concat());
        assert_eq!((ran.code, ran.err.as_str()), (0, ""), "{words:?}");
        serde_json::from_str(&ran.out).unwrap()
    }

    fn text(&self, words: &[&str]) -> String {
        let ran = self.bench.run(&[words, &["--data", &self.data]].concat());
        assert_eq!((ran.code, ran.err.as_str()), (0, ""), "{words:?}");
        ran.out
    }
}

fn at(moment: &Value) -> jiff::Timestamp {
    moment.as_str().unwrap_or_else(|| panic!("{moment}")).parse().unwrap()
}

/// What another printer would save is what is foreseen with one more: the hours behind are held against the printers that
/// there were.
#[test]
fn more_of_something_saves_what_was_said() {
    let shop = shop();
    let now = shop.asked(&["plan"]);
    for (change, option, count) in [
        ("one more printer", "--printers", "2"),
        ("one more operator", "--operators", "2"),
        ("one more press", "--presses", "4"),
    ] {
        let with = shop.asked(&["plan", option, count]);
        let saves = number(&now, "finish_p50") - number(&with, "finish_p50");
        let told = now["what_if"].as_array().unwrap().iter();
        let told = told.into_iter().find(|one| one["change"] == change).unwrap();
        assert!(
            (number(told, "saves_s") - saves.max(0.0)).abs() < 1.0,
            "{change}: {told}, {saves}"
        );
        assert_eq!(with["longer_than_rule"], now["longer_than_rule"], "{change}");
    }
}

/// What is done until a moment goes by the forecast: at its middle all is done in half of all draws, and not before.
#[test]
fn what_is_done_by_a_moment_is_foreseen() {
    let shop = shop();
    let plan = shop.asked(&["plan"]);
    let garments = number(&plan, "garments");
    let until = |moment: jiff::Timestamp| {
        let moment = moment.to_string();
        let told = shop.asked(&["plan", "--until", &moment]);
        (number(&told, "done_until_p90"), number(&told, "done_until"))
    };
    let (half, most) = (at(&plan["finish_p50_at"]), at(&plan["finish_p90_at"]));
    assert_eq!(until(most + jiff::SignedDuration::from_secs(2)).0, garments);
    assert_eq!(until(half + jiff::SignedDuration::from_secs(2)).1, garments);
    let (surely, likely) = until(half - jiff::SignedDuration::from_mins(30));
    assert!(surely < likely && likely < garments && surely > 0.0, "{surely} {likely} {garments}");
    let text = shop.text(&["plan", "--until", &half.to_string()]);
    assert!(text.contains("done (half of all draws), "), "{text}");
}

/// Nobody waits longer because the shop is slow: what comes two hours later is ready two hours later, as quickly made.
#[test]
fn what_comes_later_is_made_as_quickly() {
    let shop = shop();
    let alone = ["plan", "--from-nothing", &shop.order];
    let now = shop.asked(&alone);
    let past = shop.bench.run(&["past", "--json", "--last", "1", "--data", &shop.data]);
    let newest: Value = serde_json::from_str(past.out.lines().last().unwrap()).unwrap();
    let newest = at(&newest["at"]);
    let then = (newest + jiff::SignedDuration::from_hours(2)).to_string();
    let later = shop.asked(&[&alone[..], &["--arrive", &then]].concat());
    let waits = number(&later, "finish_p50") - number(&now, "finish_p50");
    assert!((waits - 7200.0).abs() < 0.02 * number(&now, "finish_p50"), "{waits}");
    assert!((number(&later, "per_hour") / number(&now, "per_hour") - 1.0).abs() < 0.02);
    // A time of day is one.
    let clock =
        (newest + jiff::SignedDuration::from_hours(2)).to_zoned_datetime(jiff::tz::TimeZone::UTC);
    let clock = clock.strftime("%H:%M").to_string();
    let same = shop.asked(&[&alone[..], &["--arrive", &clock, "--until", "23:59"]].concat());
    assert!((number(&same, "finish_p50") - number(&later, "finish_p50")).abs() < 90.0);
}

/// From nothing leaves out what is under way, not what the shop has.
#[test]
fn a_plan_from_nothing_is_of_the_shops_own_presses() {
    let shop = shop();
    let plan = shop.asked(&["plan", "--from-nothing", &shop.order]);
    assert_eq!((number(&plan, "presses"), number(&plan, "garments")), (3.0, 30.0), "{plan}");
}

/// A promise of an order is what a plan says of its file, and pushes others back by what the plan does.
#[test]
fn a_promise_and_a_plan_say_the_same() {
    let shop = shop();
    let before = shop.asked(&["plan"]);
    let beside = shop.asked(&["plan", &shop.order]);
    let promise = shop.asked(&["promise", "--garments", "30", "--recipe", "quick"]);
    let own = |plan: &Value, name: &str| {
        let orders = plan["orders"].as_array().unwrap();
        // The file stands behind the shop's own order of that name.
        orders.iter().rfind(|order| order["name"] == name).cloned()
    };
    let file = own(&beside, "Harbour choir").unwrap();
    assert_eq!(promise["half"], file["finish_p50_at"]);
    assert_eq!(promise["nine_in_ten"], file["finish_p90_at"]);
    let pushed = promise["pushes_back"].as_array().unwrap();
    for order in pushed {
        let name = order["order"].as_str().unwrap();
        if name == "Harbour choir" {
            continue;
        }
        let [was, is] =
            [&before, &beside].map(|plan| at(&own(plan, name).unwrap()["finish_p50_at"]));
        let by_s = is.duration_since(was).as_secs_f64();
        assert!((number(order, "by_s") - by_s).abs() < 1.0, "{order}");
    }
    let text = shop.text(&["promise", "--garments", "30", "--recipe", "quick"]);
    assert!(text.contains("ready  ") && text.contains("(nine times in ten)"), "{text}");
}

/// What is said to meet a wish does.
#[test]
fn what_would_meet_a_wish_meets_it() {
    let shop = shop();
    let promise = shop.asked(&["promise", "--garments", "30", "--recipe", "quick"]);
    let wish = at(&promise["half"]) - jiff::SignedDuration::from_mins(40);
    let wish = wish.to_string();
    let asked = ["promise", "--garments", "30", "--recipe", "quick", "--by", &wish];
    let promise = shop.asked(&asked);
    assert!(number(&promise, "meets") <= 1.0, "{promise}");
    if at(&promise["nine_in_ten"]) <= wish.parse().unwrap() {
        assert_eq!(promise["would_meet"], serde_json::json!([]));
        return;
    }
    let all = promise["would_meet"].as_array().unwrap();
    for change in all {
        assert!(at(&change["nine_in_ten"]) <= wish.parse().unwrap(), "{change}");
    }
    let only = all.iter().find_map(|one| one["change"].as_str()?.strip_prefix("only "));
    if let Some(count) = only.and_then(|words| words.split(' ').next()) {
        let fewer = ["promise", "--garments", count, "--recipe", "quick", "--by", &wish];
        let fewer = shop.asked(&fewer);
        assert!(at(&fewer["nine_in_ten"]) <= wish.parse().unwrap(), "{fewer}");
    }
}

/// Nothing is promised for an hour in which nobody works.
#[test]
fn a_promise_keeps_to_the_hours() {
    let bench = Bench::new(2, 20);
    bench.station_says("hours: [\"mon-fri 08:00-12:00 13:00-17:00\"],");
    for garments in ["5", "60", "400", "1500"] {
        let words =
            ["promise", "--garments", garments, "--recipe", "quick", "--from-nothing", "--json"];
        let ran = bench.run(&words);
        assert_eq!((ran.code, ran.err.as_str()), (0, ""));
        let promise: Value = serde_json::from_str(&ran.out).unwrap();
        for ready in ["half", "nine_in_ten"] {
            let zone = jiff::tz::TimeZone::get(&support::program::zone()).unwrap();
            let ready = at(&promise[ready]).to_zoned_datetime(zone);
            let day = ready.weekday().to_monday_zero_offset();
            let minute = i32::from(ready.hour()) * 60 + i32::from(ready.minute());
            let works = (480..=720).contains(&minute) || (780..=1020).contains(&minute);
            assert!(day < 5 && works, "{garments}: {ready}");
        }
    }
}

#[test]
fn what_cannot_be_promised_is_said() {
    let bench = Bench::new(1, 20);
    for (words, told) in [
        (
            &["--garments", "5", "--recipe", "silk"][..],
            "there is no recipe \"silk\"; there are: quick",
        ),
        (&["--garments", "0", "--recipe", "quick"], "--garments: "),
        (
            &["--garments", "5", "--recipe", "quick", "--by", "soon"],
            "--by: found \"soon\", expected",
        ),
    ] {
        let ran = bench.run(&[&["promise", "--from-nothing"], words].concat());
        assert_eq!(ran.code, 2, "{words:?}");
        assert!(ran.err.contains(told), "{}", ran.err);
    }
    let ran = bench.run(&["promise", "--garments", "5", "--recipe", "quick"]);
    assert_eq!(ran.code, 2, "{}", ran.err);
    assert_eq!(bench.run(&["week"]).code, 2);
}

/// The week says of each order what the plan says of it, and counts each garment once.
#[test]
fn a_week_and_a_plan_say_the_same() {
    let shop = shop();
    let (week, plan) = (shop.asked(&["week"]), shop.asked(&["plan"]));
    let days = week["days"].as_array().unwrap();
    assert_eq!(days.len(), 7);
    let due = days.iter().flat_map(|day| day["orders"].as_array().unwrap());
    let all: Vec<&Value> = due.chain(week["never_due"].as_array().unwrap()).collect();
    let left: f64 = all.iter().map(|order| number(order, "left")).sum();
    assert_eq!(left, number(&plan, "garments"));
    let planned = plan["orders"].as_array().unwrap();
    assert_eq!(all.len(), planned.len());
    for order in planned {
        let own =
            |one: &&&Value| one["order"] == order["name"] && one["half"] == order["finish_p50_at"];
        let own = all.iter().find(own).unwrap_or_else(|| panic!("{order} in {week}"));
        assert_eq!(own["nine_in_ten"], order["finish_p90_at"]);
    }
    for day in days {
        assert!(number(day, "makes_p90") <= number(day, "makes"), "{day}");
    }
    let text = shop.text(&["week"]);
    assert!(text.contains("never due") && text.contains("Lantern walk 20: ready"), "{text}");
}

/// What two commands say of one shop at one moment is the same: plan, pace, promise and report, figure by figure.
#[test]
fn what_is_said_twice_of_a_shop_is_the_same() {
    let shop = shop();
    let (plan, pace) = (shop.asked(&["plan"]), shop.asked(&["pace"]));
    let ran = shop.bench.run(&["report", "--format", "json", "--data", &shop.data]);
    assert_eq!((ran.code, ran.err.as_str()), (0, ""));
    let report: Value = serde_json::from_str(&ran.out).unwrap();
    let promise = shop.asked(&["promise", "--garments", "30", "--recipe", "quick"]);
    // Of which moment they speak.
    let now = at(&plan["finish_p50_at"])
        - jiff::SignedDuration::from_secs_f64(number(&plan, "finish_p50"));
    for moment in [&pace["of"]["to"], &report["shift"]["to"]] {
        let off = at(moment).duration_since(now).as_secs_f64();
        assert!(off.abs() < 0.01, "{moment}: {off} s off the plan's");
    }
    // What is done.
    let output = &report["output"];
    for figure in ["finished", "second", "out"] {
        assert_eq!(pace[figure], output[figure], "{figure}");
    }
    assert!(number(&pace, "finished") > 0.0, "{pace}");
    for figures in ["kpi", "elements"] {
        assert_eq!(pace[figures], report[figures], "{figures}");
    }
    assert_eq!(output["first_pass_yield"], pace["kpi"]["first_pass_yield"]);
    // What is left: under way, and by order.
    let orders = report["orders"].as_array().unwrap();
    let sum = |field: &str| orders.iter().map(|order| number(order, field)).sum::<f64>();
    let shelf = number(&pace, "shelf");
    assert_eq!(shelf, number(&report["shelf"], "there"));
    let left = number(&plan, "garments") + number(&plan, "kept_on_shelf");
    assert_eq!(left, number(&pace, "in_progress") + number(&pace, "blanks") + shelf, "{pace}");
    assert_eq!(left, sum("left") - sum("short"), "{orders:?}");
    assert_eq!(sum("ordered"), number(output, "ordered"));
    for planned in plan["orders"].as_array().unwrap() {
        let its = |order: &&Value| {
            ["name", "due", "short"].iter().all(|field| order[*field] == planned[*field])
        };
        let own = orders.iter().find(its).unwrap_or_else(|| panic!("{planned}"));
        assert!(number(own, "left") > 0.0, "{own}");
    }
    // What there is to work with, and how much is known of it.
    assert_eq!(number(&plan, "presses"), report["presses"].as_array().unwrap().len() as f64);
    assert_eq!(plan["printers"], report["printer"]["printers"]);
    assert_eq!(promise["history_hours"], plan["history_hours"]);
}
