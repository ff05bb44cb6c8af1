//! The four forms of the report: what they say follows from the journal, agrees with each other and with the pace,
//! and no text of the journal becomes markup.

use std::collections::{BTreeMap, BTreeSet};

use dwell::shop::rules::command::Command;
use serde_json::Value;

use crate::bench::Bench;
use crate::markup::{Part, attribute, names, parts, tags, texts};
use crate::sample::{ODD, ODD_PRESS, bench, full_morning, json, must, rehearsed, report, write};
use crate::world::{World, station};

fn morning() -> Bench {
    let bench = bench();
    write(&bench, full_morning().events);
    bench
}

fn number(value: &Value) -> f64 {
    value.as_f64().unwrap_or_else(|| panic!("{value} is no number"))
}

fn list(value: &Value) -> &[Value] {
    value.as_array().unwrap()
}

fn near(found: f64, expected: f64, what: &str) {
    assert!((found - expected).abs() < 1e-6, "{what}: {found}, not {expected}");
}

/// Worked out again from the history that `dwell past --json` prints, by nothing that the report uses.
#[test]
fn the_figures_follow_from_the_journal() {
    for bench in [rehearsed("7", "40", "3"), morning()] {
        let (report, events) = (json(&bench, &[]), bench.past());
        let of = |kind: &'static str| events.iter().filter(move |event| event["kind"] == kind);
        assert_eq!(of("undone").count(), 0, "choose a shift without an undo");
        let cycles: usize =
            list(&report["presses"]).iter().map(|p| number(&p["cycles"]) as usize).sum();
        assert_eq!(cycles, of("press-opened").count());
        let shut: f64 = of("press-opened").filter_map(|event| event["seconds"].as_f64()).sum();
        let minutes = |name: &str| -> f64 {
            list(&report["presses"]).iter().map(|press| number(&press[name])).sum()
        };
        let told = minutes("running_minutes") + minutes("past_target_minutes");
        // Seconds are stored to the thousandth, spans are of the two moments.
        assert!((told * 60.0 - shut).abs() < 1e-3 * cycles as f64, "{told} min, {shut} s");
        let hours = number(&report["shift"]["hours"]);
        for press in list(&report["presses"]) {
            let kinds = ["running", "past_target", "changing", "idle", "sheet", "out_of_use"];
            let all: f64 = kinds.iter().map(|k| number(&press[format!("{k}_minutes")])).sum();
            near(all / 60.0, hours, "hours of a press");
        }
        let wipes = number(&report["sheets"]["wiped"]) as usize;
        assert_eq!(wipes, of("sheet-wiped").count());
        assert_eq!(number(&report["shelf"]["stored"]) as usize, of("stored").count());
        let coats: Vec<f64> = of("coat-weighed")
            .map(|e| e["coat"].as_str().unwrap().split(' ').next().unwrap().parse().unwrap())
            .collect();
        let rows = list(&report["weigh_ins"]);
        let count: f64 = rows.iter().map(|row| number(&row["count"])).sum();
        let mean = rows.iter().map(|row| number(&row["count"]) * number(&row["mean"])).sum::<f64>();
        assert_eq!(count as usize, coats.len());
        near(mean, coats.iter().sum(), "sum of coats");
        // The losses: how often each trouble was noted, and nothing in vain that was not given.
        let mut causes: BTreeMap<String, BTreeSet<String>> = BTreeMap::new();
        for event in of("trouble") {
            let cause = event["trouble"].as_str().unwrap().replace('-', " ");
            causes.entry(cause).or_default().insert(event["garment"].to_string());
        }
        for (timing, cause) in [("early", "opened early"), ("late", "shut too long")] {
            for event in of("press-opened").filter(|event| event["timing"] == timing) {
                causes.entry(cause.into()).or_default().insert(event["garment"].to_string());
            }
        }
        for event in of("press-opened").filter(|e| e["again"] == true && e["step"] == "dry") {
            causes.entry("dried again".into()).or_default().insert(event["garment"].to_string());
        }
        let losses = list(&report["losses"]);
        let told: BTreeMap<String, usize> = losses
            .iter()
            .map(|l| (l["cause"].as_str().unwrap().into(), number(&l["garments"]) as usize))
            .collect();
        assert_eq!(told, causes.into_iter().map(|(cause, tags)| (cause, tags.len())).collect());
        let minutes: Vec<f64> = losses.iter().map(|loss| number(&loss["minutes"])).collect();
        assert!(minutes.windows(2).all(|pair| pair[0] >= pair[1]), "most costly first {minutes:?}");
        assert!(losses.iter().map(|l| number(&l["press_minutes"])).sum::<f64>() * 60.0 <= shut);
        for at in [&report["shift"]["from"], &report["shift"]["to"]] {
            at.as_str().unwrap().parse::<jiff::Timestamp>().unwrap();
        }
        assert_eq!(
            list(&report["finished_at"]).len() as f64,
            number(&report["output"]["finished"])
        );
    }
}

#[test]
fn the_report_and_the_pace_say_the_same_of_a_shift() {
    let bench = rehearsed("7", "30", "2");
    let report = json(&bench, &[]);
    let day = report["shift"]["day"].as_str().unwrap();
    assert_eq!(report, json(&bench, &["--shift", day]));
    let pace = bench.run(&["pace", "--json", "--shift", day]);
    let pace: Value = serde_json::from_str(&pace.out).unwrap();
    for name in ["kpi", "elements"] {
        assert_eq!(report[name], pace[name], "{name}");
    }
    assert_eq!(report["output"]["finished"], pace["finished"]);
    assert_eq!(report["output"]["second"], pace["second"]);
    assert_eq!(report["output"]["out"], pace["out"]);
    assert_eq!(report["output"]["first_pass_yield"], pace["kpi"]["first_pass_yield"]);
    // The last half hour alone is less, and both say so alike.
    let since = json(&bench, &["--since", "30min"]);
    let pace = bench.run(&["pace", "--json", "--since", "30min"]);
    let pace: Value = serde_json::from_str(&pace.out).unwrap();
    assert_eq!(since["elements"], pace["elements"]);
    assert!(number(&since["elements"]["PQ"]) < number(&report["elements"]["PQ"]));
    near(number(&since["shift"]["hours"]), 0.5, "hours");
}

/// Every figure of the JSON, as text and page round it.
fn shown(report: &Value) -> Vec<(&'static str, String)> {
    let tenths = |value: &Value| value.as_f64().map_or("-".into(), |n| format!("{n:.1}"));
    let percent =
        |value: &Value| value.as_f64().map_or("-".into(), |n| format!("{:.1} %", n * 100.0));
    let output = &report["output"];
    vec![
        ("finished", output["finished"].to_string()),
        ("an hour", tenths(&output["per_hour"])),
        ("first-pass yield", percent(&output["first_pass_yield"])),
        ("minutes lost", tenths(&output["lost_minutes"])),
    ]
}

#[test]
fn text_table_and_page_agree_with_the_json() {
    for bench in [rehearsed("3", "24", "2"), morning()] {
        let report = json(&bench, &[]);
        let text = must(&bench, &[]);
        let page = parts(&must(&bench, &["--format", "html"]));
        let big: Vec<String> = texts(&page, "dd").chunks(2).map(|pair| pair[0].clone()).collect();
        assert_eq!(texts(&page, "dt"), shown(&report).iter().map(|f| f.0).collect::<Vec<_>>());
        assert_eq!(big, shown(&report).iter().map(|f| f.1.clone()).collect::<Vec<_>>());
        for (name, value) in shown(&report) {
            let line = text.lines().find(|line| line.starts_with(name)).unwrap();
            assert!(line[name.len()..].trim().starts_with(&value), "{name} {value}: {line}");
        }
        // Each row of the tables: what the page has in its cells, the text has in one line, in that order.
        let cells = |name: &str, fields: &[&str]| -> Vec<Vec<String>> {
            let one = |row: &Value, field: &&str| match &row[*field] {
                Value::Number(n) if n.is_f64() => format!("{:.1}", number(&row[*field])),
                Value::String(text) => text.clone(),
                other => other.to_string(),
            };
            let row = |row: &Value| fields.iter().map(|field| one(row, field)).collect();
            list(&report[name]).iter().map(row).collect()
        };
        let rows = texts(&page, "tr");
        let presses = cells(
            "presses",
            &[
                "press",
                "name",
                "cycles",
                "running_minutes",
                "past_target_minutes",
                "changing_minutes",
                "idle_minutes",
                "sheet_minutes",
                "out_of_use_minutes",
            ],
        );
        let losses =
            cells("losses", &["cause", "garments", "press_minutes", "hand_minutes", "minutes"]);
        let orders = cells("orders", &["order", "name", "done", "left", "short"]);
        let coats = cells("weigh_ins", &["recipe", "count", "mean", "spread", "outside"]);
        for row in presses.iter().chain(&losses).chain(&orders).chain(&coats) {
            assert!(rows.iter().any(|found| in_order(found, row)), "page: {row:?}");
            assert!(text.lines().any(|found| in_order(found, row)), "text: {row:?}");
        }
        assert!(text.lines().all(|line| line.chars().count() <= 80), "80 columns");
    }
}

/// Whether a line holds these words one after the other.
fn in_order(line: &str, words: &[String]) -> bool {
    let mut rest = line;
    words.iter().all(|word| match rest.split_once(word.as_str()) {
        Some((_, tail)) => {
            rest = tail;
            true
        }
        None => false,
    })
}

#[test]
fn the_table_reads_back_to_the_figures_of_the_json() {
    let bench = morning();
    let (report, text) = (json(&bench, &[]), must(&bench, &["--format", "csv"]));
    assert_eq!(text.lines().count(), text.matches("\r\n").count());
    let mut table = csv::Reader::from_reader(text.as_bytes());
    assert_eq!(table.headers().unwrap(), vec!["section", "item", "name", "value", "unit"]);
    let rows: Vec<csv::StringRecord> = table.records().map(Result::unwrap).collect();
    let value = |section: &str, item: &str, name: &str| -> String {
        let row = rows.iter().find(|row| (&row[0], &row[1], &row[2]) == (section, item, name));
        row.unwrap_or_else(|| panic!("no {section} {item} {name}"))[3].to_owned()
    };
    let figure = |section: &str, item: &str, name: &str| -> f64 {
        value(section, item, name).parse().unwrap()
    };
    let output = &report["output"];
    for (name, field) in [
        ("finished", "finished"),
        ("pace", "per_hour"),
        ("lost", "lost_minutes"),
        ("needed pace", "needed_per_hour"),
        ("first-pass yield", "first_pass_yield"),
    ] {
        assert_eq!(figure("output", "", name), number(&output[field]), "{name}");
    }
    assert_eq!(value("orders", "1", "name"), ODD);
    assert_eq!(value("presses", "1", "name"), ODD_PRESS);
    assert_eq!(figure("orders", "1", "done"), number(&report["orders"][0]["done"]));
    for press in list(&report["presses"]) {
        let item = press["press"].to_string();
        assert_eq!(figure("presses", &item, "running"), number(&press["running_minutes"]));
        assert_eq!(figure("presses", &item, "out of use"), number(&press["out_of_use_minutes"]));
    }
    for loss in list(&report["losses"]) {
        let cause = loss["cause"].as_str().unwrap();
        assert_eq!(figure("losses", cause, "lost"), number(&loss["minutes"]));
    }
    let apt = number(&report["elements"]["APT"]);
    assert_eq!(figure("elements", "", "APT"), apt);
    assert_eq!(figure("standard figures", "", "OEE index"), number(&report["kpi"]["oee_index"]));
    assert_eq!(figure("fluid", "F-118", "filled"), 400.0);
}

#[test]
fn the_page_keeps_what_it_promises_to_a_screen_reader_and_fetches_nothing() {
    for bench in [rehearsed("3", "24", "2"), morning()] {
        let page = must(&bench, &["--format", "html"]);
        let parts = parts(&page);
        assert!(page.starts_with("<!DOCTYPE html><html lang=\"en\">"));
        assert!(page.contains("name=\"viewport\" content=\"width=device-width, initial-scale=1\""));
        for word in [
            "<script", "<link", "<img", "<iframe", "src=", "href=", "url(", "@import", "http:",
            "https:",
        ] {
            assert!(!page.contains(word), "{word}");
        }
        let headings: Vec<&str> =
            names(&parts).into_iter().filter(|name| matches!(*name, "h1" | "h2" | "h3")).collect();
        assert_eq!(headings[0], "h1");
        assert!(headings[1..].iter().all(|name| *name == "h2"), "{headings:?}");
        let titles = texts(&parts, "h2");
        assert_eq!(
            titles,
            [
                "At a glance",
                "What to do",
                "Beside other shifts",
                "Orders",
                "Finished over the shift",
                "Losses, most costly first",
                "Money",
                "Presses, in minutes",
                "Printer and people",
                "Coats, fluid, shelf",
                "Standard figures",
                "What is unsure"
            ]
        );
        assert_eq!(tags(&parts, "table").len(), texts(&parts, "caption").len());
        assert!(tags(&parts, "table").len() >= 4);
        assert!(tags(&parts, "th").iter().all(|th| attribute(th, "scope").is_some()));
        let ids: Vec<String> = parts
            .iter()
            .filter_map(|part| match part {
                Part::Tag(_, attributes) => attribute(attributes, "id"),
                Part::Text(_) => None,
            })
            .collect();
        assert_eq!(ids.iter().collect::<BTreeSet<_>>().len(), ids.len(), "each id once {ids:?}");
        let charts: Vec<&str> =
            tags(&parts, "svg").into_iter().filter(|svg| !svg.contains("aria-hidden")).collect();
        assert_eq!(charts.len(), 4, "two charts in two sizes");
        for svg in charts {
            assert_eq!(attribute(svg, "role").as_deref(), Some("img"));
            for name in ["aria-labelledby", "aria-describedby"] {
                assert!(ids.contains(&attribute(svg, name).unwrap()), "{svg}");
            }
        }
        let balanced =
            |name: &str| tags(&parts, name).len() == tags(&parts, &format!("/{name}")).len();
        for name in
            ["table", "tr", "td", "th", "section", "svg", "dl", "dd", "p", "li", "ul", "div"]
        {
            assert!(balanced(name), "{name}");
        }
    }
}

#[test]
fn no_text_of_the_journal_becomes_markup() {
    let bench = morning();
    let page = must(&bench, &["--format", "html"]);
    assert!(!page.contains("<b>") && !page.contains("<i>"), "a name became a tag");
    let parts = parts(&page);
    let heads = texts(&parts, "th");
    assert!(heads.contains(&format!("1 {ODD}")), "{heads:?}");
    assert!(heads.contains(&format!("1 {ODD_PRESS}")), "{heads:?}");
    let drawn = texts(&parts, "text");
    assert!(drawn.contains(&format!("1 {ODD_PRESS}")), "in the picture too: {drawn:?}");
    assert!(texts(&parts, "desc").iter().any(|desc| desc.contains(ODD_PRESS)));
}

#[test]
fn the_morning_is_told_with_everything_in_it() {
    let bench = morning();
    let report = json(&bench, &[]);
    assert_eq!(report["shift"]["people"], Value::from(["AK", "BM"].to_vec()));
    assert_eq!(report["fluid"]["fills"][0]["lot"], "F-118");
    assert_eq!(report["fluid"]["lots"], Value::from(["F-118"].to_vec()));
    assert!(number(&report["presses"][8]["out_of_use_minutes"]) > 30.0);
    assert!(number(&report["past_target"]["longest"]["seconds"]) >= 385.0);
    let scorched = list(&report["losses"]).iter().find(|l| l["cause"] == "scorched").unwrap();
    assert!(number(&scorched["out"]) >= 1.0 && number(&scorched["press_minutes"]) >= 0.25);
    // Twelve are due at 09:40 and eight more at 11:00, or as many as are left of them.
    let needed = list(&report["needed"]);
    assert_eq!(needed.len(), 2);
    assert_eq!(needed[0]["at"], "2026-03-02T09:40:00Z");
    let from = report["shift"]["from"].as_str().unwrap().parse::<jiff::Timestamp>().unwrap();
    let pace = |n: &Value| {
        let at = n["at"].as_str().unwrap().parse::<jiff::Timestamp>().unwrap();
        number(&n["finished"]) * 3600.0 / at.duration_since(from).as_secs_f64()
    };
    let most = needed.iter().map(pace).fold(0.0, f64::max);
    near(number(&report["output"]["needed_per_hour"]), most, "needed pace");
    let text = must(&bench, &[]);
    assert!(text.contains("AK, BM") && text.contains("400.0 g of lot F-118"), "{text}");
}

#[test]
fn a_file_is_written_whole_or_not_at_all() {
    let bench = rehearsed("3", "12", "2");
    let path = bench.root.path().join("report.html");
    std::fs::write(&path, "before").unwrap();
    let ran = report(&bench, &["--format", "html", "--out", path.to_str().unwrap()]);
    assert_eq!((ran.code, ran.out.as_str(), ran.err.as_str()), (0, "", ""));
    assert_eq!(std::fs::read_to_string(&path).unwrap(), must(&bench, &["--format", "html"]));
    let left = || -> Vec<String> {
        let entries = std::fs::read_dir(bench.root.path()).unwrap();
        entries
            .map(|e| e.unwrap().file_name().into_string().unwrap())
            .filter(|n| n.contains("report"))
            .collect()
    };
    assert_eq!(left(), ["report.html"], "nothing lies beside it");
    let nowhere = bench.root.path().join("no/such/report.html");
    let ran = report(&bench, &["--out", nowhere.to_str().unwrap()]);
    assert_eq!((ran.code, ran.out.as_str()), (2, ""));
    assert!(ran.err.contains("no/such/report.html"), "{}", ran.err);
    let ran = report(&bench, &["--out", bench.root.path().to_str().unwrap()]);
    assert_eq!(ran.code, 2);
    assert!(ran.err.contains("a file's name"), "{}", ran.err);
}

#[test]
fn what_cannot_be_told_is_said_clearly() {
    let empty = bench();
    for arguments in [vec![], vec!["--since", "2h"], vec!["--shift", "2026-03-02"]] {
        let ran = report(&empty, &arguments);
        assert_eq!((ran.code, ran.out.as_str()), (2, ""), "{arguments:?}");
        assert!(ran.err.contains("no journal lies there"), "{}", ran.err);
    }
    assert!(!empty.data().exists(), "a question makes no directory");
    write(&empty, World::new(station(2)).events);
    let ran = report(&empty, &[]);
    assert_eq!(ran.code, 2);
    assert!(ran.err.contains("nobody has worked at this bench yet"), "{}", ran.err);

    let bench = rehearsed("3", "12", "2");
    let ran = report(&bench, &["--shift", "2026-12-04"]);
    assert_eq!(ran.code, 2);
    assert!(
        ran.err.contains("no shift began on 2026-12-04; shifts began on 2026-03-02"),
        "{}",
        ran.err
    );
    assert_eq!(bench.run(&["pace", "--shift", "2026-12-04"]).code, 2);
    for arguments in [["--shift", "yesterday"], ["--format", "pdf"], ["--since", "soon"]] {
        assert_eq!(report(&bench, &arguments).code, 2, "{arguments:?}");
    }
    assert_eq!(report(&bench, &["--since", "2h", "--shift", "2026-03-02"]).code, 2);
}

#[test]
fn a_shift_in_which_nothing_was_pressed_says_so() {
    let bench = bench();
    let mut world = World::new(station(2));
    world.must(Command::Sign("AK".into()));
    write(&bench, world.events);
    let text = must(&bench, &[]);
    assert!(text.contains("Nothing was pressed in this time."), "{text}");
    let report = json(&bench, &[]);
    assert!(!text.contains("-0.0"), "{text}");
    assert!(report["output"]["per_hour"].is_null() && report["kpi"]["availability"].is_null());
    let page = must(&bench, &["--format", "html"]);
    assert!(page.contains("Nothing was pressed in this time."));
    assert!(!page.contains("NaN") && !text.contains("NaN") && !text.contains("inf"));
    must(&bench, &["--format", "csv"]);
}

#[test]
fn a_wall_clock_that_was_set_is_named_and_bends_no_span() {
    let bench = bench();
    let mut world = full_morning();
    let set = world.events.len() / 2;
    for event in &mut world.events[set..] {
        event.moment.at.0 -= 3 * 3600 * 1_000_000;
    }
    write(&bench, world.events.clone());
    let broken = json(&bench, &[]);
    let notes = broken["notes"].to_string();
    assert!(notes.contains("The wall clock was set back by 180 min"), "{notes}");
    let other = crate::sample::bench();
    write(&other, full_morning().events);
    let sane = json(&other, &[]);
    assert_eq!(broken["shift"]["hours"], sane["shift"]["hours"]);
    for (one, two) in list(&broken["presses"]).iter().zip(list(&sane["presses"])) {
        assert_eq!(one["running_minutes"], two["running_minutes"]);
        assert_eq!(one["idle_minutes"], two["idle_minutes"]);
    }
    must(&bench, &["--format", "html"]);
}

/// Day after day, the shelf and what was finished add up: nothing is told twice and nothing falls between two shifts.
#[test]
fn the_shifts_of_some_weeks_add_up() {
    let bench = bench();
    let data = bench.data();
    let data = data.to_str().unwrap();
    let arguments = ["rehearse", "--headless", "--weeks", "2", "--garments", "6", "--data", data];
    assert_eq!(bench.run(&arguments).code, 0);
    let events = bench.past();
    let days: BTreeSet<&str> = events.iter().map(|e| &e["at"].as_str().unwrap()[..10]).collect();
    let (mut finished, mut there, mut told) = (0.0, 0.0, 0);
    for day in days {
        let ran = report(&bench, &["--shift", day, "--format", "json"]);
        if ran.code == 2 {
            assert!(ran.err.contains("no shift began on"), "{}", ran.err);
            continue;
        }
        told += 1;
        let report: Value = serde_json::from_str(&ran.out).unwrap();
        let shelf = |name: &str| number(&report["shelf"][name]);
        assert_eq!(shelf("there"), there + shelf("stored") - shelf("taken"), "{day}");
        there = shelf("there");
        finished += number(&report["output"]["finished"]);
        assert_eq!(report["shift"]["people"], Value::from(["AK"].to_vec()));
    }
    assert!(told >= 10 && there > 0.0, "{told} {there}");
    let cured = |event: &&Value| event["kind"] == "press-opened" && event["step"] == "cure";
    assert_eq!(finished as usize, events.iter().filter(cured).count());
}
