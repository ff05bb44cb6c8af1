//! Facts in words, as the board, the history and undo say them.

use super::fact::{
    CoatMended, CoatWeighed, Fact, Fault, NewDue, OrderCancelled, OrderChanged, OrderTaken,
    PressOpened, PressShut, Steam, Timing,
};
use super::ids::{OrderRef, Tag};
use super::morning::HeatWord;
use super::rank::Rank;
use super::trouble::Outcome;
use super::words::counted;

impl Fact {
    /// One line that says what happened; an order has its number alone, where it is not taken in.
    pub fn in_words(&self) -> String {
        self.in_words_by(|_| None)
    }

    /// The same with the orders' names, as far as they are known.
    pub fn in_words_by<'a>(&self, name: impl Fn(OrderRef) -> Option<&'a str>) -> String {
        let order = |no: OrderRef| match name(no) {
            Some(name) => format!("order {no} \"{name}\""),
            None => format!("order {no}"),
        };
        match self {
            Fact::StationSet(fact) => format!("station \"{}\" set up", fact.profile.name),
            Fact::RecipeKept(fact) => format!("recipe {} is {} now", fact.recipe, fact.hash),
            Fact::EventsLost(fact) => format!(
                "events {} to {} were saved once and are gone from the journal",
                fact.after + 1,
                fact.upto
            ),
            Fact::NumbersTaken(fact) => {
                format!(
                    "orders up to {} were numbered before: the next is {}",
                    fact.upto,
                    fact.upto.0.saturating_add(1)
                )
            }
            Fact::OrderTaken(fact) if fact.shared => format!(
                "order {} \"{}\" laid for all stations: {}",
                fact.order,
                fact.form.name,
                counted(fact.form.count(), "garment")
            ),
            Fact::OrderTaken(OrderTaken { part: Some(part), order, form, .. }) => format!(
                "{} of {} \"{}\" taken to make here, as order {order}",
                counted(u64::from(part.count), "garment"),
                part.of,
                form.name
            ),
            Fact::OrderTaken(fact) => {
                let again = fact.form.remakes().map(|of| format!(", to make {of} again"));
                format!(
                    "order {} \"{}\" taken in: {}{}",
                    fact.order,
                    fact.form.name,
                    counted(fact.form.count(), "garment"),
                    again.unwrap_or_default()
                )
            }
            Fact::UnderbaseDecided(fact) => {
                let whether = if fact.underbase { "an" } else { "no" };
                let line = fact.line + 1;
                format!("{} line {line} needs {whether} underbase", order(fact.order))
            }
            Fact::BlankAdded(fact) => format!("{} taken in to replace a reject", fact.garment),
            Fact::BlankGivenUp(fact) => format!("{} stays one short", order(fact.order.into())),
            Fact::BlanksCounted(fact) => fact.in_words(&order(fact.order.into())),
            Fact::OrderChanged(fact) => changed(fact, &order(fact.order)),
            Fact::ChangeHeard(fact) => {
                let bench = match fact.bench.as_str() {
                    "" => format!("station {}", fact.by.station.letters()),
                    bench => bench.to_owned(),
                };
                let said = said(fact.rank, fact.due, fact.cancelled).join(", ");
                format!("{}: {said}, says {bench}", order(OrderRef::Of(fact.order)))
            }
            Fact::OrderCancelled(fact) => cancelled(fact, &order(fact.order.into())),
            Fact::BlankReturned(fact) => {
                format!("{} back to the blanks: its order was cancelled", fact.garment)
            }
            Fact::Received(fact) => fact.in_words(),
            Fact::Left(fact) => fact.in_words(),
            Fact::Settled(fact) => fact.in_words(),
            Fact::PressShut(fact) => shut(fact),
            Fact::PressOpened(fact) => opened(fact),
            Fact::SteamStopped(fact) => {
                let says = fact.estimate.map_or_else(String::new, |estimate| {
                    format!(": about {:.0} g/m2, {}", estimate.coat.0, estimate.verdict.words())
                });
                format!("steam of press {} stopped at {:.0} s{says}", fact.press, fact.seconds)
            }
            Fact::Weighed(fact) => format!("{} weighs {} dry", fact.garment, fact.grams),
            Fact::CoatWeighed(fact) => coat_weighed(fact),
            Fact::CoatMended(fact) => coat_mended(fact),
            Fact::WeighingDeclined(fact) => format!("{} is not weighed", fact.garment),
            Fact::SteamSaid(fact) => {
                let said = match fact.said {
                    Steam::Gone => "steam was gone",
                    Steam::StillSteaming => "still steaming when opened",
                    Steam::NotSeen => "steam not seen",
                };
                format!("{}: {said}", fact.garment)
            }
            Fact::HandworkDone(fact) => {
                let weight = if fact.unweighed { ", not weighed" } else { "" };
                let garment = named(fact.garment, fact.place.as_deref());
                format!("sprayed {garment}{}{weight}", implied(fact.implied))
            }
            Fact::Printed(fact) => {
                let garment = named(fact.garment, fact.place.as_deref());
                let mut text = format!("printed {garment}{}", implied(fact.implied));
                add_flags(&mut text, shelf_flags(fact.past_day, fact.out_of_turn, fact.disturbed));
                text
            }
            Fact::HeldShown(fact) => {
                let faults: Vec<String> = fact.faults.iter().map(Fault::to_string).collect();
                format!("{} printed anyway: {}", fact.garment, faults.join("; "))
            }
            Fact::TrialBegun(fact) => format!("trial of {} begun", fact.recipe),
            Fact::TrialWeighed(fact) => format!("trial no. {} weighs {} dry", fact.no, fact.grams),
            Fact::TrialSampled(fact) => {
                let (no, coat, aimed) = (fact.no, fact.coat.0, fact.aimed.0);
                format!("trial no. {no} sprayed: {coat:.0} g/m2, aimed at {aimed:.0}")
            }
            Fact::TrialGraded(fact) => fact.in_words(),
            Fact::TrialAnswered(fact) => fact.in_words(),
            Fact::TrialEnded(fact) => fact.in_words(),
            Fact::WindowSigned(fact) => fact.in_words(),
            Fact::SheetWiped(fact) => {
                let presses = counted(fact.presses, "press");
                format!("sheet {} wiped, both sides, after {presses}", fact.sheet)
            }
            Fact::SheetChanged(fact) => {
                let presses = counted(fact.presses, "press");
                format!("release paper {} changed after {presses}", fact.sheet)
            }
            Fact::SheetRenewed(fact) => {
                let after = fact.life.map(|life| format!(" after {}", counted(life, "press")));
                let after = after.unwrap_or_default();
                format!("sheet {} thrown away{after}, a new one laid in", fact.sheet)
            }
            Fact::SheetSwapped(fact) => format!(
                "press {}: sheet {} set aside after {}, sheet {} laid in",
                fact.press,
                fact.aside,
                counted(fact.presses, "press"),
                fact.sheet
            ),
            Fact::PressOutOfUse(fact) => {
                format!("press {} out of use: {}", fact.press, fact.reason.words())
            }
            Fact::PressInUse(fact) => format!("press {} back in use", fact.press),
            Fact::DialSet(fact) => {
                format!("press {} set to {}, {}", fact.press, fact.dial, fact.pressure)
            }
            Fact::PlatenChecked(fact) => {
                let verdict = if fact.within { "within" } else { "OUTSIDE" };
                format!(
                    "platen of press {} probed: {:.0} {} on average, {verdict} {} of {}",
                    fact.press,
                    fact.dial.of_celsius(fact.mean_c).degrees(),
                    fact.dial.letter(),
                    fact.tolerance,
                    fact.dial
                )
            }
            Fact::PressureChecked(fact) => {
                let held = fact.held.iter().filter(|held| **held).count();
                format!("strips under press {}: {held} of 4 held", fact.press)
            }
            Fact::TroubleNoted(fact) => {
                let outcome = match fact.outcome {
                    Outcome::NotNoted => "what became of it is not noted",
                    outcome => outcome.words(),
                };
                format!("{}: {}: {outcome}", fact.garment, fact.trouble)
            }
            Fact::TimeCorrected(fact) => match fact.ago {
                Some(ago) => {
                    format!("{}: it was {ago:.0} s before you pressed the key", fact.garment)
                }
                None => format!("{}: not timed", fact.garment),
            },
            Fact::CautionRead(_) => "read: the board is no safety device".to_owned(),
            Fact::Undone(fact) => format!("undid: {}", fact.what),
            fact => fact.of_supplies(),
        }
    }

    /// The same for what lies in stacks and bottles, and for people.
    fn of_supplies(&self) -> String {
        match self {
            Fact::Stored(fact) if fact.stack.is_empty() => format!("stored {}", fact.garment),
            Fact::Stored(fact) => format!(
                "stored {} on stack {}, place {}: {}",
                fact.garment,
                fact.stack,
                fact.position,
                laying(fact.lies_down())
            ),
            Fact::StackNamed(fact) => format!("stack {} is stored on now", fact.stack),
            Fact::StackDisturbed(fact) => format!("stack {} was shifted", fact.stack),
            Fact::Renewed(fact) => format!("{} starts again: pre-press, spray, dry", fact.garment),
            Fact::LotRegistered(fact) => {
                let until = fact.best_before.map_or("no date".into(), |day| format!("until {day}"));
                format!("lot {}: {}, {until}, in {}", fact.lot, fact.contents.words(), fact.place)
            }
            Fact::SprayerFilled(fact) => {
                let how = if fact.scanned { "scanned" } else { "typed" };
                let over = fact.over.map_or_else(String::new, |over| {
                    format!("; {over} more than it had room for by the account: counted as full")
                });
                let fluid = fact.fluid.map_or_else(String::new, |fluid| format!(", {fluid}"));
                format!(
                    "sprayer filled: {} of lot {}{fluid} ({how} code){over}",
                    fact.grams, fact.lot
                )
            }
            Fact::SprayerFlushed(_) => "sprayer emptied and flushed".to_owned(),
            Fact::FanSaid(fact) => match fact.running {
                Some(true) => "the fan runs".to_owned(),
                Some(false) => "THE FAN DOES NOT RUN: no spraying without extraction".to_owned(),
                None => "fan not seen".to_owned(),
            },
            Fact::DatesSaid(fact) => {
                format!("dates of tables: the {} stands first", fact.first.word())
            }
            Fact::SignedIn(fact) if fact.opens_shift => format!("{} opens the shift", fact.who),
            Fact::SignedIn(fact) => format!("{} is at the bench", fact.who),
            Fact::SignedOut(fact) => format!("{} has left the bench", fact.who),
            Fact::ShiftClosed(fact) if fact.left.is_empty() => "shift closed".to_owned(),
            Fact::ShiftClosed(fact) => format!("shift closed; left: {}", fact.left.join("; ")),
            Fact::HeatSaid(fact) => match fact.said {
                HeatWord::On => format!("press {} switched on", fact.press),
                HeatWord::Light => format!("press {} has its heat, by its light", fact.press),
                HeatWord::UsedNow => format!("press {} is used as it is", fact.press),
                HeatWord::Turned => {
                    let dial = fact.dial.map_or_else(String::new, |dial| format!(" to {dial}"));
                    format!("press {} turned{dial}, settling", fact.press)
                }
            },
            Fact::MorningSaid(fact) => match fact.percent {
                _ if fact.skipped => format!("{}: skipped", fact.check.words()),
                Some(percent) => format!("{}: {percent} %", fact.check.words()),
                None => fact.check.words().to_owned(),
            },
            Fact::SampleSaid(fact) => {
                let said = if fact.approved { "approved" } else { "NOT approved" };
                format!("{}: first sample {said}", fact.garment)
            }
            Fact::WashSampled(fact) => format!("{} is a wash sample", fact.garment),
            Fact::Washed(fact) => {
                format!("{} washed {} times: grade {}", fact.garment, fact.cycles, fact.grade)
            }
            Fact::Returned(fact) => fact.in_words(),
            other => other.kind().to_owned(),
        }
    }
}

/// A garment, and the place of print that its round is for, where it has several: "A1-01 back".
pub fn named(tag: Tag, place: Option<&str>) -> String {
    place.map_or_else(|| tag.to_string(), |place| format!("{tag} {place}"))
}

/// "order 3: rush, due 2026-12-04T16:00, 4 garments more of line 1".
fn changed(fact: &OrderChanged, order: &str) -> String {
    let more = fact
        .more
        .map(|more| format!("{} more of line {}", counted(more.count, "garment"), more.line + 1));
    let all = fact.shared.then(|| "for all stations".to_owned());
    let what = said(fact.rank, fact.due, fact.cancelled).into_iter().chain(more).chain(all);
    format!("{order}: {}", what.collect::<Vec<_>>().join(", "))
}

/// What is said of an order: "a rush", "due 2026-12-04T16:00", "cancelled".
fn said(rank: Option<Rank>, due: Option<NewDue>, cancelled: bool) -> Vec<String> {
    let rank = rank.map(|rank| rank.words().to_owned());
    let due = due.map(|due| match due.due() {
        Some(due) => format!("due {due}"),
        None => "no due time".to_owned(),
    });
    let cancelled = cancelled.then(|| "cancelled".to_owned());
    [rank, due, cancelled].into_iter().flatten().collect()
}

/// "order 3 cancelled: 12 blanks back, 2 under way: finish them".
fn cancelled(fact: &OrderCancelled, order: &str) -> String {
    let what = match fact.line {
        Some(line) => format!("fewer of line {}", line + 1),
        None => "cancelled".to_owned(),
    };
    let back =
        (!fact.back.is_empty()).then(|| format!("{} back", counted(count_of(&fact.back), "blank")));
    let under_way = (!fact.under_way.is_empty())
        .then(|| format!("{} under way: {}", fact.under_way.len(), fact.leaves.words()));
    let parts: Vec<String> = [back, under_way].into_iter().flatten().collect();
    format!("{order} {what}: {}", parts.join(", "))
}

fn count_of(tags: &[Tag]) -> u32 {
    u32::try_from(tags.len()).unwrap_or(u32::MAX)
}

fn implied(implied: bool) -> &'static str {
    if implied { " (implied by the next press)" } else { "" }
}

fn coat_weighed(fact: &CoatWeighed) -> String {
    let window = if fact.unconfirmed { " (unconfirmed window)" } else { "" };
    let hand = if fact.overcorrects {
        "; you correct back and forth: change one thing, by less"
    } else {
        ""
    };
    format!(
        "{} took {:.1} g: {:.0} g/m2, {}{window}{hand}",
        fact.garment,
        fact.after.0 - fact.before.0,
        fact.coat.0,
        fact.verdict.words()
    )
}

fn coat_mended(fact: &CoatMended) -> String {
    let what = if fact.added.0 < 0.0 { "taken off" } else { "put on" };
    format!(
        "{} mended: {:.1} g {what}; it was {:.0} g/m2, {}",
        fact.garment,
        fact.added.0.abs(),
        fact.was.0,
        fact.verdict.words()
    )
}

fn again(again: bool) -> &'static str {
    if again { " again" } else { "" }
}

fn shut(fact: &PressShut) -> String {
    let mut text = format!(
        "shut press {} on {}: {}{}",
        fact.press,
        named(fact.garment, fact.place.as_deref()),
        fact.step,
        again(fact.again)
    );
    let flags = [
        (fact.past_wipe, "sheet past its wipe"),
        (fact.waited_too_long, "waited too long"),
        (fact.set_otherwise, "press set otherwise"),
    ];
    add_flags(&mut text, flags);
    if fact.unsettled {
        text.push_str(", not soaked or settled");
    }
    add_flags(&mut text, shelf_flags(fact.past_day, fact.out_of_turn, fact.disturbed));
    text
}

fn shelf_flags(past_day: bool, out_of_turn: bool, disturbed: bool) -> [(bool, &'static str); 3] {
    [
        (past_day, "PAST ITS DAY"),
        (out_of_turn, "before an older one"),
        (disturbed, "from a shifted stack"),
    ]
}

fn add_flags(text: &mut String, flags: [(bool, &'static str); 3]) {
    for (_, words) in flags.into_iter().filter(|(flag, _)| *flag) {
        text.push_str(", ");
        text.push_str(words);
    }
}

fn opened(fact: &PressOpened) -> String {
    let after = match fact.seconds {
        Some(seconds) => format!(" after {seconds:.0} s"),
        None => String::new(),
    };
    let how = match fact.timing {
        Timing::NotTimed if fact.failed => ", the press failed: not done",
        Timing::Early => ", early",
        Timing::Late => ", late",
        Timing::NotTimed => ", not timed",
        Timing::InTime => "",
    };
    let sure = if fact.over_restart { ", over a restart" } else { "" };
    format!(
        "opened press {}: {} {}{}{after}{how}{sure}",
        fact.press,
        named(fact.garment, fact.place.as_deref()),
        fact.step,
        again(fact.again)
    )
}

/// How a garment is laid onto a stack: in pairs, treated side to treated side.
pub fn laying(down: bool) -> &'static str {
    if down { "paper, then treated side down" } else { "treated side up" }
}
