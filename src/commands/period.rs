//! Which time a question is about: a shift, or the last hours.

use std::fmt;
use std::path::Path;

use jiff::tz::TimeZone;

use super::{Failure, Read, read};
use crate::figures::units::{NotAQuantity, Span, bounds};
use crate::shell::journal::Reader;
use crate::shell::replay::Replay;
use crate::shop::Shop;
use crate::shop::books::finished::Scope;
use crate::shop::books::ledger::Ledger;
use crate::shop::books::shifts::{Shift, Shifts};
use crate::shop::books::{Book, Books};
use crate::shop::facts::day::Day;
use crate::shop::facts::fact::{Event, Fact};
use crate::shop::facts::moment::Moment;
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
    /// Its last event, and the first one of the time after it.
    last: u64,
    next: u64,
}

impl Period {
    /// The shift of a day; without one, the shift that runs now or the last one.
    ///
    /// # Errors
    /// A journal that is not there, holds no shift, or none of that day; each says what there is.
    pub fn of_shift(data: &Path, day: Option<Day>) -> Result<Period, Failure> {
        let read = read(data)?;
        must_exist(data, &read)?;
        let shifts = &read.shop.books().shifts;
        let none = || {
            let text = format!("{}: nobody has worked at this bench yet", data.display());
            Failure::Input(text)
        };
        let last = shifts.last().ok_or_else(none)?;
        let shift = match day {
            None => last,
            Some(day) => {
                shifts.of(day, &read.zone).ok_or_else(|| unknown(day, shifts, &read.zone))?
            }
        };
        Ok(Self::of(shift, shifts.next_after(&shift), &read))
    }

    fn of(shift: Shift, next: Option<u64>, read: &Read) -> Period {
        let running =
            next.is_none() && shift.may_run(read.now) && read.now.boot != super::Boot::MADE_UP;
        // A press that is still shut works on; a bench that nobody touches has stopped at its last act.
        let works = running && read.shop.loads().next().is_some();
        Period {
            from: shift.from,
            to: if works { read.now } else { shift.to },
            running,
            zone: read.zone.clone(),
            scope: Scope::From(shift.first),
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
            scope: Scope::Within(read.now, span.0),
            last: u64::MAX,
            next: u64::MAX,
        })
    }

    /// Whether an event is needed to know the period as it was at its end. What was taken back or corrected before
    /// anything else was done belongs to it.
    fn needs(&self, event: &Event) -> bool {
        let amends = matches!(event.fact, Fact::Undone(_) | Fact::TimeCorrected(_));
        event.seq <= self.last || amends && event.seq < self.next
    }

    /// Reads the journal from its beginning to the end of the period into a book. The shop is as it was then.
    ///
    /// # Errors
    /// A journal that does not read.
    pub fn read<B: Book + Clone>(&self, data: &Path, book: B) -> Result<(Shop, B), Failure> {
        let (mut shop, mut ledger) = (Shop::default(), Ledger::settled(book));
        if let Some(reader) = Reader::open(data)? {
            reader.events_after(0, |event| {
                if self.needs(&event) {
                    shop.apply_for(&event, &mut ledger);
                }
            })?;
        }
        shop.set_zone(self.zone.clone());
        Ok((shop, ledger.into_now()))
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
        self.read(data, book(&Books::default()))
    }
}

fn must_exist(data: &Path, read: &Read) -> Result<(), Failure> {
    if read.shop.seq() > 0 {
        return Ok(());
    }
    let text =
        format!("{}: no journal lies there; --data or DWELL_DATA says where it is", data.display());
    Err(Failure::Input(text))
}

fn unknown(day: Day, shifts: &Shifts, zone: &TimeZone) -> Failure {
    let days = shifts.days(zone);
    let newest = days.iter().rev().take(MOST_NAMED);
    let named: Vec<String> = newest.map(Day::to_string).collect();
    let more = if days.len() > MOST_NAMED { ", and earlier ones" } else { "" };
    Failure::Input(format!("no shift began on {day}; shifts began on {}{more}", named.join(", ")))
}
