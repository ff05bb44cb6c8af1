//! Closes the book of a shift: what was gathered becomes the report.

use std::collections::{BTreeMap, BTreeSet};
use std::time::Duration;

use super::book::{Item, ShiftBook};
use super::{
    At, Fill, Fluid, Longest, LossRow, Needed, Note, OrderRow, Output, PastTarget, PressRow,
    Report, Sheets, ShelfRow, Span, Stretch, WeighInRow,
};
use crate::figures::coat::Verdict;
use crate::shop::Shop;
use crate::shop::books::entry::SheetWork;
use crate::shop::books::losses::Once;
use crate::shop::books::opening::Opening;
use crate::shop::books::press_spans::{Doing, PressSpan};
use crate::shop::books::tally::an_hour;
use crate::shop::books::used::{Cost, Used};
use crate::shop::facts::day::Day;
use crate::shop::facts::fact::{CoatWeighed, Timing};
use crate::shop::facts::ids::{OrderId, PressNo, Tag};
use crate::shop::facts::moment::{Moment, Wall};
use crate::shop::facts::order::Order;
use crate::shop::floor::garment::{Garment, Queue};
use crate::shop::floor::shelved::ShelfState;

const HOUR_S: f64 = 3600.0;

/// From when to when the shift went, by both clocks.
#[derive(Debug, Clone, Copy)]
struct Bounds {
    from: Moment,
    to: Moment,
    /// When the last shift in it began: the same, where it is of one.
    now: Moment,
}

impl Bounds {
    fn span(&self) -> Duration {
        self.to.since(self.from).span
    }

    /// The last shift's.
    fn last(&self) -> Duration {
        self.to.since(self.now).span
    }

    /// A moment so long before the end.
    fn before_end(&self, span: Duration) -> At {
        At(self.to.minus(span).at)
    }

    fn at(&self, moment: Moment) -> At {
        self.before_end(self.to.since(moment).span)
    }
}

impl ShiftBook {
    /// The report of what lies between two moments; `shop` is as it was at the second, in its own zone.
    pub fn close(self, shop: &Shop, (from, to): (Moment, Moment), running: bool) -> Report {
        let now = self.production.shifts().last().filter(|_| !self.over.is_empty());
        let bounds = Bounds { from, to, now: now.map_or(from, |shift| shift.from) };
        let finished = self.production.finished();
        let orders = self.order_rows(shop, &finished, bounds);
        let needed = needed(shop, &orders, bounds);
        let losses: Vec<LossRow> =
            self.losses.rows(to, bounds.span()).into_iter().map(LossRow::from).collect();
        let elements = self.production.elements(shop, to);
        let kpi = elements.ratios();
        let worked = self.over.iter().map(|over| over.span).sum::<Duration>() + bounds.last();
        let working_s = worked.as_secs_f64() - self.rest(shop, bounds);
        let presses = self.press_rows(shop, bounds);
        let printer = self.printer_row(shop, working_s);
        let people = self.crew.clone().rows(to);
        let held_back =
            self.held_back(shop, working_s, (&presses, &printer, &people), finished.len());
        let second = |(tag, _): &&(Tag, Moment)| shop.floor().is_second(*tag);
        let output = Output {
            finished: finished.len(),
            second: finished.iter().filter(second).count(),
            out: losses.iter().map(|loss| loss.out).sum(),
            done: orders.iter().map(|order| order.done).sum(),
            ordered: orders.iter().map(|order| order.ordered).sum(),
            per_hour: an_hour(finished.len(), worked),
            needed_per_hour: needed_pace(&needed, bounds),
            first_pass_yield: kpi.first_pass_yield,
            // Not a bare sum: that of nothing is -0.
            lost_minutes: losses.iter().fold(0.0, |sum, loss| sum + loss.minutes),
        };
        Report {
            station: shop.station().map_or_else(String::new, |station| station.name.clone()),
            shift: Stretch {
                day: Day::of(from, shop.zone()),
                name: None,
                of_day: 0,
                from: bounds.at(from),
                to: At(to.at),
                hours: worked.as_secs_f64() / HOUR_S,
                shifts: self.over.len() + 1,
                running,
                people: self.crew.names.clone(),
            },
            output,
            orders,
            needed,
            finished_at: finished.iter().map(|(_, moment)| bounds.at(*moment)).collect(),
            used: self.used_with_blanks(finished.len(), &losses),
            losses,
            presses,
            printer,
            people,
            held_back,
            beside: None,
            bill: None,
            past_target: self.past_target(),
            sheets: self.sheets(),
            weigh_ins: self.weigh_in_rows(),
            fluid: self.fluid(bounds),
            shelf: self.shelf_row(shop, to),
            kpi,
            elements,
            notes: self.notes(bounds),
        }
    }

    pub(super) fn items(&self) -> impl Iterator<Item = &Item> {
        self.items.iter()
    }

    fn count(&self, wanted: impl Fn(&Item) -> bool) -> usize {
        self.items().filter(|item| wanted(item)).count()
    }

    /// Orders that something was done for, and those that are not done yet.
    fn order_rows(&self, shop: &Shop, finished: &[(Tag, Moment)], bounds: Bounds) -> Vec<OrderRow> {
        let touched =
            |order: &&Order| self.orders.contains(&order.id) || shop.floor().is_open(order.id);
        let spoiled = self.spoiled_blanks(bounds);
        let row = |order: &Order| {
            let mut used = self.used_for.get(&order.id).copied().unwrap_or_default();
            used.blanks =
                spoiled.get(&order.id).copied().unwrap_or(0) + came_out_of(order, finished);
            order_row(shop, order, finished, used)
        };
        shop.orders().filter(touched).map(row).collect()
    }

    /// Blanks that were spoiled, by their order.
    fn spoiled_blanks(&self, bounds: Bounds) -> BTreeMap<OrderId, u32> {
        let within = |once: &Once| bounds.to.since(once.moment).span <= bounds.span();
        let mut spoiled = BTreeMap::new();
        for once in self.losses.each().filter(within) {
            *spoiled.entry(once.garment.order_id()).or_default() += once.used.blanks;
        }
        spoiled
    }

    fn used_with_blanks(&self, finished: usize, losses: &[LossRow]) -> Used {
        let spoiled: u32 = losses.iter().map(|loss| loss.used.blanks).sum();
        Used { blanks: spoiled + u32::try_from(finished).unwrap_or(u32::MAX), ..self.used }
    }

    /// Seconds of breaks.
    fn rest(&self, shop: &Shop, bounds: Bounds) -> f64 {
        let mut stretches: Vec<(Wall, Wall)> =
            self.production.shifts().all().map(|shift| (shift.from.at, shift.to.at)).collect();
        stretches.pop();
        stretches.push((bounds.now.at, bounds.to.at));
        shop.rest_within(&stretches)
    }

    fn press_rows(&self, shop: &Shop, bounds: Bounds) -> Vec<PressRow> {
        let row = |press: PressNo| {
            // Of several shifts the last alone is drawn.
            let spans = self.spans.spans(press, bounds.to, bounds.last());
            let mut doing = self.spans.totals(press, bounds.to, bounds.last());
            let mut cycles = self.spans.cycles(press, bounds.to, bounds.last());
            for over in &self.over {
                let idle = || {
                    let of = |doing| if doing == Doing::Idle { over.span } else { Duration::ZERO };
                    (Doing::ALL.map(of), 0)
                };
                let (totals, opened) = over.presses.get(&press).copied().unwrap_or_else(idle);
                doing.iter_mut().zip(totals).for_each(|(sum, more)| *sum += more);
                cycles += opened;
            }
            let [running, past_target, changing, idle, sheet, out_of_use] =
                doing.map(|span| span.as_secs_f64() / 60.0);
            let span = |span: PressSpan| Span {
                from: bounds.before_end(span.from),
                to: bounds.before_end(span.to),
                doing: span.doing,
            };
            PressRow {
                press,
                name: shop.press_name(press).to_owned(),
                cycles,
                running_minutes: running,
                past_target_minutes: past_target,
                changing_minutes: changing,
                idle_minutes: idle,
                sheet_minutes: sheet,
                out_of_use_minutes: out_of_use,
                spans: spans.into_iter().map(span).collect(),
            }
        };
        shop.press_numbers().into_iter().map(row).collect()
    }

    fn past_target(&self) -> PastTarget {
        let all = || self.production.openings().filter(|opening| opening.past() > 0.0);
        let garments = all().count();
        let seconds: f64 = all().map(Opening::past).sum();
        let told = |one: &Opening| Longest {
            garment: one.garment,
            press: one.press,
            step: one.step,
            seconds: one.past(),
        };
        PastTarget {
            garments,
            mean_s: (garments > 0).then(|| seconds / garments as f64),
            too_long: all().filter(|opening| opening.timing == Timing::Late).count(),
            longest: all().max_by(|a, b| a.past().total_cmp(&b.past())).map(told),
        }
    }

    fn sheets(&self) -> Sheets {
        let of = |wanted: SheetWork| {
            self.count(|item| matches!(item, Item::Sheet { work, .. } if *work == wanted))
        };
        Sheets {
            wiped: of(SheetWork::Wiped),
            changed: of(SheetWork::Changed) + of(SheetWork::Renewed),
            swapped: of(SheetWork::Swapped),
            late: self.count(|item| matches!(item, Item::Sheet { late: true, .. })),
            presses_past: self.count(|item| matches!(item, Item::PressPastWipe)),
        }
    }

    fn weigh_in_rows(&self) -> Vec<WeighInRow> {
        let mut recipes: BTreeMap<&str, Vec<(&CoatWeighed, bool)>> = BTreeMap::new();
        for item in self.items() {
            if let Item::WeighIn(fact, mended) = item {
                recipes.entry(&fact.recipe).or_default().push((fact, *mended));
            }
        }
        recipes.into_iter().map(|(recipe, coats)| weigh_in_row(recipe, &coats)).collect()
    }

    fn fluid(&self, bounds: Bounds) -> Fluid {
        let fill = |item: &Item| match item {
            Item::Filled(moment, lot, grams, fluid) => Some(Fill {
                at: bounds.at(*moment),
                lot: lot.clone(),
                grams: *grams,
                fluid: *fluid,
            }),
            _ => None,
        };
        let mut lots: Vec<String> = Vec::new();
        for item in self.items() {
            if let Item::Sprayed(from) = item {
                let new: Vec<&String> = from.iter().filter(|lot| !lots.contains(lot)).collect();
                lots.extend(new.into_iter().cloned());
            }
        }
        Fluid {
            fills: self.items().filter_map(fill).collect(),
            flushes: self.count(|item| matches!(item, Item::Flushed)),
            lots,
            sprayed: self.used.sprays,
            sprayed_g: self.used.fluid_g,
            each_g: self.used.each_g(),
        }
    }

    fn shelf_row(&self, shop: &Shop, to: Moment) -> ShelfRow {
        let stored = || shop.floor().queue(Queue::Shelf);
        let past = |garment: &&Garment| shop.shelf_state(garment, to) == Some(ShelfState::Past);
        ShelfRow {
            stored: self.count(|item| matches!(item, Item::Stored)),
            taken: self.count(|item| matches!(item, Item::Taken { .. })),
            taken_past_day: self.count(|item| matches!(item, Item::Taken { past_day: true })),
            there: stored().count(),
            there_past_day: stored().filter(past).count(),
        }
    }

    fn notes(&self, bounds: Bounds) -> Vec<Note> {
        let mut notes = self.clock.clone();
        let here = |until: &Option<Moment>| until.is_none_or(|until| until.at > bounds.from.at);
        let off = self.fan_off.iter().filter(|(_, until)| here(until));
        notes.extend(off.map(|(from, until)| {
            let (from, until) = (bounds.at(*from), until.map(|until| bounds.at(until)));
            Note::FanOff { from, until }
        }));
        let some = |count| Some(count).filter(|count| *count > 0);
        let presses =
            |wanted: fn(&&Opening) -> bool| some(self.production.openings().filter(wanted).count());
        notes.extend(presses(|one| one.over_restart).map(|presses| Note::OverRestart { presses }));
        notes
            .extend(presses(|one| one.seconds.is_none()).map(|presses| Note::NotTimed { presses }));
        let implied = self.count(|item| matches!(item, Item::Implied));
        notes.extend(some(implied).map(|steps| Note::Implied { steps }));
        let unconfirmed =
            self.items().any(|item| matches!(item, Item::WeighIn(fact, _) if fact.unconfirmed));
        notes.extend(unconfirmed.then_some(Note::UnconfirmedWindow));
        notes.push(Note::HandTimes);
        notes
    }
}

fn came_out_of(order: &Order, finished: &[(Tag, Moment)]) -> u32 {
    let its = finished.iter().filter(|(tag, _)| tag.order_id() == order.id);
    u32::try_from(its.count()).unwrap_or(u32::MAX)
}

fn order_row(shop: &Shop, order: &Order, finished: &[(Tag, Moment)], used: Used) -> OrderRow {
    let stands = shop.floor().standing(order);
    let here: BTreeSet<Tag> =
        finished.iter().map(|(tag, _)| *tag).filter(|tag| tag.order_id() == order.id).collect();
    OrderRow {
        order: shop.written(order.id),
        name: order.form.name.clone(),
        remakes: order.form.remakes(),
        ordered: order.form.count(),
        done: stands.done,
        finished: here.into_iter().filter(|tag| !shop.floor().is_second(*tag)).count(),
        left: stands.left,
        short: u64::try_from(stands.short).unwrap_or(u64::MAX),
        due: order.form.due,
        fulfilled: stands.is_fulfilled(),
        used,
        cost: Cost::default(),
        cost_per_garment: None,
    }
}

/// By each due time: what is due by then and was not finished before the shift.
fn needed(shop: &Shop, orders: &[OrderRow], bounds: Bounds) -> Vec<Needed> {
    let mut due: Vec<(At, usize)> = orders
        .iter()
        .filter_map(|order| {
            let at = order.due?.at(shop.zone())?;
            let count = order.finished + order.left;
            (at > bounds.from.at && count > 0).then_some((At(at), count))
        })
        .collect();
    due.sort_unstable();
    let mut finished = 0;
    let mut needed: Vec<Needed> = Vec::new();
    for (at, count) in due {
        finished += count;
        match needed.last_mut().filter(|last| last.at == at) {
            Some(last) => last.finished = finished,
            None => needed.push(Needed { at, finished }),
        }
    }
    needed
}

/// The pace that meets the most pressing of them.
fn needed_pace(needed: &[Needed], bounds: Bounds) -> Option<f64> {
    let pace = |needed: &Needed| {
        let seconds = (needed.at.0 - bounds.from.at).as_secs_f64();
        needed.finished as f64 * HOUR_S / seconds
    };
    needed.iter().map(pace).max_by(f64::total_cmp)
}

/// Mean and standard deviation of the sample.
fn weigh_in_row(recipe: &str, coats: &[(&CoatWeighed, bool)]) -> WeighInRow {
    let n = coats.len() as f64;
    let mean = coats.iter().map(|(fact, _)| fact.coat.0).sum::<f64>() / n;
    let squares: f64 = coats.iter().map(|(fact, _)| (fact.coat.0 - mean).powi(2)).sum();
    let count = |wanted: fn(&&(&CoatWeighed, bool)) -> bool| coats.iter().filter(wanted).count();
    WeighInRow {
        recipe: recipe.to_owned(),
        count: coats.len(),
        mean,
        spread: (coats.len() > 1).then(|| (squares / (n - 1.0)).sqrt()),
        outside: count(|(fact, _)| fact.verdict != Verdict::Inside),
        mended: count(|(fact, mended)| *mended && fact.verdict == Verdict::Inside),
        unconfirmed: coats.iter().any(|(fact, _)| fact.unconfirmed),
    }
}
