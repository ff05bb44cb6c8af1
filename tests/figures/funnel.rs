//! The limits of chance: against SciPy's binomial distribution, and for many against the limits of a published p chart.

use dwell::figures::funnel::Limits;

/// `tests/data/funnel_limits.csv`, by the script of its name.
#[test]
fn the_limits_are_those_of_the_binomial_distribution() {
    let path = support::root().join("tests/data/funnel_limits.csv");
    let mut table = csv::Reader::from_path(path).unwrap();
    let mut seen = 0;
    for row in table.deserialize() {
        let (share, count, low, high): (f64, usize, f64, f64) = row.unwrap();
        assert_eq!(Limits::of(share, count), Some(Limits { low, high }), "{share} of {count}");
        seen += 1;
    }
    assert_eq!(seen, 72);
}

/// NIST/SEMATECH e-Handbook of Statistical Methods, 6.3.3.2: thirty wafers of fifty chips, 0.2313 of them amiss (S2, by two
/// copies). Three sigmas (0.0524 and 0.4102, V) and exact limits of 99.8 % are the same to a chip; with a hundred times as
/// many they are the same to a thousandth.
#[test]
fn for_many_they_meet_the_limits_of_the_published_p_chart() {
    let share = 0.2313_f64;
    for (count, apart) in [(50, 1.0 / 50.0), (5000, 0.001)] {
        let sigma = (share * (1.0 - share) / f64::from(count)).sqrt();
        let limits = Limits::of(share, usize::try_from(count).unwrap()).unwrap();
        let (low, high) = (share - 3.0 * sigma, share + 3.0 * sigma);
        if count == 50 {
            assert!((low - 0.0524).abs() < 5e-5 && (high - 0.4102).abs() < 5e-5, "{low} {high}");
        }
        assert!((limits.low - low).abs() <= apart, "{limits:?}, not {low}");
        assert!((limits.high - high).abs() <= apart, "{limits:?}, not {high}");
    }
}

#[test]
fn a_few_garments_blame_nobody_and_no_share_has_no_limits() {
    // One spoiled of one, two of three: where one in ten is, that is chance.
    for (right, count) in [(0_u8, 1_usize), (1, 1), (1, 3)] {
        let limits = Limits::of(0.9, count).unwrap();
        assert!(!limits.exclude(f64::from(right) / count as f64), "{right} of {count}: {limits:?}");
    }
    // Ten of twenty is none.
    assert!(Limits::of(0.9, 20).unwrap().exclude(0.5));
    assert_eq!(Limits::of(1.0, 8), Some(Limits { low: 1.0, high: 1.0 }));
    assert_eq!(Limits::of(0.0, 8), Some(Limits { low: 0.0, high: 0.0 }));
    assert_eq!((Limits::of(0.5, 0), Limits::of(f64::NAN, 5)), (None, None));
}
