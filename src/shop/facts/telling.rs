//! Facts in words, as the board, the history and undo say them.

mod garments;
mod machines;
mod orders;
mod supplies;

use super::fact::{
    CautionRead, EventsLost, Fact, Left, NumbersTaken, Received, RecipeKept, Settled, StationSet,
    TrialAnswered, TrialBegun, TrialEnded, TrialGraded, TrialSampled, TrialWeighed, Undone,
    WindowSigned,
};
use super::ids::{OrderRef, Tag};

/// Says of each kind what happened, in one line; `order` names an order. The table of kinds asks for each of them.
macro_rules! telling {
    ($(|$fact:ident: $kind:ty, $order:pat_param| $words:expr),+ $(,)?) => {$(
        impl crate::shop::facts::fact::Telling for $kind {
            fn line(&self, $order: &dyn Fn(crate::shop::facts::ids::OrderRef) -> String) -> String {
                let $fact = self;
                $words
            }
        }
    )+};
}

use telling;

impl Fact {
    /// One line that says what happened; an order has its number alone, where it is not taken in.
    pub fn in_words(&self) -> String {
        self.in_words_by(|_| None)
    }

    /// The same with the orders' names, as far as they are known.
    pub fn in_words_by<'a>(&self, name: impl Fn(OrderRef) -> Option<&'a str>) -> String {
        self.telling().line(&|no| match name(no) {
            Some(name) => format!("order {no} \"{name}\""),
            None => format!("order {no}"),
        })
    }
}

telling!(
    |fact: StationSet, _| format!("station \"{}\" set up", fact.profile.name),
    |fact: RecipeKept, _| format!("recipe {} is {} now", fact.recipe, fact.hash),
    |fact: EventsLost, _| format!(
        "events {} to {} were saved once and are gone from the journal",
        fact.after + 1,
        fact.upto
    ),
    |fact: NumbersTaken, _| {
        format!(
            "orders up to {} were numbered before: the next is {}",
            fact.upto,
            fact.upto.0.saturating_add(1)
        )
    },
    |fact: Undone, _| format!("undid: {}", fact.what),
    |_fact: CautionRead, _| "read: the board is no safety device".to_owned(),
    |fact: Received, _| fact.in_words(),
    |fact: Left, _| fact.in_words(),
    |fact: Settled, _| fact.in_words(),
    |fact: TrialBegun, _| format!("trial of {} begun", fact.recipe),
    |fact: TrialWeighed, _| format!("trial no. {} weighs {} dry", fact.no, fact.grams),
    |fact: TrialSampled, _| {
        let (no, coat, aimed) = (fact.no, fact.coat.0, fact.aimed.0);
        format!("trial no. {no} sprayed: {coat:.0} g/m2, aimed at {aimed:.0}")
    },
    |fact: TrialGraded, _| fact.in_words(),
    |fact: TrialAnswered, _| fact.in_words(),
    |fact: TrialEnded, _| fact.in_words(),
    |fact: WindowSigned, _| fact.in_words(),
);

/// A garment, and the place of print that its round is for, where it has several: "A1-01 back".
pub fn named(tag: Tag, place: Option<&str>) -> String {
    place.map_or_else(|| tag.to_string(), |place| format!("{tag} {place}"))
}

/// How a garment is laid onto a stack: in pairs, treated side to treated side.
pub fn laying(down: bool) -> &'static str {
    if down { "paper, then treated side down" } else { "treated side up" }
}
