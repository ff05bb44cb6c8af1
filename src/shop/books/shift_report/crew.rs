//! Who was at the bench for how long, and what was done there meanwhile. Where several were, nobody knows whose hands it
//! was: that is counted apart, for each of them.

use std::collections::BTreeMap;

use serde::Serialize;

use crate::shop::books::entry::{Done, Entry};
use crate::shop::facts::moment::Moment;

const HOUR_S: f64 = 3600.0;

/// What is known of one person.
#[derive(Debug, Clone, Default, PartialEq, Serialize)]
pub struct PersonRow {
    /// Initials.
    pub who: String,
    pub hours: f64,
    /// Sprays, prints, openings of presses and finished garments while nobody else was signed in.
    pub sprayed: usize,
    pub printed: usize,
    pub pressed: usize,
    pub finished: usize,
    /// Such acts while others were signed in too.
    pub shared: usize,
}

/// Everybody who was there.
#[derive(Debug, Clone, Default, PartialEq)]
pub(super) struct Crew {
    /// Who is there, and since when that counts.
    here: Vec<(String, Option<Moment>)>,
    rows: BTreeMap<String, PersonRow>,
    /// In the order in which they came.
    pub names: Vec<String>,
}

impl Crew {
    pub fn take(&mut self, entry: &Entry, inside: bool) {
        let now = entry.moment;
        match &entry.done {
            Done::SignedIn { who, .. } => self.here.push((who.clone(), None)),
            Done::SignedOut(who) => self.leave(|one| one == who, now),
            Done::ShiftClosed => self.leave(|_| true, now),
            _ => {}
        }
        if !inside {
            return;
        }
        for (who, since) in &mut self.here {
            since.get_or_insert(now);
            if !self.names.contains(who) {
                self.names.push(who.clone());
            }
        }
        self.count(&entry.done);
    }

    fn row(&mut self, who: &str) -> &mut PersonRow {
        let new = || PersonRow { who: who.to_owned(), ..PersonRow::default() };
        self.rows.entry(who.to_owned()).or_insert_with(new)
    }

    fn count(&mut self, done: &Done) {
        let all: Vec<String> = self.here.iter().map(|(who, _)| who.clone()).collect();
        let alone = all.len() == 1;
        for who in all {
            let row = self.row(&who);
            match done {
                Done::Handwork { .. } if alone => row.sprayed += 1,
                Done::Printed { .. } if alone => row.printed += 1,
                Done::Opened(opened) if alone => {
                    row.pressed += 1;
                    row.finished += usize::from(opened.finished);
                }
                Done::Handwork { .. } | Done::Printed { .. } | Done::Opened(_) => row.shared += 1,
                _ => {}
            }
        }
    }

    fn leave(&mut self, goes: impl Fn(&str) -> bool, now: Moment) {
        self.until(&goes, now);
        self.here.retain(|(who, _)| !goes(who));
    }

    /// Counts what some have been there for until a moment; they count anew from the next act on.
    fn until(&mut self, of: impl Fn(&str) -> bool, now: Moment) {
        let there: Vec<(String, Moment)> = self
            .here
            .iter_mut()
            .filter(|(who, _)| of(who))
            .filter_map(|(who, since)| Some((who.clone(), since.take()?)))
            .collect();
        for (who, since) in there {
            self.row(&who).hours += now.since(since).seconds() / HOUR_S;
        }
    }

    /// The work ended there: whoever forgot to sign out has gone.
    pub fn pause(&mut self, at: Moment) {
        self.until(|_| true, at);
    }

    /// Everybody, by initials.
    pub fn rows(mut self, to: Moment) -> Vec<PersonRow> {
        self.pause(to);
        self.rows.into_values().collect()
    }
}
