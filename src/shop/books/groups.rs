//! What came out, by shift, week, day of the week, press, person or recipe: side by side, with how far chance alone would set
//! them apart.
//!
//! A garment counts where it was finished, or lost: in that shift, and with whoever was signed in then; several people are a
//! group of their own, since nobody knows whose hands it was. Of a press the presses of a garment are counted instead. It is
//! made of the acts that stand today: what was taken back since never was.

use std::collections::{BTreeMap, BTreeSet};

use jiff::tz::TimeZone;
use serde::Serialize;

use super::Book;
use super::entry::{Done, Entry};
use super::finished::Finished;
use super::losses::Losses;
use super::shifts::{Shift, ShiftName, Shifts, Which};
use super::used::Used;
use crate::figures::coat::Verdict;
use crate::figures::funnel::Limits;
use crate::shop::Shop;
use crate::shop::facts::day::Day;
use crate::shop::facts::fact::Timing;
use crate::shop::facts::ids::{ActNo, PressNo, RecipeHash, Tag};
use crate::shop::facts::step::Step;
use crate::shop::facts::trouble::Outcome;

/// By what it is set side by side.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize)]
#[serde(rename_all = "kebab-case")]
pub enum By {
    Shift,
    Week,
    Weekday,
    Press,
    Person,
    Recipe,
}

/// One of the groups.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Group {
    pub by: By,
    pub group: String,
    /// Garments finished; of a press, garments pressed.
    pub made: usize,
    /// Of those that came out or were lost, the share that was right at once; and within which limits it lies where all
    /// groups do alike.
    pub came: usize,
    pub first_pass: Option<f64>,
    pub low: Option<f64>,
    pub high: Option<f64>,
    pub beyond: bool,
    pub rejects: usize,
    pub second: usize,
    pub lost_minutes: f64,
    pub opened: usize,
    pub early: usize,
    pub late: usize,
    pub weighed: usize,
    pub outside: usize,
    pub sprayed: u32,
    pub fluid_g: f64,
    /// Grams for a garment; None where not all are known.
    pub each_g: Option<f64>,
    /// Hours of work; None where they cannot be told apart.
    pub hours: Option<f64>,
    pub per_hour: Option<f64>,
}

impl Group {
    /// What some groups come to that have nothing in common, such as all of a station: a share is made of the counts, and
    /// what is made of hours is not known of groups that share some.
    pub fn total(name: String, groups: &[Group]) -> Group {
        let count = |of: fn(&Group) -> usize| groups.iter().map(of).sum::<usize>();
        // Not bare sums: those of nothing are -0.
        let sum = |of: fn(&Group) -> f64| groups.iter().fold(0.0, |sum, one| sum + of(one));
        let came = count(|one| one.came);
        let right = sum(|one| (one.first_pass.unwrap_or(0.0) * one.came as f64).round());
        let (sprayed, fluid_g) =
            (groups.iter().map(|one| one.sprayed).sum(), sum(|one| one.fluid_g));
        let knows_all = groups.iter().all(|one| one.sprayed == 0 || one.each_g.is_some());
        Group {
            by: groups.first().map_or(By::Shift, |one| one.by),
            group: name,
            made: count(|one| one.made),
            came,
            first_pass: (came > 0).then(|| right / came as f64),
            low: None,
            high: None,
            beyond: false,
            rejects: count(|one| one.rejects),
            second: count(|one| one.second),
            lost_minutes: sum(|one| one.lost_minutes),
            opened: count(|one| one.opened),
            early: count(|one| one.early),
            late: count(|one| one.late),
            weighed: count(|one| one.weighed),
            outside: count(|one| one.outside),
            sprayed,
            fluid_g,
            each_g: (knows_all && sprayed > 0).then(|| fluid_g / f64::from(sprayed)),
            hours: None,
            per_hour: None,
        }
    }
}

/// Where something happened.
#[derive(Debug, Clone, Copy, PartialEq)]
struct Where {
    /// The first event of its shift.
    shift: u64,
    /// Its people's place in the list.
    people: usize,
    press: Option<PressNo>,
    recipe: Option<RecipeHash>,
}

/// What happened.
#[derive(Debug, Clone, Copy, PartialEq)]
enum What {
    Opened { timing: Timing, spoiled: bool },
    Finished { garment: Tag, stands: bool },
    Lost { garment: Tag, reject: bool },
    Weighed { garment: Tag, outside: bool },
    Sprayed(Used),
}

/// Everything that is set side by side.
#[derive(Debug, Clone, PartialEq)]
pub struct Groups {
    shifts: Shifts,
    finished: Finished,
    losses: Losses,
    people: Vec<String>,
    all: Vec<(Where, What)>,
    /// The openings of each garment, by their places, and its newest finish.
    openings: BTreeMap<Tag, Vec<(Step, usize)>>,
    finishes: BTreeMap<Tag, usize>,
    /// Weights of garments that are still wet.
    wet: BTreeMap<Tag, usize>,
    /// Where each act that something may be lost with happened.
    acts: BTreeMap<ActNo, Where>,
    recipes: BTreeMap<Tag, RecipeHash>,
}

impl Default for Groups {
    fn default() -> Self {
        Self {
            shifts: Shifts::default(),
            finished: Finished::of_all_time(),
            losses: Losses::of_all_time(),
            people: Vec::new(),
            all: Vec::new(),
            openings: BTreeMap::new(),
            finishes: BTreeMap::new(),
            wet: BTreeMap::new(),
            acts: BTreeMap::new(),
            recipes: BTreeMap::new(),
        }
    }
}

impl Book for Groups {
    fn take(&mut self, entry: &Entry) {
        self.shifts.take(entry);
        self.finished.take(entry);
        self.losses.take(entry);
        let Some(garment) = entry.garment else { return };
        let place = self.place(entry, garment);
        self.count(entry, garment, place);
    }
}

impl Groups {
    /// Where an entry happened; the recipe is the one that its garment was worked by last.
    fn place(&mut self, entry: &Entry, garment: Tag) -> Where {
        let own = match &entry.done {
            Done::Opened(opened) => opened.recipe,
            Done::Handwork { recipe, .. }
            | Done::Printed { recipe, .. }
            | Done::Trouble { recipe, .. } => *recipe,
            _ => None,
        };
        if let Some(recipe) = own {
            self.recipes.insert(garment, recipe);
        }
        let press = match &entry.done {
            Done::Opened(opened) => Some(opened.opening.press),
            _ => None,
        };
        let mut names = self.shifts.here().to_vec();
        names.sort();
        let names = if names.is_empty() { NOBODY.to_owned() } else { names.join("+") };
        let known = self.people.iter().position(|one| *one == names);
        let people = known.unwrap_or_else(|| {
            self.people.push(names);
            self.people.len() - 1
        });
        let shift = self.shifts.last_first();
        Where { shift, people, press, recipe: self.recipes.get(&garment).copied() }
    }

    fn count(&mut self, entry: &Entry, garment: Tag, place: Where) {
        let next = self.all.len();
        match &entry.done {
            Done::Opened(opened) => {
                let (timing, spoiled) = (opened.opening.timing, false);
                self.wet.remove(&garment);
                self.acts.insert(entry.act, place);
                self.all.push((place, What::Opened { timing, spoiled }));
                self.openings.entry(garment).or_default().push((opened.opening.step, next));
                if opened.finished {
                    self.finishes.insert(garment, self.all.len());
                    self.all.push((place, What::Finished { garment, stands: true }));
                }
            }
            Done::Handwork { .. } => self.all.push((place, What::Sprayed(Used::by(&entry.done)))),
            Done::CoatWeighed(fact) => {
                let outside = fact.verdict != Verdict::Inside;
                let what = What::Weighed { garment, outside };
                // The last weight before it is dried counts.
                match self.wet.get(&garment).and_then(|n| self.all.get_mut(*n)) {
                    Some(before) => before.1 = what,
                    None => {
                        self.wet.insert(garment, next);
                        self.all.push((place, what));
                    }
                }
            }
            Done::Renewed => drop(self.acts.insert(entry.act, place)),
            Done::Trouble { step, outcome, .. } => {
                let press = self.mark_spoiled(garment, *step, *outcome);
                let place = Where { press, ..place };
                self.acts.insert(entry.act, place);
                let reject = *outcome == Outcome::Out;
                if reject || *outcome == Outcome::StepAgain {
                    self.unfinish(garment);
                }
                if reject || *outcome == Outcome::SecondQuality {
                    self.all.push((place, What::Lost { garment, reject }));
                }
            }
            _ => {}
        }
    }

    /// The press of the opening that a trouble tells of, which is spoiled where the garment was not let go on.
    fn mark_spoiled(
        &mut self,
        garment: Tag,
        step: Option<Step>,
        outcome: Outcome,
    ) -> Option<PressNo> {
        let openings = self.openings.get(&garment)?;
        let last = match step {
            Some(Step::Print) => openings.last(),
            step => openings.iter().rfind(|(at, _)| Some(*at) == step),
        };
        let (place, what) = self.all.get_mut(last?.1)?;
        if let What::Opened { spoiled, .. } = what {
            *spoiled |= !matches!(outcome, Outcome::GoOn | Outcome::NotNoted);
        }
        place.press
    }

    fn unfinish(&mut self, garment: Tag) {
        let finish = self.finishes.remove(&garment).and_then(|n| self.all.get_mut(n));
        if let Some((_, What::Finished { stands, .. })) = finish {
            *stands = false;
        }
    }

    /// The groups of the shifts that began between two days, in their own order, each with its limits. `shop` is as it
    /// is after the last entry.
    pub fn rows(&self, shop: &Shop, by: By, within: impl Fn(Day) -> bool) -> Vec<Group> {
        let days = self.named_shifts(shop.zone());
        let mut tallies: BTreeMap<(u64, String), Tally> = BTreeMap::new();
        let is_within = |shift: &u64| days.get(shift).is_some_and(|(day, _)| within(*day));
        for (place, what) in self.all.iter().filter(|(place, _)| is_within(&place.shift)) {
            let Some(key) = self.key(shop, by, place, &days) else { continue };
            tallies.entry(key).or_default().add(what, by, &self.finished);
        }
        for once in self.losses.each() {
            let Some(place) = self.acts.get(&once.act).filter(|place| is_within(&place.shift))
            else {
                continue;
            };
            let Some(key) = self.key(shop, by, place, &days) else { continue };
            tallies.entry(key).or_default().lost_s += once.used.press_s + once.used.hand_s;
        }
        if matches!(by, By::Shift | By::Week | By::Weekday) {
            for shift in self.shifts.all().filter(|shift| is_within(&shift.first)) {
                let place = Where { shift: shift.first, people: 0, press: None, recipe: None };
                let Some(key) = self.key(shop, by, &place, &days) else { continue };
                let hours = shift.to.since(shift.from).seconds() / 3600.0;
                *tallies.entry(key).or_default().hours.get_or_insert(0.0) += hours;
            }
        }
        let (right, came) = tallies
            .values()
            .fold((0, 0), |(right, came), tally| (right + tally.right, came + tally.came()));
        let share = (came > 0).then(|| right as f64 / came as f64);
        tallies.into_iter().map(|((_, name), tally)| tally.group(by, name, share)).collect()
    }

    /// The day of each shift, by its first event, and what it is known by.
    fn named_shifts(&self, zone: &TimeZone) -> BTreeMap<u64, (Day, String)> {
        let mut number: BTreeMap<Day, usize> = BTreeMap::new();
        let named = |shift: &Shift| {
            let day = shift.day(zone);
            let number = number.entry(day).or_default();
            *number += 1;
            let name = ShiftName::Of(day, Which::Number(*number)).to_string();
            (shift.first, (day, name))
        };
        self.shifts.all().map(named).collect()
    }

    /// The place of a group among the others, and its name.
    fn key(
        &self,
        shop: &Shop,
        by: By,
        place: &Where,
        days: &BTreeMap<u64, (Day, String)>,
    ) -> Option<(u64, String)> {
        let (day, name) = days.get(&place.shift)?;
        Some(match by {
            By::Shift => (place.shift, name.clone()),
            By::Week => {
                let week = day.0.iso_week_date();
                let name = format!("{}-W{:02}", week.year(), week.week());
                (u64::try_from(i32::from(week.year()) * 100 + i32::from(week.week())).ok()?, name)
            }
            By::Weekday => {
                let place = u64::try_from(day.0.weekday().to_monday_zero_offset()).ok()?;
                (place, day.0.strftime("%A").to_string())
            }
            By::Press => {
                let press = place.press?;
                (
                    press.0.into(),
                    format!("{press} {}", shop.press_name(press)).trim_end().to_owned(),
                )
            }
            By::Person => (0, self.people.get(place.people)?.clone()),
            By::Recipe => (0, shop.recipes().get(&place.recipe?)?.title.clone()),
        })
    }
}

/// Nobody was signed in.
const NOBODY: &str = "nobody signed in";

/// What a group comes to.
#[derive(Debug, Default)]
struct Tally {
    made: BTreeSet<Tag>,
    lost: BTreeSet<Tag>,
    pressed: usize,
    right: usize,
    rejects: usize,
    second: usize,
    lost_s: f64,
    opened: usize,
    early: usize,
    late: usize,
    weighed: usize,
    outside: usize,
    used: Used,
    hours: Option<f64>,
}

impl Tally {
    fn add(&mut self, what: &What, by: By, finished: &Finished) {
        match *what {
            What::Opened { timing, spoiled } => {
                self.opened += 1;
                self.early += usize::from(timing == Timing::Early);
                self.late += usize::from(timing == Timing::Late);
                if by == By::Press {
                    self.pressed += 1;
                    let timed = !matches!(timing, Timing::Early | Timing::Late);
                    self.right += usize::from(timed && !spoiled);
                }
            }
            What::Finished { garment, stands: true } => {
                let new = self.made.insert(garment);
                let right = new && by != By::Press && finished.was_right(garment);
                self.right += usize::from(right);
            }
            What::Finished { stands: false, .. } => {}
            What::Lost { garment, reject } => {
                self.lost.insert(garment);
                self.rejects += usize::from(reject);
                self.second += usize::from(!reject);
            }
            What::Weighed { outside, .. } => {
                self.weighed += 1;
                self.outside += usize::from(outside);
            }
            What::Sprayed(used) => self.used += used,
        }
    }

    /// What came out or was lost; of a press, what was pressed.
    fn came(&self) -> usize {
        if self.pressed > 0 { self.pressed } else { self.made.union(&self.lost).count() }
    }

    fn group(self, by: By, group: String, of_all: Option<f64>) -> Group {
        let came = self.came();
        let made = if by == By::Press { self.pressed } else { self.made.len() };
        let first_pass = (came > 0).then(|| self.right as f64 / came as f64);
        let limits = of_all.and_then(|share| Limits::of(share, came));
        Group {
            by,
            group,
            made,
            came,
            first_pass,
            low: limits.map(|limits| limits.low),
            high: limits.map(|limits| limits.high),
            beyond: limits.zip(first_pass).is_some_and(|(limits, share)| limits.exclude(share)),
            rejects: self.rejects,
            second: self.second,
            lost_minutes: self.lost_s / 60.0,
            opened: self.opened,
            early: self.early,
            late: self.late,
            weighed: self.weighed,
            outside: self.outside,
            sprayed: self.used.sprays,
            fluid_g: self.used.fluid_g,
            each_g: self.used.each_g(),
            hours: self.hours,
            per_hour: self.hours.filter(|hours| *hours > 0.0).map(|hours| made as f64 / hours),
        }
    }
}

impl Groups {
    /// The days of the oldest and the newest shift.
    pub fn days(&self, zone: &TimeZone) -> Option<(Day, Day)> {
        let days = self.shifts.days(zone);
        Some((*days.first()?, *days.last()?))
    }
}
