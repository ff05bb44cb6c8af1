//! Made-up shops, each another kind: what holds it back, how much there is of everything, how quick it is, and what
//! its profile says wrongly. All invented, so that forecasts meet more than one shop before they meet a real one.

use std::sync::Arc;
use std::time::Duration;

use rand::{RngExt, SeedableRng};
use rand_distr::{Distribution, LogNormal};
use rand_pcg::Pcg64;

use super::crew::{Crew, Rests};
use super::operator::Operator;
use super::shift::{self, BEGINS};
use crate::figures::artwork::Limits;
use crate::figures::units::{Colour, Span};
use crate::shop::facts::order::Artwork;
use crate::shop::facts::recipe::Recipe;
use crate::shop::facts::station::{Break, ClockTime, HandTimes, Station};
use crate::shop::rules::command::Command;

/// What holds a made-up shop back.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub enum HeldBack {
    Printer,
    Press,
    Hands,
    Spraying,
    /// Whatever it is, people rest besides, and their profile does not know all of it.
    Breaks,
}

impl HeldBack {
    /// Shops take turns.
    pub const ALL: [HeldBack; 5] =
        [Self::Printer, Self::Press, Self::Hands, Self::Spraying, Self::Breaks];

    pub fn words(self) -> &'static str {
        match self {
            Self::Printer => "printer",
            Self::Press => "press",
            Self::Hands => "hands",
            Self::Spraying => "spraying",
            Self::Breaks => "breaks",
        }
    }
}

/// A made-up shop.
#[derive(Debug, Clone)]
pub struct MadeUp {
    pub held_back: HeldBack,
    pub garments: u32,
    pub presses: usize,
    pub crew: Crew,
    /// How long a cure really is, by the recipes that are kept there.
    cure: Duration,
    /// What the profile says of hands and printer, rightly or not.
    says: HandTimes,
    breaks: Vec<Break>,
}

/// No made-up shift is longer than about this.
const LONGEST_S: f64 = 12.0 * 3600.0;
/// Each made-up order is of so many garments at the most; of each four, one is printed without fluid.
const WITHOUT_FLUID: f64 = 0.25;

impl MadeUp {
    /// The shop with a number, counted from 1: always the same.
    pub fn of(no: u64) -> Self {
        const SHOPS: u64 = 0xd3e1_15ee_0b0a_4d00;
        let mut rng = Pcg64::seed_from_u64(SHOPS ^ no);
        let kinds = HeldBack::ALL.len();
        let place = usize::try_from(no.wrapping_sub(1) % kinds as u64).unwrap_or(0);
        let held_back = HeldBack::ALL[place];
        let presses = rng.random_range(1..=4usize);
        let people = rng.random_range(1..=3usize);
        let printers = rng.random_range(1..=3usize);
        let mut crew = Crew {
            people: (0..people).map(|_| drawn(&mut rng, 1.0, 0.12)).collect(),
            times: times(&mut rng),
            print_scatter: rng.random_range(0.03..0.18),
            scatter: rng.random_range(0.12..0.3),
            printers,
            rests: Rests::default(),
        };
        let mut cure = rng.random_range(60.0..180.0);
        hold_back(held_back, &mut rng, presses, &mut crew, &mut cure);
        let breaks = rests(held_back, &mut rng, &mut crew);
        let slowest = Loads::of(presses, &crew, cure).most();
        let wanted = f64::from(rng.random_range(40..=250u32));
        #[expect(clippy::cast_possible_truncation, clippy::cast_sign_loss, reason = "40 to 250")]
        let garments = wanted.min((LONGEST_S / slowest).floor()).max(40.0) as u32;
        let says = says(&mut rng, crew.times);
        let cure = Duration::from_secs_f64(cure.round());
        Self { held_back, garments, presses, crew, cure, says, breaks }
    }

    /// What its profile says.
    pub fn station(&self, profile: &Station) -> Station {
        let mut station = shift::station(profile, self.presses);
        station.printers = u8::try_from(self.crew.printers).unwrap_or(1);
        station.hands = self.says;
        station.breaks = self.breaks.clone();
        station.time_zone = Some("UTC".to_owned());
        station
    }

    /// A recipe with the shop's own cure.
    fn recipe(&self, recipe: &Recipe) -> Recipe {
        // The printer's time is the shop's, and its profile tells it.
        let mut recipe = Recipe { print: None, ..recipe.clone() };
        recipe.cure.shortest = Span(self.cure.mul_f64(0.9));
        recipe.cure.target = Span(self.cure);
        recipe.cure.longest = Span(self.cure.mul_f64(1.6));
        recipe
    }

    /// The commands that open a shift of it.
    pub fn opening(
        &self,
        station: &Station,
        recipes: impl Iterator<Item = (String, Arc<Recipe>)>,
        plan: shift::Plan,
        look: impl Fn(Colour, Limits) -> Option<Artwork>,
    ) -> Vec<Command> {
        let recipes = recipes.map(|(name, recipe)| (name, Arc::new(self.recipe(&recipe))));
        let mut opening = shift::opening(station, recipes, plan, look);
        // Nobody signs in who is alone.
        let people = self.crew.people.len();
        let initials = ('A'..).take(if people > 1 { people } else { 0 });
        opening.extend(initials.map(|letter| Command::Sign(letter.to_string())));
        opening
    }

    pub fn operator(&self, seed: u64) -> Operator {
        Operator::with(seed, self.crew.clone())
    }

    /// The shift of it with a seed.
    pub fn plan(&self, seed: u64, until: Option<usize>) -> shift::Plan {
        shift::Plan { seed, garments: self.garments, presses: self.presses, until }
    }
}

fn drawn(rng: &mut Pcg64, median: f64, scatter: f64) -> f64 {
    LogNormal::new(0.0, scatter).map_or(median, |law| median * law.sample(rng))
}

/// What moves take at a shop: about what they take by default.
fn times(rng: &mut Pcg64) -> HandTimes {
    let default = HandTimes::default();
    let mut about = |of: Span| seconds(drawn(rng, of.as_seconds(), 0.25));
    HandTimes {
        load: about(default.load),
        unload: about(default.unload),
        spray: about(default.spray),
        roll: about(default.roll),
        print_load: about(default.print_load),
        print: about(default.print),
        print_unload: about(default.print_unload),
        wipe: about(default.wipe),
        weigh: about(default.weigh),
        fill: default.fill,
    }
}

fn seconds(of: f64) -> Span {
    Span(Duration::try_from_secs_f64((of.max(1.0) * 10.0).round() / 10.0).unwrap_or_default())
}

/// Seconds a garment by what holds it back, on average.
struct Loads {
    printer: f64,
    press: f64,
    hands: f64,
    spraying: f64,
}

impl Loads {
    #[expect(clippy::cast_precision_loss, reason = "a handful")]
    fn of(presses: usize, crew: &Crew, cure: f64) -> Self {
        let of = |span: Span| span.as_seconds();
        let (times, wet) = (&crew.times, 1.0 - WITHOUT_FLUID);
        let handling = of(times.load) + of(times.unload);
        let hands: f64 = crew.people.iter().map(|slow| 1.0 / slow).sum();
        let spraying = wet * (of(times.spray) + of(times.roll) + of(times.weigh));
        let press = 15.0 + cure + 2.0 * handling + wet * (40.0 + handling);
        let printing = of(times.print_load) + of(times.print_unload);
        let moves = (2.0 + wet) * handling + spraying + printing;
        Self {
            printer: (printing + of(times.print)) / crew.printers as f64,
            press: press / presses as f64,
            hands: moves / hands,
            spraying: spraying / hands,
        }
    }

    fn most(&self) -> f64 {
        self.printer.max(self.press).max(self.hands)
    }
}

/// Makes something hold the shop back, by a fifth to four fifths more than the next.
fn hold_back(what: HeldBack, rng: &mut Pcg64, presses: usize, crew: &mut Crew, cure: &mut f64) {
    let times = |span: Span, factor: f64| seconds(span.as_seconds() * factor);
    let over = rng.random_range(1.1..1.6);
    // A step at a time: what one thing takes changes what another does.
    for _ in 0..40 {
        let loads = Loads::of(presses, crew, *cure);
        let hands = &mut crew.times;
        match what {
            HeldBack::Printer if loads.printer < over * loads.press.max(loads.hands) => {
                hands.print = times(hands.print, 1.1);
            }
            HeldBack::Press if loads.press < over * loads.printer.max(loads.hands) => {
                *cure = (*cure * 1.05).min(360.0);
                hands.print = times(hands.print, 0.92);
                hands.spray = times(hands.spray, 0.95);
            }
            HeldBack::Hands if loads.hands < over * loads.printer.max(loads.press) => {
                hands.print = times(hands.print, 0.92);
                *cure = (*cure * 0.95).max(45.0);
                (hands.load, hands.unload) = (times(hands.load, 1.05), times(hands.unload, 1.05));
                hands.print_load = times(hands.print_load, 1.05);
            }
            HeldBack::Spraying
                if loads.hands < over * loads.printer.max(loads.press)
                    || loads.spraying < 0.55 * loads.hands =>
            {
                hands.print = times(hands.print, 0.94);
                *cure = (*cure * 0.96).max(60.0);
                hands.spray = times(hands.spray, 1.06);
            }
            _ => return,
        }
    }
}

/// When people rest, and what of it the profile says.
fn rests(what: HeldBack, rng: &mut Pcg64, crew: &mut Crew) -> Vec<Break> {
    if what != HeldBack::Breaks {
        return Vec::new();
    }
    let minutes = |minutes: f64| Duration::from_secs_f64((minutes * 60.0).round());
    // 12:00 for half an hour and 15:00 for a quarter, give or take; in one shop of three longer than the profile says.
    let mut said = Vec::new();
    for (hours, lasts) in [(4.0, 30.0), (7.0, 15.0)] {
        let longer = if rng.random_range(0..3) == 0 { 1.3 } else { 1.0 };
        let at = minutes(hours * 60.0 + rng.random_range(0.0..6.0));
        crew.rests.together.push((at, minutes(lasts * longer)));
        let begins = BEGINS.at.plus(minutes(hours * 60.0)).timestamp();
        let at = begins.map(|at| at.to_zoned_datetime(jiff::tz::TimeZone::UTC).time());
        said.extend(at.map(|at| Break { at: ClockTime(at), lasts: Span(minutes(lasts)) }));
    }
    if rng.random_range(0..3) > 0 {
        let (every, lasts) = (rng.random_range(45.0..120.0), rng.random_range(6.0..14.0));
        crew.rests.now_and_then = Some((minutes(every), minutes(lasts)));
    }
    said
}

/// What the profile says of hands and printer: the printer's time is wrong in half of the shops, a hand time in a third.
fn says(rng: &mut Pcg64, times: HandTimes) -> HandTimes {
    let mut said = |of: Span, wrong_in: f64, scatter: f64| {
        let factor = drawn(rng, 1.0, scatter);
        let wrong = rng.random_range(0.0..1.0) < wrong_in;
        seconds(of.as_seconds() * if wrong { factor } else { 1.0 })
    };
    HandTimes {
        load: said(times.load, 0.3, 0.3),
        unload: said(times.unload, 0.3, 0.3),
        spray: said(times.spray, 0.3, 0.3),
        roll: said(times.roll, 0.3, 0.3),
        print_load: said(times.print_load, 0.3, 0.3),
        print: said(times.print, 0.5, 0.35),
        print_unload: said(times.print_unload, 0.3, 0.3),
        wipe: said(times.wipe, 0.3, 0.3),
        weigh: said(times.weigh, 0.3, 0.3),
        fill: times.fill,
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    /// What is said to hold a shop back does, by the seconds that a garment takes of each: in four of five shops.
    #[test]
    fn what_holds_a_shop_back_is_what_it_says() {
        let mut right = 0;
        for no in 1..=100 {
            let shop = MadeUp::of(no);
            let loads = Loads::of(shop.presses, &shop.crew, shop.cure.as_secs_f64());
            let most = loads.most();
            right += usize::from(match shop.held_back {
                HeldBack::Printer => loads.printer >= most,
                HeldBack::Press => loads.press >= most,
                HeldBack::Hands => loads.hands >= most,
                HeldBack::Spraying => loads.hands >= most && loads.spraying > 0.45 * loads.hands,
                HeldBack::Breaks => !shop.breaks.is_empty(),
            });
        }
        assert!(right >= 80, "{right} of 100");
    }

    #[test]
    fn the_same_number_is_the_same_shop_and_another_is_another() {
        let told = |no| format!("{:?}", MadeUp::of(no));
        assert_eq!(told(7), told(7));
        assert_ne!(told(7), told(12));
    }
}
