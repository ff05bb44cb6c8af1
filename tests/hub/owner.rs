//! The owner's questions over all stations: each answered as the stations would answer themselves, and put together.

use serde_json::Value;
use support::bench::Ran;
use support::postgres::OWNER;

use crate::shop::Shop;
use crate::stations::Rehearsed;

/// A lot of fluid that every shop of made-up weeks sprays with, and the bad one.
const LOT: &str = "F-204";

fn ask(shop: &Shop, arguments: &[&str]) -> Ran {
    let address = shop.address(OWNER);
    shop.owner.run(&[arguments, &["--hub", "--address", &address]].concat())
}

fn json(shop: &Shop, arguments: &[&str]) -> Value {
    let ran = ask(shop, &[arguments, &["--json"]].concat());
    assert_eq!((ran.code, ran.err.as_str()), (0, ""), "{arguments:?}: {}", ran.out);
    serde_json::from_str(&ran.out).unwrap()
}

/// An answer without what says whose it is.
fn without_station(answer: &Value) -> Value {
    let mut answer = answer.clone();
    let fields = answer.as_object_mut().unwrap();
    for name in ["station", "name"] {
        fields.remove(name);
    }
    answer
}

#[test]
fn a_lots_recall_names_station_and_order() {
    let Some(shop) = Shop::open() else { return };
    let stations = [
        Rehearsed::weeks_at(&shop, "a", "North bench", 1),
        Rehearsed::weeks_at(&shop, "b", "South bench", 2),
    ];
    let told = json(&shop, &["trace", "--lot", LOT]);
    let table = ask(&shop, &["trace", "--lot", LOT, "--csv"]).out;
    let text = ask(&shop, &["trace", "--lot", LOT]).out;
    assert!(table.starts_with("station,order,name,taken,"), "{table}");
    for station in &stations {
        let own = station.json(&["trace", "--lot", LOT]);
        for list in ["orders", "garments"] {
            let of = |one: &&Value| one["station"] == station.id;
            let seen: Vec<&Value> = told[list].as_array().unwrap().iter().filter(of).collect();
            assert_eq!(seen.len(), own[list].as_array().unwrap().len(), "{list} of {}", station.id);
            assert!(!seen.is_empty());
        }
        let name = if station.id == "a" { "North bench (A)" } else { "South bench (B)" };
        assert!(text.contains(&format!("at {name}\n")), "{text}");
        let order = own["orders"][0]["name"].as_str().unwrap();
        assert!(table.contains(&format!("\n{name},")) && table.contains(order), "{table}");
        // A garment is found by its tag alone, whichever station has it.
        let tag = own["garments"][0]["tag"].as_str().unwrap();
        let story = json(&shop, &["trace", tag]);
        assert_eq!(story["stations"].as_array().unwrap().len(), 1);
        let its = &story["stations"][0];
        assert_eq!(its["station"], station.id);
        assert_eq!(its["events"], station.json(&["trace", tag])["events"]);
    }
    let unknown = ask(&shop, &["trace", "--lot", "none"]);
    assert!(unknown.code == 2 && unknown.err.contains("no bottle of lot none"), "{}", unknown.err);
}

/// Figures of all stations, each by where a report has it.
const REPORTED: &[(&str, &str)] = &[
    ("finished", "/output/finished"),
    ("second", "/output/second"),
    ("out", "/output/out"),
    ("lost_minutes", "/output/lost_minutes"),
    ("sprayed", "/fluid/sprayed"),
    ("sprayed_g", "/fluid/sprayed_g"),
];

/// The same of groups that are compared.
const COMPARED: &[(&str, &str)] = &[
    ("made", "/made"),
    ("came", "/came"),
    ("rejects", "/rejects"),
    ("second", "/second"),
    ("lost_minutes", "/lost_minutes"),
    ("late", "/late"),
    ("outside", "/outside"),
    ("sprayed", "/sprayed"),
    ("fluid_g", "/fluid_g"),
];

fn number(of: &Value, at: &str) -> f64 {
    of.pointer(at).and_then(Value::as_f64).unwrap_or_else(|| panic!("{at} of {of}"))
}

fn sum(of: &[Value], at: &str) -> f64 {
    of.iter().map(|one| number(one, at)).sum()
}

/// Each figure of all is what the stations' own come to.
fn are_the_sums(all: &Value, own: &[Value], figures: &[(&str, &str)]) {
    for (name, at) in figures {
        let (all, own) = (number(all, &format!("/{name}")), sum(own, at));
        assert!((all - own).abs() <= own.abs() * 1e-12, "{name}: {all}, the stations' own {own}");
    }
}

#[test]
fn answers_over_all_stations_are_made_of_each_stations_own() {
    let Some(shop) = Shop::open() else { return };
    let stations = [
        Rehearsed::weeks_at(&shop, "a", "North bench", 1),
        Rehearsed::weeks_at(&shop, "b", "South bench", 2),
    ];
    // The histories as one: by the clock, each station's rows in their own order.
    let past = ask(&shop, &["past", "--json"]);
    assert_eq!((past.code, past.err.as_str()), (0, ""));
    let rows: Vec<Value> = past.out.lines().map(|row| serde_json::from_str(row).unwrap()).collect();
    let at = |row: &Value| row["at"].as_str().unwrap().parse::<jiff::Timestamp>().unwrap();
    assert!(rows.is_sorted_by_key(at));
    let last = ask(&shop, &["past", "--json", "--last", "25"]).out;
    assert_eq!(
        last.lines().collect::<Vec<_>>(),
        past.out.lines().rev().take(25).collect::<Vec<_>>().into_iter().rev().collect::<Vec<_>>()
    );
    let mut finished = 0;
    let mut own_reports: Vec<Value> = Vec::new();
    let mut own_groups: Vec<Value> = Vec::new();
    let pace = json(&shop, &["pace"]);
    let shelf = json(&shop, &["shelf"]);
    let plan = json(&shop, &["plan"]);
    let compare = json(&shop, &["compare", "--by", "press"]);
    let report = ask(&shop, &["report", "--format", "json"]);
    let report: Value = serde_json::from_str(&report.out).unwrap();
    for (n, station) in stations.iter().enumerate() {
        let own: Vec<Value> = station.bench.past();
        let of = |row: &&Value| row["station"] == station.id;
        assert!(rows.iter().filter(of).eq(own.iter()), "the rows of {}", station.id);
        let its = station.json(&["pace"]);
        finished += its["finished"].as_u64().unwrap();
        assert_eq!(without_station(&pace["stations"][n]), its);
        let stored = station.json(&["shelf"]);
        let seen = shelf.as_array().unwrap().iter().filter(of).map(without_station);
        assert!(seen.eq(stored.as_array().unwrap().iter().cloned()), "shelf of {}", station.id);
        assert!(!stored.as_array().unwrap().is_empty());
        assert_eq!(without_station(&plan["stations"][n]), station.json(&["plan"]));
        let groups = station.json(&["compare", "--by", "press"]);
        assert_eq!(compare["stations"][n]["rows"], groups);
        own_groups.extend(groups.as_array().unwrap().iter().cloned());
        let own = station.bench.run(&["report", "--format", "json"]).out;
        let own: Value = serde_json::from_str(&own).unwrap();
        assert_eq!(without_station(&report["stations"][n]), without_station(&own));
        own_reports.push(own);
    }
    are_the_sums(&report["all"], &own_reports, REPORTED);
    let of_cause = |loss: &Value| loss["cause"].clone();
    for loss in report["all"]["losses"].as_array().unwrap() {
        let all = own_reports.iter().flat_map(|own| own["losses"].as_array().unwrap());
        let own: Vec<Value> = all.filter(|own| of_cause(own) == loss["cause"]).cloned().collect();
        assert!(!own.is_empty(), "{loss}");
        are_the_sums(loss, &own, &[("garments", "/garments"), ("minutes", "/minutes")]);
    }
    let (good, came) = (sum(&own_reports, "/elements/GP"), sum(&own_reports, "/elements/IP"));
    assert_eq!(report["all"]["first_pass_yield"], good / came);
    are_the_sums(&compare["all"], &own_groups, COMPARED);
    let right = own_groups.iter().map(|row| number(row, "/first_pass") * number(row, "/came"));
    let share = right.sum::<f64>() / sum(&own_groups, "/came");
    assert!((number(&compare["all"], "/first_pass") - share).abs() < 1e-9);
    let text = ask(&shop, &["report"]).out;
    let all = text.split_once("\nall stations\n").unwrap().1;
    assert!(all.contains(&format!("{:.0}", sum(&own_reports, "/output/finished"))), "{all}");
    let table = ask(&shop, &["report", "--format", "csv"]).out;
    let lost = sum(&own_reports, "/output/lost_minutes");
    assert!(table.contains(&format!("every station,output,,lost,{lost},min")), "{table}");
    let text = ask(&shop, &["compare", "--by", "press"]).out;
    assert!(text.contains("\nall stations\n"), "{text}");
    assert_eq!(pace["all"]["finished"], finished);
    let days = shelf.as_array().unwrap().iter().map(|one| one["last_day"].as_str().unwrap());
    assert!(days.is_sorted(), "what lies longest goes first, wherever it lies");
    let text = ask(&shop, &["report"]).out;
    assert!(text.contains("North bench (A)\n") && text.contains("South bench (B)\n"));
}

/// What a station wrote after a row that is not what was written is left out of the answer, and that is said.
#[test]
fn an_answer_that_lacks_something_says_so_and_ends_in_an_error() {
    let Some(shop) = Shop::open() else { return };
    let north = Rehearsed::at(&shop, "a", "North bench", 1);
    let south = Rehearsed::at(&shop, "b", "South bench", 2);
    shop.server.sql("UPDATE hub.events SET act = act + 1 WHERE station = 'b' AND seq = 40");
    let ran = ask(&shop, &["past", "--json"]);
    assert_eq!(ran.code, 1);
    assert!(ran.err.contains("lacks what came after: row 40 of station b"), "{}", ran.err);
    let told = ran.out.lines().count();
    assert_eq!(told, north.rows().len() + 39);
    assert!(south.rows().len() > 40);
    let plain = shop.owner.run(&["past", "--address", &shop.address(OWNER)]);
    assert!(plain.code == 2 && plain.err.contains("--address goes with --hub"), "{}", plain.err);
}
