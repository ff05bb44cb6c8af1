//! What lies before the shop as a problem for the planner: garments by the way that is still before them.
//!
//! Wipes, weigh-ins and fills come every so many garments. The plan spreads them: each dried garment carries its
//! share of a wipe, each sprayed one its share of a weigh-in and of a fill.

mod gathered;
pub mod presses;
mod standing;

use std::time::Duration;

use gathered::Gathered;

use super::habit::{Past, Way, doubts};
use super::plan::{Begun, Claim, Dwell, Group, Kind, Millis, NoPlan, Phase, Problem};
use crate::figures::spray;
use crate::figures::strokes::Aim;
use crate::figures::units::{Rectangle, Span};
use crate::shop::Shop;
use crate::shop::books::hands::{Stretch, Work};
use crate::shop::facts::calendar::Calendar;
use crate::shop::facts::ids::{OrderId, PressNo, RecipeHash};
use crate::shop::facts::moment::{Moment, Wall};
use crate::shop::facts::order::{OrderForm, OrderLine};
use crate::shop::facts::recipe::{Recipe, Spray};
use crate::shop::facts::station::{HandTimes, Station};
use crate::shop::facts::step::Step;
use crate::shop::floor::garment::Garment;
use crate::shop::rules::offer::Waits;
use crate::shop::rules::turn::Urgency;

/// What is to be done, and what is known of how it goes.
#[derive(Debug, Clone, PartialEq)]
pub struct Workload {
    /// Its kinds stand by their turn: by rank, then by due time, the earliest first.
    pub problem: Problem,
    /// Where the garments of each of the problem's kinds come from.
    pub sources: Vec<Source>,
    /// Orders that are not done: the earliest due first, what is never due last.
    pub orders: Vec<OpenOrder>,
    /// Garments on the shelf of orders without a due time: they stay there.
    pub kept: usize,
    pub past: Past,
    /// When people work.
    pub calendar: Calendar,
    /// The presses of the problem, by their numbers.
    pub presses: Vec<PressNo>,
}

/// Where the garments of a kind come from.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Source {
    /// The garments of a line that wait for a step, or are in a press or printer for it.
    Shop(Waits),
    /// Garments of an order that lie on the shelf and are wanted.
    Shelf(OrderId),
    File(usize),
}

/// An order of the shop, or of a file.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub enum Owner {
    Order(OrderId),
    File(usize),
}

impl From<Source> for Owner {
    fn from(source: Source) -> Self {
        match source {
            Source::Shop(Waits { order, .. }) | Source::Shelf(order) => Owner::Order(order),
            Source::File(n) => Owner::File(n),
        }
    }
}

/// An order that is not done.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct OpenOrder {
    pub owner: Owner,
    pub name: String,
    /// When it is due on the wall clock; None: never.
    pub due: Option<Wall>,
    /// Garments that went out of it, and no blank has replaced them.
    pub short: usize,
}

impl Workload {
    /// The same shop with nothing to do.
    pub fn without_orders(self) -> Self {
        let problem = Problem {
            kinds: Vec::new(),
            begun: Vec::new(),
            dwell: Dwell::Unlimited,
            ..self.problem
        };
        let (sources, orders) = (Vec::new(), Vec::new());
        Self { problem, sources, orders, kept: 0, ..self }
    }

    /// Nothing to do, at a station of which nothing is known yet.
    pub fn empty(printers: usize) -> Self {
        let (kinds, begun) = (Vec::new(), Vec::new());
        let (dwell, stands, paces) = (Dwell::Unlimited, Vec::new(), Vec::new());
        let (presses, operators) = (1, 1);
        let problem = Problem { presses, printers, operators, dwell, kinds, begun, stands, paces };
        let (sources, orders, past) = (Vec::new(), Vec::new(), Past::default());
        let (calendar, presses) = (Calendar::default(), Vec::new());
        Self { problem, sources, orders, kept: 0, past, calendar, presses }
    }
}

/// Where on its way a garment stands.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
struct Start {
    step: Step,
    /// The short press of a garment from the shelf.
    again: bool,
    /// Its coat is on and dry.
    coated: bool,
}

impl Start {
    const BLANK: Start = Start { step: Step::PrePress, again: false, coated: false };

    fn of(garment: &Garment, step: Step, again: bool) -> Self {
        Self { step, again, coated: garment.coated || again }
    }

    /// Whether it still goes through a step of this round.
    fn takes(self, step: Step, fluid: bool) -> bool {
        let treats = step == Step::Spray || step == Step::Dry;
        let to_be_treated = fluid && !(self.step == Step::PrePress && self.coated);
        step == self.step || (step > self.step && (!treats || to_be_treated))
    }
}

/// What a garment's routing is made of: its recipe, with the station and the hands that it is worked by.
struct Routing<'a> {
    station: &'a Station,
    recipe: &'a Recipe,
    hands: HandTimes,
    /// What a coat is counted over.
    aim: Aim,
}

impl Routing<'_> {
    /// A garment's way from where it stands; each of `rounds` after the first goes round once more.
    fn route(&self, fluid: bool, start: Start, rounds: usize) -> Vec<Phase> {
        let mut route = Vec::new();
        for round in 0..rounds.max(1) {
            let start = if round == 0 { start } else { Start::BLANK };
            for step in Step::ALL.into_iter().filter(|step| start.takes(*step, fluid)) {
                route.extend(self.phases(step, start.again && step == start.step));
            }
        }
        for place in 1..route.len() {
            if matches!(route[place], Phase::Machine { group: Group::Printer, .. }) {
                self.rest_after(&mut route[place - 1]);
            }
        }
        route
    }

    /// A garment rests after the press that is the last before its print.
    fn rest_after(&self, pressed: &mut Phase) {
        if let Phase::Machine { group: Group::Press, rest, .. } = pressed {
            *rest = self.recipe.rest.map_or(0, millis);
        }
    }

    fn phases(&self, step: Step, again: bool) -> Vec<Phase> {
        let name = step.name();
        let hands = &self.hands;
        match step {
            Step::Spray => {
                let takes = match self.recipe.spray {
                    Spray::Machine(span) => millis(span),
                    _ => millis(hands.spray),
                };
                let mut phases =
                    vec![Phase::Hand { name, takes: takes + self.share_of_supplies() }];
                if self.recipe.roll {
                    phases.push(Phase::Hand { name: "roll", takes: millis(hands.roll) });
                }
                phases
            }
            Step::Print => vec![Phase::Machine {
                name,
                group: Group::Printer,
                load: millis(hands.print_load),
                run: millis(hands.print),
                unload: millis(hands.print_unload),
                rest: 0,
            }],
            _ => {
                let Some(pressing) = self.recipe.pressing(step, again) else { return Vec::new() };
                let every = Millis::from(self.station.sheet.wipe_at.max(1));
                let wipe = if step == Step::Dry { millis(hands.wipe) / every } else { 0 };
                vec![Phase::Machine {
                    name,
                    group: Group::Press,
                    load: millis(hands.load) + wipe,
                    run: millis(pressing.target),
                    unload: millis(hands.unload),
                    rest: 0,
                }]
            }
        }
    }

    /// What the plain rule goes by for garments of an order.
    fn claim(&self, urgency: Urgency, shelved: bool) -> Claim {
        let wet_at_most = Some(millis(self.recipe.wet_limit(self.station.wet_garments)));
        let print_at_most = Some(millis(self.recipe.print_wet_at_most));
        Claim { urgency, wet_at_most, print_at_most, shelved }
    }

    /// What weigh-ins and fills take for each sprayed garment.
    fn share_of_supplies(&self) -> Millis {
        let weighing = match Millis::from(self.recipe.weigh_every) {
            0 => 0,
            every => 2 * millis(self.hands.weigh) / every,
        };
        let sprayer = self.station.sprayer.and_then(|sprayer| {
            let task = sprayer.task(self.aim, self.recipe.coat.target);
            Some(spray::pace(&task).ok()?.used.0 / sprayer.holds?.0)
        });
        let filling = sprayer.map_or(0.0, |share| self.hands.fill.as_seconds() * share * 1000.0);
        #[expect(clippy::cast_possible_truncation, reason = "some seconds in milliseconds")]
        let filling = filling as Millis;
        weighing + filling
    }

    /// The first step of a way for which the station has no press.
    fn misfit(&self, fluid: bool, line: &OrderLine) -> Option<Step> {
        let serves = |step: &Step| {
            self.station.presses.iter().any(|press| press.serves(*step, line.all_prints()))
        };
        let wanted = |step: &Step| step.is_pressed() && (fluid || *step != Step::Dry);
        Step::ALL.into_iter().filter(wanted).find(|step| !serves(step))
    }
}

/// Whole milliseconds of a span.
pub fn millis(span: Span) -> Millis {
    Millis::try_from(span.0.as_millis()).unwrap_or(Millis::MAX / 1000)
}

/// The garments of an order as it stands in a file.
///
/// # Errors
/// A line for which the station has no press.
pub fn of_order(
    (form, urgency): (&OrderForm, Urgency),
    (station, presses): (&Station, &[PressNo]),
    recipe: impl Fn(&str) -> Option<Recipe>,
    hands: impl Fn(&Recipe) -> HandTimes,
) -> Result<Vec<Kind>, NoPlan> {
    let mut kinds = Vec::new();
    for (line, n) in form.lines.iter().zip(1..) {
        let Some(recipe) = recipe(&line.recipe) else { continue };
        // Where nobody has said yet, white is the longer way and the more likely one.
        let fluid = recipe.wants_fluid(line.underbase.or(Some(true))).unwrap_or(true);
        let aim = line.aim(0).unwrap_or(Aim::Area(recipe.area));
        let routing = Routing { station, recipe: &recipe, hands: hands(&recipe), aim };
        if let Some(step) = routing.misfit(fluid, line) {
            return Err(NoPlan::NoPressFor { line: n, step: step.name() });
        }
        let route = routing.route(fluid, Start::BLANK, line.places.len());
        let claim = routing.claim(urgency, false);
        let prints: Vec<Rectangle> = line.all_prints().collect();
        let asks = presses::asks((station, presses), (&recipe, false), &route, &prints);
        let kind = Kind::new(route, usize::try_from(line.count).unwrap_or(0));
        kinds.push(Kind { claim, asks, ..kind });
    }
    Ok(kinds)
}

/// Everything that is under way or waits, as it stands; what lies on the shelf only where its order is due. None
/// before there is a station.
pub fn of_shop(shop: &Shop, now: Moment) -> Option<Workload> {
    let station = shop.station()?;
    let presses = presses::usable(shop);
    let mut gathered = Gathered::default();
    for garment in shop.floor().all() {
        gathered.take(shop, garment, now);
    }
    gathered.begin_prints(shop, now);
    let of = |garment: &Garment, start: Start| -> Option<Kind> {
        let (hash, recipe) = shop.recipe_of(garment)?;
        let (hands, aim) = (shop.hand_times(Some(hash)).times, shop.aim(garment)?);
        let routing = Routing { station, recipe, hands, aim };
        let fluid = shop.wants_fluid(garment).unwrap_or(true);
        let places = shop.places(garment).len().saturating_sub(garment.round);
        let claim = routing.claim(shop.urgency(garment.order()), start.again);
        let mut route = routing.route(fluid, start, places);
        if !garment.is_wanted() {
            // Its order was cancelled: it leaves once it is out of its press.
            route.truncate(1);
        }
        let line = shop.order(garment.order()).and_then(|one| one.form.lines.get(garment.line));
        let prints: Vec<Rectangle> = line.iter().flat_map(|line| line.all_prints()).collect();
        let asks = presses::asks((station, &presses), (recipe, start.again), &route, &prints);
        Some(Kind { claim, asks, ..Kind::new(route, 0) })
    };
    let (mut kinds, mut sources, mut begun) = (Vec::new(), Vec::new(), Vec::new());
    for (key, (garment, mut waited)) in gathered.counts {
        waited.sort_unstable_by_key(|waited| std::cmp::Reverse(*waited));
        let start = Start { step: key.step, again: key.shelved, coated: key.coated };
        let Some(kind) = of(garment, start) else { continue };
        let kind = kind.from(key.rests);
        kinds.push(Kind { count: waited.len(), waited, ..kind });
        sources.push(key.source());
    }
    for (garment, press) in gathered.shut {
        let Some(load) = shop.load(press) else { continue };
        let start = Start::of(garment, load.step, load.again);
        let Some(kind) = of(garment, start) else { continue };
        let target = shop.pressing(load).map_or(0, |pressing| millis(pressing.target));
        let gone = Millis::try_from(load.elapsed(now).span.as_millis()).unwrap_or(target);
        let machine = presses.iter().position(|no| *no == press).unwrap_or(0);
        begun.push(Begun { kind: kinds.len(), phase: 0, left: (target - gone).max(0), machine });
        kinds.push(kind);
        let (order, line, step) = (garment.order(), garment.line, load.step);
        sources.push(Source::Shop(Waits { order, line, step }));
    }
    for (machine, (garment, gone)) in gathered.printing.into_iter().enumerate() {
        let Some(kind) = of(garment, Start::of(garment, Step::Print, false)) else { continue };
        let Some(Phase::Machine { load, run, .. }) = kind.route.first() else { continue };
        let left = (load + run - gone).max(0);
        begun.push(Begun { kind: kinds.len(), phase: 0, left, machine });
        kinds.push(kind);
        let (order, line) = (garment.order(), garment.line);
        sources.push(Source::Shop(Waits { order, line, step: Step::Print }));
    }
    let operators = shop.desk().people.len().max(1);
    let printers = usize::from(station.printers);
    let (dwell, stands) = (limit(shop), presses::stands(shop, &presses, now));
    let (count, paces) = (presses.len(), shop.books().hands.paces(&shop.desk().people));
    let problem =
        Problem { presses: count, printers, operators, dwell, kinds, begun, stands, paces };
    let calendar = Calendar::of(station, shop.zone().clone());
    let (orders, kept, past) = (orders(shop), gathered.kept, past(shop, station, &presses));
    Some(Workload { problem, sources, orders, kept, past, calendar, presses })
}

fn open_recipes(shop: &Shop) -> impl Iterator<Item = &Recipe> {
    let open = shop.orders().filter(|order| shop.floor().is_open(order.id));
    let recipes = open.flat_map(|order| order.form.lines.iter().map(|line| line.recipe.as_str()));
    recipes.filter_map(|name| shop.recipes().named(name)).map(|recipe| recipe.as_ref())
}

/// The shop's open orders, the earliest due first.
fn orders(shop: &Shop) -> Vec<OpenOrder> {
    let open = shop.orders().filter(|order| shop.floor().is_open(order.id));
    let open = open.map(|order| OpenOrder {
        owner: Owner::Order(order.id),
        name: order.form.name.clone(),
        due: order.form.due_at(shop.zone()),
        short: shop.floor().standing(order).short,
    });
    let mut open: Vec<OpenOrder> = open.collect();
    open.sort_by_key(OpenOrder::place);
    open
}

impl OpenOrder {
    /// What orders are sorted by.
    pub fn place(&self) -> (bool, Option<Wall>) {
        (self.due.is_none(), self.due)
    }
}

/// How long a garment may lie in a press after its target: as the strictest recipe of an open order says.
fn limit(shop: &Shop) -> Dwell {
    open_recipes(shop).fold(Dwell::Unlimited, stricter)
}

/// The stricter of what holds already and what a recipe allows between target and longest time.
pub fn stricter(dwell: Dwell, recipe: &Recipe) -> Dwell {
    let pressings = Step::ALL.into_iter().filter_map(|step| recipe.pressing(step, false));
    let slack = pressings.map(|one| (millis(one.longest) - millis(one.target)).max(0)).min();
    match (dwell, slack) {
        (Dwell::Unlimited, Some(slack)) => Dwell::Limited(slack),
        (Dwell::Limited(known), Some(slack)) => Dwell::Limited(known.min(slack)),
        (dwell, _) => dwell,
    }
}

/// What lies behind: how the last hours went, and the ways of the garments that they were about.
fn past(shop: &Shop, station: &Station, presses: &[PressNo]) -> Past {
    // What is known of where garments stand is of now: so is what was done.
    let hands = &shop.books().hands;
    let stretches: Vec<Stretch> =
        hands.stretches().chain([hands.stretch_under_way()]).cloned().collect();
    let mut recipes: Vec<&RecipeHash> =
        stretches.iter().flat_map(|one| one.done.iter().map(|(recipe, _)| recipe)).collect();
    recipes.sort_unstable();
    recipes.dedup();
    let standing = standing::before_each_step(shop);
    let ways = recipes.into_iter().filter_map(|hash| {
        let recipe = shop.recipes().get(hash)?;
        let (hands, aim) = (shop.hand_times(Some(hash)).times, Aim::Area(recipe.area));
        let routing = Routing { station, recipe, hands, aim };
        // What was done tells whether these garments were sprayed.
        let sprayed = |(of, done): &(RecipeHash, [i16; Step::ALL.len()])| of == hash && done[1] > 0;
        let fluid = stretches.iter().any(|stretch| stretch.done.iter().any(sprayed));
        let phases = |step: Step| {
            let dry = matches!(step, Step::Spray | Step::Dry) && !fluid;
            let mut route = if dry { Vec::new() } else { routing.phases(step, false) };
            if step == if fluid { Step::Dry } else { Step::PrePress } {
                route.iter_mut().for_each(|phase| routing.rest_after(phase));
            }
            let asks = presses::asks((station, presses), (recipe, false), &route, &[]);
            route.into_iter().zip(asks).collect()
        };
        let claim = routing.claim(Urgency::default(), false);
        let steps = Step::ALL.map(phases);
        let before = standing.get(hash).copied().unwrap_or_default();
        Some(Way { recipe: *hash, steps, claim, before })
    });
    let known = shop.hand_times(None);
    let learned = |work: Work| known.learned.iter().find(|one| one.work == work);
    let print_scatter = learned(Work::Print).map(|one| one.scatter);
    let default = Past::default();
    Past {
        scatter: known.scatter,
        print_scatter: print_scatter.unwrap_or(default.print_scatter),
        doubts: doubts(|work| learned(work).map(|one| (one.gaps, one.scatter))),
        presses: presses.len(),
        printers: usize::from(station.printers),
        operators: shop.desk().people.len().max(1),
        paces: shop.books().hands.paces(&shop.desk().people),
        ways: ways.collect(),
        anew: standing::anew(shop),
        pauses: pauses(&stretches, &Calendar::of(station, shop.zone().clone())),
        stretches,
    }
}

/// What was paused beside the breaks that the profile tells of; a night is no pause.
fn pauses(stretches: &[Stretch], works: &Calendar) -> Vec<Duration> {
    const SHORTEST_S: f64 = 120.0;
    const LONGEST_S: f64 = 3600.0;
    let all = stretches.iter().flat_map(|stretch| &stretch.pauses);
    let untold = all.map(|(from, lasted)| works.work_between(*from, from.plus(*lasted)));
    let pauses = untold.filter(|lasted| (SHORTEST_S..LONGEST_S).contains(lasted));
    pauses.map(Duration::from_secs_f64).collect()
}

/// The first garment that waits for a step for which the station has no press.
pub fn misfit(shop: &Shop) -> Option<(OrderId, NoPlan)> {
    let station = shop.station()?;
    shop.orders().find_map(|order| {
        order.form.lines.iter().enumerate().find_map(|(index, line)| {
            let waits = |garment: &&Garment| garment.line == index && !garment.is_done();
            let garment = shop.floor().of_order(order.id).find(waits)?;
            let (_, recipe) = shop.recipe_of(garment)?;
            let (hands, aim) = (HandTimes::default(), shop.aim(garment)?);
            let routing = Routing { station, recipe, hands, aim };
            let step = routing.misfit(shop.wants_fluid(garment).unwrap_or(true), line)?;
            Some((order.id, NoPlan::NoPressFor { line: index + 1, step: step.name() }))
        })
    })
}
