//! The figures at the bench, by keys alone: a garment on the scale, an artwork in an order, the pace of the
//! hand, a platen that was probed. Common practice, no source, except where one stands beside the check.

use std::fs;

use rstest::rstest;

use crate::bench::{Bench, order, recipe, station};
use crate::pty::Pty;

/// A bench whose recipe has every garment weighed, and whose station names a sprayer.
fn weighing_bench(garments: u32, flow: &str) -> Bench {
    let bench = Bench::new(2, 1);
    let weighs = recipe(1).replace("    basis:", "    weigh_every: 1,\n    basis:");
    fs::write(bench.recipe(), weighs).unwrap();
    let sprayer = format!("    sprayer: Some((flow: \"{flow}\", fan: \"6 in\")),\n)\n");
    let station = station("Test bench", 2);
    fs::write(bench.station(), station.strip_suffix(")\n").unwrap().to_owned() + &sprayer).unwrap();
    if garments > 0 {
        bench.take(garments);
    }
    bench
}

/// Types something into a field and enters it; what the board then says.
fn enter(pty: &mut Pty, typed: &str, says: &str) {
    pty.keys(typed);
    pty.key(b"\r");
    pty.wait_for(says);
}

/// Through pre-press, to the sprayer.
fn pre_press(pty: &mut Pty) {
    // The caution is asked first, until it is read.
    if pty.contents().contains("No safety device") {
        pty.key(b"y");
    }
    pty.key(b"1");
    pty.wait_for("OPEN 1");
    pty.key(b"1");
    pty.wait_for("on the scale, dry");
}

#[test]
fn a_weight_is_typed_or_comes_from_a_scale_that_types() {
    let bench = weighing_bench(2, "1.9 g/s");
    let mut pty = Pty::board(&bench);
    pty.wait_for("2 blanks");
    pre_press(&mut pty);
    pty.key(b"m");
    pty.wait_for("On the scale");
    enter(&mut pty, "15x", "a weight such as");
    enter(&mut pty, "152.4", "A1-01 weighs 152.4 g dry");
    pty.key(b"\r");
    pty.wait_for("on the scale, with its coat on");
    // As a scale sends it: at once, with blanks and a unit. 28.9 g on 14 in x 16 in are 200 g/m2.
    pty.burst(b"  181.3 g\r");
    pty.wait_for("A1-01 took 28.9 g: 200 g/m2, inside (unconfirmed window)");
    pty.wait_saved();
    let weighed = bench.past_of("coat-weighed");
    assert_eq!(weighed.len(), 1);
    assert_eq!(
        (&weighed[0]["before"], &weighed[0]["after"]),
        (&"152.4 g".into(), &"181.3 g".into())
    );
    // One that nobody wants weighed acts on nothing.
    pty.burst(b"181.3 g\r");
    pty.wait_for("no weight is wanted");
    pty.key(b"\x1bOS");
    pty.wait_for("200 g/m2");
    assert_eq!(pty.leave(), 0);
    bench.assert_sound();
}

#[test]
fn the_pace_is_shown_and_the_press_keys_go_on_working() {
    let bench = weighing_bench(2, "9 g/s");
    let mut pty = Pty::board(&bench);
    pty.wait_for("2 blanks");
    let bells = |pty: &Pty| pty.raw().iter().filter(|byte| **byte == 7).count();
    pty.key(b"p");
    pty.wait_for("get ready");
    pty.key(b"2");
    pty.wait_for("shut press 2 on A1-02");
    // 9 g/s, 85 % of it kept: the 28.9 g of 14 x 16 in land within 3.78 s, in which four strokes across (18 in) and
    // three down (20 in) are 335 cm (by hand).
    pty.wait_for("89 cm/s");
    pty.wait_for("ACROSS 1 of 4");
    pty.wait_for("UP AND DOWN 1 of 3");
    assert!(bells(&pty) >= 6, "a tick at each turn: {}", bells(&pty));
    pty.wait_until("the presses again", |text| text.contains("OPEN NOW"));
    assert_eq!(pty.leave(), 0);
}

#[test]
fn a_speed_that_no_hand_can_hold_is_said() {
    let bench = weighing_bench(1, "22 g/s");
    let mut pty = Pty::board(&bench);
    pty.wait_for("1 blanks");
    pty.key(b"p");
    pty.wait_for("2.17 m/s: too fast for a hand");
    assert_eq!(pty.leave(), 0);
}

#[test]
fn an_artwork_decides_a_line_of_an_order_by_keys_alone() {
    let bench = Bench::new(2, 60);
    let art = bench.root.path().join("a.png");
    image::RgbaImage::from_fn(48, 48, |x, y| {
        let inside = (8..40).contains(&x) && (8..40).contains(&y);
        image::Rgba(if inside { [250, 250, 250, 255] } else { [0, 0, 0, 0] })
    })
    .save(&art)
    .unwrap();
    let mut pty = Pty::board(&bench);
    pty.wait_for("[Bench]");
    pty.keys("+0");
    pty.wait_for("A new order");
    pty.keys("3");
    for _ in 0..5 {
        pty.key(b"\t");
    }
    pty.wait_for("its file; . a list");
    pty.burst(bench.root.path().join("none.png").to_str().unwrap().as_bytes());
    pty.key(b"\t");
    pty.wait_for("none.png: No such file");
    pty.key(b"\x1b[Z");
    for _ in "none.png".chars() {
        pty.key(b"\x7f");
    }
    pty.burst(b"a.png");
    pty.key(b"\t");
    pty.wait_for("yes, by the artwork");
    pty.wait_for("100.00 % of the print is lighter than");
    pty.key(b"+");
    pty.wait_for("taken in: 3 garments");
    pty.wait_saved();
    let taken = bench.past_of("order-taken");
    let line = &taken[0]["form"]["lines"][0];
    assert_eq!((&line["underbase"], &line["seen"]["underbase"]), (&true.into(), &true.into()));
    assert_eq!(line["seen"]["sketch"].as_str().unwrap().len(), 24 * 12 * 3);
    assert_eq!(pty.leave(), 0);
    bench.assert_sound();
}

/// Opens the form of a probe and fills in readings from the back left on.
fn fill_in(pty: &mut Pty, readings: &[&str]) {
    pty.wait_for("[Bench]");
    pty.key(b"h");
    pty.wait_for("A platen was checked");
    pty.key(b"\t");
    for reading in readings {
        pty.burst(reading.as_bytes());
        pty.key(b"\t");
    }
}

#[test]
fn a_platen_and_its_strips_are_recorded_and_mapped() {
    let bench = Bench::new(1, 60);
    let mut pty = Pty::board(&bench);
    fill_in(&mut pty, &["330", "338", "335", "341", "344", "340", "335", "339"]);
    pty.key(b"+");
    pty.wait_for("front right: ");
    pty.burst(b"329");
    pty.key(b"\t");
    // Left half filled in, it is there again.
    pty.key(b"\x1b");
    pty.wait_until("closed", |text| !text.contains("A platen was checked"));
    pty.key(b"h");
    pty.wait_for("344");
    pty.keys("1211");
    pty.wait_for("SLIPPED");
    pty.key(b"+");
    pty.wait_for("OUTSIDE 5 C of 340 F");
    pty.wait_saved();
    let checked = bench.past_of("platen-checked");
    assert_eq!((&checked[0]["within"], &checked[0]["correction_c"]), (&false.into(), &1.79.into()));
    pty.key(b"\x1bOS");
    pty.wait_for("OUTSIDE 5 C");
    pty.wait_for("SLIPPED: back right");
    assert_eq!(pty.leave(), 0);
    bench.assert_sound();
}

/// A reading that no platen has leaves the form as it was filled in, and says which one and what was expected.
#[test]
fn a_refused_probe_loses_nothing() {
    let bench = Bench::new(1, 60);
    let mut pty = Pty::board(&bench);
    fill_in(&mut pty, &["338", "340", "339", "341", "3", "340", "339", "340", "338"]);
    pty.key(b"+");
    pty.wait_for("middle middle: found \"3 F\", which is no platen's heat: expected 32 F to 572 F");
    // A figure takes the place of the one that was refused.
    pty.burst(b"339");
    pty.key(b"+");
    pty.wait_for("within 5 C of 340 F");
    assert_eq!(bench.past_of("platen-checked").len(), 1);
    assert_eq!(pty.leave(), 0);
}

/// Somebody has said that the artwork is lighter: then a picture that cannot be read keeps no order back.
#[test]
fn an_order_does_not_wait_for_a_picture_that_decides_nothing() {
    let bench = Bench::new(2, 60);
    let mut pty = Pty::board(&bench);
    pty.wait_for("[Bench]");
    pty.keys("+0");
    pty.wait_for("A new order");
    pty.keys("3");
    pty.key(b"\t");
    pty.key(b"\t");
    pty.keys("1");
    for _ in 0..3 {
        pty.key(b"\t");
    }
    pty.wait_for("its file; . a list");
    pty.burst(b"none.png");
    pty.key(b"\t");
    pty.wait_for("none.png: No such file");
    pty.key(b"+");
    pty.wait_for("taken in: 3 garments");
    assert_eq!(pty.leave(), 0);
}

/// An order with this print, on a bench whose only garments it has.
fn take_with_print(bench: &Bench, print: &str) {
    let path = bench.root.path().join("printed.ron");
    let text = order(1).replace("underbase: true", &format!("underbase: true, print: \"{print}\""));
    fs::write(&path, text).unwrap();
    let ran = bench.run(&["take", path.to_str().unwrap()]);
    assert_eq!(ran.code, 0, "{}", ran.err);
}

/// The round on the running board: what the pacing says that the scale will show, put on the scale, is inside.
#[rstest]
#[case("4 in x 4 in")]
#[case("14 in x 16 in")]
fn what_the_pace_says_the_scale_calls_inside(#[case] print: &str) {
    let bench = weighing_bench(0, "9 g/s");
    take_with_print(&bench, print);
    let mut pty = Pty::board(&bench);
    pty.wait_for("1 blanks");
    pre_press(&mut pty);
    pty.key(b"m");
    pty.wait_for("On the scale");
    enter(&mut pty, "150", "A1-01 weighs 150 g dry");
    pty.key(b"p");
    pty.wait_for("the scale should show");
    let text = pty.contents();
    let said = text.split("the scale should show ").nth(1).unwrap();
    let grams: f64 = said.split(' ').next().unwrap().parse().unwrap();
    pty.key(b"\r");
    pty.wait_for("on the scale, with its coat on");
    pty.key(b"m");
    pty.wait_for("before it is dried");
    enter(&mut pty, &format!("{:.1}", 150.0 + grams), "inside (unconfirmed window)");
    pty.wait_saved();
    let weighed = bench.past_of("coat-weighed");
    let coat: f64 =
        weighed[0]["coat"].as_str().unwrap().split(' ').next().unwrap().parse().unwrap();
    assert!((coat - 200.0).abs() < 10.0, "{print}: {grams} g are {coat} g/m2");
    assert_eq!(pty.leave(), 0);
}

/// A light coat: the advice stands on the board, the garment is weighed again and counts as mended.
#[test]
fn a_light_coat_is_mended_and_weighed_again() {
    let bench = weighing_bench(1, "9 g/s");
    let mut pty = Pty::board(&bench);
    pty.wait_for("1 blanks");
    pre_press(&mut pty);
    pty.key(b"m");
    pty.wait_for("On the scale");
    enter(&mut pty, "150", "A1-01 weighs 150 g dry");
    pty.key(b"\r");
    // Before anything that would lose it, NEXT asks for the weight.
    pty.wait_for("WEIGH A1-01");
    pty.key(b"m");
    pty.wait_for("it weighed 150 g before");
    enter(&mut pty, "162", "17 g short: one light pass across, weigh again, stop at 26 g");
    pty.key(b"m");
    pty.wait_for("with the garment that is 176 g");
    enter(&mut pty, "176", "A1-01 took 26.0 g: 180 g/m2, inside");
    pty.wait_until("the advice is gone", |text| !text.contains("light pass"));
    // A refused weight loses nothing: the form stays, and figures go nowhere else.
    pty.key(b"1");
    pty.wait_for("shut press 1 on A1-01");
    pty.key(b"m");
    pty.wait_for("nothing to weigh");
    pty.keys("22");
    pty.key(b"\r");
    pty.wait_saved();
    assert_eq!(bench.past_of("press-shut").len(), 2);
    let mended = bench.past_of("coat-mended");
    assert_eq!((mended.len(), &mended[0]["added"]), (1, &"14 g".into()));
    assert_eq!(pty.leave(), 0);
    bench.assert_sound();
}
