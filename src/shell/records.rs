//! What is known of garments that left the shop: coat, steam, lot, presses, wash tests and complaints, one record each.

use std::collections::BTreeMap;

use super::journal::story::Part;
use crate::figures::coat::Verdict;
use crate::figures::units::GramsPerSquareMetre;
use crate::shop::facts::fact::{
    CoatWeighed, Event, Fact, Fault, FaultKind, PressOpened, Returned, Steam, Timing, Washed,
};
use crate::shop::facts::ids::{PressNo, Tag};
use crate::shop::facts::moment::Wall;
use crate::shop::facts::step::Step;
use crate::shop::facts::words::counted;
use crate::shop::floor::garment::Place;

/// A press that a garment was in, as its time was corrected.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Pressed {
    pub press: PressNo,
    pub seconds: Option<f64>,
    /// When it was opened.
    pub at: Wall,
}

/// What can lie outside. The last measure of each counts.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub enum Measured {
    Coat,
    Dried,
    Cured,
}

/// One garment.
#[derive(Debug, Clone)]
pub struct Record {
    pub tag: Tag,
    pub size: String,
    pub recipe: Option<String>,
    pub is_finished: bool,
    /// Of its last round: grams on the area under the print, and whether the steam said so.
    pub coat: Option<(GramsPerSquareMetre, bool)>,
    /// The second at which the steam stopped, or what somebody said of it.
    pub steam: Option<String>,
    /// What it was sprayed with since it was treated last.
    pub lots: Vec<String>,
    pub dried: Option<Pressed>,
    pub cured: Option<Pressed>,
    /// What was measured and lay outside.
    pub faults: BTreeMap<Measured, String>,
    pub washes: Vec<Washed>,
    pub returns: Vec<Returned>,
}

impl Record {
    fn new(tag: Tag, part: &Part) -> Self {
        let garment = part.shop.garment(tag);
        let line = garment
            .and_then(|garment| part.shop.order(tag.order_id())?.form.lines.get(garment.line));
        Self {
            tag,
            size: line.map(|line| line.mark.clone()).unwrap_or_default(),
            recipe: line.map(|line| line.recipe.clone()),
            is_finished: garment.is_some_and(|garment| garment.place == Place::Finished),
            coat: garment.and_then(|garment| garment.coat),
            steam: None,
            lots: Vec::new(),
            dried: None,
            cured: None,
            faults: BTreeMap::new(),
            washes: Vec::new(),
            returns: Vec::new(),
        }
    }

    fn take(&mut self, event: &Event, part: &Part) {
        match &event.fact {
            Fact::Renewed(_) => {
                (self.lots, self.faults) = (Vec::new(), BTreeMap::new());
                (self.steam, self.dried, self.cured) = (None, None, None);
            }
            Fact::HandworkDone(fact) => {
                let new = fact.lots.iter().filter(|lot| !self.lots.contains(lot));
                self.lots.extend(new.cloned().collect::<Vec<_>>());
            }
            Fact::CoatWeighed(fact) => self.weighed(fact, part),
            Fact::SteamStopped(fact) => self.steam = Some(format!("{:.0} s", fact.seconds)),
            Fact::SteamSaid(fact) if fact.said == Steam::StillSteaming => {
                self.steam = Some("still steaming".to_owned());
            }
            Fact::SteamSaid(fact) if fact.said == Steam::Gone => {
                self.steam = Some("gone".to_owned());
            }
            Fact::PressOpened(fact) if !fact.failed => self.pressed(event, fact, part),
            Fact::Washed(fact) => self.washes.push(fact.clone()),
            Fact::Returned(fact) => self.returns.push(fact.clone()),
            _ => {}
        }
    }

    fn weighed(&mut self, fact: &CoatWeighed, part: &Part) {
        self.faults.remove(&Measured::Coat);
        let Some(recipe) = part.shop.recipes().get(&fact.hash) else { return };
        let (kind, limit) = match fact.verdict {
            Verdict::Inside => return,
            Verdict::Under => (FaultKind::CoatLight, recipe.coat.low),
            Verdict::Over => (FaultKind::CoatHeavy, recipe.coat.high),
        };
        let fault = Fault { kind, found: fact.coat.0, limit: limit.0 };
        self.faults.insert(Measured::Coat, fault.to_string());
    }

    fn pressed(&mut self, event: &Event, fact: &PressOpened, part: &Part) {
        let opening = part.openings.0.get(&event.seq);
        let (seconds, timing) = opening
            .map_or((fact.seconds, fact.timing), |opening| (opening.seconds, opening.timing));
        let pressed = Pressed { press: fact.press, seconds, at: event.moment.at };
        let (measured, done) = match fact.step {
            Step::Dry => {
                self.dried = Some(pressed);
                (Measured::Dried, "dried")
            }
            Step::Cure => {
                self.cured = Some(pressed);
                (Measured::Cured, "cured")
            }
            _ => return,
        };
        self.faults.remove(&measured);
        let pressing = part
            .shop
            .garment(self.tag)
            .and_then(|garment| part.shop.recipe_of(garment)?.1.pressing(fact.step, false));
        let seconds = seconds.map_or_else(|| "?".to_owned(), |seconds| format!("{seconds:.0}"));
        let limit =
            |limit: Option<f64>| limit.map_or_else(|| "?".to_owned(), |s| format!("{s:.0}"));
        match timing {
            Timing::Early => {
                let least = limit(pressing.map(|pressing| pressing.shortest.as_seconds()));
                self.faults.insert(measured, format!("{done} {seconds} s of {least}"));
            }
            Timing::Late => {
                let most = limit(pressing.map(|pressing| pressing.longest.as_seconds()));
                self.faults.insert(measured, format!("{done} {seconds} s, at most {most}"));
            }
            Timing::InTime | Timing::NotTimed => {}
        }
    }

    /// Its coat in words.
    pub fn coat_told(&self) -> String {
        match self.coat {
            Some((coat, false)) => format!("{:.0} g/m2", coat.0),
            Some((coat, true)) => format!("about {:.0} g/m2", coat.0),
            None => "not weighed".to_owned(),
        }
    }

    /// What was measured and lay outside, in words.
    pub fn outside(&self) -> Option<String> {
        let faults: Vec<&str> = self.faults.values().map(String::as_str).collect();
        (!faults.is_empty()).then(|| faults.join(", "))
    }

    /// What it is made with, in words: coat, lot, dry, cure, and what was measured outside.
    pub fn made_with(&self) -> String {
        let pressed = |done: &str, pressed: Option<Pressed>| {
            let Pressed { press, seconds, .. } = pressed?;
            let seconds = seconds.map_or_else(|| "not timed".to_owned(), |s| format!("{s:.0} s"));
            Some(format!("{done} {seconds} in press {press}"))
        };
        let lots = (!self.lots.is_empty()).then(|| format!("lot {}", self.lots.join(" and ")));
        let steam = self.steam.as_ref().map(|steam| format!("steam {steam}"));
        let washed = self
            .washes
            .iter()
            .map(|wash| format!("washed {}: grade {}", counted(wash.cycles, "time"), wash.grade));
        let back = self.returns.iter().map(|back| format!("CAME BACK: {}", back.complaint));
        // What was measured and lay outside comes first: a long line is read from its beginning.
        let outside = self.outside().map(|outside| format!("OUTSIDE: {outside}"));
        let parts = [
            outside,
            Some(self.coat_told()),
            lots,
            pressed("dried", self.dried),
            steam,
            pressed("cured", self.cured),
        ];
        let all: Vec<String> = parts.into_iter().flatten().chain(washed).chain(back).collect();
        all.join(", ")
    }
}

/// A record of each garment of a part, by tag.
pub fn of(tags: impl IntoIterator<Item = Tag>, part: &Part) -> BTreeMap<Tag, Record> {
    let mut records: BTreeMap<Tag, Record> =
        tags.into_iter().map(|tag| (tag, Record::new(tag, part))).collect();
    for event in &part.events {
        let record = event.fact.garment().and_then(|tag| records.get_mut(&tag));
        if let Some(record) = record {
            record.take(event, part);
        }
    }
    for record in records.values_mut() {
        // What was done long ago is remembered no more; what went back as a blank was never cured.
        record.is_finished |= part.shop.garment(record.tag).is_none() && record.cured.is_some();
    }
    records
}
