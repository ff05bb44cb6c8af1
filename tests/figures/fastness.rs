//! Colour fastness: the grey scale for change in colour.
//!
//! Steps of the scale: ISO 105-A02, by the publisher's preview of EN 20105-A02:1994 (S: tests/data/README.md,
//! section 11). The examples are of ISO 105-A05 by a formula that is only remembered (M); what is compared is the
//! grade of its step table, which is the nearest step of the scale. No conformity is claimed from either.

use dwell::figures::colour::Lab;
use dwell::figures::fastness::{Grade, difference};

const DATA: &str = include_str!("../data/iso105a05_examples.csv");

/// Grade, its CIELAB difference, its tolerance (ISO 105-A02, S).
const SCALE: [(&str, f64, f64); 9] = [
    ("5", 0.0, 0.2),
    ("4-5", 0.8, 0.2),
    ("4", 1.7, 0.3),
    ("3-4", 2.5, 0.35),
    ("3", 3.4, 0.4),
    ("2-3", 4.8, 0.5),
    ("2", 6.8, 0.6),
    ("1-2", 9.6, 0.7),
    ("1", 13.6, 1.0),
];

#[test]
fn each_step_and_what_lies_within_its_tolerance_has_its_grade() {
    for (grade, step, tolerance) in SCALE {
        let grade: Grade = grade.parse().unwrap();
        // Tolerances of neighbours meet; a hair within is meant.
        for off in [-tolerance, -tolerance / 2.0, 0.0, tolerance / 2.0, tolerance] {
            let delta_e = (step + off * 0.99).max(0.0);
            assert_eq!(Grade::of(delta_e), grade, "{delta_e}");
        }
    }
    assert_eq!(Grade::of(200.0).to_string(), "1");
}

#[test]
fn differences_and_grades_are_those_of_the_examples() {
    let mut rows = csv::Reader::from_reader(DATA.as_bytes());
    let mut seen = 0;
    for row in rows.records() {
        let row = row.unwrap();
        let number = |n: usize| row[n].parse::<f64>().unwrap();
        let lab = |n: usize| Lab { lightness: number(n), a: number(n + 1), b: number(n + 2) };
        let delta_e = difference(lab(0), lab(3));
        assert!((delta_e - number(6)).abs() < 5e-4, "{row:?}: {delta_e}");
        // The step table takes the corrected difference dE_F; where colours are grey it is the plain one.
        assert_eq!(Grade::of(number(7)).to_string(), &row[10], "{row:?}");
        seen += 1;
    }
    assert_eq!(seen, 12);
}

#[test]
fn a_grade_reads_as_it_is_written_and_nothing_else_does() {
    for (grade, ..) in SCALE {
        assert_eq!(grade.parse::<Grade>().unwrap().to_string(), grade);
    }
    for text in ["", "0", "6", "4.5", "4-6", "5-6", "0-1", "-4", "4-", "four", "04"] {
        assert!(text.parse::<Grade>().is_err(), "{text}");
    }
    assert!("4-5".parse::<Grade>().unwrap() > "4".parse().unwrap());
}
