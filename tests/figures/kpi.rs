//! Figures of manufacturing by ISO 22400-2.
//!
//! Worked example: Willmott and McCarthy, TPM: A Route to World-Class Performance (2001), pp. 127-128 (S, V:
//! tests/data/README.md, section 8): 910 min planned, 127 down, cycle 3 min, 203 completed, 152 right first time:
//! 86.0 %, 77.7 %, 74.9 %, OEE 50 %; exactly 86.044, 77.778, 74.877, 50.110.

use dwell::figures::kpi::Elements;

fn near(found: Option<f64>, percent: f64) -> bool {
    found.is_some_and(|found| (found * 100.0 - percent).abs() < 5e-4)
}

#[test]
fn the_worked_example_comes_out() {
    // Time in use counts as production time there, so what is slower than the cycle shows in the effectiveness.
    let day =
        Elements { apt: 783.0, pbt: 910.0, pri: 3.0, pq: 203.0, gq: 152.0, ..Elements::default() };
    let ratios = day.ratios();
    assert!(near(ratios.availability, 86.044), "{ratios:?}");
    assert!(near(ratios.effectiveness, 77.778), "{ratios:?}");
    assert!(near(ratios.quality_ratio, 74.877), "{ratios:?}");
    assert!(near(ratios.oee_index, 50.110), "{ratios:?}");
    // As it must: good items at their planned time, over the planned time.
    assert!(near(ratios.oee_index, 3.0 * 152.0 / 910.0 * 100.0));
}

/// Effectiveness may exceed 100 % (stated in the source); over nothing there is no ratio.
#[test]
fn a_plan_can_be_beaten_and_nothing_has_no_ratio() {
    let fast = Elements { apt: 100.0, pri: 3.0, pq: 40.0, gq: 40.0, ..Elements::default() };
    assert!(near(fast.ratios().effectiveness, 120.0));
    let none = Elements::default().ratios();
    let all = [
        none.availability,
        none.effectiveness,
        none.quality_ratio,
        none.oee_index,
        none.first_pass_yield,
    ];
    assert!(all.iter().all(Option::is_none), "{none:?}");
}
