//! What the steam says: the second at which it stops tells how heavy the coat was.
//!
//! A lumped balance. Plate and cloth touch with one coefficient h; cloth and water warm up together to the
//! boiling point, then the plate boils the water off at that temperature:
//!
//! ```text
//! t = (1/h) X(m),   X = C(m)/A ln((Tp - T0)/(Tp - Ts)) + m L / (A (Tp - Ts)),   C = m cw + M cc
//! ```
//!
//! M is the cloth's own weight: known where it was weighed, else as is usual. So the second is proportional to X, and 1/h
//! is the slope of a line through the origin. The model leaves out what the cover takes up, and that vapour may hinder
//! itself; h takes both in, which is why it is fitted for each press, recipe and kind of cover (paper lets steam through and
//! takes up water, a PTFE sheet does neither) and never taken from a book.
//!
//! One mistyped pair would draw that line anywhere, so it is a robust one: see `robust`.

use super::line::{NoLine, ThroughOrigin, through_origin};
use super::robust;
use super::units::{CM2_PER_M2, Grams, GramsPerSquareMetre, SquareCentimetres, Temperature};
use super::water;

/// Between these, in W/(m2 K), a contact coefficient is believable (tests/data/README.md, section 13).
pub const BELIEVABLE_H: (f64, f64) = (50.0, 1000.0);
/// Cotton's specific heat, kJ/(kg K): 1.22 to 1.35 (Morton and Hearle, table 6.1).
const CLOTH_HEAT: f64 = 1.28;
/// Weight of the cloth where nobody has weighed it, from memory: a common garment, of cotton.
pub const USUAL_CLOTH: GramsPerSquareMetre = GramsPerSquareMetre(180.0);
/// Weights that differ by less than this share say nothing of how the second depends on them.
const LEAST_SPREAD: f64 = 0.02;
/// Where it starts from, in degrees Celsius.
const ROOM_C: f64 = 20.0;

/// The press, the place, the area and the cloth.
#[derive(Debug, Clone, Copy)]
pub struct SteamConditions {
    pub plate: Temperature,
    pub area: SquareCentimetres,
    /// What the cloth itself weighs, dry.
    pub cloth: GramsPerSquareMetre,
    /// Height above sea level in metres.
    pub altitude_m: f64,
}

/// A plate that boils nothing.
#[derive(Debug, Clone, PartialEq, thiserror::Error)]
pub enum NoSteam {
    #[error("a plate at {plate} does not boil water, which boils at {boiling_c:.1} C here")]
    TooCold { plate: Temperature, boiling_c: f64 },
    #[error("the pairs carry no line: {0}")]
    Line(#[from] NoLine),
    #[error("the pairs give no contact coefficient: more grams must mean more seconds")]
    Backwards,
    #[error("{grams} g with {seconds} s: expected a coat and a time above 0")]
    NoPair { grams: f64, seconds: f64 },
    #[error(
        "{} far off the others, and {left} are left: expected at least 3 that agree; weigh more coats, or check that one",
        pairs_are(far)
    )]
    FarOff { far: Vec<usize>, left: usize },
    #[error("all weights are alike: weigh a light and a heavy coat too")]
    AllAlike,
}

/// A weighed coat, the second at which its steam stopped under a shut platen, and the cloth that it was on.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Steamed {
    pub grams: Grams,
    pub seconds: f64,
    pub cloth: GramsPerSquareMetre,
}

/// A press that has been learned.
#[derive(Debug, Clone)]
pub struct Learned {
    bench: SteamConditions,
    line: ThroughOrigin,
    far_off: Vec<usize>,
}

/// Places in a list as people count them, from 1: "pair 2 is", "pairs 2, 5 are".
fn pairs_are(places: &[usize]) -> String {
    let numbers: Vec<String> = places.iter().map(|place| (place + 1).to_string()).collect();
    match numbers.as_slice() {
        [one] => format!("pair {one} is"),
        all => format!("pairs {} are", all.join(", ")),
    }
}

/// Grams of water, with the interval that holds them with 95 % probability.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Estimate {
    pub grams: Grams,
    pub low: Grams,
    pub high: Grams,
}

impl SteamConditions {
    /// Where water boils here, in degrees Celsius.
    pub fn boiling_c(&self) -> f64 {
        water::boiling_at(water::pressure_at(self.altitude_m))
    }

    /// What boiling takes here, in kJ/kg.
    pub fn latent(&self) -> f64 {
        water::latent_heat(self.boiling_c())
    }

    /// X = base + per_gram m, in J/(m2 K).
    fn terms(&self) -> Result<(f64, f64), NoSteam> {
        let (plate, boiling) = (self.plate.as_celsius(), self.boiling_c());
        if plate <= boiling + 1.0 {
            return Err(NoSteam::TooCold { plate: self.plate, boiling_c: boiling });
        }
        let warm_up = ((plate - ROOM_C) / (plate - boiling)).ln();
        let area = self.area.0 / CM2_PER_M2;
        // 1 kJ/kg is 1 J/g, so grams need no further factor.
        let base = self.cloth.0 * CLOTH_HEAT * warm_up;
        let per_gram = (water::WATER_HEAT * warm_up + self.latent() / (plate - boiling)) / area;
        Ok((base, per_gram))
    }

    /// Learns from coats that were all on this cloth: [`SteamConditions::learn_from`].
    ///
    /// # Errors
    /// As there.
    pub fn learn(&self, pairs: &[(Grams, f64)]) -> Result<Learned, NoSteam> {
        let on_this =
            |&(grams, seconds): &(Grams, f64)| Steamed { grams, seconds, cloth: self.cloth };
        self.learn_from(&pairs.iter().map(on_this).collect::<Vec<_>>())
    }

    /// Learns the contact coefficient from weighed coats, each on its own cloth, and the seconds at which their steam
    /// stopped. Pairs that are far off the others are left out.
    ///
    /// # Errors
    /// Fewer than three pairs, or fewer that agree; pairs that are all alike or run backwards, a plate that boils nothing.
    pub fn learn_from(&self, pairs: &[Steamed]) -> Result<Learned, NoSteam> {
        let none = pairs.iter().find(|pair| !(pair.grams.0 > 0.0 && pair.seconds > 0.0));
        if let Some(&Steamed { grams: Grams(grams), seconds, .. }) = none {
            return Err(NoSteam::NoPair { grams, seconds });
        }
        let point = |pair: &Steamed| {
            let (base, per_gram) = Self { cloth: pair.cloth, ..*self }.terms()?;
            Ok((base + per_gram * pair.grams.0, pair.seconds))
        };
        let points: Vec<(f64, f64)> = pairs.iter().map(point).collect::<Result<_, NoSteam>>()?;
        let far_off = robust::far_off(&points)?;
        let (points, pairs) = (without(&points, &far_off), without(pairs, &far_off));
        if pairs.len() < 3 {
            return Err(NoSteam::FarOff { far: far_off, left: pairs.len() });
        }
        let (pairs, line) = (pairs.as_slice(), through_origin(&points)?);
        let (least, most) = (extent(pairs, f64::INFINITY, f64::min), extent(pairs, 0.0, f64::max));
        if most - least < LEAST_SPREAD * most {
            return Err(NoSteam::AllAlike);
        }
        if line.slope <= 0.0 || !line.slope.is_finite() || runs_backwards(pairs) {
            return Err(NoSteam::Backwards);
        }
        Ok(Learned { bench: *self, line, far_off })
    }

    /// The second at which the steam of a coat stops, with a contact coefficient h in W/(m2 K).
    ///
    /// # Errors
    /// A plate that boils nothing.
    pub fn seconds(&self, grams: Grams, h: f64) -> Result<f64, NoSteam> {
        let (base, per_gram) = self.terms()?;
        Ok((base + per_gram * grams.0) / h)
    }

    /// The grams whose steam stops at a second, with a contact coefficient h in W/(m2 K).
    ///
    /// # Errors
    /// A plate that boils nothing.
    pub fn grams(&self, seconds: f64, h: f64) -> Result<Grams, NoSteam> {
        let (base, per_gram) = self.terms()?;
        Ok(Grams(((seconds * h - base) / per_gram).max(0.0)))
    }

    /// Heat in, sensible heat and latent heat, in J, for a coat dried with a coefficient h: the balance that
    /// must close.
    ///
    /// # Errors
    /// A plate that boils nothing.
    pub fn balance(&self, grams: Grams, h: f64) -> Result<[f64; 3], NoSteam> {
        let seconds = self.seconds(grams, h)?;
        let (plate, boiling) = (self.plate.as_celsius(), self.boiling_c());
        let area = self.area.0 / CM2_PER_M2;
        let capacity = grams.0 * water::WATER_HEAT + self.cloth.0 * area * CLOTH_HEAT;
        let warm_up = capacity / (h * area) * ((plate - ROOM_C) / (plate - boiling)).ln();
        // Heat in while warming up: the integral of h A (Tp - T) with T approaching the plate exponentially.
        let decay = (-h * area * warm_up / capacity).exp();
        let warming = capacity * (plate - ROOM_C) * (1.0 - decay);
        let boil_off = h * area * (plate - boiling) * (seconds - warm_up);
        Ok([warming + boil_off, capacity * (boiling - ROOM_C), grams.0 * self.latent()])
    }
}

/// A list without what stands in some of its places.
fn without<T: Copy>(list: &[T], places: &[usize]) -> Vec<T> {
    let kept = list.iter().enumerate().filter(|(n, _)| !places.contains(n));
    kept.map(|(_, one)| *one).collect()
}

/// The least or the greatest of the weights.
fn extent(pairs: &[Steamed], start: f64, better: impl Fn(f64, f64) -> f64) -> f64 {
    pairs.iter().map(|pair| pair.grams.0).fold(start, better)
}

/// Whether heavier coats steamed for a shorter time: then what was weighed is not what steamed.
fn runs_backwards(pairs: &[Steamed]) -> bool {
    let count = pairs.len() as f64;
    let mean = |of: fn(&Steamed) -> f64| pairs.iter().map(of).sum::<f64>() / count;
    let (grams, seconds) = (mean(|pair| pair.grams.0), mean(|pair| pair.seconds));
    pairs.iter().map(|pair| (pair.grams.0 - grams) * (pair.seconds - seconds)).sum::<f64>() < 0.0
}

impl Learned {
    /// The same press under another cloth.
    pub fn on(mut self, cloth: GramsPerSquareMetre) -> Self {
        self.bench.cloth = cloth;
        self
    }

    /// The contact coefficient, W/(m2 K).
    pub fn h(&self) -> f64 {
        1.0 / self.line.slope
    }

    /// The places, from 0, of the pairs that were left out: they are far off the others.
    pub fn far_off(&self) -> &[usize] {
        &self.far_off
    }

    /// Whether the coefficient is one that cloth on a plate can have.
    pub fn is_believable(&self) -> bool {
        (BELIEVABLE_H.0..=BELIEVABLE_H.1).contains(&self.h())
    }

    /// The second at which the steam of a coat stops.
    ///
    /// # Errors
    /// A plate that boils nothing.
    pub fn seconds(&self, grams: Grams) -> Result<f64, NoSteam> {
        self.bench.seconds(grams, self.h())
    }

    /// What a second says of the coat.
    ///
    /// # Errors
    /// A plate that boils nothing.
    pub fn estimate(&self, seconds: f64) -> Result<Estimate, NoSteam> {
        let (base, per_gram) = self.bench.terms()?;
        let grams = |seconds: f64| Grams(((seconds / self.line.slope - base) / per_gram).max(0.0));
        let margin = self.line.prediction(seconds / self.line.slope);
        Ok(Estimate {
            grams: grams(seconds),
            low: grams(seconds - margin),
            high: grams(seconds + margin),
        })
    }
}
