//! A scale or a probe that tells its figures over a serial line: how its line is set, and what its lines of text say.

use regex_lite::Regex;
use serde::{Deserialize, Serialize};

use super::is_usual;
use crate::figures::units::{Grams, Temperature, Typed};
use crate::shop::facts::check::Senseless;
use crate::shop::facts::words::clean;

/// What is set where the profile says nothing else.
const USUAL_SPEED: u32 = 9600;
/// The speeds that a line can be set to, in bits a second.
const SPEEDS: [u32; 11] =
    [300, 600, 1200, 2400, 4800, 9600, 19_200, 38_400, 57_600, 115_200, 230_400];
/// A number and its unit with whatever before them, and no mark of a steady figure: that it is one is seen by its
/// standing still.
const USUAL_READS: &str =
    "[^0-9+-]*(?<number>[+-]? *[0-9]+(?:[.,][0-9]+)?) *(?<unit>[A-Za-z°]+)[^0-9]*";

/// A serial line and what comes over it.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Instrument {
    /// The device's file.
    pub line: String,
    /// Bits a second.
    #[serde(default = "usual_speed", skip_serializing_if = "is_usual_speed")]
    pub speed: u32,
    /// How a character stands on the line.
    #[serde(default, skip_serializing_if = "is_usual")]
    pub frame: Frame,
    /// A regular expression that a whole line matches, with the groups `number`, `unit` and `stable`.
    #[serde(default = "usual_reads", skip_serializing_if = "is_usual_reads")]
    pub reads: String,
    /// The unit of a number whose line names none.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub unit: Option<String>,
}

fn usual_speed() -> u32 {
    USUAL_SPEED
}

#[expect(clippy::trivially_copy_pass_by_ref, reason = "serde hands a reference")]
fn is_usual_speed(speed: &u32) -> bool {
    *speed == USUAL_SPEED
}

fn usual_reads() -> String {
    USUAL_READS.to_owned()
}

fn is_usual_reads(reads: &String) -> bool {
    reads == USUAL_READS
}

/// Bits of a character, its parity and its stop bits, as manuals write them: "8N1".
#[derive(Debug, Clone, Copy, Default, PartialEq, Eq, Serialize, Deserialize)]
#[serde(try_from = "String", into = "String")]
pub struct Frame {
    pub seven_bits: bool,
    /// None: no parity bit. Otherwise whether it is odd.
    pub odd: Option<bool>,
    pub two_stops: bool,
}

impl TryFrom<String> for Frame {
    type Error = String;
    fn try_from(text: String) -> Result<Self, String> {
        let wrong = || {
            let found = clean(&text, 20);
            format!(
                "found \"{found}\", expected bits, parity and stop bits such as \"8N1\" or \"7E1\""
            )
        };
        let letters: Vec<char> = text.to_ascii_uppercase().chars().collect();
        let [bits @ ('7' | '8'), parity @ ('N' | 'E' | 'O'), stops @ ('1' | '2')] = letters[..]
        else {
            return Err(wrong());
        };
        let odd = (parity != 'N').then_some(parity == 'O');
        Ok(Self { seven_bits: bits == '7', odd, two_stops: stops == '2' })
    }
}

impl From<Frame> for String {
    fn from(frame: Frame) -> String {
        let bits = if frame.seven_bits { '7' } else { '8' };
        let parity = match frame.odd {
            None => 'N',
            Some(true) => 'O',
            Some(false) => 'E',
        };
        format!("{bits}{parity}{}", if frame.two_stops { 2 } else { 1 })
    }
}

/// What an instrument shows.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum Shows {
    Weight,
    Heat,
}

impl Shows {
    /// The instrument by its name.
    pub fn name(self) -> &'static str {
        match self {
            Shows::Weight => "scale",
            Shows::Heat => "probe",
        }
    }

    /// What it shows.
    pub fn what(self) -> &'static str {
        match self {
            Shows::Weight => "weight",
            Shows::Heat => "temperature",
        }
    }

    /// The units in which it can.
    pub fn units(self) -> &'static str {
        match self {
            Shows::Weight => "g, kg, oz or lb",
            Shows::Heat => "F or C",
        }
    }

    /// In grams, or in degrees Celsius.
    fn read(self, text: &str) -> Option<f64> {
        match self {
            Shows::Weight => text.parse::<Typed<Grams>>().ok().map(|grams| grams.quantity().0),
            Shows::Heat => text.parse::<Temperature>().ok().map(Temperature::as_celsius),
        }
        .filter(|number| number.is_finite())
    }
}

/// What a line of text says.
#[derive(Debug, Clone, PartialEq)]
pub struct Found {
    /// As a person would type it: "152.4 g".
    pub text: String,
    /// In grams, or in degrees Celsius.
    pub number: f64,
    /// Whether the instrument calls it steady; None where its lines do not say.
    pub steady: Option<bool>,
}

/// Why a line of text says nothing.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum NotRead {
    /// The pattern does not find a number in it.
    Unlike,
    /// It is in a unit of something else.
    Unit(String),
}

/// A pattern that reads.
#[derive(Debug, Clone)]
pub struct Reads {
    pattern: Regex,
    marks: bool,
    unit: Option<String>,
    shows: Shows,
}

impl Reads {
    /// What a whole line of text says.
    ///
    /// # Errors
    /// It says nothing.
    pub fn line(&self, line: &str) -> Result<Found, NotRead> {
        let groups = self.pattern.captures(line.trim()).ok_or(NotRead::Unlike)?;
        let group = |name| groups.name(name).map(|found| found.as_str().trim());
        let number = plain(group("number").ok_or(NotRead::Unlike)?);
        let unit = group("unit").filter(|unit| !unit.is_empty()).or(self.unit.as_deref());
        let text = format!("{number} {}", unit.unwrap_or_default());
        let found = self.shows.read(&text).ok_or_else(|| NotRead::Unit(clean(&text, 20)))?;
        let steady = self.marks.then(|| group("stable").is_some());
        Ok(Found { text: clean(&text, 20), number: found, steady })
    }
}

/// A number as a person writes it: "+ 0152,40" is 152.40.
fn plain(number: &str) -> String {
    let plain = number.trim_start_matches('+').replace(' ', "").replace(',', ".");
    let (sign, figures) = match plain.strip_prefix('-') {
        Some(figures) => ("-", figures),
        None => ("", plain.as_str()),
    };
    let whole = figures.find('.').unwrap_or(figures.len());
    let zeros = figures.bytes().take(whole.saturating_sub(1)).take_while(|c| *c == b'0').count();
    format!("{sign}{}", &figures[zeros..])
}

impl Instrument {
    /// Whether it makes sense.
    ///
    /// # Errors
    /// The first field that does not, with the reason.
    pub fn check(&self, field: &str, shows: Shows) -> Result<(), Senseless> {
        let wrong =
            |name: &str, reason: String| Err(Senseless::new(format!("{field}.{name}"), reason));
        if !self.line.starts_with('/') {
            let found = clean(&self.line, 40);
            let reason =
                format!("found \"{found}\", expected a device's file such as \"/dev/ttyUSB0\"");
            return wrong("line", reason);
        }
        if !SPEEDS.contains(&self.speed) {
            let known: Vec<String> = SPEEDS.iter().map(u32::to_string).collect();
            let reason = format!("found {}, expected one of {}", self.speed, known.join(", "));
            return wrong("speed", reason);
        }
        let unit = self.unit.as_ref().filter(|unit| shows.read(&format!("1 {unit}")).is_none());
        if let Some(unit) = unit {
            let (found, units) = (clean(unit, 20), shows.units());
            return wrong("unit", format!("found \"{found}\", expected {units}"));
        }
        self.pattern(shows).map(drop).or_else(|reason| wrong("reads", reason))
    }

    /// How its lines are read.
    ///
    /// # Errors
    /// What is wrong with the pattern.
    pub fn pattern(&self, shows: Shows) -> Result<Reads, String> {
        // The whole line, so that half of one says nothing.
        let whole = format!("^(?:{})$", self.reads);
        let pattern = Regex::new(&whole).map_err(|reason| {
            format!(
                "{reason}; expected a regular expression such as \"(?<number>[0-9.]+) *(?<unit>g)\""
            )
        })?;
        let has = |name: &str| pattern.capture_names().flatten().any(|group| group == name);
        if !has("number") {
            return Err("expected a group (?<number>...) that finds the figures".to_owned());
        }
        if !has("unit") && self.unit.is_none() {
            return Err("expected a group (?<unit>...), or the field `unit`".to_owned());
        }
        let marks = has("stable");
        Ok(Reads { pattern, marks, unit: self.unit.clone(), shows })
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn reads(reads: &str, unit: Option<&str>, shows: Shows) -> Reads {
        let (line, unit) = ("/dev/ttyUSB0".to_owned(), unit.map(str::to_owned));
        let one =
            Instrument { line, speed: 9600, frame: Frame::default(), reads: reads.into(), unit };
        one.check("scale", shows).unwrap();
        one.pattern(shows).unwrap()
    }

    #[test]
    fn a_line_is_read_whole_or_not_at_all() {
        let usual = reads(USUAL_READS, None, Shows::Weight);
        let text = |line: &str| usual.line(line).map(|found| found.text);
        for line in ["152.4 g", "+  152.4 g", "ST,GS,+0152.4g", "  152,4 g  ", "N 152.4 g\r"] {
            assert_eq!(text(line).as_deref(), Ok("152.4 g"), "{line:?}");
        }
        assert_eq!(text("-0.2 g").as_deref(), Ok("-0.2 g"));
        assert_eq!(text("0.00 oz").as_deref(), Ok("0.00 oz"));
        for line in ["", "ERR", "g", "152.4", "15 2.4 g", "152.4 g 8", "\u{0}\u{7f}"] {
            assert_eq!(text(line), Err(NotRead::Unlike), "{line:?}");
        }
        assert_eq!(text("12 pcs"), Err(NotRead::Unit("12 pcs".into())));
        assert_eq!(text("340 F"), Err(NotRead::Unit("340 F".into())));
    }

    #[test]
    fn a_mark_tells_a_steady_figure_from_a_moving_one() {
        let marked =
            reads("(?:(?<stable>ST)|US),GS,(?<number>[+-] *[0-9.]+)", Some("g"), Shows::Weight);
        let steady = |line: &str| marked.line(line).map(|found| (found.number, found.steady));
        assert_eq!(steady("ST,GS,+  152.4"), Ok((152.4, Some(true))));
        assert_eq!(steady("US,GS,+  152.4"), Ok((152.4, Some(false))));
        assert_eq!(steady("GS,+  152.4"), Err(NotRead::Unlike));
        let probe = reads(USUAL_READS, None, Shows::Heat);
        assert_eq!(probe.line("TC: 100.0 C").map(|found| found.number), Ok(100.0));
        assert_eq!(probe.line("212 °F").map(|found| found.text), Ok("212 °F".to_owned()));
    }

    #[test]
    fn what_makes_no_sense_is_said() {
        let one = |line: &str, speed, reads: &str, unit: Option<&str>| {
            let (line, reads, unit) = (line.into(), reads.into(), unit.map(str::to_owned));
            let wrong = Instrument { line, speed, frame: Frame::default(), reads, unit };
            wrong.check("scale", Shows::Weight).unwrap_err().to_string()
        };
        assert!(one("ttyUSB0", 9600, USUAL_READS, None).contains("scale.line: found \"ttyUSB0\""));
        assert!(one("/dev/x", 9601, USUAL_READS, None).contains("expected one of 300"));
        assert!(one("/dev/x", 9600, "(", None).contains("scale.reads: "));
        assert!(one("/dev/x", 9600, "[0-9]+", None).contains("(?<number>...)"));
        assert!(one("/dev/x", 9600, "(?<number>[0-9]+)", None).contains("(?<unit>...)"));
        assert!(one("/dev/x", 9600, USUAL_READS, Some("F")).contains("expected g, kg, oz or lb"));
        assert!(Frame::try_from("9N1".to_owned()).unwrap_err().contains("8N1"));
        assert_eq!(String::from(Frame::try_from("7e2".to_owned()).unwrap()), "7E2");
    }
}
