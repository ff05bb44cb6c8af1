//! Verdicts at the boundary: a reading that was written exactly so far off is within, one step of its last place
//! further is not; in whole hundredths of each unit, so that right and wrong are known without arithmetic.

use dwell::figures::coat::{Verdict, per_area};
use dwell::figures::colour::Lab;
use dwell::figures::fastness::{Grade, difference};
use dwell::figures::platen::Grid;
use dwell::figures::units::{Grams, GramsPerSquareMetre, HeatSpan, Rectangle, Span, Temperature};
use proptest::prelude::*;

/// So many hundredths, as they are written.
fn written(hundredths: i64) -> String {
    format!(
        "{}{}.{:02}",
        if hundredths < 0 { "-" } else { "" },
        hundredths.abs() / 100,
        hundredths.abs() % 100
    )
}

fn within(dial: i64, reading: i64, tolerance: i64, scale: char) -> bool {
    let heat =
        |hundredths| -> Temperature { format!("{} {scale}", written(hundredths)).parse().unwrap() };
    let tolerance: HeatSpan = format!("{} {scale}", written(tolerance)).parse().unwrap();
    let grid = Grid::new(vec![vec![heat(reading).as_celsius()]]).unwrap();
    grid.against(heat(dial), tolerance.as_written()).within
}

fn verdict(
    before: i64,
    on: i64,
    window: (i64, i64),
    mass: &str,
    (area, coat): (&str, &str),
) -> Verdict {
    let grams = |hundredths| -> Grams {
        format!("{} {mass}", written(hundredths)).parse::<Grams>().unwrap().as_written()
    };
    let edge = |hundredths| -> GramsPerSquareMetre {
        format!("{} {coat}", written(hundredths)).parse().unwrap()
    };
    let area: Rectangle = area.parse().unwrap();
    let on = Grams(grams(before + on).0 - grams(before).0);
    Verdict::of(per_area(on, area.area()), edge(window.0), edge(window.1))
}

/// Areas over which so many of a unit of mass are just so many of a unit of coat.
const ONE_TO_ONE: [(&str, (&str, &str)); 4] = [
    ("g", ("100 cm x 100 cm", "g/m2")),
    ("g", ("1 m x 1 m", "gsm")),
    ("g", ("1 in x 1 in", "g/in2")),
    ("oz", ("36 in x 36 in", "oz/yd2")),
];

proptest! {
    #![proptest_config(ProptestConfig::with_cases(3000))]

    #[test]
    fn a_reading_exactly_a_tolerance_off_is_within(
        dial in 20_000i64..40_000, tolerance in 1i64..3000, below in any::<bool>(), celsius in any::<bool>(),
    ) {
        let (sign, scale) = (if below { -1 } else { 1 }, if celsius { 'C' } else { 'F' });
        prop_assert!(within(dial, dial + sign * tolerance, tolerance, scale));
        prop_assert!(!within(dial, dial + sign * (tolerance + 1), tolerance, scale));
    }

    #[test]
    fn a_coat_exactly_at_an_end_of_its_window_is_inside(
        before in 1000i64..40_000, low in 10i64..20_000, width in 2i64..10_000, unit in 0..ONE_TO_ONE.len(),
    ) {
        let (mass, rest) = ONE_TO_ONE[unit];
        let of = |on| verdict(before, on, (low, low + width), mass, rest);
        prop_assert_eq!(of(low), Verdict::Inside);
        prop_assert_eq!(of(low + width), Verdict::Inside);
        prop_assert_eq!(of(low - 1), Verdict::Under);
        prop_assert_eq!(of(low + width + 1), Verdict::Over);
    }

    /// Halfway between two steps of the grey scale the lower grade is given, whichever channel the difference is of
    /// and however far up the scale the colours lie.
    #[test]
    fn a_difference_halfway_between_two_grades_goes_one_way(
        step in 0usize..8, from in 0i64..8000, channel in 0usize..3, backwards in any::<bool>(),
    ) {
        /// Hundredths of CIELAB halfway between the steps of ISO 105-A02, and the lower of their grades.
        const HALFWAY: [(i64, &str); 8] = [
            (40, "4-5"), (125, "4"), (210, "3-4"), (295, "3"), (410, "2-3"), (580, "2"), (820, "1-2"), (1160, "1"),
        ];
        let (off, grade) = HALFWAY[step];
        let lab = |hundredths: i64| {
            let mut all = [50.0, 0.0, 0.0];
            all[channel] = written(hundredths).parse().unwrap();
            Lab { lightness: all[0], a: all[1], b: all[2] }
        };
        let (one, other) = (lab(from), lab(from + off));
        let delta_e = if backwards { difference(other, one) } else { difference(one, other) };
        prop_assert_eq!(Grade::of(delta_e).to_string(), grade);
        let nearer = difference(one, lab(from + off - 1));
        prop_assert_ne!(Grade::of(nearer).to_string(), grade);
    }

    /// A span is as long as it says to the nanosecond, so that a limit that was kept to the hundredth is kept.
    #[test]
    fn a_span_is_exact(hundredths in 0u64..1_000_000) {
        let text = format!("{}.{:02}s", hundredths / 100, hundredths % 100);
        let comma = text.replace('.', ",");
        let wanted = std::time::Duration::from_millis(hundredths * 10);
        prop_assert_eq!(text.parse::<Span>().unwrap().0, wanted);
        if hundredths % 1000 != 0 {
            prop_assert_eq!(comma.parse::<Span>().unwrap().0, wanted);
        }
    }
}
