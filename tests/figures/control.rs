//! The control chart's signals: each rule at its edge, and all of them held against counting anew at each value.

use dwell::figures::chart::{NoChart, Rule, Signal, individuals};
use proptest::prelude::*;

use super::agree;

/// The Western Electric rules (1956; NIST 6.3.2, S2), told plainly: so many of the last so many beyond so many
/// sigmas on one side, the newest among them.
const RULES: [(Rule, usize, usize, f64); 4] = [
    (Rule::BeyondLimit, 1, 1, 3.0),
    (Rule::TwoOfThree, 2, 3, 2.0),
    (Rule::FourOfFive, 4, 5, 1.0),
    (Rule::EightOneSide, 8, 8, 0.0),
];

/// The signals by looking back over the window at every value.
fn counted_anew(values: &[f64], mean: f64, sigma: f64) -> Vec<Signal> {
    let mut signals = Vec::new();
    for last in 0..values.len() {
        for (rule, wanted, window, sigmas) in RULES {
            for (side, above) in [(1.0, true), (-1.0, false)] {
                let beyond = |value: &f64| side * (value - mean) / sigma > sigmas;
                let first = (last + 1).saturating_sub(window);
                let met = values[first..=last].iter().filter(|value| beyond(value)).count();
                if met >= wanted && beyond(&values[last]) {
                    signals.push(Signal { index: last + 1, rule, above });
                }
            }
        }
    }
    signals
}

/// Values that run on one side for a while, so that each rule is broken now and then.
fn values() -> impl Strategy<Value = Vec<f64>> {
    let run = (-3i32..=3, prop::collection::vec(-9i32..=9, 1..12));
    let runs = prop::collection::vec(run, 1..12);
    runs.prop_map(|runs| {
        let value = |base: i32, n: &i32| f64::from(base * 6 + n) / 4.0 + 33.0;
        runs.iter().flat_map(|(base, all)| all.iter().map(|n| value(*base, n))).collect()
    })
}

proptest! {
    #[test]
    fn signals_are_those_of_counting_anew(values in values()) {
        prop_assume!(values.len() >= 2);
        let chart = individuals(&values).unwrap();
        let sigma = chart.mr_mean / 1.128;
        let found: Vec<Signal> = chart.signals(&values).collect();
        let wanted = if sigma > 0.0 { counted_anew(&values, chart.mean, sigma) } else { Vec::new() };
        prop_assert_eq!(found, wanted);
    }

    /// Turned upside down, the same points signal on the other side.
    #[test]
    fn both_sides_are_alike(values in values()) {
        prop_assume!(values.len() >= 2);
        let turned: Vec<f64> = values.iter().map(|value| -value).collect();
        let told = |values: &[f64]| -> Vec<Signal> {
            individuals(values).unwrap().signals(values).collect()
        };
        let mirrored = told(&turned).into_iter().map(|signal| Signal { above: !signal.above, ..signal });
        prop_assert_eq!(told(&values), mirrored.collect::<Vec<_>>());
    }
}

/// A chart whose middle is 0 and whose sigma is 1, so that distances can be written as they are.
fn signals_of(values: &[f64]) -> Vec<(usize, Rule, bool)> {
    let mut chart = individuals(values).unwrap();
    (chart.mean, chart.mr_mean) = (0.0, 1.128);
    chart.signals(values).map(|s| (s.index, s.rule, s.above)).collect()
}

/// Each rule at its edge, and none where a value lies on the line itself or on the other side.
#[test]
fn each_rule_has_its_edge() {
    assert_eq!(signals_of(&[0.0, 3.01, 0.0]), [(2, Rule::BeyondLimit, true)]);
    assert_eq!(signals_of(&[0.0, 3.0, 0.0]), []);
    assert_eq!(signals_of(&[2.1, 0.0, 2.1]), [(3, Rule::TwoOfThree, true)]);
    assert_eq!(signals_of(&[2.1, 0.0, 0.0, 2.1]), []);
    assert_eq!(signals_of(&[2.1, 0.0, -2.1]), [], "one on each side");
    // Two of three met, but the newest is not one of them: it was said before.
    assert_eq!(signals_of(&[-2.1, -2.1, 0.0]), [(2, Rule::TwoOfThree, false)]);
    assert_eq!(signals_of(&[1.1, 1.1, 0.0, 1.1, 1.1]), [(5, Rule::FourOfFive, true)]);
    assert_eq!(signals_of(&[1.1, 1.1, 0.0, 0.0, 1.1, 1.1]), []);
    assert_eq!(signals_of(&[0.1; 7]), []);
    assert_eq!(signals_of(&[0.1; 9]), [8, 9].map(|n| (n, Rule::EightOneSide, true)));
    let broken = [-0.1, -0.1, -0.1, -0.1, 0.0, -0.1, -0.1, -0.1, -0.1];
    assert_eq!(signals_of(&broken), [], "the middle itself is on no side");
}

#[test]
fn what_carries_no_chart_is_refused() {
    for n in [0, 1] {
        assert_eq!(individuals(&vec![1.0; n]), Err(NoChart::TooFew(n)));
    }
    assert_eq!(individuals(&[1e308, -1e308, 1e308]), Err(NoChart::TooLarge));
    let still = individuals(&[0.1; 30]).unwrap();
    assert_eq!(
        still.signals(&[0.1; 30]).count(),
        0,
        "where nothing varies there is nothing to break"
    );
    assert!(agree(still.mean, 0.1, 1e-12));
}
