//! The sprayer's health: the cumulative sum against the published one, false alarms and how soon a drift is seen.

use dwell::figures::chart::cusum;
use dwell::figures::wear::{BASE, Course, Day, fell, health, scatter_90};
use rand::SeedableRng;
use rand_distr::{Distribution, StandardNormal};
use rand_pcg::Pcg64;

use super::process::number;
use super::{agree, reference, rows};

/// NIST 6.3.2.3 (S2 V): target 325, k 0.3175; every printed sum, to half a unit of its last digit, and the first signal.
#[test]
fn the_cumulative_sum_is_nists() {
    let text = reference("cusum_example.csv");
    let table = rows(&text, 11);
    let values: Vec<f64> = table.iter().map(|row| number(row[1])).collect();
    let sums = cusum(&values, 325.0, 0.3175);
    assert_eq!(sums.len(), 20);
    for (sums, row) in sums.iter().zip(&table) {
        assert!(
            (sums.high - number(row[8])).abs() < 0.0051,
            "{}: {} {}",
            row[0],
            sums.high,
            row[8]
        );
        assert!((sums.low - number(row[9])).abs() < 0.0051, "{}: {} {}", row[0], sums.low, row[9]);
        assert!((sums.high - number(row[3])).abs() < 1e-9);
    }
    let first = sums.iter().position(|sums| sums.high > 4.1959 || sums.low > 4.1959);
    assert_eq!(first, Some(13), "group 14 is the first that is starred");
}

fn normal(rng: &mut Pcg64) -> f64 {
    StandardNormal.sample(rng)
}

/// A day of six coats that scatter by 12 %, the day itself by 4 % (M), off by so much.
fn day(rng: &mut Pcg64, off: f64) -> Day {
    let mut day = Day::default();
    let here = off + 0.04 * normal(rng);
    for _ in 0..6 {
        day.add(here + 0.12 * normal(rng));
    }
    day
}

fn days(rng: &mut Pcg64, count: usize, off: impl Fn(usize) -> f64) -> Vec<Day> {
    (0..count).map(|n| day(rng, off(n))).collect()
}

fn drifts(days: &[Day]) -> Option<f64> {
    match health(days).unwrap().course {
        Course::Drifts { by, .. } => Some(by),
        _ => None,
    }
}

/// The first day, after those of the usual, at which a drift is called out.
fn called_at(days: &[Day]) -> Option<usize> {
    (BASE..days.len()).find(|n| drifts(&days[..=*n]).is_some()).map(|n| n - BASE)
}

#[test]
fn a_sound_sprayer_is_let_be_and_a_worn_tip_is_seen_within_weeks() {
    const SERIES: usize = 400;
    let mut rng = Pcg64::seed_from_u64(17);
    let called: usize =
        (0..SERIES).filter(|_| called_at(&days(&mut rng, BASE + 40, |_| 0.03)).is_some()).count();
    assert!(
        called * 100 <= SERIES * 9,
        "{called} of {SERIES} sound ones were called out in 40 days"
    );
    let wears = |n: usize| 0.01 * n.saturating_sub(BASE) as f64;
    let mut seen: Vec<usize> =
        (0..SERIES).filter_map(|_| called_at(&days(&mut rng, BASE + 40, wears))).collect();
    assert!(seen.len() * 100 >= SERIES * 99, "{} of {SERIES} worn tips were seen", seen.len());
    seen.sort_unstable();
    assert!(
        (8..=16).contains(&seen[seen.len() / 2]),
        "half of them by day {}",
        seen[seen.len() / 2]
    );
    // A step is told with its size and its sign.
    for step in [0.2, -0.2] {
        let worn = days(&mut rng, BASE + 12, |n| if n < BASE { 0.0 } else { step });
        let by = drifts(&worn).unwrap();
        assert!((by - (f64::exp(step) - 1.0)).abs() < 0.1, "{by} is not {step}");
    }
}

#[test]
fn two_coats_far_below_are_no_chance_and_one_is() {
    let mut rng = Pcg64::seed_from_u64(3);
    let usual = days(&mut rng, 6, |_| 0.0);
    assert!(fell(&usual, [-0.6, -0.6]).is_some_and(|by| (-0.55..-0.35).contains(&by)));
    assert_eq!(fell(&usual, [-0.6, 0.0]), None);
    assert_eq!(fell(&usual, [-0.2, -0.2]), None, "that is what a hand does");
    assert_eq!(fell(&usual[..1], [-0.6, -0.6]), None, "six coats know no usual");
    // So many series of forty coats: none is called out.
    let called = (0..200).filter(|_| {
        let before = days(&mut rng, 6, |_| 0.0);
        let next: Vec<f64> = (0..40).map(|_| 0.12 * normal(&mut rng)).collect();
        next.windows(2).any(|two| fell(&before, [two[0], two[1]]).is_some())
    });
    assert!(called.count() <= 1);
}

/// Of ten degrees of freedom the 5 and 95 % points of chi square are 3.940 and 18.307 (printed tables; M).
#[test]
fn a_scatter_of_few_coats_says_how_little_it_knows() {
    let mut one = Day::default();
    for off in [0.0, 0.1, -0.1, 0.05, -0.05, 0.12, -0.12, 0.02, -0.02, 0.08, -0.08] {
        one.add(off);
    }
    let mut single = Day::default();
    single.add(0.3);
    let (at, from, upto) = scatter_90(&[one, single]).unwrap();
    assert!(agree(from, at * (10.0f64 / 18.307).sqrt(), 1e-4), "{from}");
    assert!(agree(upto, at * (10.0f64 / 3.940).sqrt(), 1e-4), "{upto}");
    assert_eq!(scatter_90(&[one]), None, "eleven coats are too few");
    assert_eq!(health(&[]), None);
    assert!(matches!(health(&[one]).unwrap().course, Course::Learning(9)));
}
