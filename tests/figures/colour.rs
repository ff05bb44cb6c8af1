//! CIELAB by independent routes: the crate `palette` on random colours, published anchors, and CSS's own white.

use dwell::figures::colour::{lightness, linear, luminance, luminance_at};
use dwell::figures::units::Colour;
use palette::{FromColor, Lab, Srgb, white_point::D65};
use proptest::prelude::*;

use crate::{reference, rows};

/// A colour by its three coordinates L*, a*, b*.
type Coordinates = [f64; 3];

fn ours(colour: Colour) -> Coordinates {
    let lab = colour.lab();
    [lab.lightness, lab.a, lab.b]
}

fn hex(text: &str) -> Colour {
    text.parse().unwrap_or_else(|_| panic!("{text:?} is no colour"))
}

/// The greatest distance in any coordinate.
fn apart(one: Coordinates, other: Coordinates) -> f64 {
    one.iter().zip(other).map(|(one, other)| (one - other).abs()).fold(0.0, f64::max)
}

/// What `palette` makes of it.
fn theirs(Colour { red, green, blue }: Colour) -> Coordinates {
    let lab = Lab::<D65, f64>::from_color(Srgb::new(red, green, blue).into_format::<f64>());
    [lab.l, lab.a, lab.b]
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(2000))]

    /// An independent route: the crate `palette`. It rounds the white to 0.95047, 1, 1.08883 and takes its matrix
    /// from there, so up to 0.02 apart (tests/data/README.md, section 1: libraries differ so far unless matrix and white are
    /// pinned). L* alone, which decides on an underbase, agrees to 0.005.
    #[test]
    fn lab_is_what_another_library_says((red, green, blue) in any::<(u8, u8, u8)>()) {
        let colour = Colour { red, green, blue };
        let (ours, theirs) = (ours(colour), theirs(colour));
        prop_assert!(apart(ours, theirs) < 0.02, "{colour}: {ours:?}, not {theirs:?}");
        prop_assert!((ours[0] - theirs[0]).abs() < 0.005, "{colour}: {ours:?}, not {theirs:?}");
    }

    /// A lightness has one luminance, and back.
    #[test]
    fn lightness_runs_both_ways(l in 0.0f64..100.0) {
        prop_assert!((lightness(luminance_at(l)) - l).abs() < 1e-9);
    }
}

/// L* (D65) as a public JavaScript colour library's tests state it (S V).
#[test]
fn lightness_meets_published_anchors() {
    for (colour, wanted) in [
        ("#ff0000", 53.237_12),
        ("#00ff00", 87.735_52),
        ("#0000ff", 32.300_87),
        ("#00ffff", 91.114_75),
        ("#ff00ff", 60.322_73),
        ("#ffff00", 97.138_56),
    ] {
        let found = hex(colour).lab().lightness;
        assert!((found - wanted).abs() < 1e-5, "{colour}: {found} is not {wanted}");
    }
}

/// sRGB decodes as IEC 61966-2-1 says (M, V), and luminance is Y of the table, white being 1.
#[test]
fn luminance_is_that_of_the_table() {
    for row in rows(&reference("lab_values.csv"), 8) {
        let wanted: f64 = row[3].parse().unwrap();
        let found = luminance(hex(row[1]).linear());
        assert!((found - wanted).abs() < 1e-6, "{}: {found} is not {wanted}", row[0]);
    }
    assert!((linear(0.040_45) - 0.040_45 / 12.92).abs() < 1e-12, "the straight piece");
    assert!((linear(1.0) - 1.0).abs() < 1e-12);
}

/// A 3 x 3 matrix times a column.
fn times(matrix: [Coordinates; 3], column: Coordinates) -> Coordinates {
    matrix.map(|row| row.iter().zip(column).map(|(m, c)| m * c).sum())
}

/// Whites by their chromaticities: D65 (0.3127, 0.3290), D50 (0.3457, 0.3585).
fn white(x: f64, y: f64) -> Coordinates {
    [x / y, 1.0, (1.0 - x - y) / y]
}

/// Our CIELAB under D65, carried over to D50 as CSS's `lab()` has it: back to XYZ, adapted by Bradford's matrix
/// (from memory), and forth again.
fn css(colour: Colour) -> Coordinates {
    const CONES: [Coordinates; 3] =
        [[0.8951, 0.2664, -0.1614], [-0.7502, 1.7135, 0.0367], [0.0389, -0.0685, 1.0296]];
    const BACK: [Coordinates; 3] = [
        [0.986_992_905_467, -0.147_054_256_421, 0.159_962_651_664],
        [0.432_305_269_723, 0.518_360_271_537, 0.049_291_228_213],
        [-0.008_528_664_576, 0.040_042_821_654, 0.968_486_695_788],
    ];
    let (from, to) = (white(0.3127, 0.3290), white(0.3457, 0.3585));
    let [l, a, b] = ours(colour);
    let y = (l + 16.0) / 116.0;
    let open = |f: f64| luminance_at(116.0 * f - 16.0);
    let xyz = [from[0] * open(y + a / 500.0), open(y), from[2] * open(y - b / 200.0)];
    let (cones, from, to) = (times(CONES, xyz), times(CONES, from), times(CONES, to));
    let [x, y, z] = times(BACK, [0, 1, 2].map(|n| cones[n] * to[n] / from[n]));
    let to = white(0.3457, 0.3585);
    let f = |t: f64| (lightness(t) + 16.0) / 116.0;
    let [x, y, z] = [f(x / to[0]), f(y), f(z / to[2])];
    [116.0 * y - 16.0, 500.0 * (x - y), 200.0 * (y - z)]
}

/// The 24 colours under D50 (tests/data/README.md, section 1, V), to 0.002.
#[test]
fn under_another_white_it_is_the_table_too() {
    for row in rows(&reference("lab_values.csv"), 11) {
        let wanted = [8, 9, 10].map(|n| row[n].parse::<f64>().unwrap());
        let found = css(hex(row[1]));
        assert!(apart(found, wanted) < 2e-3, "{}: {found:?}, not {wanted:?}", row[0]);
    }
}

/// What CSS says of colours: web-platform-tests, css/css-color/lab-001.html, and a public CSS colour parser's own
/// tests (S V). Its colours are rounded to 8 bits, hence half a step of a channel: up to 0.6 here.
#[test]
fn css_colours_are_what_css_says() {
    for (colour, wanted) in [
        ("#008000", [46.277, -47.562, 48.583]),
        ("#c14e79", [50.0, 50.0, 0.0]),
        ("#1bc1a9", [70.0, -45.0, 0.0]),
        ("#c3a90e", [70.0, 0.0, 70.0]),
        ("#2187ed", [55.0, 0.0, -60.0]),
    ] {
        let found = css(hex(colour));
        assert!(apart(found, wanted) < 0.6, "{colour}: {found:?}, not {wanted:?}");
    }
    // The one that is no rounding: an older pipeline, 0.02 away.
    assert!(apart(css(hex("#008000")), [46.277, -47.562, 48.583]) < 0.02);
}
