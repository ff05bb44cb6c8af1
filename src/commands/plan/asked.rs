//! What a plan is asked for: the shop as it stands with order files beside it, and what is due when.

use jiff::tz::TimeZone;

use super::{MOST, Options};
use crate::commands::{Failure, Places, read};
use crate::forecast::habit::Habit;
use crate::forecast::plan::{BRISK, NoPlan, Phase, Problem};
use crate::forecast::workload::{self, Whose, Workload};
use crate::forecast::{breaks, outlook};
use crate::shell::profiles as orders;
use crate::shop::hands::Known;
use crate::shop::ids::OrderNo;
use crate::shop::moment::Moment;
use crate::shop::order::Due;
use crate::shop::recipe::Recipe;

/// The most orders that are held against their due times.
const MOST_DUE: usize = 6;

/// An order of the shop, or of a file.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Owner {
    Order(OrderNo),
    File(usize),
}

impl From<Whose> for Owner {
    fn from(whose: Whose) -> Self {
        match whose {
            Whose::Shop(waits) => Owner::Order(waits.order),
            Whose::File(n) => Owner::File(n),
        }
    }
}

/// What is planned, and what of the shop's it is planned by.
pub struct Asked {
    pub work: Workload,
    pub known: Option<Known>,
    /// None for a bare problem, which has no clock.
    pub now: Option<Moment>,
    pub zone: TimeZone,
    /// Orders with a due time, the earliest first.
    pub due: Vec<(Owner, String, i64)>,
}

/// The shop as it stands, with the orders of the files.
pub fn real(places: &Places, options: &Options) -> Result<Asked, Failure> {
    let profiles = places.profiles()?;
    let read = read(&places.data()?)?;
    let (shop, zone) = (&read.shop, read.zone.clone());
    let mut due = Vec::new();
    let stands = workload::of_shop(shop, read.now, usize::from(options.printers));
    let alone = options.from_nothing || stands.is_none();
    let mut work = stands.unwrap_or_else(|| Workload::empty(usize::from(options.printers)));
    if alone {
        let presses = profiles.station.presses.len();
        work.problem = Problem { kinds: Vec::new(), begun: Vec::new(), presses, ..work.problem };
        work.whose.clear();
        work.breaks.clone_from(&profiles.station.breaks);
    } else {
        if let Some((order, reason)) = workload::misfit(shop) {
            return Err(Failure::Input(format!("order {order}, {reason}")));
        }
        let open = shop.orders().filter(|order| shop.is_open(order));
        due.extend(open.filter_map(|order| {
            Some((Owner::Order(order.no), order.form.name.clone(), order.form.due?.at(&zone)?))
        }));
    }
    for (n, path) in options.orders.iter().enumerate() {
        let form = orders::read_order(path, &profiles.recipes)?;
        let recipe = |name: &str| profiles.recipes.get(name).map(|recipe| recipe.as_ref().clone());
        let hands =
            |recipe: &Recipe| shop.hand_times_at(&profiles.station, Some(&recipe.hash())).times;
        for recipe in form.lines.iter().filter_map(|line| profiles.recipes.get(&line.recipe)) {
            work.problem.dwell = workload::stricter(work.problem.dwell, recipe);
        }
        let kinds = workload::of_order(&form, &profiles.station, recipe, hands)
            .map_err(|reason| Failure::Input(format!("{}: {reason}", path.display())))?;
        work.whose.extend(kinds.iter().map(|_| Whose::File(n)));
        let arrival = options.arrive.and_then(|time| arrival(time, read.now, &read.zone));
        work.problem.kinds.extend(kinds.into_iter().map(|mut kind| {
            kind.route.splice(0..0, arrival);
            kind
        }));
        due.extend(
            form.due.and_then(|at| Some((Owner::File(n), form.name.clone(), at.at(&zone)?))),
        );
    }
    if let Some(presses) = options.presses {
        work.problem.presses = usize::from(presses).max(work.problem.begun.len());
    }
    if let Some(operators) = options.operators {
        work.problem.operators = usize::from(operators).min(MOST);
    }
    due.sort_by_key(|(.., at)| *at);
    let known = shop.hand_times_at(&profiles.station, None);
    Ok(Asked { work, known: Some(known), now: Some(read.now), zone, due })
}

/// A moment of the shop's clock at which garments come, as a part of their way; None where it has passed.
fn arrival(time: Due, now: Moment, zone: &TimeZone) -> Option<Phase> {
    let at = (time.at(zone)? - now.at) / 1000;
    (at > 0).then_some(Phase::Arrival { at })
}

impl Asked {
    pub fn bare(problem: Problem) -> Self {
        let whose = vec![Whose::File(0); problem.kinds.len()];
        let work = Workload { problem, whose, ..Workload::empty(0) };
        Self { work, known: None, now: None, zone: TimeZone::UTC, due: Vec::new() }
    }

    /// A moment so many seconds from now; None without a clock.
    pub fn at(&self, after: f64) -> Option<i64> {
        Some(breaks::done_at(self.now?.at, after, &self.work.breaks, &self.zone))
    }

    /// When each order with a due time will be ready, where the earliest due are done first: if that does not
    /// meet every due time, nothing does.
    pub fn orders(&self, seed: u64) -> Result<Vec<Ready>, NoPlan> {
        let mut ready = Vec::new();
        for (n, (_, name, due)) in self.due.iter().enumerate().take(MOST_DUE) {
            let first: Vec<Owner> = self.due.iter().take(n + 1).map(|(owner, ..)| *owner).collect();
            let problem = self.work.only(|whose| first.contains(&whose.into()));
            let plan = problem.best(BRISK)?;
            let finish =
                outlook::finish(&problem, &plan, &Habit::of(&self.work.past, &problem), seed);
            ready.extend(self.at(finish.p50).zip(self.at(finish.p90)).map(|(p50, p90)| Ready {
                name: name.clone(),
                due: *due,
                p50,
                p90,
            }));
        }
        Ok(ready)
    }
}

/// An order against its due time, moments of the wall clock in microseconds.
pub struct Ready {
    pub name: String,
    pub due: i64,
    pub p50: i64,
    pub p90: i64,
}

impl Ready {
    /// Seconds by which it is late; None where it is in time.
    #[expect(clippy::cast_precision_loss, reason = "some weeks in microseconds")]
    pub fn late(&self) -> Option<f64> {
        (self.p50 > self.due).then(|| (self.p50 - self.due) as f64 / 1e6)
    }
}
