//! What the made-up garments weigh, how the made-up hand sprays them, and how their steam goes.
//!
//! Invented for the demo, like the hand times. The steam alone is computed, by the same balance that the board
//! learns from, with a contact coefficient for each press that the board has to find out.

use rand::{RngExt, SeedableRng};
use rand_distr::{Distribution, Normal};
use rand_pcg::Pcg64;

use crate::figures::steam::SteamConditions;
use crate::figures::units::{CM2_PER_M2, Grams, SquareCentimetres, Temperature};
use crate::shop::Shop;
use crate::shop::books::coats::WeightWanted;
use crate::shop::facts::ids::{PressNo, Tag};
use crate::shop::floor::press::Load;

/// Weights of a blank, in grams.
const BLANK_G: (f64, f64) = (148.0, 176.0);
/// The coat as a part of its target: the mean, how widely it scatters, and the most that a day's drift adds.
const COAT: (f64, f64) = (0.98, 0.05);
const DRIFT: f64 = 0.22;
/// So many garments go by before the drift is whole: the nozzle wears, the hand tires.
const DRIFT_OVER: f64 = 400.0;
/// Contact coefficient of the first press, W/(m2 K), and how much each further one differs.
const CONTACT: (f64, f64) = (300.0, 14.0);
/// Seconds by which a person is off in seeing the steam stop.
const EYE_S: f64 = 0.5;
/// Degrees Celsius by which a platen's corners are colder, and how its readings scatter.
const CORNER_C: f64 = 2.2;
const READING_C: f64 = 0.5;

/// The garments' own truth. The same seed makes the same ones.
pub struct Coats {
    rng: Pcg64,
    /// The garment that is being weighed, dry, and its coat.
    on_scale: Option<(Tag, Grams)>,
    sprayed: f64,
}

impl Coats {
    pub fn new(seed: u64) -> Self {
        const OTHER_STREAM: u64 = 0x5ca1_e5ca_1e5c_a1e5;
        Self { rng: Pcg64::seed_from_u64(seed ^ OTHER_STREAM), on_scale: None, sprayed: 0.0 }
    }

    /// What the scale shows.
    pub fn weight(&mut self, shop: &Shop, wanted: WeightWanted) -> Grams {
        let before = match self.on_scale {
            Some((tag, grams)) if tag == wanted.garment => grams,
            _ => tenth(self.rng.random_range(BLANK_G.0..BLANK_G.1)),
        };
        self.on_scale = Some((wanted.garment, before));
        if wanted.coated { tenth(before.0 + self.coat(shop, wanted.garment).0) } else { before }
    }

    /// Another garment was sprayed.
    pub fn spray(&mut self) {
        self.sprayed += 1.0;
    }

    /// A coat as the hand lays it at this hour of the shift.
    fn coat(&mut self, shop: &Shop, tag: Tag) -> Grams {
        const SOME: Grams = Grams(29.0);
        let right = shop.garment(tag).and_then(|garment| shop.grams_right(garment)).unwrap_or(SOME);
        let drift = DRIFT * (self.sprayed / DRIFT_OVER).min(1.0);
        let part = self.drawn(COAT.0 + drift, COAT.1).clamp(0.5, 1.6);
        Grams(right.0 * part)
    }

    /// The second after its key at which the steam of a load stops, as an eye would see it: while the platen hovers, it
    /// has not begun.
    pub fn steam(&mut self, shop: &Shop, press: PressNo, load: &Load) -> Option<f64> {
        let garment = shop.garment(load.garment)?;
        let weighed = garment.weighed.and_then(|weighing| weighing.coat());
        let grams = weighed.unwrap_or_else(|| self.coat(shop, load.garment));
        let bench = SteamConditions {
            plate: shop.setting(press)?.dial,
            area: SquareCentimetres(CM2_PER_M2),
            cloth: shop.cloth_weight(garment)?,
            altitude_m: shop.station()?.altitude_m(),
        };
        let contact = CONTACT.0 - CONTACT.1 * f64::from(press.0 - 1);
        let coat = Grams(shop.coverage(garment)?.per_area(grams).0);
        let seconds = bench.seconds(coat, contact).ok()?;
        let seen = (seconds + self.drawn(0.0, EYE_S)).max(1.0);
        Some(shop.pressing(load)?.steam_from_key(seen))
    }

    /// Nine readings of a platen: its corners are a little cold, as corners are.
    pub fn readings(&mut self, dial: Temperature) -> Vec<Vec<Temperature>> {
        let mut reading = |row: usize, column: usize| {
            let corner = row != 1 && column != 1;
            let off = if corner { -CORNER_C } else { 0.0 } + self.drawn(0.0, READING_C);
            dial.of_celsius((dial.as_celsius() + off).round())
        };
        (0..3).map(|row| (0..3).map(|column| reading(row, column)).collect()).collect()
    }

    fn drawn(&mut self, mean: f64, deviation: f64) -> f64 {
        Normal::new(mean, deviation).map_or(mean, |law| law.sample(&mut self.rng))
    }
}

/// Grams as a bench scale shows them.
fn tenth(grams: f64) -> Grams {
    Grams((grams * 10.0).round() / 10.0)
}
