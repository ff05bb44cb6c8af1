//! The figures of the process, held against published values; where there is a command, through the built
//! binary.

use dwell::figures::chart::{capability, ewma, ewma_limits};
use dwell::figures::line::through_origin;
use dwell::figures::spray::fan_width;
use dwell::figures::steam::{SteamConditions, Steamed};
use dwell::figures::units::{
    Centimetres, Colour, Grams, GramsPerSquareMetre, Rectangle, Temperature,
};
use dwell::figures::water::{boiling_at, latent_heat, pressure_at};
use serde_json::Value;

use crate::{agree, reference, rows};
use support::program::program;

pub fn number(text: &str) -> f64 {
    text.parse().unwrap_or_else(|_| panic!("{text:?} is no number"))
}

/// What a command answers with --json, in an environment of its own.
pub fn answer(arguments: &[&str]) -> Value {
    let output = program()
        .args(arguments)
        .arg("--json")
        .env("HOME", std::env::temp_dir())
        .output()
        .expect("the binary runs");
    assert!(output.status.success(), "{arguments:?}: {}", String::from_utf8_lossy(&output.stderr));
    serde_json::from_slice(&output.stdout).expect("one JSON value")
}

fn data(name: &str) -> String {
    format!("{}/tests/data/{name}", env!("CARGO_MANIFEST_DIR"))
}

/// CIELAB of 24 colours, white D65 (tests/data/README.md, section 1, V). Tolerance 0.0002: the table has
/// four decimals.
#[test]
fn lightness_is_that_of_the_table() {
    let text = reference("lab_values.csv");
    for row in rows(&text, 8) {
        let lab = row[1].parse::<Colour>().unwrap().lab();
        for (found, wanted) in [(lab.lightness, row[5]), (lab.a, row[6]), (lab.b, row[7])] {
            assert!((found - number(wanted)).abs() < 2e-4, "{}: {found} is not {wanted}", row[0]);
        }
    }
}

/// Individuals and moving range of NIST/SEMATECH 6.3.2.2 (S2 V): mean 50.81, MR 1.8778, limits 55.8041 and
/// 45.8159 with d2 = 1.128, MR limit 6.1347 with D4 = 3.267.
#[test]
fn the_chart_of_flow_rates_is_nists() {
    let chart = answer(&["chart", &data("imr_example.csv"), "--column", "flowrate"]);
    for (name, wanted) in [
        ("mean", 50.81),
        ("mr_mean", 1.8778),
        ("upper", 55.8041),
        ("lower", 45.8159),
        ("mr_upper", 6.1347),
    ] {
        let found = chart[name].as_f64().unwrap();
        assert!((found - wanted).abs() < 1e-4, "{name}: {found} is not {wanted}");
    }
    assert_eq!(chart["n"], 10);
    assert_eq!(chart["signals"], Value::Array(Vec::new()), "all are in control");
}

/// Capability of NIST 6.1.6 (S2 V): USL 20, LSL 8, mean 16, s 2.
#[test]
fn capability_is_nists() {
    let (cp, cpk) = capability(16.0, 2.0, 8.0, 20.0);
    assert!(agree(cp, 1.0, 1e-12) && agree(cpk, 2.0 / 3.0, 1e-12), "{cp} {cpk}");
}

/// EWMA of NIST 6.3.2.4 (S2 V): lambda 0.3, start 50, s 2.0539; limits to 1e-4, since NIST cuts a root.
#[test]
fn the_moving_average_is_nists() {
    let text = reference("ewma_example.csv");
    let table = rows(&text, 4);
    let values: Vec<f64> = table.iter().skip(1).map(|row| number(row[1])).collect();
    for (found, row) in ewma(&values, 50.0, 0.3).iter().zip(table.iter().skip(1)) {
        assert!((found - number(row[2])).abs() < 0.0051, "{}: {found} is not {}", row[0], row[2]);
    }
    let (low, high) = ewma_limits(50.0, 2.0539, 0.3, 3.0);
    assert!((high - 52.5884).abs() < 1e-4 && (low - 47.4115).abs() < 1.1e-4, "{low} {high}");
}

/// Run rules of Western Electric (S2): each is broken by a row made to break it, and by nothing else in it.
#[test]
fn eight_in_a_row_are_said() {
    let file = tempfile::NamedTempFile::new().unwrap();
    let values = "grams\n1\n-1\n1\n-1\n1\n-1\n0.2\n0.3\n0.2\n0.3\n0.2\n0.3\n0.2\n0.3\n-0.6\n";
    std::fs::write(file.path(), values).unwrap();
    let chart = answer(&["chart", file.path().to_str().unwrap()]);
    let rules: Vec<&str> =
        chart["signals"].as_array().unwrap().iter().filter_map(|s| s["rule"].as_str()).collect();
    assert_eq!(rules, ["eight in a row on one side of the middle"], "{chart}");
}

/// Regression through the origin: NIST StRD NoInt1 (S2 V) and NoInt2 (S2, M for the deviations; V).
#[test]
fn lines_through_the_origin_are_nists() {
    let certified = [
        (
            "noint1.csv",
            2.074_380_165_289_26,
            0.165_289_256_198_347e-1,
            3.567_530_340_063_38,
            0.999_365_492_298_663,
        ),
        (
            "noint2.csv",
            0.727_272_727_272_727,
            0.420_827_318_078_432e-1,
            0.369_274_472_937_998,
            0.993_348_115_299_335,
        ),
    ];
    for (file, slope, slope_sd, residual_sd, r_squared) in certified {
        let text = reference(file);
        let pairs: Vec<(f64, f64)> =
            rows(&text, 2).iter().map(|row| (number(row[1]), number(row[0]))).collect();
        let line = through_origin(&pairs).unwrap();
        for (found, wanted) in [
            (line.slope, slope),
            (line.slope_sd, slope_sd),
            (line.residual_sd, residual_sd),
            (line.r_squared, r_squared),
        ] {
            assert!(agree(found, wanted, 1e-10), "{file}: {found} is not {wanted}");
        }
    }
}

/// Boiling point and heat of vaporisation, IAPWS-IF97 (M V), and the standard atmosphere (S, V), geometric
/// height.
#[test]
fn water_boils_as_published() {
    let text = reference("steam_table.csv");
    for row in rows(&text, 4) {
        let boils = boiling_at(number(row[0]) * 1000.0);
        assert!((boils - number(row[1])).abs() < 1e-3, "{} kPa: {boils}", row[0]);
        let latent = latent_heat(boils);
        assert!(
            (latent - number(row[3])).abs() < 0.5,
            "{} kPa: {latent} is not {}",
            row[0],
            row[3]
        );
    }
    let text = reference("std_atmosphere.csv");
    for row in rows(&text, 6) {
        let pressure = pressure_at(number(row[0]));
        assert!(
            (pressure - number(row[2])).abs() < 0.05,
            "{} m: {pressure} is not {}",
            row[0],
            row[2]
        );
        let boils = boiling_at(pressure);
        assert!((boils - number(row[5])).abs() < 1e-3, "{} m: {boils} is not {}", row[0], row[5]);
    }
}

/// The fan's width against a nozzle maker's table (S), but for its three misprints: 35 degrees at 24 in, 55 at
/// 10, 60 at 18. Rows marked M are held against the same formula and left out.
#[test]
fn fans_are_as_wide_as_the_table_says() {
    const MISPRINTS: [(f64, f64); 3] = [(35.0, 24.0), (55.0, 10.0), (60.0, 18.0)];
    let text = reference("spray_widths.csv");
    let mut compared = 0;
    for row in rows(&text, 6).iter().filter(|row| row[5].starts_with("published")) {
        let (angle, height) = (number(row[0]), number(row[1]));
        if MISPRINTS.contains(&(angle, height)) {
            continue;
        }
        let width = fan_width(angle, format!("{height} in").parse().unwrap()).as_inches();
        assert!(
            (width - number(row[2])).abs() <= 0.1,
            "{angle} degrees at {height} in: {width} is not {}",
            row[2]
        );
        compared += 1;
    }
    assert!(compared > 60, "only {compared} rows were compared");
}

/// Through the binary: 65 degrees at 11 in, by the formula; the coat is laid whatever the way of saying the flow.
#[test]
fn a_catch_test_is_a_flow() {
    let area =
        ["--area", "14 in x 16 in", "--coat", "230 g/m2", "--angle", "65", "--distance", "11 in"];
    let by_flow = answer(&[&["spray", "--flow", "1.9 g/s"][..], &area].concat());
    let by_catch = answer(&[&["spray", "--caught", "19 g", "--in", "10s"][..], &area].concat());
    assert_eq!(by_flow, by_catch);
    let width = by_flow["fan_width_cm"].as_f64().unwrap();
    assert!(agree(width, 2.0 * 27.94 * 32.5f64.to_radians().tan(), 1e-9), "{width}");
    let (on, used) =
        (by_flow["grams_on"].as_f64().unwrap(), by_flow["grams_used"].as_f64().unwrap());
    // 14 in x 16 in is 0.144515 m2 (NIST SP 811: 1 in = 0.0254 m).
    assert!(agree(on, 230.0 * 0.144_515_84, 1e-6) && used >= on, "{on} of {used}");
}

/// A coat by definition of the unit, through the binary.
#[test]
fn a_coat_is_grams_over_the_area() {
    let coat =
        answer(&["coat", "--before", "152.4 g", "--after", "186.0 g", "--area", "14 in x 16 in"]);
    assert!(agree(coat["grams"].as_f64().unwrap(), 33.6, 1e-9), "{coat}");
    assert!(agree(coat["per_area_g_m2"].as_f64().unwrap(), 33.6 / 0.144_515_84, 1e-9), "{coat}");
    assert_eq!(coat["window_confirmed"], false, "nobody has confirmed the shipped window");
}

fn bench(cloth: f64, altitude_m: f64) -> SteamConditions {
    let area: Rectangle = "14 in x 16 in".parse().unwrap();
    SteamConditions {
        plate: Temperature::fahrenheit(340.0),
        area: area.area(),
        cloth: GramsPerSquareMetre(cloth),
        altitude_m,
    }
}

/// Heat in equals sensible plus latent heat to 1e-9, whatever the cloth itself weighs.
#[test]
fn the_balance_of_heat_closes() {
    for (cloth, altitude_m) in [(180.0, 0.0), (180.0, 1609.0), (120.0, 0.0), (400.0, 1609.0)] {
        for (grams, h) in [(12.0, 60.0), (33.6, 210.0), (50.0, 900.0)] {
            let [heat, sensible, latent] =
                bench(cloth, altitude_m).balance(Grams(grams), h).unwrap();
            assert!(agree(heat, sensible + latent, 1e-9), "{heat} is not {sensible} + {latent}");
        }
    }
}

/// The same lumped balance gone through in small steps of time, by the classical method of Runge and Kutta: cloth and water
/// warm up together, then what comes in boils water off. It shares no formula with the program but the balance itself.
fn in_small_steps(bench: &SteamConditions, grams: f64, h: f64) -> f64 {
    const STEP_S: f64 = 1e-3;
    // Per square metre: J/K of water and of cotton (Morton and Hearle, table 6.1), J of boiling.
    let water = grams / (bench.area.0 / 10_000.0);
    let capacity = water * 4.19 + bench.cloth.0 * 1.28;
    let (plate, boils) = (bench.plate.as_celsius(), bench.boiling_c());
    let warms = |celsius: f64| h * (plate - celsius) / capacity;
    let (mut celsius, mut seconds) = (20.0, 0.0);
    while celsius < boils {
        let one = warms(celsius);
        let two = warms(celsius + STEP_S / 2.0 * one);
        let three = warms(celsius + STEP_S / 2.0 * two);
        let four = warms(celsius + STEP_S * three);
        celsius += STEP_S / 6.0 * (one + 2.0 * two + 2.0 * three + four);
        seconds += STEP_S;
    }
    let mut left = water;
    while left > 0.0 {
        left -= STEP_S * h * (plate - boils) / bench.latent();
        seconds += STEP_S;
    }
    seconds
}

#[test]
fn the_second_of_the_steam_is_that_of_the_balance_in_small_steps_on_light_and_heavy_cloth() {
    for cloth in [120.0, 180.0, 290.0, 500.0] {
        for (grams, h) in [(12.0, 150.0), (28.9, 300.0), (42.0, 420.0)] {
            let bench = bench(cloth, 300.0);
            let (said, stepped) =
                (bench.seconds(Grams(grams), h).unwrap(), in_small_steps(&bench, grams, h));
            assert!((said - stepped).abs() < 5e-3, "{cloth} g/m2, {grams} g: {said}, {stepped}");
        }
    }
}

/// Garments of cloth that differs teach one and the same press only where each is counted with its own cloth.
#[test]
fn a_press_is_learned_from_garments_of_different_cloth() {
    const CONTACT: f64 = 280.0;
    let coats = [(150.0, 20.0), (180.0, 26.0), (320.0, 24.0), (520.0, 31.0)];
    let steamed = |(cloth, grams): (f64, f64)| {
        let seconds = bench(cloth, 0.0).seconds(Grams(grams), CONTACT).unwrap();
        Steamed { grams: Grams(grams), seconds, cloth: GramsPerSquareMetre(cloth) }
    };
    let learned = bench(180.0, 0.0).learn_from(&coats.map(steamed)).unwrap();
    assert!(agree(learned.h(), CONTACT, 1e-9), "{}", learned.h());
    let heavy = bench(520.0, 0.0).seconds(Grams(31.0), CONTACT).unwrap();
    let told = learned.clone().on(GramsPerSquareMetre(520.0)).estimate(heavy).unwrap();
    assert!(agree(told.grams.0, 31.0, 1e-9), "{:?}", told.grams);
    // As if it were a shirt it would be told too heavy.
    assert!(learned.estimate(heavy).unwrap().grams.0 > 32.0);
}

/// What was learned gives back what it was learned from, and more seconds never mean fewer grams.
#[test]
fn steam_gives_the_coat_back() {
    let file = tempfile::NamedTempFile::new().unwrap();
    std::fs::write(file.path(), "grams,seconds\n20,24\n28,30\n34,36\n25,28\n").unwrap();
    let fit = file.path().to_str().unwrap();
    let mut last = 0.0;
    for second in ["20", "25", "31", "40"] {
        let said = answer(&[
            "steam",
            "--fit",
            fit,
            "--plate",
            "340 F",
            "--area",
            "14 in x 16 in",
            "--seconds",
            second,
        ]);
        let grams = said["grams"].as_f64().unwrap();
        assert!(grams >= last, "{second} s: {said}");
        assert!(
            said["low"].as_f64().unwrap() <= grams && grams <= said["high"].as_f64().unwrap(),
            "{said}"
        );
        // Water boils at 99.974 C at one standard atmosphere (tests/data/README.md, section 4).
        assert!((said["boiling_c"].as_f64().unwrap() - 99.974).abs() < 1e-3, "{said}");
        last = grams;
    }
}

/// A platen's grid: mean, places and correction by hand.
#[test]
fn a_platen_is_held_against_its_dial() {
    let file = tempfile::NamedTempFile::new().unwrap();
    std::fs::write(file.path(), "331,338,330\n340,346,341\n329,337,328\n").unwrap();
    let said = answer(&["platen", file.path().to_str().unwrap(), "--dial", "340 F"]);
    let fahrenheit = |name: &str| said[name].as_f64().unwrap() * 1.8;
    assert!(agree(fahrenheit("spread_c"), 18.0, 1e-9), "{said}");
    assert!(agree(fahrenheit("correction_c"), 340.0 - 3020.0 / 9.0, 1e-9), "{said}");
    assert_eq!(said["coldest"]["row"], 3);
    assert_eq!(said["coldest"]["column"], 3);
    assert_eq!(said["hottest"]["row"], 2);
    assert_eq!(said["verdict"], "outside", "328 F is more than 5 C below 340 F");
}

/// A reading is within a tolerance up to it and not beyond, whichever way: the one that was asked for, or the 5 C of a
/// station that says nothing (common practice, no source).
#[test]
fn a_reading_is_within_the_tolerance_and_not_beyond() {
    let file = tempfile::NamedTempFile::new().unwrap();
    let path = file.path().to_str().unwrap();
    let verdict = |reading: f64, more: &[&str]| {
        std::fs::write(file.path(), format!("170,{reading}\n")).unwrap();
        answer(&[&["platen", path, "--dial", "170 C"], more].concat())["verdict"].clone()
    };
    for side in [1.0, -1.0] {
        for (tolerance, more) in
            [(5.0, &[][..]), (3.0, &["--tolerance", "3 C"]), (8.0, &["--tolerance", "8 C"])]
        {
            assert_eq!(verdict(170.0 + side * (tolerance - 0.25), more), "within", "{more:?}");
            assert_eq!(verdict(170.0 + side * (tolerance + 0.25), more), "outside", "{more:?}");
        }
    }
}

/// Bad input is exit code 2 with the place.
#[test]
fn what_cannot_be_worked_out_is_refused() {
    let bad = tempfile::NamedTempFile::new().unwrap();
    std::fs::write(bad.path(), "grams,seconds\n20,24\n28,soon\n").unwrap();
    let few = tempfile::NamedTempFile::new().unwrap();
    std::fs::write(few.path(), "grams,seconds\n20,24\n28,30\n").unwrap();
    let (bad, few) = (bad.path().to_str().unwrap(), few.path().to_str().unwrap());
    let press = ["--plate", "340 F", "--area", "14 in x 16 in"];
    let cases: [(&[&str], &str); 6] = [
        (
            &["coat", "--before", "186 g", "--after", "152 g", "--area", "14 in x 16 in"],
            "lighter than before",
        ),
        (&["steam", "--fit", bad, press[0], press[1], press[2], press[3]], "line 3, column 2"),
        (&["steam", "--fit", few, press[0], press[1], press[2], press[3]], "at least 3"),
        (&["steam", "--plate", "190 F", press[2], press[3]], "does not boil water"),
        (&["chart", few, "--column", "weight"], "no column"),
        (
            &[
                "spray",
                "--flow",
                "inf g/s",
                "--angle",
                "65",
                "--area",
                "1 in x 1 in",
                "--coat",
                "1 g/m2",
            ],
            "expected a flow",
        ),
    ];
    for (arguments, wanted) in cases {
        let output = program().args(arguments).output().unwrap();
        let said = String::from_utf8_lossy(&output.stderr).into_owned();
        assert_eq!(output.status.code(), Some(2), "{arguments:?}: {said}");
        assert!(said.contains(wanted), "{arguments:?}: {said}");
    }
}

/// The length that the fan is measured at reads in any unit.
#[test]
fn a_distance_is_a_distance() {
    let inches = fan_width(65.0, "11 in".parse().unwrap());
    let centimetres = fan_width(65.0, Centimetres(27.94));
    assert!(agree(inches.0, centimetres.0, 1e-12));
}
