//! The one thing to do now, as an act that is read from three metres: a verb and what it is done to, with what is said
//! small beside it. `next_drawn` draws it.
//!
//! On a red ground harm is being done, on a blue one the act is due.

use super::View;
use super::chrome::question_line;
use super::foot;
use super::keymap::Deed;
use super::next_alarm;
use super::next_shared;
use super::press_open;
use super::press_sheet;
use super::theme::Role;
use super::words;
use crate::shop::facts::fact::{Fault, FaultKind};
use crate::shop::facts::ids::{PressNo, Tag};
use crate::shop::facts::step::Step;
use crate::shop::facts::telling::named;
use crate::shop::floor::garment::{Place, Queue};
use crate::shop::floor::press::{Load, Setting};
use crate::shop::floor::shelved::ShelfState;
use crate::shop::rules::alarms::Level;
use crate::shop::rules::next::NextAct;
use crate::shop::rules::offer::OfferedAct;
use crate::shop::rules::questions::Question;

/// What stands in place of the spray while the fan is said not to run.
const FAN_ON: &str = "FAN ON";

/// An act: verb and object in thirteen letters at most, and what is said of it.
pub struct Next {
    pub role: Role,
    pub act: String,
    /// Small beside it, the most wanted first.
    pub beside: Vec<String>,
}

impl Next {
    pub(super) fn of(role: Role, act: impl Into<String>, beside: &[String]) -> Self {
        let act = act.into();
        // The act's own object is not said twice.
        let says = |text: &&String| !text.is_empty() && !act.ends_with(&format!(" {text}"));
        let beside = beside.iter().filter(says).cloned().collect();
        Self { role, act, beside }
    }
}

/// What comes next, and what can be done as well.
pub fn shown<'a>(view: &'a View<'_>) -> &'a (Next, Option<Next>) {
    view.next.get_or_init(|| both(view))
}

/// What is most urgent: an alarm, then a question that changes an order, then the act that keeps the station going; and
/// the act beside it that can be done as well.
fn both(view: &View<'_>) -> (Next, Option<Next>) {
    let mut all = alarm(view)
        .into_iter()
        .chain(blank_short(view))
        .chain(weigh_coat(view).or_else(|| chosen(view)))
        .collect::<Vec<_>>();
    let acts = view.shop.next_acts(view.offers, view.ui.advice.binds, view.now);
    let acts = by_fluid(view, acts);
    let shared = next_shared::offered(view);
    let blank = acts.iter().position(|act| next_shared::begins_one(view, *act));
    let place = all.len() + blank.unwrap_or(acts.len());
    all.extend(acts.into_iter().map(|act| next_of(view, act)));
    if let Some(shared) = shared {
        all.insert(place, shared);
    }
    let mut first = if all.is_empty() { nothing_waits(view) } else { all.remove(0) };
    key_first(view, &mut first);
    if view.shop.desk().fan_off && first.act != FAN_ON {
        first.beside.push("the fan is off: no spraying".to_owned());
    }
    let left = if view.acts() { view.shop.morning_left(view.now) } else { 0 };
    if left > 0 {
        let key = view.ui.keys.key(Deed::Morning);
        first.beside.push(format!("morning list: {left} open, {key}"));
    }
    // What was measured of the garment at the printer is named before it costs ink, and before anything else is said.
    if let Some(held) = held(view) {
        first.beside.insert(0, held);
    }
    // Beside an alarm nothing else stands out, and nothing stands there twice.
    let calls = matches!(first.role, Role::Danger | Role::Due);
    let second = all.into_iter().find(|other| !calls && other.act != first.act);
    (first, second)
}

/// Until an act has been done a few times here, its key stands before what else is said of it.
fn key_first(view: &View<'_>, next: &mut Next) {
    let Some(deed) = foot::deed(&next.act).filter(|deed| !view.ui.is_known(*deed)) else { return };
    let key = view.then("", deed);
    let named = next.beside.iter().position(|text| !key.is_empty() && text.ends_with(&key));
    if let Some(place) = named {
        let text = next.beside.remove(place);
        next.beside.insert(0, text);
    }
}

/// "A1-02 dried 16 s of 35: LOAD 1 dries it again, 0 prints anyway"
fn held(view: &View<'_>) -> Option<String> {
    let (garment, faults) = view.shop.held_at_printer(view.now)?;
    let tag = garment.tag;
    let said: Vec<String> = faults.iter().map(Fault::to_string).collect();
    let said = format!("{tag} {}", said.join("; "));
    if !view.acts() {
        return Some(said);
    }
    let keys = &view.ui.keys;
    let dries = view.offers.iter().find(|offer| match offer.act {
        OfferedAct::Shut { garment, next, .. } => garment == tag && next.step == Step::Dry,
        _ => false,
    });
    let what = match (dries, faults.first()?.kind) {
        (Some(offer), _) => format!("LOAD {} dries it again", offer.press),
        (None, FaultKind::DriedShort) => "dry it again once a press is free".to_owned(),
        (None, FaultKind::DriedLong | FaultKind::CuredLong) => "look for scorch".to_owned(),
        (None, _) => format!("{} treats it again", keys.key(Deed::LookUp)),
    };
    Some(format!("{said}: {what}, {} prints anyway", keys.key(Deed::Printed)))
}

/// A sprayer that is to be filled first does not stand before a printer that waits.
fn by_fluid(view: &View<'_>, mut acts: Vec<NextAct>) -> Vec<NextAct> {
    if view.shop.sprays_left() == Some(0) && view.shop.print_due(view.now).is_some() {
        acts.sort_by_key(|act| matches!(act, NextAct::Spray(_)));
    }
    acts
}

fn alarm(view: &View<'_>) -> Option<Next> {
    let alarm = view.alarms.first()?;
    let role = match alarm.level() {
        Level::Alarm => Role::Danger,
        Level::Prompt => Role::Due,
    };
    let (act, mut beside) = next_alarm::act(view, *alarm);
    if view.alarms.len() > 1 {
        beside.push(format!("(+{} more)", view.alarms.len() - 1));
    }
    Some(Next::of(role, act, &beside))
}

/// An order is short of a blank: whether it is replaced changes what is made.
fn blank_short(view: &View<'_>) -> Option<Next> {
    let is_blank = |question: &Question| matches!(question, Question::Blank { .. });
    view.shop.questions().into_iter().find(is_blank)?;
    let text = question_line(view)?.words();
    let text = text.trim_start_matches([' ', '?']).to_owned();
    Some(Next::of(Role::Abnormal, "REPLACE 1?", &[text]))
}

fn next_of(view: &View<'_>, act: NextAct) -> Next {
    match act {
        NextAct::Load { press, garment, step } => load(view, press, garment, step),
        NextAct::Set { press, garment, wanted } => set(view, press, garment, wanted),
        NextAct::Print(tag) => print(view, tag),
        NextAct::Spray(tag) => spray(view, tag),
    }
}

fn load(view: &View<'_>, press: PressNo, tag: Tag, step: Step) -> Next {
    let shelved = view.shop.garment(tag).is_some_and(|garment| garment.place == Place::Shelf);
    let fetch = if shelved { " from the shelf" } else { "" };
    let garment = view.shop.in_hand(tag) + fetch;
    let (turn, shape) = (press_open::turn(view, press), press_open::shape(view, press));
    let key = match &shape {
        None => view.then("lay it in, shut it, then ", Deed::Press(press)),
        Some(_) => {
            let key = view.then("lay it in, press ", Deed::Press(press));
            if key.is_empty() { key } else { key + " as you begin" }
        }
    };
    // What a line wants at loading is of one breath with it: the key keeps its row.
    let laid_in =
        std::iter::once(format!("{garment}: {step}")).chain(press_open::care(view, press));
    let mut beside = vec![laid_in.collect::<Vec<_>>().join("; ")];
    let worn = press_sheet::worn(view, press, step);
    beside.extend(view.shop.says_of_blanks(tag).into_iter().chain(turn).chain(shape).chain(worn));
    beside.extend([key, opens_next(view)]);
    Next::of(Role::Strong, format!("LOAD {press}"), &beside)
}

/// Which press opens next, where any is shut.
pub(super) fn opens_next(view: &View<'_>) -> String {
    match soonest(view).first() {
        Some((press, left)) if *left > 0 => format!("press {press} in {left} s"),
        Some((press, _)) => format!("press {press} waits"),
        None => String::new(),
    }
}

/// The shut presses by the seconds that are left to their target.
fn soonest(view: &View<'_>) -> Vec<(PressNo, i64)> {
    let left = |load: &Load| {
        let target = view.shop.pressing(load)?.target.0.as_secs();
        let span = load.elapsed(view.now).span.as_secs();
        Some(i64::try_from(target).ok()? - i64::try_from(span).ok()?)
    };
    let mut found: Vec<_> =
        view.shop.loads().filter_map(|(press, load)| Some((press, left(load)?))).collect();
    found.sort_by_key(|(press, left)| (*left, *press));
    found
}

/// What comes next for a garment that was chosen, by its recorded steps: that shutting a press on it would record one
/// more is said at the press.
fn chosen(view: &View<'_>) -> Option<Next> {
    let garment = view.shop.garment(view.ui.chosen()?)?;
    match garment.place {
        Place::Waiting(Step::Spray) => Some(spray(view, garment.tag)),
        Place::Waiting(Step::Print) => Some(print(view, garment.tag)),
        _ => None,
    }
}

/// The weight of a wet coat, once the dry weight is there, and its mending: in the dryer both would be lost.
fn weigh_coat(view: &View<'_>) -> Option<Next> {
    let wanted = view.shop.weight_wanted().filter(|wanted| wanted.coated)?;
    let tag = wanted.garment;
    let waits = view.shop.garment(tag).map(|garment| garment.place);
    if waits != Some(Place::Waiting(Step::Dry)) || !view.acts() {
        return None;
    }
    let garment = named(tag, view.shop.place_of(tag));
    let weighs = view.then("weigh it: ", Deed::Weigh);
    if wanted.mends {
        let says = format!("{garment}: {}", super::chrome::mend(view, tag));
        let dries = view.then("dry it as it is: ", Deed::No);
        return Some(Next::of(Role::Abnormal, format!("MEND {tag}"), &[says, weighs, dries]));
    }
    let coat = format!("{garment}: its coat, before it is dried");
    let skips = view.then("not this one: ", Deed::No);
    Some(Next::of(Role::Strong, format!("WEIGH {tag}"), &[coat, weighs, skips]))
}

/// What is to be done to the garment that is sprayed next, its weighing in its place.
fn spray(view: &View<'_>, tag: Tag) -> Next {
    let left = view.shop.sprays_left();
    if left == Some(0) {
        let fill = view.then("a checklist: ", Deed::Fill);
        return Next::of(Role::Abnormal, "FILL", &[format!("not enough fluid for {tag}"), fill]);
    }
    if view.shop.desk().fan_off {
        let key = view.then("when it runs: ", Deed::Yes);
        let why = "the fan does not run: no spraying without extraction".to_owned();
        return Next::of(Role::Danger, FAN_ON, &[why, key, format!("then spray {tag}")]);
    }
    let garment = view.shop.beside_tag(tag);
    let fluid = left.map_or_else(String::new, |left| format!("fluid for {left}"));
    let (act, how) = match view.shop.weight_wanted() {
        Some(wanted) if wanted.garment == tag && wanted.coated => {
            (format!("SPRAY {tag}"), view.then("roll it, then weigh it: ", Deed::Weigh))
        }
        Some(wanted) if wanted.garment == tag => {
            (format!("WEIGH {tag}"), view.then("before its spray: ", Deed::Weigh))
        }
        _ => (format!("SPRAY {tag}"), view.then("roll it, then ", Deed::Sprayed)),
    };
    if let Some(other) = view.shop.garment(tag).and_then(|one| view.shop.says_other_fluid(one)) {
        return Next::of(Role::Abnormal, act, &[other, how, garment, fluid]);
    }
    Next::of(Role::Strong, act, &[how, garment, fluid])
}

/// What is printed next; one past its day is said before, not refused after.
fn print(view: &View<'_>, tag: Tag) -> Next {
    let garment = view.shop.beside_tag(tag);
    let rests = view.shop.rests(tag, view.now).map_or_else(String::new, |left| {
        format!("let it rest {} s more", words::seconds_left(left))
    });
    let prints = view.then("then ", Deed::Printed);
    if view.shop.held_at_printer(view.now).is_some_and(|(held, _)| held.tag == tag) {
        return Next::of(Role::Abnormal, format!("LOOK {tag}"), &[garment]);
    }
    let shelved = view.shop.garment(tag).and_then(|garment| garment.shelved.as_deref());
    let state = shelved.map(|shelved| shelved.state(view.shop.today(view.now)));
    match shelved {
        Some(shelved) if state == Some(ShelfState::Past) => {
            let day = format!("PAST ITS DAY: {}, {}", view.shop.in_hand(tag), shelved.last_day);
            let again = view.then("treat it again: ", Deed::LookUp);
            let anyway = view.then("print it anyway: ", Deed::Printed);
            Next::of(Role::Danger, format!("REDO {tag}"), &[day, again, anyway])
        }
        Some(shelved) if shelved.disturbed => {
            let why = format!("{}: its stack was shifted", view.shop.in_hand(tag));
            Next::of(Role::Abnormal, format!("LOOK {tag}"), &[why, format!("print it, {prints}")])
        }
        _ => match view.shop.lacks_sample(tag) {
            Some(lacks) => {
                Next::of(Role::Abnormal, format!("PRINT {tag}"), &[lacks, prints, garment])
            }
            None => Next::of(
                Role::Strong,
                format!("PRINT {tag}"),
                &[rests, prints, garment, opens_next(view)],
            ),
        },
    }
}

/// A press that is set otherwise than what waits wants it.
fn set(view: &View<'_>, press: PressNo, garment: Tag, wanted: Setting) -> Next {
    let is = view.shop.setting(press).filter(|is| is.dial != wanted.dial);
    let is = is.map_or_else(String::new, |is| format!("; it is set to {}", is.dial));
    Next::of(
        Role::Abnormal,
        format!("SET {press}"),
        &[
            format!("press {press} to {} {}, for {garment}{is}", wanted.dial, wanted.pressure),
            view.then("when it is turned: ", Deed::SetDial),
        ],
    )
}

fn nothing_waits(view: &View<'_>) -> Next {
    if let Some((press, _)) = soonest(view).first() {
        return Next::of(Role::Strong, format!("WAIT {press}"), &[opens_next(view)]);
    }
    if let Some((press, _)) = soonest_ready(view) {
        let waits = super::words::unready(view.shop, press, view.now);
        let key = view.then("load one anyway: ", Deed::NextCandidate);
        return Next::of(Role::Strong, format!("WAIT {press}"), &[waits, key]);
    }
    if view.shop.flush_due(view.now) {
        let key = view.then("then ", Deed::Flushed);
        return Next::of(Role::Abnormal, "FLUSH", &["the sprayer".to_owned(), key]);
    }
    let dirty = view.shop.sheets().all().find(|sheet| sheet.at.is_none() && sheet.presses > 0);
    if let Some(sheet) = dirty {
        let how = format!("nothing waits: wipe sheet {} now, both sides, cold", sheet.no);
        let key = view.then("then ", Deed::CleanSheet);
        return Next::of(Role::Strong, format!("WIPE {}", sheet.no), &[how, key]);
    }
    if !view.acts() {
        return Next::of(Role::Plain, "nothing waits", &[]);
    }
    let key = view.ui.keys.key(Deed::TakeOrder);
    let takes = format!("nothing waits: {key} takes in an order");
    let more = [takes, on_shelf(view), for_others(view), new_here(view)];
    Next::of(Role::Strong, format!("{key} ORDER"), &more)
}

/// Where no order has ever come in, somebody may be new at it.
fn new_here(view: &View<'_>) -> String {
    if view.shop.orders().next().is_some() || view.ui.practice.is_some() {
        return String::new();
    }
    format!("new here? {}, then 1, leads through one garment", view.ui.keys.key(Deed::Help))
}

/// What waits for a step that another station does: "3 wait for South bench: cure".
fn for_others(view: &View<'_>) -> String {
    let of = |step: Step| {
        let bench = view.shop.waits_elsewhere(step)?;
        let count = view.shop.floor().count(Queue::Step(step));
        let wait = if count == 1 { "waits" } else { "wait" };
        (count > 0).then(|| format!("{count} {wait} for {bench}: {step}"))
    };
    Step::ALL.into_iter().filter_map(of).collect::<Vec<_>>().join(", ")
}

/// What is stored is no end of its order: that it lies there is said, and how one is taken.
fn on_shelf(view: &View<'_>) -> String {
    let stored = view.shop.floor().queue(Queue::Shelf);
    let open = stored.filter(|garment| {
        let order = view.shop.order(garment.order());
        garment.is_wanted() && order.is_some_and(|order| !order.cancelled)
    });
    match open.count() {
        0 => String::new(),
        count => format!("{count} on the shelf: {} picks one", view.ui.keys.key(Deed::Pick)),
    }
}

/// The press that is ready first of those that heat, soak or settle while something waits for them.
fn soonest_ready(view: &View<'_>) -> Option<(PressNo, std::time::Duration)> {
    let waits = |press| Some((press, view.shop.unready(press, view.now)?.1));
    let found = view.shop.press_numbers().into_iter().filter_map(waits);
    found.min_by_key(|(_, left)| *left).filter(|_| !view.shop.candidates().is_empty())
}
