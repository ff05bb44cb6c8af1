//! What hands take, as it is gone by: learned where there is enough to learn from, else as recipe and station say.

use std::time::Duration;

use super::{Gaps, HandBook, LeftOut, SCATTER, Stretch, Work};
use crate::figures::robust;
use crate::figures::units::Span;
use crate::shop::Shop;
use crate::shop::facts::ids::RecipeHash;
use crate::shop::facts::moment::Moment;
use crate::shop::facts::recipe::Recipe;
use crate::shop::facts::station::{HandTimes, Station};

impl Shop {
    /// What hands take for a recipe: learned where there is enough to learn from, else the station's; a print as the
    /// recipe says, where it does.
    pub fn hand_times(&self, recipe: Option<&RecipeHash>) -> Known {
        let times = self.station().map(|station| station.hands).unwrap_or_default();
        let print = recipe.and_then(|recipe| self.recipes().get(recipe)?.print);
        self.books().hands.known(times, recipe, print, &self.desk.people)
    }

    /// The same with another station's times where nothing is learned, and any recipe's text.
    pub fn hand_times_at(&self, station: &Station, recipe: Option<&Recipe>) -> Known {
        let (hash, print) = (recipe.map(Recipe::hash), recipe.and_then(|recipe| recipe.print));
        self.books().hands.known(station.hands, hash.as_ref(), print, &self.desk.people)
    }

    /// What loading a printer and its print take for a recipe.
    pub fn print_time(&self, recipe: &RecipeHash) -> Duration {
        let mut times = self.station().map(|station| station.hands).unwrap_or_default();
        let said = self.recipes().get(recipe).and_then(|recipe| recipe.print);
        times.print = said.unwrap_or(times.print);
        let hands = &self.books().hands;
        if let Some((_, typical)) =
            hands.typical(Work::Print, Some(recipe), said, &self.desk.people)
        {
            times.set(Work::Print, seconds(typical));
        }
        times.print_load.0 + times.print.0
    }
}

impl HandBook {
    /// When the newest print that was stated came out.
    pub fn last_printed(&self) -> Option<Moment> {
        self.printed.back().copied()
    }

    /// The last stretches of work, oldest first; the one under way is not among them.
    pub fn stretches(&self) -> impl Iterator<Item = &Stretch> {
        self.stretches.iter()
    }

    /// The stretch of work that is under way.
    pub fn stretch_under_way(&self) -> &Stretch {
        &self.now
    }

    /// How slow each of those at the bench is, in thousandths of what all who were ever there take in the middle: by the work
    /// that they did alone, since nobody knows whose hands a gap is of where several are. Empty where one alone is there,
    /// whose own times are gone by.
    pub fn paces(&self, people: &[String]) -> Vec<i64> {
        if people.len() < 2 {
            Vec::new()
        } else {
            people.iter().map(|who| self.pace_of(who)).collect()
        }
    }

    /// The mean over all that somebody has done enough of alone, each as much as it is known of.
    fn pace_of(&self, who: &str) -> i64 {
        let gaps = |work: Work, who: Option<&str>| -> Vec<u32> {
            let all = self.gaps.iter().filter(|gaps| gaps.work == work);
            let own = all.filter(|gaps| who.is_none_or(|who| gaps.who == who));
            own.flat_map(|gaps| gaps.last.iter().copied()).collect()
        };
        let (mut sum, mut weight) = (0.0, 0.0);
        // How long a print runs is not the hands'.
        for work in Work::ALL.into_iter().filter(|work| *work != Work::Print) {
            let own = gaps(work, Some(who));
            let known = own.len() >= work.enough();
            let count = f64::from(u32::try_from(own.len()).unwrap_or(u32::MAX));
            if let (true, Some(own), Some(all)) = (known, median(own), median(gaps(work, None)))
                && all >= 500.0
            {
                sum += count * (own.max(1.0) / all).ln();
                weight += count;
            }
        }
        let pace: f64 = if weight > 0.0 { f64::exp(sum / weight) } else { 1.0 };
        #[expect(clippy::cast_possible_truncation, reason = "a few thousand")]
        let pace = (pace * 1000.0).round() as i64;
        pace
    }

    /// The gaps of a work that are gone by for a recipe and whoever is at the bench, and their median; None where there
    /// are too few. What a recipe says of its own print goes before what the prints of others took.
    fn typical(
        &self,
        work: Work,
        recipe: Option<&RecipeHash>,
        print: Option<Span>,
        people: &[String],
    ) -> Option<(Vec<u32>, f64)> {
        let who = match people {
            [] => Some(""),
            [one] => Some(one.as_str()),
            _ => None,
        };
        let of = |own: bool| -> Vec<u32> {
            let wanted = |gaps: &&Gaps| {
                gaps.work == work
                    && (!own || Some(gaps.who.as_str()) == who && gaps.recipe.as_ref() == recipe)
            };
            let all = self.gaps.iter().filter(wanted);
            all.flat_map(|gaps| gaps.last.iter().copied()).collect()
        };
        let own = of(true);
        let of_its_own = work == Work::Print && print.is_some();
        let found = if own.len() >= work.enough() || of_its_own { own } else { of(false) };
        // Prints are few, and everything waits for them: the middle half tells more than the middle one.
        let typical = if work == Work::Print { midmean } else { median };
        let typical = typical(found.clone()).filter(|_| found.len() >= work.enough())?;
        Some((found, typical))
    }

    /// Times as they are gone by where these people are at the bench.
    fn known(
        &self,
        mut times: HandTimes,
        recipe: Option<&RecipeHash>,
        print: Option<Span>,
        people: &[String],
    ) -> Known {
        times.print = print.unwrap_or(times.print);
        let mut learned = Vec::new();
        let mut residuals = Vec::new();
        for work in Work::ALL {
            let Some((found, typical)) = self.typical(work, recipe, print, people) else {
                continue;
            };
            let own = self.off(work, typical, &found);
            // A printer runs as long as it runs, and an opening is one tap where it is stated before the hands go in.
            if work != Work::Print && typical >= 500.0 {
                residuals.extend(&own);
            }
            let gaps = found.len();
            let scatter = scatter(own).unwrap_or(SCATTER);
            learned.push(Learned { work, gaps, typical: seconds(typical), scatter });
            times.set(work, seconds(typical));
        }
        let scatter = scatter(residuals).unwrap_or(SCATTER);
        Known { times, scatter, learned, left_out: self.left_out }
    }

    /// By how much gaps are off their typical one, as logarithms. Prints of each recipe are off their own: how long one
    /// takes belongs to it.
    fn off(&self, work: Work, typical: f64, found: &[u32]) -> Vec<f64> {
        let off = |gap: u32, typical: f64| (f64::from(gap).max(1.0) / typical).ln().abs();
        let mut own = Vec::new();
        if work == Work::Print {
            let prints = self.gaps.iter().filter(|gaps| gaps.work == work);
            let prints: Vec<&Gaps> = prints.collect();
            for gaps in prints.iter().filter(|gaps| gaps.last.len() > 1) {
                let all: Vec<u32> = gaps.last.iter().copied().collect();
                let typical = midmean(all.clone()).unwrap_or(typical);
                own.extend(all.into_iter().map(|gap| off(gap, typical)));
            }
            // One print each of several recipes says nothing of how they scatter.
            if prints.len() > 1 {
                return own;
            }
        }
        if own.is_empty() {
            own.extend(found.iter().map(|gap| off(*gap, typical)));
        }
        own
    }
}

/// Sigma of logarithms by how far they are off their middle: 1.4826 of the median absolute deviation is the standard
/// deviation of a normal law.
fn scatter(mut off: Vec<f64>) -> Option<f64> {
    off.sort_by(f64::total_cmp);
    off.get(off.len() / 2).map(|mad| (1.4826 * mad).clamp(0.02, 1.0))
}

/// The mean of the middle half.
fn midmean(mut of: Vec<u32>) -> Option<f64> {
    of.sort_unstable();
    let out = of.len() / 4;
    let middle = of.get(out..of.len() - out).filter(|middle| !middle.is_empty())?;
    #[expect(clippy::cast_precision_loss, reason = "some dozen gaps")]
    let count = middle.len() as f64;
    Some(middle.iter().copied().map(f64::from).sum::<f64>() / count)
}

fn median(of: Vec<u32>) -> Option<f64> {
    robust::median(of.into_iter().map(f64::from).collect())
}

fn seconds(millis: f64) -> Span {
    Span(std::time::Duration::try_from_secs_f64(millis / 1000.0).unwrap_or_default())
}

/// Hand times as they are gone by, with where they come from.
#[derive(Debug, Clone, PartialEq)]
pub struct Known {
    pub times: HandTimes,
    /// Sigma of the logarithm about the median.
    pub scatter: f64,
    /// What was learned; the rest is the station's.
    pub learned: Vec<Learned>,
    pub left_out: LeftOut,
}

/// A typical time, from how many gaps, and sigma of their logarithm about it.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Learned {
    pub work: Work,
    pub gaps: usize,
    pub typical: Span,
    pub scatter: f64,
}

impl HandTimes {
    fn set(&mut self, work: Work, median: Span) {
        let part = |of: Span, whole: Span| {
            let share = of.as_seconds() / whole.as_seconds().max(1e-9);
            seconds(median.as_seconds() * share * 1000.0)
        };
        match work {
            Work::Load => self.load = median,
            Work::Unload => self.unload = median,
            Work::Spray => {
                let whole = Span(self.spray.0 + self.roll.0);
                (self.spray, self.roll) = (part(self.spray, whole), part(self.roll, whole));
            }
            // One print to the next, less the hands at either end.
            Work::Print => {
                let hands = self.print_load.0 + self.print_unload.0;
                self.print = Span(median.0.saturating_sub(hands));
            }
            Work::Wipe => self.wipe = median,
            Work::Weigh => self.weigh = median,
            Work::Fill => self.fill = median,
        }
    }
}
