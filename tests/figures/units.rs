//! Units against NIST SP 811 (2008), appendix B, as `data/units.csv` holds them (factors M, recomputed from
//! the defining integers).

use dwell::figures::units::table::{self, Kind};
use dwell::figures::units::{
    Centimetres, Grams, GramsPerSquareMetre, Rectangle, Span, Temperature,
};

use super::{agree, reference, rows};

/// Units of the file that nothing in the trade is written in here.
const NOT_READ: [&str; 12] = [
    "fl oz (US)",
    "pt (US liquid)",
    "gal (US)",
    "lbf",
    "psi",
    "bar",
    "atm",
    "g/m2",
    "ft3/min",
    "inHg (conventional)",
    "mmHg (conventional)",
    "mi",
];

/// What the program makes of one of a unit, in the unit that the file converts it to.
fn one(from: &str, to: &str) -> Option<f64> {
    let symbol = from.strip_suffix(" (avdp)").unwrap_or(from);
    let unit = table::all().find(|unit| unit.symbol == symbol)?;
    Some(match (unit.kind, to) {
        (Kind::Length, "m") => unit.worth / 100.0,
        (Kind::Mass, "kg") => unit.worth / 1000.0,
        (Kind::Coat, "g/m2") => unit.worth,
        _ => return None,
    })
}

#[test]
fn every_unit_that_is_read_is_worth_what_sp_811_says() {
    let text = reference("units.csv");
    let mut checked = Vec::new();
    for row in rows(&text, 3) {
        let (from, to, factor) = (row[0], row[1], row[2]);
        match one(from, to) {
            Some(found) => {
                let wanted: f64 = factor.parse().unwrap();
                assert!(agree(found, wanted, 1e-12), "{from}: {found}, not {wanted} {to}");
                checked.push(from);
            }
            None if from == "degF" => assert_eq!(factor, "(t-32)/1.8"),
            None => assert!(NOT_READ.contains(&from), "{from} is in the file and not looked at"),
        }
    }
    assert_eq!(checked, ["in", "ft", "yd", "lb", "oz (avdp)", "oz/yd2", "g/in2"]);
}

/// "g/m2 to g/in2" is the way back of a row: 0.00064516 exactly (SP 811).
#[test]
fn a_gram_on_a_square_inch_goes_back_exactly() {
    let there = "0.00064516 g/in2".parse::<GramsPerSquareMetre>().unwrap().0;
    assert!(agree(there, 1.0, 1e-12), "{there}");
}

/// t/C = (t/F - 32) / 1.8 (SP 811, 4.2.1.1 and B.8), at the fixed points of both scales and where they meet.
#[test]
fn fahrenheit_and_celsius_meet_where_they_must() {
    for (fahrenheit, celsius) in
        [(32.0, 0.0), (212.0, 100.0), (-40.0, -40.0), (340.0, 1540.0 / 9.0), (446.0, 230.0)]
    {
        let read: Temperature = format!("{fahrenheit} F").parse().unwrap();
        assert!((read.as_celsius() - celsius).abs() < 1e-9, "{fahrenheit} F");
        let back = Temperature::celsius(celsius).as_fahrenheit();
        assert!((back - fahrenheit).abs() < 1e-9, "{celsius} C");
    }
}

/// Metric prefixes are powers of ten by definition (SI).
#[test]
fn one_length_reads_the_same_in_every_unit() {
    let written = ["30.48 cm", "304.8 mm", "0.3048 m", "12 in", "1 ft", "12\""];
    for text in written {
        let length = text.parse::<Centimetres>().unwrap();
        assert!(agree(length.0, 30.48, 1e-12), "{text}: {} cm", length.0);
        assert!(agree(length.as_inches(), 12.0, 1e-12), "{text}");
    }
    assert!(agree("0.4 kg".parse::<Grams>().unwrap().0, 400.0, 1e-12));
}

/// 12 in x 14 in = 168 square inches of 6.4516 cm2 (SP 811).
#[test]
fn an_area_is_the_product_of_its_sides_in_either_unit() {
    let inches: Rectangle = "12 in x 14 in".parse().unwrap();
    assert!(agree(inches.area().0, 168.0 * 6.4516, 1e-12));
    let metric: Rectangle = "30.48 cm x 35.56 cm".parse().unwrap();
    assert!(agree(metric.area().0, inches.area().0, 1e-12));
    let platen: Rectangle = "16 in x 12 in".parse().unwrap();
    assert!(inches.fits_on(platen), "the other way round it lies on it");
    assert!(!platen.fits_on(inches));
}

#[test]
fn a_span_is_as_long_as_its_words_say() {
    for (text, seconds) in [
        ("15s", 15.0),
        ("1min 30s", 90.0),
        ("90s", 90.0),
        ("500ms", 0.5),
        ("1h", 3600.0),
        ("1day", 86_400.0),
        ("3weeks", 1_814_400.0),
    ] {
        assert!(agree(text.parse::<Span>().unwrap().as_seconds(), seconds, 1e-12), "{text}");
    }
}
