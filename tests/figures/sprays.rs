//! The coat of real strokes against integration made apart from the program, and the circle from the pace to the
//! scale to the verdict; all through the built program.

use serde_json::Value;

use crate::process::{answer, number};
use crate::{agree, reference, rows};

/// 240 tasks integrated by SciPy (tests/data/spray_tasks.py describes what and how): prints of 4 x 4 in, of 14 x 16 in
/// and others, each with the garment, a mask and a board past the edge, both profiles, all overlaps.
#[test]
fn the_coat_is_that_of_an_integration() {
    const FIELDS: [&str; 11] = [
        "speed_cm_s",
        "strokes_across",
        "strokes_down",
        "coat_mean",
        "coat_low",
        "coat_high",
        "coat_cv",
        "one_way_low",
        "one_way_high",
        "grams_scale",
        "under_print",
    ];
    let text = reference("spray_tasks.csv");
    let table = rows(&text, 22);
    assert!(table.len() >= 200, "only {} tasks", table.len());
    for row in table {
        let said = spray(&row);
        for (name, wanted) in FIELDS.iter().zip(&row[11..]) {
            let (found, wanted) = (said[name].as_f64().unwrap(), number(wanted));
            let off = (found - wanted).abs();
            // A level coat has a variation of nothing, but for rounding.
            let near =
                agree(found, wanted, 1e-6) || (*name == "coat_cv" && off < 1e-6) || off < 1e-4;
            assert!(near, "{name}: {found} is not {wanted} of {row:?}");
        }
    }
}

fn spray(row: &[&str]) -> Value {
    let [flow, fan, width, height, margin, overlap, kept, past, profile, onto, coat] =
        row[..11].try_into().unwrap();
    let cm = |text: &str| format!("{text} cm");
    let per_cent = |text: &str| format!("{}%", number(text) * 100.0);
    answer(&[
        "spray",
        "--flow",
        &format!("{flow} g/s"),
        "--fan",
        &cm(fan),
        "--print",
        &format!("{width} cm x {height} cm"),
        "--margin",
        &cm(margin),
        "--overlap",
        &per_cent(overlap),
        "--kept",
        &per_cent(kept),
        "--past",
        &cm(past),
        "--profile",
        profile,
        "--onto",
        onto,
        "--coat",
        &format!("{coat} g/m2"),
    ])
}

/// A directory of profiles whose sprayer is moved so.
fn profiles(overlap: &str, past: &str, onto: &str, profile: &str) -> tempfile::TempDir {
    let there = tempfile::tempdir().unwrap();
    dwell::shell::profiles::write_out(there.path()).unwrap();
    let path = there.path().join("station.ron");
    let text = std::fs::read_to_string(&path).unwrap();
    let sprayer = format!(
        "sprayer: Some((flow: \"1.9 g/s\", fan: \"6 in\", overlap: \"{overlap}\", past: \"{past}\", \
         onto: {onto}, profile: {profile}, "
    );
    let (before, after) = text.split_once("sprayer: Some((").unwrap();
    let (_, rest) = after.split_once("past: \"2 in\",").unwrap();
    std::fs::write(&path, format!("{before}{sprayer}{rest}")).unwrap();
    there
}

/// Sprayed as `spray` says and weighed as `coat` does, a coat is inside and just what was aimed for: for what lies past
/// the edge, both profiles, small and large overlaps, and for a print of 4 x 4 in and one of 14 x 16 in.
#[test]
fn what_spray_puts_on_the_scale_coat_calls_inside() {
    for onto in ["Garment", "Mask", "Board"] {
        for (profile, overlap, past) in
            [("Tapered", "30%", "2 in"), ("Even", "0%", "0 in"), ("Tapered", "60%", "4 in")]
        {
            let there = profiles(overlap, past, onto, profile);
            for print in ["4 in x 4 in", "14 in x 16 in"] {
                let said = answer(&[
                    "spray",
                    "--flow",
                    "1.9 g/s",
                    "--fan",
                    "6 in",
                    "--print",
                    print,
                    "--overlap",
                    overlap,
                    "--past",
                    past,
                    "--onto",
                    &onto.to_lowercase(),
                    "--profile",
                    &profile.to_lowercase(),
                    "--coat",
                    "200 g/m2",
                ]);
                let scale = said["grams_scale"].as_f64().unwrap();
                let coat = answer(&[
                    "coat",
                    "--profiles",
                    there.path().to_str().unwrap(),
                    "--print",
                    print,
                    "--before",
                    "150 g",
                    "--after",
                    &format!("{:.1} g", 150.0 + scale),
                ]);
                assert_eq!(coat["verdict"], "inside", "{scale} g: {coat}");
                assert_eq!(coat["mend"], Value::Null);
                assert!(agree(coat["grams_right"].as_f64().unwrap(), scale, 1e-6), "{coat}");
                assert!(agree(
                    coat["under_print"].as_f64().unwrap(),
                    said["under_print"].as_f64().unwrap(),
                    1e-6
                ));
            }
        }
    }
}

/// 4.1 g on a print of 4 x 4 in that is sprayed over 5 x 5 in: by areas, 64 % of it lies under the print, which is
/// 254 g/m2. Over the recipe's 14 x 16 in it would be 28 g/m2, and "too light".
#[test]
fn a_small_print_is_judged_by_itself() {
    let there = tempfile::tempdir().unwrap();
    dwell::shell::profiles::write_out(there.path()).unwrap();
    let path = there.path().join("station.ron");
    let text = std::fs::read_to_string(&path).unwrap();
    let (before, after) = text.split_once("sprayer: Some((").unwrap();
    let (_, rest) = after.split_once(")),").unwrap();
    std::fs::write(&path, format!("{before}sprayer: None,{rest}")).unwrap();
    let weighed = ["coat", "--before", "150 g", "--after", "154.1 g", "--print", "4 in x 4 in"];
    let none = answer(
        &[&weighed[..], &["--profiles", there.path().to_str().unwrap(), "--onto", "mask"]].concat(),
    );
    assert!(agree(none["under_print"].as_f64().unwrap(), 0.64, 1e-9), "{none}");
    assert!(agree(none["sprayed_cm2"].as_f64().unwrap(), 25.0 * 2.54 * 2.54, 1e-9), "{none}");
    // 4.1 g of 64 % on 16 square inches of 6.4516 cm2 each.
    let wanted = 4.1 * 0.64 / (16.0 * 6.4516) * 1e4;
    assert!(agree(none["per_area_g_m2"].as_f64().unwrap(), wanted, 1e-9), "{none}");
    for said in [none, answer(&weighed)] {
        assert_eq!(
            (&said["verdict"], &said["mend"]),
            (&Value::from("inside"), &Value::Null),
            "{said}"
        );
    }
}

/// A light coat gets one light pass and never more than half a coat; a heavy one is told what to do.
#[test]
fn a_coat_outside_is_mended() {
    // 28.9 g are right on 14 x 16 in at 200 g/m2: 0.14451584 m2.
    let mend = |after: &str| {
        let said =
            answer(&["coat", "--before", "150 g", "--after", after, "--area", "14 in x 16 in"]);
        said["mend"].as_str().map(str::to_owned)
    };
    let light = mend("167 g").unwrap();
    assert_eq!(light, "12 g short: one light pass across, weigh again, stop at 29 g");
    assert_eq!(mend("179 g"), None);
    // Half a coat of 28.9 g on 5 g.
    let thin = mend("155 g").unwrap();
    assert_eq!(thin, "24 g short: one light pass across, weigh again, stop at 19 g");
    let heavy = mend("195 g").unwrap();
    for word in ["16 g too heavy", "blot", "hang", "hover", "then dry", "wash out", "mark"] {
        assert!(heavy.contains(word), "{word}: {heavy}");
    }
}

/// The most even strokes are told with their places, and lie level where the plan's do not; a hand does not.
#[test]
fn the_most_even_strokes_are_told() {
    let said = answer(&[
        "spray",
        "--flow",
        "1.9 g/s",
        "--fan",
        "6 in",
        "--print",
        "4 in x 4 in",
        "--coat",
        "200 g/m2",
    ]);
    let best = &said["evenest"];
    // Two strokes 70 % of a fan apart: 1.6 in are between the middle of the level parts, which are 2.4 in wide.
    assert_eq!(
        (best["strokes_across"].as_u64(), best["strokes_down"].as_u64()),
        (Some(2), Some(2)),
        "{said}"
    );
    let places: Vec<f64> =
        best["places_across_cm"].as_array().unwrap().iter().map(|p| p.as_f64().unwrap()).collect();
    assert!(
        agree(places[1] - places[0], 0.7 * 15.24, 1e-9) && agree(places[1], -places[0], 1e-9),
        "{places:?}"
    );
    assert!(agree(best["overlap"].as_f64().unwrap(), 0.3, 1e-12));
    assert!(
        best["coat_cv"].as_f64().unwrap() < 1e-9 && said["coat_cv"].as_f64().unwrap() > 0.05,
        "{said}"
    );
    assert!(best["coat_cv_by_hand"].as_f64().unwrap() > 0.01, "{said}");
}
