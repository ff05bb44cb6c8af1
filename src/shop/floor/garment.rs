//! Garments, each in exactly one place, and the floor that knows who waits where.

use std::collections::{BTreeMap, BTreeSet};
use std::time::Duration;

use serde::{Deserialize, Serialize};

use super::counts::{self, Counts};
use super::kinds::{self, Kinds};
use super::press::Setting;
use super::shelf::Shelved;
use crate::figures::units::{Grams, GramsPerSquareMetre};
use crate::shop::facts::coat::{CoatEstimate, Weighing};
use crate::shop::facts::day::Day;
use crate::shop::facts::fact::{Dried, Event, Leaves, Steam, Timing};
use crate::shop::facts::ids::{OrderId, PressNo, RecipeHash, SheetNo, StationId, Tag};
use crate::shop::facts::moment::{Moment, Wall};
use crate::shop::facts::step::Step;

/// Where a garment is.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize)]
pub enum Place {
    /// It waits for a step.
    Waiting(Step),
    /// It waits for somebody to say whether its artwork needs an underbase.
    Undecided,
    /// A press is shut on it.
    InPress(PressNo),
    Shelf,
    Finished,
    /// Taken out of its order.
    Out,
    /// Another station has taken it over.
    Away(StationId),
}

/// Whether a garment still counts for its order.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default, Serialize, Deserialize)]
pub enum Quality {
    #[default]
    First,
    Second,
}

/// One garment.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct Garment {
    pub tag: Tag,
    /// Index of its line in the order.
    pub line: usize,
    /// The recipe that it started with; None until its first press.
    pub recipe: Option<RecipeHash>,
    /// When its first press was said to be shut, by the wall clock in microseconds: see `began`.
    pub begun: Option<Wall>,
    pub place: Place,
    /// Which of its line's places of print it is on, from 0.
    pub round: usize,
    /// When and by which event it came where it is: the order of every queue.
    pub since: Moment,
    pub since_seq: u64,
    pub quality: Quality,
    /// The last step done, and the press it was done in.
    pub last_step: Option<(Step, Option<PressNo>)>,
    /// Whether this round's coat is on and dry.
    pub coated: bool,
    /// Whether it was on the shelf and is to be pressed again before print.
    pub stored: bool,
    /// What the scale said of this round's coat.
    pub weighed: Option<Weighing>,
    /// Somebody said that this round's coat is not weighed.
    pub declined: bool,
    /// Seconds of the last cure, where that was past its longest time.
    pub overcured: Option<f64>,
    /// What is known of the coat: by the scale, or by the steam (then true). It outlives the round.
    pub coat: Option<(GramsPerSquareMetre, bool)>,
    /// What it took out of the sprayer, by the plan or by the scale, where the sprayer's filling is known.
    pub sprayed: Option<Grams>,
    /// The lots that it was sprayed with, in its last round.
    pub lots: Vec<String>,
    /// Where and until when it keeps, since it was stored.
    pub shelved: Option<Box<Shelved>>,
    /// How this round's coat was dried, until it is stored or cured.
    pub dried: Option<Box<Drying>>,
    /// What becomes of it, where its order was cancelled.
    pub cancelled: Option<Leaves>,
}

/// How a garment was dried, at a press of this station or of another: what a clinging sheet is judged by.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct Drying {
    /// The press, and how it was set then; None where that was another station's.
    pub press: Option<(PressNo, Setting)>,
    pub sheet: Option<SheetNo>,
    /// Presses under fluid that the sheet had seen before.
    pub sheet_presses: u32,
    /// The second at which the steam stopped, where it was noted, and what that says of the coat.
    pub steam: Option<f64>,
    pub estimate: Option<CoatEstimate>,
    /// Seconds shut; None where the time is not known.
    pub seconds: Option<f64>,
    pub timing: Timing,
    /// What somebody said of the steam when the press was opened.
    pub said: Option<Steam>,
}

impl Drying {
    /// By what another station said.
    pub(in crate::shop) fn elsewhere(dried: Dried) -> Self {
        let Dried { seconds, timing } = dried;
        Self {
            press: None,
            sheet: None,
            sheet_presses: 0,
            steam: None,
            estimate: None,
            seconds,
            timing,
            said: None,
        }
    }
}

impl Garment {
    /// A blank, as an order or a replacement brings it.
    pub(in crate::shop) fn blank(event: &Event, tag: Tag, line: usize) -> Self {
        Self {
            tag,
            line,
            recipe: None,
            begun: None,
            place: Place::Waiting(Step::PrePress),
            round: 0,
            since: event.moment,
            since_seq: event.seq,
            quality: Quality::First,
            last_step: None,
            coated: false,
            stored: false,
            weighed: None,
            declined: false,
            overcured: None,
            coat: None,
            sprayed: None,
            lots: Vec::new(),
            shelved: None,
            dried: None,
            cancelled: None,
        }
    }

    /// It comes to a place.
    pub(in crate::shop) fn go(&mut self, event: &Event, place: Place) {
        self.place = place;
        self.since = event.moment;
        self.since_seq = event.seq;
    }

    /// The order that it belongs to.
    pub fn order(&self) -> OrderId {
        self.tag.order_id()
    }

    /// Whether it is still made for its order.
    pub fn is_wanted(&self) -> bool {
        matches!(self.cancelled, None | Some(Leaves::Finish))
    }

    /// The coat of this round, where both weights are there.
    pub fn coat_by_scale(&self) -> Option<GramsPerSquareMetre> {
        self.weighed?.after?;
        self.coat.filter(|(_, by_steam)| !by_steam).map(|(coat, _)| coat)
    }

    /// Whether the steam of its drying says something of its coat: that was weighed. One that was mended says nothing,
    /// since its first pass had begun to dry.
    pub fn teaches_steam(&self) -> bool {
        self.weighed.is_some_and(|weighing| !weighing.mended)
    }

    /// When its first press was shut, by the wall clock. Not after it came where it is: where that was set right, a press
    /// that was not timed is known to have been shut by then.
    pub fn began(&self) -> Option<Wall> {
        self.begun.map(|begun| begun.min(self.since.at))
    }

    /// Forgets this round's coat: it gets another.
    pub(in crate::shop) fn forget_coat(&mut self) {
        (self.weighed, self.declined) = (None, false);
    }

    /// Whose turn is first on the shelf: by the soonest last day, then by who was stored first. None anywhere else.
    fn turn(&self) -> Option<(Day, u64, Tag)> {
        let last_day = self.shelved.as_deref()?.last_day;
        (self.place == Place::Shelf).then_some((last_day, self.since_seq, self.tag))
    }

    /// Whether another station has taken it over.
    pub fn is_away(&self) -> bool {
        matches!(self.place, Place::Away(_))
    }

    /// Whether nothing more will happen to it here.
    pub fn is_done(&self) -> bool {
        matches!(self.place, Place::Finished | Place::Out | Place::Away(_))
    }
}

/// A shift: nothing that is corrected was longer ago.
pub(in crate::shop) const LONGEST_CORRECTION: Duration = Duration::from_secs(36_000);

/// All garments, by tag, with an index of who waits where.
#[derive(Debug, Clone, Default, PartialEq)]
pub struct Floor {
    garments: BTreeMap<Tag, Garment>,
    /// By place, the one that has waited longest first.
    queues: BTreeMap<Queue, BTreeSet<(u64, Tag)>>,
    /// What lies on the shelf, once more, by whose turn it is: a coat that was stored, pressed and stored again is no
    /// younger for it.
    turns: BTreeSet<(Day, u64, Tag)>,
    /// All that wait, once more, by kind.
    kinds: Kinds,
    counts: Counts,
}

/// A place in which garments queue up.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub enum Queue {
    Step(Step),
    Undecided,
    Shelf,
    Finished,
    Out,
    Away,
}

impl Place {
    /// The queue of a garment in this place; None in a press.
    pub(in crate::shop) fn queue(self) -> Option<Queue> {
        Some(match self {
            Place::Waiting(step) => Queue::Step(step),
            Place::Undecided => Queue::Undecided,
            Place::InPress(_) => return None,
            Place::Shelf => Queue::Shelf,
            Place::Finished => Queue::Finished,
            Place::Out => Queue::Out,
            Place::Away(_) => Queue::Away,
        })
    }
}

impl Floor {
    /// The garment with this tag.
    pub fn get(&self, tag: Tag) -> Option<&Garment> {
        self.garments.get(&tag)
    }

    /// Puts a garment in or in place of its earlier self, which is returned.
    pub fn put(&mut self, garment: Garment) -> Option<Garment> {
        let before = self.remove(garment.tag);
        self.enqueue(garment.place.queue(), (garment.since_seq, garment.tag));
        self.turns.extend(garment.turn());
        if let Some(standing) = kinds::standing(&garment) {
            self.kinds.insert(standing);
        }
        self.counts.add(counts::counted(&garment));
        self.garments.insert(garment.tag, garment);
        before
    }

    /// Changes a garment where it stands; returns it as it was before.
    pub(in crate::shop) fn change(
        &mut self,
        tag: Tag,
        change: impl FnOnce(&mut Garment),
    ) -> Option<Garment> {
        let garment = self.garments.get_mut(&tag)?;
        let before = garment.clone();
        change(garment);
        let (from, to) = (before.place.queue(), garment.place.queue());
        let (since, turn) = (garment.since_seq, garment.turn());
        let (stood, stands) = (kinds::standing(&before), kinds::standing(garment));
        if stood != stands {
            stood.into_iter().for_each(|standing| self.kinds.remove(standing));
            stands.into_iter().for_each(|standing| self.kinds.insert(standing));
        }
        let (counted, counts) = (counts::counted(&before), counts::counted(garment));
        if counted != counts {
            self.counts.take(counted);
            self.counts.add(counts);
        }
        if before.turn() != turn {
            before.turn().map(|turn| self.turns.remove(&turn));
            self.turns.extend(turn);
        }
        if (from, before.since_seq) != (to, since) {
            self.unqueue(from, (before.since_seq, tag));
            self.enqueue(to, (since, tag));
        }
        Some(before)
    }

    fn enqueue(&mut self, name: Option<Queue>, entry: (u64, Tag)) {
        if let Some(name) = name {
            self.queues.entry(name).or_default().insert(entry);
        }
    }

    fn unqueue(&mut self, name: Option<Queue>, entry: (u64, Tag)) {
        let Some(name) = name else { return };
        if let Some(queue) = self.queues.get_mut(&name) {
            queue.remove(&entry);
            // An empty queue and none are the same: two floors with the same garments are equal.
            if queue.is_empty() {
                self.queues.remove(&name);
            }
        }
    }

    /// A floor with these garments, none of them twice.
    pub(in crate::shop) fn with(garments: Vec<Garment>) -> Self {
        let mut queues: BTreeMap<Queue, Vec<(u64, Tag)>> = BTreeMap::new();
        for garment in &garments {
            if let Some(queue) = garment.place.queue() {
                queues.entry(queue).or_default().push((garment.since_seq, garment.tag));
            }
        }
        let mut kinds = Kinds::default();
        garments.iter().filter_map(kinds::standing).for_each(|standing| kinds.insert(standing));
        let mut counts = Counts::default();
        garments.iter().for_each(|garment| counts.add(counts::counted(garment)));
        Self {
            kinds,
            counts,
            turns: garments.iter().filter_map(Garment::turn).collect(),
            garments: garments.into_iter().map(|garment| (garment.tag, garment)).collect(),
            queues: queues
                .into_iter()
                .map(|(name, queue)| (name, queue.into_iter().collect()))
                .collect(),
        }
    }

    /// Takes a garment off the floor altogether.
    pub fn remove(&mut self, tag: Tag) -> Option<Garment> {
        let garment = self.garments.remove(&tag)?;
        self.unqueue(garment.place.queue(), (garment.since_seq, tag));
        garment.turn().map(|turn| self.turns.remove(&turn));
        kinds::standing(&garment).into_iter().for_each(|standing| self.kinds.remove(standing));
        self.counts.take(counts::counted(&garment));
        Some(garment)
    }

    pub(super) fn counts(&self) -> &Counts {
        &self.counts
    }

    pub(in crate::shop) fn kinds(&self) -> &Kinds {
        &self.kinds
    }

    /// Who waits in a queue: longest first; on the shelf, whose turn it is.
    pub fn queue(&self, queue: Queue) -> impl DoubleEndedIterator<Item = &Garment> {
        let turns = Some(&self.turns).filter(|_| queue == Queue::Shelf).into_iter().flatten();
        let others = self.queues.get(&queue).filter(|_| queue != Queue::Shelf);
        let others = others.into_iter().flatten().map(|(_, tag)| tag);
        let tags = turns.map(|(.., tag)| tag).chain(others);
        tags.filter_map(|tag| self.garments.get(tag))
    }

    /// Who came into a queue, in that order.
    fn came(&self, queue: Queue) -> impl DoubleEndedIterator<Item = &Garment> {
        self.queues.get(&queue).into_iter().flatten().filter_map(|(_, tag)| self.garments.get(tag))
    }

    /// Who waits for a step, longest first.
    pub fn waiting(&self, step: Step) -> impl DoubleEndedIterator<Item = &Garment> {
        self.queue(Queue::Step(step))
    }

    /// Who has been in a press before, and has come into its queue since a moment of the wall clock.
    pub fn begun_and_moved_since(&self, at: Wall) -> impl Iterator<Item = &Garment> {
        // They stand in the order in which their acts were said: one whose time was corrected may have come before others
        // that stand before it.
        let earliest = at.minus(LONGEST_CORRECTION);
        let since = move |garment: &&Garment| garment.since.at >= earliest;
        // Among thousands of blanks those who have begun are found by their kinds.
        let mixed = |queue: &Queue| self.count_of_begun(*queue) < self.count(*queue);
        let (mixed, all): (Vec<Queue>, Vec<Queue>) =
            self.queues.keys().partition(|queue| mixed(queue));
        let all = all.into_iter().flat_map(move |queue| self.came(queue).rev().take_while(since));
        let begun = mixed.into_iter().filter(|queue| self.count_of_begun(*queue) > 0);
        let begun = begun.flat_map(|queue| self.begun_by_kind(queue));
        let found = all.chain(begun.flat_map(move |kind| kind.rev().take_while(since)));
        found.filter(move |garment| garment.since.at >= at)
    }

    /// How many wait in a queue.
    pub fn count(&self, queue: Queue) -> usize {
        self.queues.get(&queue).map_or(0, BTreeSet::len)
    }

    /// How many wait anywhere and are not done.
    pub fn count_of_open(&self) -> usize {
        let done = |queue: &Queue| matches!(queue, Queue::Finished | Queue::Out | Queue::Away);
        let open = self.queues.iter().filter(|(queue, _)| !done(queue));
        open.map(|(_, queue)| queue.len()).sum()
    }

    /// Every garment, by tag.
    pub fn all(&self) -> impl Iterator<Item = &Garment> {
        self.garments.values()
    }

    /// Every garment of an order, by tag.
    pub fn of_order(&self, order: OrderId) -> impl Iterator<Item = &Garment> {
        self.garments.range(order.tag(0)..=order.tag(u16::MAX)).map(|(_, garment)| garment)
    }

    /// Whether a garment is second quality.
    pub fn is_second(&self, tag: Tag) -> bool {
        self.get(tag).is_some_and(|garment| garment.quality == Quality::Second)
    }
}
