//! A key becomes what the shell is to do. Pure: the shop, the screen's state, the key and the moment go in.

use super::choosing::{pick, step, which};
use super::foot;
use super::forms::{Draft, Form, Typed};
use super::input::{Key, KeyCode};
use super::keymap::Deed;
use super::meaning::Sight;
use super::pacing::Pacing;
use super::past;
pub use super::scanned::{CARD, scan};
use super::star;
use super::ui::{Pane, Saved, Standing, StoryAsked, Tone, Ui};
use crate::figures::artwork::Limits;
use crate::figures::units::Colour;
use crate::label::Words;
use crate::shop::facts::ids::PressNo;
use crate::shop::facts::moment::Moment;
use crate::shop::facts::order::Backdrop;
use crate::shop::facts::step::Step;
use crate::shop::floor::labelled::Labelled;
use crate::shop::rules::command::{Command, Refusal, Which};
use crate::shop::rules::offer::{Choice, Idle, OfferedAct};
use crate::shop::rules::questions::Answer;
use crate::shop::rules::shared::PartWanted;

/// What the shell is to do.
#[derive(Debug, Clone, PartialEq)]
pub enum Effect {
    Do(Command),
    /// The same, said of an earlier moment.
    DoAt(Command, Moment),
    Leave,
    /// Write what is not saved to this directory too.
    WriteElsewhere(String),
    /// Stop for a while, as with Ctrl-Z in a shell.
    Stop,
    Repaint,
    TestSounder,
    FirstDay,
    Quiet,
    /// Faster (or slower), for a rehearsal.
    Speed(f64),
    Pause,
    /// Read a story from the journal, apart from the keys' way.
    Trace(StoryAsked),
    /// Look at an artwork's file, apart from the keys' way.
    Look(LookRequest),
    /// Ask the hub for so many garments of a line of a shared order.
    TakePart(PartWanted),
    /// Have labels printed, apart from the keys' way.
    PrintLabels(Vec<Words>),
}

/// An artwork to be looked at: its file, on which garment, by which limits, with its backdrop or without.
#[derive(Debug, Clone, PartialEq)]
pub struct LookRequest {
    pub art: String,
    pub garment: Colour,
    pub limits: Limits,
    pub backdrop: Option<Backdrop>,
}

/// Takes one key.
pub fn key(ui: &mut Ui, sight: &Sight<'_>, key: &Key) -> Vec<Effect> {
    // What was written over the screen hides a form and its fields as well.
    if key.ctrl && ui.keys.deed(key) == Some(Deed::Repaint) {
        return vec![Effect::Repaint];
    }
    if let Some(effects) = star::key(ui, sight, key) {
        return effects;
    }
    if ui.ignores(sight, key) {
        return Vec::new();
    }
    if let Some(effects) = through_form(ui, sight, key) {
        return effects;
    }
    ui.sees_numlock(key);
    if let Some(form) = ui.form.take() {
        return form_key(ui, sight, form, key);
    }
    if let Some(effects) = list_key(ui, sight, key) {
        return effects;
    }
    if key.code == KeyCode::Esc {
        ui.pacing = None;
        ui.story = None;
        ui.choice = Choice::default();
        return Vec::new();
    }
    // A rehearsal has keys of its own, and nobody acts there.
    if let Some(effects) = visitor_key(ui, key) {
        return effects;
    }
    match ui.keys.deed(key) {
        Some(deed) => {
            let effects = do_deed(ui, sight, deed);
            ui.form = ui.form.take().map(|form| form.opened_by(*key));
            effects
        }
        None => {
            let help = ui.keys.key(Deed::Help);
            let text = format!("{key} does nothing here; {help} lists the keys");
            nothing(ui, sight, &text)
        }
    }
}

/// A key that is no text acts through a form that is open, and leaves it as it is; but for another form that one is
/// to be left first.
fn through_form(ui: &mut Ui, sight: &Sight<'_>, key: &Key) -> Option<Vec<Effect>> {
    let deed = ui.keys.deed(key).filter(|_| matches!(key.code, KeyCode::F(6..=12)))?;
    let mut form = ui.form.take()?;
    form.touch(sight.now, key);
    Some(beside_form(ui, sight, form, deed, &key.to_string()))
}

/// A command card was scanned.
pub(super) fn by_card(ui: &mut Ui, sight: &Sight<'_>, deed: Deed, card: &str) -> Vec<Effect> {
    match ui.form.take() {
        Some(form) => beside_form(ui, sight, form, deed, card),
        None => do_deed(ui, sight, deed),
    }
}

/// Does something while a form stays open.
fn beside_form(ui: &mut Ui, sight: &Sight<'_>, form: Form, deed: Deed, by: &str) -> Vec<Effect> {
    let effects = do_deed(ui, sight, deed);
    if let Some(other) = ui.form.replace(form) {
        if let Some(draft) = other.draft_of() {
            ui.drafts.insert(draft, other);
        }
        ui.say(Tone::Note, format!("{by} opens a form: leave this one first, by * ."), sight.now);
    }
    effects
}

/// Takes one key for an open form.
fn form_key(ui: &mut Ui, sight: &Sight<'_>, mut form: Form, key: &Key) -> Vec<Effect> {
    let asks = form.is_asking_key(key);
    form.took(key);
    let typed = form.key(sight, &ui.keys, key);
    if asks && matches!(&typed, Typed::Closed(effects) if !effects.is_empty()) {
        // Held, or struck twice: the key that asks is not the one that answers.
        form.say(Tone::Note, format!("{key} opened this: another key first, then {key} again"));
        ui.form = Some(form);
        return Vec::new();
    }
    let by_list = matches!(typed, Typed::Deed(_));
    let effects = settle(ui, sight, form, typed);
    if by_list {
        ui.form = ui.form.take().map(|form| form.opened_by(*key));
    }
    effects
}

/// Puts a form back, or lets go of it, as it has taken a key or a scan.
pub(super) fn settle(ui: &mut Ui, sight: &Sight<'_>, mut form: Form, typed: Typed) -> Vec<Effect> {
    let effects = match typed {
        Typed::Closed(effects) => match refusal(ui, sight, &effects) {
            Some(refusal) => {
                form.refused(&refusal);
                Vec::new()
            }
            None => {
                ui.keep_submitted(form, &effects);
                return effects;
            }
        },
        Typed::Open => Vec::new(),
        Typed::Effects(effects) => effects,
        Typed::FirstDay => return super::lesson::ask(ui, sight),
        Typed::Leaves => return super::practised::leave(ui, sight),
        Typed::Left => return ui.leaves(form, sight.now),
        Typed::Deed(deed) => return do_deed(ui, sight, deed),
        Typed::Picks(press, tag) => {
            pick(ui, sight, press, tag);
            return Vec::new();
        }
        Typed::Returns(which) => return ui.opens(Form::returned(&which, sight.now)),
        Typed::TakesOver(tag) => return ui.opens(Form::take_over(tag, sight, &ui.elsewhere)),
        Typed::LetsGo => {
            ui.choice = Choice::default();
            ui.story = None;
            return Vec::new();
        }
        Typed::Said(tone, text) => {
            form.say(tone, text);
            Vec::new()
        }
    };
    ui.form = Some(form);
    effects
}

/// Why the shop would refuse what a form asks for: nothing that was typed is lost to a refusal.
fn refusal(ui: &Ui, sight: &Sight<'_>, effects: &[Effect]) -> Option<Refusal> {
    let refused = |effect: &Effect| match effect {
        Effect::Do(command) | Effect::DoAt(command, _) => {
            sight.shop.decide(command, sight.now).err()
        }
        _ => None,
    };
    // Where nothing can be changed, that is what is to be said.
    effects.iter().find_map(refused).filter(|_| ui.standing == Standing::Writes)
}

/// Cursor keys scroll lists; on the Bench they are digits.
fn list_key(ui: &mut Ui, sight: &Sight<'_>, key: &Key) -> Option<Vec<Effect>> {
    if ui.pane == Pane::Bench {
        return None;
    }
    let shelf = sight.shop.floor().count(crate::shop::floor::garment::Queue::Shelf);
    ui.scroll = match key.code {
        KeyCode::Up => ui.scroll.saturating_sub(1),
        KeyCode::Down => ui.scroll.saturating_add(1),
        KeyCode::PageUp => ui.scroll.saturating_sub(10),
        KeyCode::PageDown => ui.scroll.saturating_add(10),
        KeyCode::Home => 0,
        KeyCode::End => shelf.max(ui.past.len()).max(ui.story.as_ref().map_or(0, Vec::len)),
        _ => return None,
    };
    Some(Vec::new())
}

/// Keys of a view and of a rehearsal alone: Ctrl-Z, and the speed of a made-up shift.
fn visitor_key(ui: &Ui, key: &Key) -> Option<Vec<Effect>> {
    let stop = key.code == KeyCode::Char('z') && key.ctrl;
    match ui.standing {
        // Nobody stops the board at the station: its timers are looked at.
        Standing::Writes => return None,
        Standing::Watches | Standing::Rehearses { .. } if stop => return Some(vec![Effect::Stop]),
        Standing::Watches => return None,
        Standing::Rehearses { .. } => {}
    }
    Some(vec![match key.code {
        KeyCode::Char('f') => Effect::Speed(2.0),
        KeyCode::Char('e') => Effect::Speed(0.5),
        KeyCode::Char(' ') => Effect::Pause,
        _ => return None,
    }])
}

pub(super) fn do_deed(ui: &mut Ui, sight: &Sight<'_>, deed: Deed) -> Vec<Effect> {
    match deed {
        Deed::NextScreen => show(ui, ui.pane.next()),
        Deed::Bench => show(ui, Pane::Bench),
        Deed::Pace => show(ui, Pane::Pace),
        Deed::Shelf => show(ui, Pane::Shelf),
        Deed::Coat => show(ui, Pane::Coat),
        Deed::Past => show(ui, Pane::Past),
        Deed::Help => open(ui, Form::help(sight.now)),
        Deed::Leave => {
            let unsaved = ui.standing == Standing::Writes && ui.saved != Saved::All;
            open(ui, Form::leave(unsaved, sight.now))
        }
        Deed::Repaint => vec![Effect::Repaint],
        Deed::Quiet => vec![Effect::Quiet],
        Deed::LookUp => open(ui, Form::look_up(ui.chosen(), sight.now)),
        _ if ui.standing != Standing::Writes => {
            let what = match ui.standing {
                Standing::Watches => "this is a view of another board: nothing can be changed here",
                _ => "the made-up operator works here: F1 to F5 look around",
            };
            ui.say(Tone::Note, what, sight.now);
            Vec::new()
        }
        deed => act(ui, sight, deed),
    }
}

fn act(ui: &mut Ui, sight: &Sight<'_>, deed: Deed) -> Vec<Effect> {
    let first = Which::First(1);
    match deed {
        Deed::Press(press) => press_key(ui, sight, press),
        Deed::Sprayed => {
            vec![Effect::Do(Command::HandworkDone(which(ui, sight, Step::Spray, first)))]
        }
        Deed::Printed => vec![Effect::Do(Command::Printed(which(ui, sight, Step::Print, first)))],
        Deed::Store => vec![Effect::Do(Command::Store(which(ui, sight, Step::Print, Which::All)))],
        Deed::SteamStopped => {
            let stopped = sight.shop.steaming().map(|press| Command::SteamStopped { press });
            do_any(ui, sight, stopped, "no press is drying: there is no steam to note")
        }
        Deed::CleanSheet => {
            let wiped = sight.shop.sheet_to_clean().map(Command::CleanSheet);
            do_any(ui, sight, wiped, "no sheet to wipe: each is clean, or in a shut press")
        }
        Deed::NewSheet => {
            let why_none = "no PTFE sheet to throw away: none was used yet, or its press is shut";
            open_any(ui, sight, Form::new_sheet(sight), why_none)
        }
        Deed::SwapSheet => {
            let swapped = sight.shop.press_to_swap().map(|press| Command::SwapSheet { press });
            do_any(ui, sight, swapped, "no sheet to swap: each is clean, or in a shut press")
        }
        Deed::Undo => vec![Effect::Do(Command::Undo)],
        Deed::Yes => answer(ui, sight, Answer::Yes),
        Deed::No => answer(ui, sight, Answer::No),
        Deed::NotSeen => answer(ui, sight, Answer::NotSeen),
        Deed::Next => foot::act_on_next(ui, sight),
        Deed::Acts => open(ui, Form::acts(sight.now)),
        Deed::Pick => match Form::pick(sight) {
            Ok(form) => open(ui, form),
            Err(reason) => nothing(ui, sight, reason),
        },
        Deed::NextCandidate => step(ui, sight, false),
        Deed::NextPress => step(ui, sight, true),
        Deed::TakeOrder => {
            let form = reopened(ui, sight, Draft::Order).unwrap_or_else(|| Form::order(sight));
            open(ui, form)
        }
        Deed::Probe => probe(ui, sight),
        Deed::Weigh => weigh(ui, sight),
        Deed::Trial => {
            // What it knows stands there.
            show(ui, Pane::Coat);
            let form = Form::trial(ui.readings.weight.as_ref(), sight);
            open(ui, form)
        }
        Deed::Pacing => pace_spray(ui, sight),
        Deed::Stack => open(ui, Form::stack(sight)),
        Deed::Lot => open(ui, Form::lot(sight.now)),
        Deed::Fill => open(ui, Form::fill(sight.now)),
        Deed::Labels => open(ui, Form::labels(ui.choice.scanned.map(Labelled::Garment), sight)),
        Deed::Flushed => vec![Effect::Do(Command::FlushSprayer)],
        Deed::People => open(ui, Form::people(sight.now)),
        Deed::Reasons => match ui.chosen().or(sight.shop.desk().last) {
            Some(tag) if !sight.shop.suspects(tag, sight.now).is_empty() => {
                open(ui, Form::reasons(tag, sight.now))
            }
            _ => nothing(ui, sight, "no garment has been dried yet: scan or choose one"),
        },
        Deed::Count => open(ui, Form::count(sight.now)),
        Deed::OutOfUse => open(ui, Form::out_of_use(sight.now)),
        Deed::ChangeOrder => open(ui, Form::change_order(sight, &ui.elsewhere)),
        Deed::CountBlanks => {
            let why_none = "no order waits for blanks that were not counted";
            open_any(ui, sight, Form::blanks(sight), why_none)
        }
        Deed::TakePart => open(ui, Form::parts(sight, &ui.elsewhere)),
        Deed::SetDial => open(ui, Form::dial(sight)),
        Deed::Morning => open(ui, Form::morning(sight.now)),
        Deed::Trouble => open(ui, Form::trouble(ui.chosen().or(sight.shop.desk().last), sight)),
        Deed::CorrectTime => correct_time(ui, sight),
        _ => Vec::new(),
    }
}

fn do_any(ui: &mut Ui, sight: &Sight<'_>, act: Option<Command>, why_none: &str) -> Vec<Effect> {
    match act {
        Some(act) => vec![Effect::Do(act)],
        None => nothing(ui, sight, why_none),
    }
}

fn open_any(ui: &mut Ui, sight: &Sight<'_>, form: Option<Form>, why_none: &str) -> Vec<Effect> {
    match form {
        Some(form) => open(ui, form),
        None => nothing(ui, sight, why_none),
    }
}

fn probe(ui: &mut Ui, sight: &Sight<'_>) -> Vec<Effect> {
    match reopened(ui, sight, Draft::Probe).or_else(|| Form::probe(sight)) {
        Some(mut form) => {
            // What the probe shows already is seen, and is none of a place yet.
            let seen = form.reads(sight, &ui.readings);
            settle(ui, sight, form, seen)
        }
        None => {
            let reason = "this station has no press";
            open(ui, Form::refused_to_open("A platen was checked", reason, sight.now))
        }
    }
}

fn weigh(ui: &mut Ui, sight: &Sight<'_>) -> Vec<Effect> {
    let form = match sight.shop.to_weigh(ui.chosen()) {
        Some(wanted) => Form::scale(wanted, ui.readings.weight.as_ref(), sight),
        None => {
            let reason = "nothing to weigh: no garment waits for its spray";
            Form::refused_to_open("On the scale", reason, sight.now)
        }
    };
    open(ui, form)
}

/// Begins to tell the strokes, or ends it.
fn pace_spray(ui: &mut Ui, sight: &Sight<'_>) -> Vec<Effect> {
    if ui.pacing.take().is_none() {
        match Pacing::new(sight.shop, sight.now) {
            Ok(pacing) => (ui.pacing, ui.pane) = (Some(pacing), Pane::Bench),
            Err(reason) => ui.say(Tone::Refused, reason.to_string(), sight.now),
        }
    }
    Vec::new()
}

/// When the last act really was; on the history the one that is marked there, else the next one before it.
fn correct_time(ui: &mut Ui, sight: &Sight<'_>) -> Vec<Effect> {
    let acts: Vec<_> = sight.shop.correctables().collect();
    let marked = past::marked(ui).map(|event| event.act);
    let chosen = acts.iter().position(|one| marked.is_none_or(|marked| one.act <= marked));
    match Form::time(acts, chosen.unwrap_or(usize::MAX), sight.now) {
        Some(form) => open(ui, form),
        None => {
            let reason = "nothing to correct: no act that can be undone has a time";
            open(ui, Form::refused_to_open("When was it really?", reason, sight.now))
        }
    }
}

fn reopened(ui: &mut Ui, sight: &Sight<'_>, draft: Draft) -> Option<Form> {
    ui.drafts.remove(&draft).map(|form| form.reopened(sight.now))
}

fn show(ui: &mut Ui, pane: Pane) -> Vec<Effect> {
    ui.pane = pane;
    ui.story = None;
    ui.scroll = 0;
    Vec::new()
}

fn open(ui: &mut Ui, form: Form) -> Vec<Effect> {
    // What was said before is not about this form, and nobody sprays by a pace that a form hides.
    ui.message = None;
    ui.pacing = None;
    ui.form = Some(form);
    Vec::new()
}

pub(super) fn nothing(ui: &mut Ui, sight: &Sight<'_>, text: &str) -> Vec<Effect> {
    ui.say(Tone::Note, text, sight.now);
    Vec::new()
}

/// The act behind a press's key, as it stood under the press when the key was struck.
fn press_key(ui: &mut Ui, sight: &Sight<'_>, press: PressNo) -> Vec<Effect> {
    let Some(offer) = sight.meant.offers.iter().find(|offer| offer.press == press) else {
        return nothing(ui, sight, &format!("this station has no press {press}"));
    };
    match offer.act {
        OfferedAct::Open { .. } => vec![Effect::Do(Command::Open { press })],
        OfferedAct::Shut { garment, by, .. } => {
            vec![Effect::Do(Command::Shut { press, garment, by })]
        }
        OfferedAct::None(why) => {
            let keys = &ui.keys;
            let text = match why {
                Idle::OutOfUse(reason) => format!(
                    "press {press} is {}: {} brings it back",
                    reason.words(),
                    keys.key(Deed::OutOfUse)
                ),
                Idle::SetOtherwise { garment, wanted } => format!(
                    "{garment} wants {} {}: set press {press}, let it settle, then {}; {} loads one anyway",
                    wanted.dial,
                    wanted.pressure,
                    keys.key(Deed::SetDial),
                    keys.key(Deed::NextCandidate)
                ),
                Idle::Unready(_) => {
                    let why = super::words::unready(sight.shop, press, sight.now);
                    format!("{why}; {} chooses all the same", keys.key(Deed::NextCandidate))
                }
                Idle::SprayFirst => format!(
                    "nothing for press {press}: {} when a garment is sprayed, or {} to choose one",
                    keys.key(Deed::Sprayed),
                    keys.key(Deed::NextCandidate)
                ),
                Idle::PrintFirst => format!(
                    "nothing for press {press}: {} when a garment is printed, or {} to choose one",
                    keys.key(Deed::Printed),
                    keys.key(Deed::NextCandidate)
                ),
                Idle::NothingWaits => {
                    format!(
                        "nothing waits for press {press}: {} takes in an order",
                        keys.key(Deed::TakeOrder)
                    )
                }
            };
            nothing(ui, sight, &text)
        }
    }
}

fn answer(ui: &mut Ui, sight: &Sight<'_>, answer: Answer) -> Vec<Effect> {
    let Some(question) = sight.meant.question else {
        return nothing(ui, sight, "no question waits");
    };
    match question.answered(answer) {
        Some(command) => vec![Effect::Do(command)],
        None => nothing(ui, sight, "that is no answer to the question: it names its keys"),
    }
}
