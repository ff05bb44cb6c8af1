//! What a plan is asked for: the shop as it stands with order files beside it, and what is due when.

use jiff::tz::TimeZone;

use super::{MOST, Options};
use crate::commands::{Failure, Places, Read, read};
use crate::forecast::breaks;
use crate::forecast::plan::{Group, Phase, Problem};
use crate::forecast::workload::{self, DueOrder, Owner, Whose, Workload};
use crate::shell::profiles as orders;
use crate::shop::Shop;
use crate::shop::books::hands::Known;
use crate::shop::facts::moment::{Moment, Wall};
use crate::shop::facts::recipe::Recipe;
use crate::shop::facts::when::When;
use crate::shop::rules::turn::Urgency;

/// What is planned, and what of the shop's it is planned by.
pub struct Asked {
    pub work: Workload,
    pub known: Option<Known>,
    /// None for a bare problem, which has no clock.
    pub now: Option<Moment>,
    pub zone: TimeZone,
}

/// The shop as it stands, with the orders of the files.
pub fn real(places: &Places, options: &Options) -> Result<Asked, Failure> {
    let profiles = places.profiles()?;
    let read = match read(&places.data()?) {
        // Orders alone need no shop.
        Err(Failure::NoJournal(_)) if options.from_nothing => Read::of(Shop::default()),
        read => read?,
    };
    let shop = &read.shop;
    let stands = workload::of_shop(shop, read.now);
    let alone = options.from_nothing || stands.is_none();
    // Without a shop the profile says in which zone it is.
    let zone = orders::zone(&profiles.station).filter(|_| alone).unwrap_or(read.zone);
    let mut work = if alone {
        let problem = Problem {
            presses: profiles.station.presses.len(),
            ..Workload::empty(usize::from(profiles.station.printers)).problem
        };
        let (past, zone) = (stands.map(|work| work.past).unwrap_or_default(), zone.clone());
        let breaks = profiles.station.breaks.clone();
        Workload { problem, past, breaks, zone, ..Workload::empty(0) }
    } else {
        if let Some((order, reason)) = workload::misfit(shop) {
            return Err(Failure::Input(format!("order {order}, {reason}")));
        }
        stands.unwrap_or_else(|| Workload::empty(0))
    };
    let mut recipes: Vec<&Recipe> = Vec::new();
    for (n, path) in options.orders.iter().enumerate() {
        let form = orders::read_order(path, &profiles.recipes)?;
        let own = form.lines.iter().filter_map(|line| profiles.recipes.get(&line.recipe));
        recipes.extend(own.map(AsRef::as_ref));
        let recipe = |name: &str| profiles.recipes.get(name).map(|recipe| recipe.as_ref().clone());
        let hands = |recipe: &Recipe| shop.hand_times_at(&profiles.station, Some(recipe)).times;
        for recipe in form.lines.iter().filter_map(|line| profiles.recipes.get(&line.recipe)) {
            work.problem.dwell = workload::stricter(work.problem.dwell, recipe);
        }
        let due = form.due.and_then(|due| due.at(&zone));
        let urgency = Urgency::of(form.rank, due);
        let kinds = workload::of_order((&form, urgency), &profiles.station, recipe, hands)
            .map_err(|reason| Failure::Input(format!("{}: {reason}", path.display())))?;
        work.whose.extend(kinds.iter().map(|_| Whose::File(n)));
        let arrival = options.arrive.and_then(|time| arrival(time, read.now, &zone));
        work.problem.kinds.extend(kinds.into_iter().map(|mut kind| {
            kind.route.splice(0..0, arrival);
            kind
        }));
        let (owner, name) = (Owner::File(n), form.name.clone());
        let order = |at| DueOrder { owner, name, at, urgency, short: 0 };
        work.due.extend(due.map(order));
    }
    let (presses, printers) = (options.presses.map(usize::from), options.printers.map(usize::from));
    if let Some(presses) = presses {
        work.problem.presses = presses.max(work.problem.held(Group::Press));
    }
    if let Some(printers) = printers {
        work.problem.printers = printers.max(work.problem.held(Group::Printer));
    }
    if let Some(operators) = options.operators {
        work.problem.operators = usize::from(operators).min(MOST);
    }
    work.due.sort_by_key(|order| order.at);
    work.left_out.extend(workload::left_out(&profiles.station, &recipes));
    work.left_out.sort_unstable();
    work.left_out.dedup();
    let known = shop.hand_times_at(&profiles.station, None);
    Ok(Asked { work, known: Some(known), now: Some(read.now), zone })
}

/// A moment of the shop's clock at which garments come, as a part of their way; None where it has passed.
fn arrival(time: When, now: Moment, zone: &TimeZone) -> Option<Phase> {
    let at = i64::try_from((time.at(now, zone)? - now.at).as_millis()).ok()?;
    (at > 0).then_some(Phase::Arrival { at })
}

impl Asked {
    pub fn bare(problem: Problem) -> Self {
        let whose = vec![Whose::File(0); problem.kinds.len()];
        let work = Workload { problem, whose, ..Workload::empty(0) };
        Self { work, known: None, now: None, zone: TimeZone::UTC }
    }

    /// A moment so many seconds from now; None without a clock.
    pub fn at(&self, after: f64) -> Option<Wall> {
        Some(breaks::done_at(self.now?.at, after, &self.work.breaks, &self.zone))
    }
}
