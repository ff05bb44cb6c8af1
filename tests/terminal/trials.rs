//! A trial from its first key to the signed window, in the real program, by the keypad's keys alone.

use crate::bench::Bench;
use crate::pty::Pty;

/// Opens the trial's form by the keypad.
fn open(pty: &mut Pty, wanted: &str) {
    pty.keys("+.+.");
    pty.wait_for(wanted);
}

/// Weighs the garment of the trial, as the form asks for it.
fn weigh(pty: &mut Pty, wanted: &str, grams: &str, said: &str) {
    open(pty, wanted);
    pty.burst(grams.as_bytes());
    pty.key(b"\r");
    pty.wait_for(said);
}

/// The grade of a coat so far inside an edge, in ln(coat): half a grade for each 12 %.
fn grade(inside: f64) -> f64 {
    ((2.0 * (3.75 + 4.5 * inside)).round() / 2.0).clamp(1.0, 5.0)
}

/// A round: sprayed at its aims, graded by a low edge of 160 g/m2 and a high one of 280.
fn round(pty: &mut Pty, bench: &Bench, first: usize) {
    // Grams over 14 in x 16 in, 0.1445 m2.
    const AREA_M2: f64 = 0.144_515;
    let answered = bench.past_of("trial-answered");
    let aims = answered.last().unwrap()["answer"]["next"].as_array().unwrap().clone();
    let mut washed = Vec::new();
    for (no, aim) in (first..).zip(&aims) {
        let aim: f64 = aim.as_str().unwrap().trim_end_matches(" g/m2").parse().unwrap();
        weigh(pty, &format!("Pre-press blank no. {no}"), "150.0", "weighs 150 g dry");
        let after = format!("{:.1}", 150.0 + aim * AREA_M2);
        weigh(pty, &format!("Spray no. {no}:"), &after, &format!("trial no. {no} sprayed"));
        pty.wait_saved();
    }
    let sampled = bench.past_of("trial-sampled");
    let coats: Vec<f64> = sampled[first - 1..]
        .iter()
        .map(|one| one["coat"].as_str().unwrap().trim_end_matches(" g/m2").parse().unwrap())
        .collect();
    open(pty, &format!("Grade the white of no. {first}"));
    for (no, coat) in (first..).zip(&coats) {
        pty.wait_for(&format!("Grade the white of no. {no} "));
        let white = grade((coat / 160.0).ln());
        pty.keys(&white.to_string());
        pty.key(b"\r");
        washed.extend((white >= 4.0).then_some((no, *coat)));
    }
    for (no, coat) in washed {
        pty.wait_for(&format!("Grade no. {no} "));
        pty.keys(&grade((280.0 / coat).ln()).to_string());
        pty.key(b"\r");
    }
}

#[test]
fn a_trial_finds_a_window_that_is_signed_and_stands_until_the_file_changes() {
    let bench = Bench::new(1, 60);
    let mut pty = Pty::board(&bench);
    pty.wait_for("No safety device");
    open(&mut pty, "A trial: which coats hold?");
    pty.wait_for("8 to 24 blanks of one garment");
    pty.key(b"1");
    pty.key(b"+");
    pty.wait_for("no answer before 8");
    pty.wait_saved();
    let mut first = 1;
    while bench.past_of("trial-answered").last().unwrap()["answer"]["stop"].is_null() {
        round(&mut pty, &bench, first);
        pty.wait_for(&format!("Trial of Quick   {} graded", first + 3));
        pty.wait_saved();
        first += 4;
        assert!(first < 25);
    }
    assert!(first >= 9, "no answer before eight");
    // A restart in between loses nothing, and nobody has signed yet.
    assert_eq!(pty.leave(), 0);
    let told = bench.run(&["trial"]).out;
    assert!(told.contains("trial of     quick"), "{told}");
    assert!(told.contains("Sign the window"), "{told}");
    let mut pty = Pty::board(&bench);
    pty.wait_for("No safety device");
    // The answer is worked out beside the board: only then is there something to sign.
    pty.key(b"\x1bOS");
    pty.wait_for("Sign the window");
    open(&mut pty, "whoever signs it");
    pty.keys("ak");
    pty.key(b"\r");
    pty.wait_for("nothing is signed yet");
    pty.key(b"+");
    pty.wait_for("signed by AK");
    pty.wait_saved();
    let signed = bench.past_of("window-signed");
    let coat = &signed[0]["coat"];
    let number = |name: &str| -> f64 {
        coat[name].as_str().unwrap().trim_end_matches(" g/m2").parse().unwrap()
    };
    assert!((140.0..200.0).contains(&number("low")), "{coat}");
    assert!((225.0..290.0).contains(&number("high")), "{coat}");
    assert!(signed[0]["evidence"]["garments"].as_u64().unwrap() >= 8);
    // Undone it is the file's again, and it can be signed once more.
    pty.key(b"-");
    pty.wait_for("undid: window of");
    open(&mut pty, "whoever signs it");
    pty.keys("ak");
    pty.key(b"+");
    pty.wait_for("signed by AK");
    assert_eq!(pty.leave(), 0);
    let kept = bench.past_of("recipe-kept").len();
    // The file stays as it was: the signed window stands.
    let mut pty = Pty::board(&bench);
    pty.wait_for("No safety device");
    assert_eq!(pty.leave(), 0);
    assert_eq!(bench.past_of("recipe-kept").len(), kept);
    // Its title changes: the window stays. Its cure does: the file's own is in force, and the board says so.
    let window = bench.past_of("recipe-kept").last().unwrap()["text"]["coat"].clone();
    let text = std::fs::read_to_string(bench.recipe()).unwrap();
    let text = text.replace("title: \"", "title: \"Newly ");
    std::fs::write(bench.recipe(), &text).unwrap();
    let mut pty = Pty::board(&bench);
    pty.wait_for("No safety device");
    let before = bench.past_of("recipe-kept");
    assert_eq!(before.len(), kept + 1);
    assert_eq!(before.last().unwrap()["text"]["coat"], window);
    let text = text.replacen("cure: (", "cure: (pressure: Firm, ", 1);
    std::fs::write(bench.recipe(), text).unwrap();
    pty.wait_for("its signed window is not in force; see the Coat screen");
    pty.key(b"\x1bOS");
    pty.wait_for("Changed since it was measured: cure pressure firm");
    assert_eq!(pty.leave(), 0);
    assert_ne!(bench.past_of("recipe-kept").last().unwrap()["text"]["coat"], window);
    let told = bench.run(&["trial"]).out;
    assert!(told.contains("not in force") && told.contains("cure pressure firm"), "{told}");
    bench.assert_sound();
}
