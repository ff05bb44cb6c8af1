//! The trial's file: what is said of it, and what is refused with which words.

use std::fs;

use dwell::figures::trial::text::in_a_line;
use dwell::figures::units::{Grams, GramsPerSquareMetre};
use dwell::shop::floor::trial::TrialStep;
use dwell::shop::rules::command::Command;
use serde_json::Value;
use support::world::{World, station};

use crate::bench::{Bench, Ran};

const EDGES: [&str; 4] = ["--low", "138 g/m2", "--high", "270 g/m2"];

fn trial(bench: &Bench, text: &str, more: &[&str]) -> Ran {
    let path = bench.root.path().join("samples.csv");
    fs::write(&path, text).unwrap();
    bench.run(&[&["trial", path.to_str().unwrap()], &EDGES[..], more].concat())
}

/// A head alone is told what to spray first.
#[test]
fn the_first_round_needs_no_sample() {
    let bench = Bench::new(2, 20);
    let said = trial(&bench, "aimed,coat,white,wash\n", &[]);
    assert_eq!((said.code, said.err.as_str()), (0, ""));
    assert!(said.out.contains("spray 117, 163, 228, 320 g/m2"), "{}", said.out);
    assert!(said.out.contains("no answer before 8 garments"), "{}", said.out);
    assert!(!said.out.contains("target"), "nothing is known yet: {}", said.out);
}

/// The board's trial of dark cotton with garments of known edges, to its end. Low edge 160 g/m2, high edge 280; half a grade
/// for each 12 % of coat.
fn on_a_board() -> World {
    let mut world = World::new(station(1));
    let recipe = "dark-cotton".to_owned();
    let limit = "4".parse().unwrap();
    world.must(Command::BeginTrial { recipe, limit, cycles: 5 });
    for step in 0.. {
        let run = world.shop.trial().unwrap();
        let command = match run.next() {
            TrialStep::WeighDry { .. } => Command::WeighTrial(Grams(150.0)),
            TrialStep::WeighCoated { aim, .. } => {
                // No hand lays what it aims for.
                let missed = 1.0 + 0.04 * f64::from(step % 5 - 2);
                let coat = GramsPerSquareMetre(aim.0 * missed);
                let on = world.shop.trial_coverage().unwrap().grams(coat);
                Command::WeighTrial(Grams(150.0 + on.0))
            }
            TrialStep::Grade { no, after } => {
                let coat = run.garments[usize::try_from(no).unwrap() - 1].coat.unwrap().0;
                let inside = if after.to_string() == "wash" { 280.0 / coat } else { coat / 160.0 };
                let grade = ((2.0 * (3.75 + 4.5 * inside.ln())).round() / 2.0).clamp(1.0, 5.0);
                Command::GradeTrial(Some(grade.to_string().parse().unwrap()))
            }
            TrialStep::Over(_) => break,
        };
        world.wait(30.0);
        world.must(command);
    }
    world
}

/// The same samples have one answer: what the board has worked out, round by round, is what the command says of them in a
/// file, in figures and in words.
#[test]
fn the_board_and_the_command_answer_alike() {
    let world = on_a_board();
    let run = world.shop.trial().unwrap();
    let mut text = String::from("aimed,coat,white,wash\n");
    for one in run.samples() {
        let seen = |seen: Option<dwell::figures::trial::Seen>| {
            seen.map_or_else(String::new, |seen| seen.to_string())
        };
        let aimed = one.aimed.unwrap().0;
        text += &format!("{aimed},{},{},{}\n", one.coat.0, seen(one.white), seen(one.wash));
    }
    let bench = Bench::new(1, 20);
    let path = bench.root.path().join("samples.csv");
    fs::write(&path, &text).unwrap();
    let edges = [run.begun.low, run.begun.high].map(|edge| edge.to_string());
    let ask = ["trial", path.to_str().unwrap(), "--low", &edges[0], "--high", &edges[1]];
    let (told, json) = (bench.run(&ask), bench.run(&[&ask[..], &["--json"]].concat()));
    assert_eq!((told.code, json.code), (0, 0), "{}{}", told.err, json.err);
    let said: Value = serde_json::from_str(&json.out).unwrap();
    let answer = &run.answer;
    assert!(answer.garments >= 8 && answer.stop.is_some(), "{answer:?}");
    // The board keeps coats to three places.
    let coats = [
        ("low", answer.low.at),
        ("high", answer.high.at),
        ("target", answer.target),
        ("working_low", answer.working.0),
        ("working_high", answer.working.1),
    ];
    for (field, coat) in coats {
        let found = said[field].as_f64().unwrap();
        assert!((found - coat.0).abs() < 6e-4, "{field}: {found}, {coat}");
    }
    let parts = [
        ("share", answer.share),
        ("scatter", answer.scatter),
        ("p_none", answer.p_none),
        ("p_safe", answer.p_safe),
        ("ln_bf", answer.ln_bf),
    ];
    for (field, part) in parts {
        let found = said[field].as_f64().unwrap();
        assert!((found - part).abs() < 1e-9, "{field}: {found}, {part}");
    }
    assert_eq!(said["stop"].as_str(), answer.stop.map(|stop| stop.words()));
    assert_eq!(said["doubtful"], serde_json::json!(answer.doubtful));
    let rows = answer.rows(run.asked().unwrap(), run.begun.cycles);
    let rows: Vec<String> = rows.iter().map(in_a_line).collect();
    assert_eq!(told.out.lines().collect::<Vec<_>>(), rows);
}

/// Semicolons, decimal commas, units, half grades in three ways and an unordered head are read alike.
#[test]
fn a_file_may_be_written_as_people_do() {
    let bench = Bench::new(2, 20);
    let plain = "aimed,coat,white,wash\n117,113.5,1,\n163,164.8,4.5,5\n228,218.6,yes,no\n";
    let other =
        "White;wash;COAT;aimed;note\n1;;113,5 g/m2;117;pale\n4-5;5;164,8;163;\nYes;NO;218,6;228;\n";
    let [plain, other] = [plain, other].map(|text| trial(&bench, text, &["--json"]));
    assert_eq!((plain.code, plain.err.as_str()), (0, ""));
    assert_eq!(plain.out, other.out);
}

#[test]
fn what_is_not_one_trial_is_refused_in_words() {
    let bench = Bench::new(2, 20);
    for (text, wanted) in [
        ("", "the file is empty, expected a head: aimed,coat,white,wash"),
        ("aimed,coat,white\n", "no column \"wash\""),
        ("aimed,coat,white,wash\n117,,1,\n", "line 2, column 2"),
        ("aimed,coat,white,wash\n117,-3,1,\n", "below zero"),
        (
            "aimed,coat,white,wash\n117,113,6,\n",
            "expected a grade (1, 1.5, 2, ... 5), yes, no, or nothing",
        ),
        (
            "aimed,coat,white,wash\n117,113,,4\n",
            "no. 1 has a result of its wash and none of its white",
        ),
        ("aimed,coat,white,wash\n117,113,1,,\n", "more cells than the head"),
        ("aimed,coat,white,wash,from\n117,113,1,,shelf\n", "expected trial, work or return"),
        (
            "aimed,coat,white,wash,from\n,180,yes,no,return\n,190,yes,no,return\n",
            "only what failed comes back: no window can be found from them alone",
        ),
        ("aimed,coat,white,wash,cycles\n117,113,4,5,3\n", "washed 3 times, where --cycles says 5"),
    ] {
        let said = trial(&bench, text, &[]);
        assert_eq!((said.code, said.out.as_str()), (2, ""), "{text:?}");
        assert!(
            said.err.contains(wanted) && said.err.contains("samples.csv"),
            "{text:?}: {}",
            said.err
        );
    }
    for same in ["trial", "garment", "fluid", "lot", "dilution", "cure", "cycles", "scale", "eye"] {
        let text = format!("aimed,coat,white,wash,{same}\n117,113,1,,5\n163,165,4,,6\n");
        let said = trial(&bench, &text, &[]);
        assert_eq!((said.code, said.out.as_str()), (2, ""), "{same}");
        let wanted = format!("{same} \"6\" after {same} \"5\": a trial is of one {same}");
        assert!(
            said.err.contains("line 3, column 5") && said.err.contains(&wanted),
            "{}",
            said.err
        );
    }
    let far = trial(&bench, "aimed,coat,white,wash\n", &["--limit", "1"]);
    assert!(
        far.code == 2 && far.err.contains("grade 1 is reached by every garment"),
        "{}",
        far.err
    );
}

/// Ordinary work moves the aims and says how it leans, and however much of it there is it states nothing alone.
#[test]
fn ordinary_work_states_no_edge_alone() {
    let bench = Bench::new(2, 20);
    let mut text = String::from("aimed,coat,white,wash,from\n");
    for n in 0..60 {
        let (coat, white) = if n % 3 == 0 { (120, "2") } else { (200, "4-5") };
        text += &format!(",{coat},{white},{},work\n", if n % 3 == 0 { "" } else { "5" });
    }
    text += ",330,yes,no,return\n,350,yes,no,return\n";
    let said: Value = serde_json::from_str(&trial(&bench, &text, &["--json"]).out).unwrap();
    assert_eq!((&said["stop"], &said["garments"]), (&Value::Null, &0.into()), "{said}");
    assert_eq!(
        (said["found_low"].as_bool(), said["found_high"].as_bool()),
        (Some(false), Some(false))
    );
    assert!(said["low"].as_f64().unwrap() > 140.0, "it counts: {said}");
    let told = trial(&bench, &text, &[]).out;
    assert!(told.contains("60 of ordinary work at half weight"), "{told}");
    assert!(told.contains("2 returned at half weight: only what fails comes back"), "{told}");
    assert!(!told.contains("\nwindow"), "{told}");
}

/// Grades that do not follow the coat are no answer, and from sixteen garments on that is said.
#[test]
fn grades_that_do_not_follow_the_coat_are_contradictory() {
    let bench = Bench::new(2, 20);
    let mut text = String::from("aimed,coat,white,wash\n");
    for n in 0..16 {
        let white = [2, 5, 4, 1, 5, 2, 3][n % 7];
        let wash = if white < 4 { "" } else { ["2", "5", "3"][n % 3] };
        text += &format!("200,{},{white},{wash}\n", 120 + 97 * n % 230);
    }
    let said = trial(&bench, &text, &[]);
    assert!(said.out.contains("contradictory"), "{}", said.out);
    assert!(!said.out.contains("target"), "{}", said.out);
}
