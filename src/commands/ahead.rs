//! What lies ahead of the shop, for the commands that foresee: the shop as it stands, or what it has without any order.

use std::sync::Arc;

use jiff::tz::TimeZone;

use super::{Failure, Places, Read, read};
use crate::forecast::plan::presses::Asks;
use crate::forecast::plan::{NoPlan, Phase, Problem};
use crate::forecast::workload::{self, OpenOrder, Owner, Source, Workload};
use crate::shell::profiles::{self, Profiles};
use crate::shop::Shop;
use crate::shop::books::hands::Known;
use crate::shop::facts::calendar::Calendar;
use crate::shop::facts::ids::PressNo;
use crate::shop::facts::moment::{Moment, Wall};
use crate::shop::facts::order::OrderForm;
use crate::shop::facts::recipe::Recipe;
use crate::shop::facts::station::Station;
use crate::shop::rules::turn::Urgency;

/// The shop, and what lies ahead of it.
pub struct Stands {
    pub profiles: Profiles,
    pub shop: Shop,
    /// The shop's own, or the profile's where there is no shop.
    pub station: Arc<Station>,
    pub work: Workload,
    pub now: Moment,
    pub zone: TimeZone,
}

impl Stands {
    /// The shop as it stands; `from_nothing` leaves out all that is under way, and needs no shop.
    ///
    /// # Errors
    /// No shop where one is needed, a profile or journal that does not read, an order that no press can do.
    pub fn read(places: &Places, from_nothing: bool) -> Result<Self, Failure> {
        let profiles = places.profiles()?;
        let read = match read(&places.data()?) {
            // Orders alone need no shop.
            Err(Failure::NoJournal(_)) if from_nothing => Read::of(Shop::default()),
            read => read?,
        };
        let (shop, now) = (read.shop, read.now);
        let Some(station) = shop.station().cloned() else {
            let station = Arc::clone(&profiles.station);
            // Without a shop the profile says in which zone it is.
            let zone = profiles::zone(&station).unwrap_or(read.zone);
            let empty = Workload::empty(usize::from(station.printers));
            let presses: Vec<PressNo> = station.press_numbers().collect();
            let stands = workload::presses::as_profiled(&station);
            let problem = Problem { presses: presses.len(), stands, ..empty.problem.clone() };
            let calendar = Calendar::of(&station, zone.clone());
            let work = Workload { problem, calendar, presses, ..empty };
            return Ok(Self { profiles, shop, station, work, now, zone });
        };
        if let Some((order, reason)) = workload::misfit(&shop).filter(|_| !from_nothing) {
            return Err(Failure::Input(format!("order {order}, {reason}")));
        }
        let stands = workload::of_shop(&shop, now).unwrap_or_else(|| Workload::empty(0));
        let work = if from_nothing { stands.without_orders() } else { stands };
        Ok(Self { profiles, shop, station, work, now, zone: read.zone })
    }

    /// What hands take here, whatever the recipe.
    pub fn hands(&self) -> Known {
        self.shop.hand_times_at(&self.station, None)
    }

    /// Adds an order that the shop has not taken yet, the `n`th; its garments come only at `arrives`.
    ///
    /// # Errors
    /// A line for which the station has no press.
    pub fn add(&mut self, n: usize, form: &OrderForm, arrives: Option<Wall>) -> Result<(), NoPlan> {
        self.work = self.with(n, form, arrives)?;
        Ok(())
    }

    /// The work with an order that the shop has not taken yet.
    ///
    /// # Errors
    /// A line for which the station has no press.
    pub fn with(
        &self,
        n: usize,
        form: &OrderForm,
        arrives: Option<Wall>,
    ) -> Result<Workload, NoPlan> {
        let mut work = self.work.clone();
        let recipes = &self.profiles.recipes;
        let recipe = |name: &str| recipes.get(name).map(|recipe| recipe.as_ref().clone());
        let hands = |recipe: &Recipe| self.shop.hand_times_at(&self.station, Some(recipe)).times;
        let own = form.lines.iter().filter_map(|line| recipes.get(&line.recipe));
        for recipe in own {
            work.problem.dwell = workload::stricter(work.problem.dwell, recipe);
        }
        let due = form.due_at(&self.zone);
        let urgency = Urgency::of(form.rank, due);
        let station = (self.station.as_ref(), &self.work.presses[..]);
        let kinds = workload::of_order((form, urgency), station, recipe, hands)?;
        work.sources.extend(kinds.iter().map(|_| Source::File(n)));
        let arrival = arrives.and_then(|at| self.arrival(at));
        work.problem.kinds.extend(kinds.into_iter().map(|mut kind| {
            kind.route.splice(0..0, arrival);
            kind.asks.splice(0..0, arrival.map(|_| Asks::default()));
            kind
        }));
        let (owner, name) = (Owner::File(n), form.name.clone());
        work.orders.push(OpenOrder { owner, name, due, short: 0 });
        work.orders.sort_by_key(OpenOrder::place);
        Ok(work)
    }

    /// A moment at which garments come, as a part of their way, in seconds of work; None where it has passed.
    fn arrival(&self, at: Wall) -> Option<Phase> {
        let after_s = self.work.calendar.work_between(self.now.at, at);
        #[expect(clippy::cast_possible_truncation, reason = "some weeks in milliseconds")]
        let at = (after_s * 1000.0) as i64;
        (at > 0).then_some(Phase::Arrival { at })
    }
}
