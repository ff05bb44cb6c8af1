//! Which time a question is about: a shift, or the last hours.

use std::collections::{BTreeMap, BTreeSet};
use std::fmt;
use std::path::Path;
use std::sync::Arc;

use jiff::tz::TimeZone;

use super::{Failure, Read, read};
use crate::figures::units::{NotAQuantity, Span, bounds};
use crate::shell::journal::Reader;
use crate::shell::replay::Replay;
use crate::shop::Shop;
use crate::shop::books::finished::Scope;
use crate::shop::books::ledger::Ledger;
use crate::shop::books::shift_report::{At, Note};
use crate::shop::books::shifts::{PAUSE, Shift, ShiftName, Shifts};
use crate::shop::books::{Book, Books};
use crate::shop::facts::day::Day;
use crate::shop::facts::fact::{Event, Fact};
use crate::shop::facts::ids::ActNo;
use crate::shop::facts::moment::Moment;
use crate::shop::facts::station::Station;
use crate::shop::facts::when::When;

/// From when on: so long ago, or a moment.
#[derive(Debug, Clone, Copy)]
pub enum Since {
    Ago(Span),
    From(When),
}

impl Since {
    /// Reads it from the command line.
    ///
    /// # Errors
    /// A text that is neither.
    pub fn read(text: &str) -> Result<Self, String> {
        if let Ok(when) = text.parse() {
            return Ok(Since::From(when));
        }
        bounds::BACK.read(text).map(Since::Ago).map_err(|wrong: NotAQuantity| {
            format!("{wrong}; or a moment such as \"13:00\" or \"2026-12-04T13:00\"")
        })
    }

    /// How long ago that was.
    fn until(self, now: Moment, zone: &TimeZone) -> Result<Span, Failure> {
        let when = match self {
            Since::Ago(span) => return Ok(span),
            Since::From(when) => when,
        };
        let ago = when.at(now, zone).filter(|at| *at < now.at).map(|at| Span(now.at.since(at)));
        ago.ok_or_else(|| {
            Failure::Input(format!("--since {when}: expected a moment that has passed"))
        })
    }
}

impl fmt::Display for Since {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            Since::Ago(span) => write!(f, "the last {span}"),
            Since::From(when) => write!(f, "since {when}"),
        }
    }
}

/// How many days are named where the one asked for has no shift.
const MOST_NAMED: usize = 5;

/// A stretch of the journal.
#[derive(Debug, Clone)]
pub struct Period {
    pub from: Moment,
    pub to: Moment,
    /// It may still be going on.
    pub running: bool,
    /// The zone in which its days are counted.
    pub zone: TimeZone,
    /// What belongs to it.
    pub scope: Scope,
    /// The station as it is today, with today's prices.
    pub station: Option<Arc<Station>>,
    /// What the shift is known by where it is one, and how many began on its day.
    pub named: Option<(ShiftName, usize)>,
    /// The last event of the shift before; its own first event, its last one, and the first of the time after it.
    after: u64,
    first: u64,
    last: u64,
    next: u64,
}

impl Period {
    /// The shift of a name; without one, the shift that runs now or the last one.
    ///
    /// # Errors
    /// A journal that is not there, holds no shift, or none of that name; each says what there is.
    pub fn of_shift(data: &Path, name: Option<&ShiftName>) -> Result<Period, Failure> {
        let read = read(data)?;
        must_exist(data, &read)?;
        let shifts = &read.shop.books().shifts;
        let last = last_of(shifts, data)?;
        let shift = match name {
            None => last,
            Some(name) => {
                let found = shifts.named(name, &read.zone).cloned();
                found.ok_or_else(|| unknown(name, shifts, &read.zone))?
            }
        };
        Ok(Self::of((&shift, &shift), &read))
    }

    /// Every shift that began on one of these days; without a first day from the first shift on, without a last one to
    /// the newest.
    ///
    /// # Errors
    /// A journal that is not there, or no shift on any of these days.
    pub fn of_days(data: &Path, from: Option<Day>, to: Option<Day>) -> Result<Period, Failure> {
        let read = read(data)?;
        must_exist(data, &read)?;
        let shifts = &read.shop.books().shifts;
        let newest = last_of(shifts, data)?.day(&read.zone);
        let oldest = shifts.all().next().map_or(newest, |shift| shift.day(&read.zone));
        let (from, to) = (
            from.unwrap_or_else(|| oldest.min(to.unwrap_or(oldest))),
            to.unwrap_or_else(|| newest.max(from.unwrap_or(newest))),
        );
        earlier_first(from, to)?;
        let (first, last) = shifts.between(from, to, &read.zone).ok_or_else(|| {
            let there = some_days(shifts, &read.zone);
            Failure::Input(format!("no shift began from {from} to {to}; shifts began on {there}"))
        })?;
        Ok(Self::of((first, last), &read))
    }

    /// From the first of a shift to the last of another, or of the same.
    fn of((first, shift): (&Shift, &Shift), read: &Read) -> Period {
        let shifts = &read.shop.books().shifts;
        let next = shifts.next_after(shift);
        let running =
            next.is_none() && shift.may_run(read.now) && read.now.boot != super::Boot::MADE_UP;
        // A press that is still shut works on; a bench that nobody touches has stopped at its last act.
        let works = running && read.shop.loads().next().is_some();
        let (name, that_day) = shifts.name_of(first, &read.zone);
        Period {
            from: first.from,
            to: if works { read.now } else { shift.to },
            running,
            zone: read.zone.clone(),
            scope: Scope::From(first.first),
            station: read.shop.station().cloned(),
            named: (first.first == shift.first).then_some((name, that_day)),
            after: shifts.all().rfind(|one| one.last < first.first).map_or(0, |one| one.last),
            first: first.first,
            last: next.map_or(u64::MAX, |_| shift.last),
            next: next.unwrap_or(u64::MAX),
        }
    }

    /// The last so long.
    ///
    /// # Errors
    /// A journal that is not there.
    pub fn since(data: &Path, since: Since) -> Result<Period, Failure> {
        let read = read(data)?;
        must_exist(data, &read)?;
        let span = since.until(read.now, &read.zone)?;
        Ok(Period {
            from: read.now.minus(span.0),
            to: read.now,
            running: read.shop.loads().next().is_some(),
            zone: read.zone,
            station: read.shop.station().cloned(),
            scope: Scope::Within(read.now, span.0),
            named: None,
            after: u64::MAX - 1,
            first: u64::MAX,
            last: u64::MAX,
            next: u64::MAX,
        })
    }

    /// Reads the journal into a book from its beginning to the end of the period, and what was said of the period later: what
    /// was taken back or corrected after it had ended is so in it, so that the sums of periods meet. The shop is as it was
    /// at the end.
    ///
    /// # Errors
    /// A journal that does not read.
    pub fn read<B: Book + Clone>(&self, data: &Path, book: B) -> Result<PeriodRead<B>, Failure> {
        let (mut shop, mut ledger) = (Shop::default(), Ledger::settled(book));
        let mut amended: Vec<Amended> = Vec::new();
        // Acts after the end that are applied all the same: to take one of them back is said of the period too.
        let mut said_later: BTreeSet<ActNo> = BTreeSet::new();
        // The newest act that took nothing back.
        let mut newest: Option<Moment> = None;
        let reader = Reader::open(data)?;
        if let Some(reader) = &reader {
            reader.events_after(0, |event| {
                let of = amends(&event);
                let later = event.seq > self.last;
                let is_ours = of.is_some_and(|act| act.0 <= self.last || said_later.contains(&act));
                if later && !is_ours && !(of.is_some() && event.seq < self.next) {
                    return;
                }
                if later {
                    said_later.insert(event.act);
                }
                let paused = newest.is_some_and(|at| event.moment.since(at).span >= PAUSE);
                match of {
                    Some(act) => amended.extend(self.amended(&event, act, paused)),
                    None if event.fact.is_by_hand() => newest = Some(event.moment),
                    None => {}
                }
                shop.apply_for(&event, &mut ledger);
            })?;
        }
        shop.set_zone(self.zone.clone());
        let notes = match &reader {
            Some(reader) if !amended.is_empty() => notes(reader, &amended)?,
            _ => Vec::new(),
        };
        Ok(PeriodRead { shop, book: ledger.into_now(), notes })
    }

    /// What is to be said of an act that was taken back or corrected in another shift than its own; `paused` where a shift
    /// had ended since.
    fn amended(&self, event: &Event, act: ActNo, paused: bool) -> Option<Amended> {
        let later = (self.first..self.next).contains(&act.0) && (event.seq > self.next || paused);
        let before = act.0 < self.first
            && (self.after + 1..=self.last).contains(&event.seq)
            && (event.seq > self.first || paused);
        let undone = matches!(event.fact, Fact::Undone(_));
        (later || before).then_some(Amended { at: At(event.moment.at), act, later, undone })
    }

    /// The same for a book that needs nothing from before the period but the standing books: from the last snapshot
    /// before it, if there is one.
    ///
    /// # Errors
    /// A journal that does not read.
    pub fn read_inside<B: Book + Clone + Send + Sync>(
        &self,
        data: &Path,
        book: impl Fn(&Books) -> B,
    ) -> Result<(Shop, B), Failure> {
        if let Some(reader) = Reader::open(data)?.filter(|_| self.next == u64::MAX) {
            let mut replay = Replay::begin(data, &reader, self.from.at)?;
            let seq = replay.shop().seq();
            if !matches!(self.scope, Scope::From(first) if seq >= first) {
                let mut ledger = Ledger::settled(book(replay.shop().books()));
                replay.go_on_for(&reader, &mut ledger)?;
                let mut shop = replay.into_shop();
                shop.set_zone(self.zone.clone());
                return Ok((shop, ledger.into_now()));
            }
        }
        let told = self.read(data, book(&Books::default()))?;
        Ok((told.shop, told.book))
    }
}

/// A period as it was read.
pub struct PeriodRead<B> {
    pub shop: Shop,
    pub book: B,
    /// What was taken back or corrected in it of a time before, or after it of what is in it.
    pub notes: Vec<Note>,
}

/// An act that was taken back or corrected in another period than its own.
#[derive(Debug, Clone, Copy)]
struct Amended {
    at: At,
    act: ActNo,
    /// After the period, of an act in it; else in it, of an act before.
    later: bool,
    undone: bool,
}

/// The act that an event takes back or corrects.
fn amends(event: &Event) -> Option<ActNo> {
    match &event.fact {
        Fact::Undone(fact) => Some(fact.undoes),
        Fact::TimeCorrected(fact) => Some(fact.corrects),
        _ => None,
    }
}

/// What was said, with the acts in words.
fn notes(reader: &Reader, amended: &[Amended]) -> Result<Vec<Note>, Failure> {
    let wanted: BTreeSet<ActNo> = amended.iter().map(|one| one.act).collect();
    let mut words: BTreeMap<ActNo, String> = BTreeMap::new();
    let before = wanted.first().map_or(0, |act| act.0.saturating_sub(1));
    reader.events_after(before, |event| {
        if wanted.contains(&event.act) && amends(&event).is_none() {
            words.entry(event.act).or_insert_with(|| event.fact.in_words());
        }
    })?;
    let note = |one: &Amended| {
        let what = words.get(&one.act)?.clone();
        let Amended { at, later, undone, .. } = *one;
        Some(Note::Amended { at, what, later, undone })
    };
    Ok(amended.iter().filter_map(note).collect())
}

/// Days as they were given: the earlier one first.
///
/// # Errors
/// The other way round.
pub fn earlier_first(from: Day, to: Day) -> Result<(), Failure> {
    if from <= to {
        return Ok(());
    }
    Err(Failure::Input(format!("--from {from} --to {to}: expected the earlier day first")))
}

/// The newest shift.
fn last_of(shifts: &Shifts, data: &Path) -> Result<Shift, Failure> {
    shifts.last().ok_or_else(|| {
        Failure::Input(format!("{}: nobody has worked at this bench yet", data.display()))
    })
}

fn must_exist(data: &Path, read: &Read) -> Result<(), Failure> {
    if read.shop.seq() > 0 {
        return Ok(());
    }
    let text =
        format!("{}: no journal lies there; --data or DWELL_DATA says where it is", data.display());
    Err(Failure::Input(text))
}

fn unknown(name: &ShiftName, shifts: &Shifts, zone: &TimeZone) -> Failure {
    let there = |day: Day| {
        let names = shifts.of(day, zone).into_iter().map(|shift| {
            let (name, _) = shifts.name_of(shift, zone);
            format!("{name} ({})", people(shift))
        });
        names.collect::<Vec<String>>().join(", ")
    };
    Failure::Input(match name {
        ShiftName::Of(day, _) if !shifts.of(*day, zone).is_empty() => {
            format!("no shift is called {name}; on that day there are {}", there(*day))
        }
        ShiftName::Of(day, _) => {
            format!("no shift began on {day}; shifts began on {}", some_days(shifts, zone))
        }
        ShiftName::Newest(who) => {
            let all: BTreeSet<&str> =
                shifts.all().flat_map(|shift| shift.people.iter().map(String::as_str)).collect();
            let all: Vec<&str> = all.into_iter().collect();
            let known = if all.is_empty() {
                "nobody has signed in yet".to_owned()
            } else {
                format!("initials that have: {}", all.join(", "))
            };
            format!("nobody signed in as {who}; {known}")
        }
    })
}

fn people(shift: &Shift) -> String {
    if shift.people.is_empty() { "nobody signed in".to_owned() } else { shift.people.join(", ") }
}

fn some_days(shifts: &Shifts, zone: &TimeZone) -> String {
    let days = shifts.days(zone);
    let newest = days.iter().rev().take(MOST_NAMED);
    let named: Vec<String> = newest.map(Day::to_string).collect();
    let more = if days.len() > MOST_NAMED { ", and earlier ones" } else { "" };
    format!("{}{more}", named.join(", "))
}
