//! What happened, in the sentences of `tests/scenarios`: a story that falls can be pasted there.
//!
//! What a scenario has no sentence for (what the store did) stands as a remark.

use std::fmt;

use dwell::shop::Shop;
use dwell::shop::facts::order::OrderLine;
use dwell::shop::rules::command::{By, Command, Refusal, Which};
use dwell::shop::rules::questions::{Answer, Question};
use serde::Serialize;

use super::step::{Fault, Step};

/// The station of every simulation, as a scenario says it.
pub const OPENING: &str = "presses 3\nsmall 2\nnot-dry 3\nopens-itself 3\nwipes 2 3\n";

/// Lines, each with the last event that it led to.
#[derive(Debug, Clone, Default)]
pub struct Story {
    lines: Vec<(Option<u64>, String)>,
    /// Seconds that have gone by since the last line.
    waited: f64,
}

impl Story {
    /// Tells what is no act.
    pub fn tell(&mut self, step: &Step) {
        if let Step::Wait(seconds) = step {
            self.waited += seconds;
            return;
        }
        self.say_waited();
        let line = match step {
            Step::Wall(seconds) => format!("clock {seconds}"),
            Step::Store(fault) => format!("# {}", told_fault(*fault)),
            Step::Crash { kept } => format!("# killed; {kept} of 100 unreported acts are kept"),
            Step::Reboot { off, unset, .. } => {
                format!("reboot {off}{}", if *unset { " unset" } else { "" })
            }
            step => format!("# {step:?}"),
        };
        self.lines.push((None, line));
    }

    /// Tells an act that is about to be stated.
    pub fn tell_command(&mut self, command: &Command, shop: &Shop) {
        self.say_waited();
        let line = sentence(command, shop).unwrap_or_else(|| format!("# {command:?}"));
        self.lines.push((None, line));
    }

    fn say_waited(&mut self) {
        let waited = std::mem::take(&mut self.waited);
        if waited > 0.0 {
            self.lines.push((None, format!("wait {}", (waited * 1e6).round() / 1e6)));
        }
    }

    /// The last act was refused.
    pub fn refused(&mut self, refusal: &Refusal) {
        if let Some((_, line)) = self.lines.last_mut() {
            *line = format!("# {line}   refused: {refusal}");
        }
    }

    /// The last act was taken, up to this event.
    pub fn taken(&mut self, seq: u64) {
        if let Some(last) = self.lines.last_mut() {
            last.0 = Some(seq);
        }
    }

    /// A crash took what came after this event: to a scenario it never happened.
    pub fn lost_after(&mut self, seq: u64) {
        for (at, line) in &mut self.lines {
            if at.take_if(|at| *at > seq).is_some() {
                *line = format!("# lost: {line}");
            }
        }
    }
}

impl fmt::Display for Story {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(OPENING)?;
        self.lines.iter().try_for_each(|(_, line)| writeln!(f, "{line}"))
    }
}

fn told_fault(fault: Fault) -> &'static str {
    match fault {
        Fault::Late => "the store answers nothing",
        Fault::Fails => "the store's commits fail",
        Fault::FailsButLands => "the store's commits fail, and the last one lands all the same",
        Fault::Away => "the store's directory is gone",
        Fault::Heals => "the store is well again",
    }
}

/// A command as a scenario's sentence; None where there is none.
pub fn sentence(command: &Command, shop: &Shop) -> Option<String> {
    if let Some(sentence) = of_an_order(command) {
        return Some(sentence);
    }
    Some(match command {
        Command::TakeOrder { form, file: None } => {
            let lines: Option<Vec<String>> = form.lines.iter().map(order_line).collect();
            format!("order {}", lines?.join(" + "))
        }
        Command::TakeOrder { form, file: Some(file) } if form.lines.len() == 1 => {
            format!("order-file {} {}", file.replace(' ', "_"), order_line(&form.lines[0])?)
        }
        Command::KeepRecipe { name, recipe } => format!(
            "recipe {name} {} {} s every {}",
            recipe.set_point,
            recipe.dry.target.0.as_secs(),
            recipe.weigh_every
        ),
        Command::Shut { press, garment, by } => format!("shut {press} {garment}{}", told_by(*by)?),
        Command::Open { press } => format!("open {press}"),
        Command::SteamStopped { press } => format!("steam {press}"),
        Command::HandworkDone(which) => format!("sprayed {}", told_which(*which)),
        Command::Printed(which) => format!("printed {}", told_which(*which)),
        Command::Store(which) => format!("store {}", told_which(*which)),
        Command::CleanSheet(sheet) => format!("clean {sheet}"),
        Command::SwapSheet { press } => format!("swap {press}"),
        Command::OutOfUse { press, reason } => format!("out {press} {}", name(reason)),
        Command::BackInUse { press } => format!("back {press}"),
        Command::SetDial { press, dial, pressure } => format!("dial {press} {dial} {pressure}"),
        Command::CheckPress { press, readings, held: None } => {
            let degrees = readings.iter().flatten().map(|reading| match reading.letter() {
                'C' => format!("{}C", reading.degrees()),
                _ => reading.degrees().to_string(),
            });
            let degrees: Vec<String> = degrees.collect();
            format!("probe {press} {} F", degrees.join(" "))
        }
        Command::CheckPress { press, readings, held: Some(held) } if readings.is_empty() => {
            let held = held.map(|held| if held { "held" } else { "slipped" });
            format!("strips {press} {}", held.join(" "))
        }
        Command::NoteTrouble { garment, trouble, outcome } => {
            format!("trouble {garment} {} {}", name(trouble), name(outcome))
        }
        Command::CorrectTime { ago: Some(seconds) } => format!("ago {seconds}"),
        Command::CorrectTime { ago: None } => "not-timed".into(),
        Command::CorrectTimeOf { act, ago: Some(seconds) } => format!("ago {seconds} of {}", act.0),
        Command::CorrectTimeOf { act, ago: None } => format!("not-timed of {}", act.0),
        Command::Weigh { garment, grams } => format!("weigh {garment} {} g", grams.0),
        Command::NameStack(stack) => format!("stack {}", stack.replace(' ', "_")),
        Command::DisturbStack(stack) => format!("shift-stack {}", stack.replace(' ', "_")),
        Command::Renew(tag) => format!("renew {tag}"),
        Command::RegisterLot(lot) => {
            let until = lot.best_before.map_or(String::new(), |day| format!(" {day}"));
            let (contents, place) = (name(&lot.contents), lot.place.replace(' ', "_"));
            format!("lot {} {contents} {place}{until}", lot.lot)
        }
        Command::FillSprayer(fill) => {
            let typed = if fill.scanned { "" } else { " typed" };
            format!("fill {} {} g{typed}", fill.lot, fill.grams.0)
        }
        Command::FlushSprayer => "flush".into(),
        Command::Sign(who) => format!("sign {who}"),
        Command::CloseShift => "close-shift".into(),
        Command::SampleForWash(tag) => format!("sample {tag}"),
        Command::NoteWash(wash) => {
            let change = wash.delta_e.map_or(String::new(), |delta_e| format!(" {delta_e}"));
            format!("washed {} {} {}{change}", wash.garment, wash.cycles, wash.grade)
        }
        Command::Undo => "undo".into(),
        Command::ReadCaution => "caution read".into(),
        Command::DecideUnderbase { order, line, underbase } => {
            let word = if *underbase { "yes" } else { "no" };
            format!("underbase {} {} {word}", order.no, line + 1)
        }
        answer => return answered(answer, shop),
    })
}

/// The answer to a question that comes to this command.
fn answered(command: &Command, shop: &Shop) -> Option<String> {
    let answers = [(Answer::Yes, "yes"), (Answer::No, "no"), (Answer::NotSeen, "not-seen")];
    let questions = shop.questions().into_iter();
    for (n, question) in questions.filter(|asked| *asked != Question::Caution).enumerate() {
        let found =
            answers.iter().find(|(answer, _)| question.answered(*answer).as_ref() == Some(command));
        if let Some((_, word)) = found {
            return Some(if n == 0 {
                format!("answer {word}")
            } else {
                format!("answer {word} {}", n + 1)
            });
        }
    }
    None
}

fn order_line(line: &OrderLine) -> Option<String> {
    let mut words = format!("{} {}", line.count, line.recipe);
    match line.places.len() {
        1 => {}
        2 => words += " two places",
        _ => return None,
    }
    words += match line.underbase {
        None => " undecided",
        Some(true) => "",
        Some(false) => " no-underbase",
    };
    if line.print.is_some() {
        words += " 12x14";
    }
    Some(words)
}

fn told_which(which: Which) -> String {
    match which {
        Which::First(count) => count.to_string(),
        Which::All => "all".into(),
        Which::Tagged(tag) => tag.to_string(),
    }
}

fn told_by(by: By) -> Option<&'static str> {
    match by {
        By::Suggestion => Some(""),
        By::Choice => Some(" chosen"),
        By::Scan => Some(" scanned"),
        By::Plan => None,
    }
}

/// The name of one of several things, as it is stored.
fn name(thing: &impl Serialize) -> String {
    let text = serde_json::to_value(thing).expect("a name is written");
    text.as_str().map(str::to_owned).unwrap_or_default()
}

/// An order that is changed, made smaller or cancelled.
fn of_an_order(command: &Command) -> Option<String> {
    let word = |value: serde_json::Value| value.to_string().trim_matches('"').to_owned();
    match command {
        Command::ChangeOrder(change) => {
            let mut words = format!("change {}", change.order.no);
            if let Some(rank) = change.rank {
                words += &format!(" rank {}", word(serde_json::to_value(rank).ok()?));
            }
            if let Some(due) = &change.due {
                words += &format!(" due {}", word(serde_json::to_value(due).ok()?));
            }
            if let Some((line, count)) = change.more {
                words += &format!(" more {} {count}", line + 1);
            }
            Some(words)
        }
        Command::CancelOrder { order, fewer, leaves } => {
            let leaves = word(serde_json::to_value(leaves).ok()?);
            Some(match fewer {
                Some((line, count)) => {
                    format!("fewer {} {} {count} {leaves}", order.no, line + 1)
                }
                None => format!("cancel {} {leaves}", order.no),
            })
        }
        _ => None,
    }
}
