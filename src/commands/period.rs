//! Which time a question is about: a shift, or the last hours.

use std::path::Path;

use jiff::tz::TimeZone;

use super::{Failure, Read, read, read_upto};
use crate::figures::units::Span;
use crate::shell::journal::Reader;
use crate::shell::replay::Replay;
use crate::shop::Shop;
use crate::shop::day::Day;
use crate::shop::fact::Event;
use crate::shop::moment::Moment;
use crate::shop::shifts::{Shift, Shifts};

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
    first: u64,
    last: u64,
}

impl Period {
    /// The shift of a day; without one, the shift that runs now or the last one.
    ///
    /// # Errors
    /// A journal that is not there, holds no shift, or none of that day; each says what there is.
    pub fn of_shift(data: &Path, day: Option<Day>) -> Result<Period, Failure> {
        let mut shifts = Shifts::default();
        let read = read(data)?;
        must_exist(data, &read)?;
        // Which shifts there were is asked of the events alone: no shop has to be told of them.
        if let Some(reader) = Reader::open(data)? {
            reader.events_after(0, |event| shifts.take(&event))?;
        }
        let none = || {
            let text = format!("{}: nobody has worked at this bench yet", data.display());
            Failure::Input(text)
        };
        let last = shifts.last().ok_or_else(none)?;
        let shift = match day {
            None => last,
            Some(day) => {
                shifts.of(day, &read.zone).ok_or_else(|| unknown(day, &shifts, &read.zone))?
            }
        };
        Ok(Self::of(shift, shift.last == last.last, &read))
    }

    fn of(shift: Shift, newest: bool, read: &Read) -> Period {
        let running = newest && shift.may_run(read.now) && read.now.boot != super::Boot::MADE_UP;
        // A press that is still shut works on; a bench that nobody touches has stopped at its last act.
        let works = running && read.shop.loads().next().is_some();
        Period {
            from: shift.from,
            to: if works { read.now } else { shift.to },
            running,
            zone: read.zone.clone(),
            first: shift.first,
            last: if newest { u64::MAX } else { shift.last },
        }
    }

    /// The last so long.
    ///
    /// # Errors
    /// A journal that is not there.
    pub fn since(data: &Path, span: Span) -> Result<Period, Failure> {
        let read = read(data)?;
        must_exist(data, &read)?;
        let mut first = None;
        // Only when things happened is asked: no shop has to be told of it.
        if let Some(reader) = Reader::open(data)? {
            reader.events_after(0, |event| {
                if read.now.since(event.moment).span <= span.0 {
                    first.get_or_insert(event.seq);
                }
            })?;
        }
        Ok(Period {
            from: read.now.minus(span.0),
            to: read.now,
            running: read.shop.loads().next().is_some(),
            zone: read.zone,
            first: first.unwrap_or(u64::MAX),
            last: u64::MAX,
        })
    }

    /// Reads the journal up to the end of the period; `each` is told whether an event belongs to it. The shop is as
    /// it was then.
    ///
    /// # Errors
    /// A journal that does not read.
    pub fn read(
        &self,
        data: &Path,
        mut each: impl FnMut(&Event, &Shop, bool),
    ) -> Result<Shop, Failure> {
        let read = read_upto(data, self.last, |event, shop| {
            each(event, shop, event.seq >= self.first);
        })?;
        Ok(read.shop)
    }
}

impl Period {
    /// The same, where only what belongs to the period is wanted: from the last snapshot before it, if there is one.
    ///
    /// # Errors
    /// A journal that does not read.
    pub fn read_inside(
        &self,
        data: &Path,
        mut each: impl FnMut(&Event, &Shop) + Send,
    ) -> Result<Shop, Failure> {
        if let Some(reader) = Reader::open(data)?.filter(|_| self.last == u64::MAX) {
            let mut replay = Replay::begin(data, &reader, self.from.at)?;
            if replay.shop().seq() < self.first {
                replay.go_on(&reader, |event, shop| {
                    if event.seq >= self.first {
                        each(event, shop);
                    }
                })?;
                return Ok(replay.into_shop());
            }
        }
        self.read(data, |event, shop, inside| {
            if inside {
                each(event, shop);
            }
        })
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
