//! What can be said in a scenario.
//!
//! ```text
//! presses 3 | opens-itself 2 | hung-apart        the station, wherever it stands
//! small 2 | not-dry 3 | wipes 2 3                a small press, one without dry, when a sheet wants its wipe
//! order 2 dark-cotton [two places] [12x14] [undecided|no-underbase] [+ 1 blend ...]       wait 40
//!     [of Polyester] [marked XL]                 what it is made of, and its size
//! order-file NAME 1 blend                        the same by a file of the inbox
//! recipe dark-cotton 310 F [42 s every 3]        the file was edited: heat, dwell of dry, how often to weigh
//! alter dark-cotton dry.lift 4s                  the same: one field of it, as its JSON has it
//! shut 1 A1-01 [chosen|scanned]     open 1       steam 1
//! sprayed 2|all|A1-01               printed ...  store ...
//! clean 1     swap 1     out 1 broken    back 1  dial 1 310 F medium
//! trouble A1-01 scorched out        ago 10       not-timed       undo
//! answer yes|no|not-seen [2]        weigh A1-01 152.4 g        (2: the second question that waits)
//! underbase 1 2 yes (order and line, whether asked or not)
//! stack North   shift-stack North   renew A1-01     days 21     clock-back 5
//! clock -3600 (the wall clock, in seconds)          reboot 300 [unset]   (seconds that the machine was off)
//! lot F1 pretreatment-fluid booth 2026-04-01        fill F1 400 g [typed|light [1:1 [2026-03-01]]]   flush
//! rank 2 1       due 2 2026-03-02T12:00 | none      more 1 1 3 (order, line, count)
//! change 1 rank 2 due none more 1 3              (several at once)
//! fewer 1 1 5 reject            cancel 1 finish|shelf|reject
//! sign AK        close-shift         sample A1-01    washed A1-01 5 4-5 [1.2]
//! morning-list (the station asks for all of it)      morning Humidity 54 | NozzleCheck skipped
//! heat on|light|used-now [1]        turn 1 310 F medium      approve A1-01 yes
//! weigh-every dark-cotton 10        probe 1 340 F [or nine readings]   strips 1 held held slipped held
//! ```

use std::str::FromStr;
use std::sync::Arc;

use dwell::figures::units::{Span, Temperature};
use dwell::shop::facts::fact::{LotRegistered, NewDue, SprayerFilled, Washed};
use dwell::shop::facts::ids::{ActNo, PressNo, SheetNo};
use dwell::shop::facts::mixture::{FluidKind, Mixture};
use dwell::shop::facts::moment::{Boot, Up};
use dwell::shop::facts::morning::MorningCheck;
use dwell::shop::facts::order::OrderLine;
use dwell::shop::facts::rank::Rank;
use dwell::shop::facts::recipe::Recipe;
use dwell::shop::facts::station::{Station, WetGarments};
use dwell::shop::facts::step::{Pressure, Step};
use dwell::shop::rules::command::{By, Command, OrderChange, Which};
use dwell::shop::rules::questions::{Answer, Question};
use serde::de::DeserializeOwned;
use serde_json::Value;

use crate::world::{self, World, line, order, own};

/// The station that a scenario wants: the shipped one with two presses unless it says more.
pub fn station(text: &str) -> Result<Station, String> {
    let sentences = || text.lines().filter(|line| is_about_the_station(line));
    let mut station = world::station(2);
    for sentence in sentences() {
        match sentence.split_whitespace().collect::<Vec<_>>()[..] {
            ["presses", count] => station = world::station(number(count)?),
            ["opens-itself", press] => {
                let press: usize = number(press)?;
                station.presses[press - 1].opens_itself = true;
            }
            ["small", press] => {
                let press: usize = number(press)?;
                station.presses[press - 1].size = Some(read("30 cm x 30 cm")?);
            }
            ["not-dry", press] => {
                let press: usize = number(press)?;
                station.presses[press - 1].uses.retain(|step| *step != Step::Dry);
            }
            ["wipes", at, by] => {
                (station.sheet.wipe_at, station.sheet.wipe_by) = (number(at)?, number(by)?);
            }
            ["morning-list"] => station.morning = MorningCheck::ALL.to_vec(),
            ["hung-apart"] => station.wet_garments = WetGarments::HungApart,
            _ => return Err(format!("no such station: {sentence}")),
        }
    }
    Ok(station)
}

/// Whether a sentence is about the station, which stands before anything happens.
pub fn is_about_the_station(sentence: &str) -> bool {
    let words =
        ["presses ", "opens-itself ", "hung-apart", "small ", "not-dry ", "wipes ", "morning-list"];
    words.iter().any(|word| sentence.starts_with(word))
}

/// Reads a sentence as a command; None where it only let time pass.
pub fn say(world: &mut World, sentence: &str) -> Result<Option<Command>, String> {
    let words: Vec<&str> = sentence.split_whitespace().collect();
    let press = |text: &str| number(text).map(PressNo);
    Ok(Some(match words[..] {
        ["wait", seconds] => {
            world.wait(number(seconds)?);
            return Ok(None);
        }
        ["order", ref lines @ ..] => order(order_lines(lines)?),
        ["order-file", file, ref lines @ ..] => match order(order_lines(lines)?) {
            Command::TakeOrder { form, .. } => {
                Command::TakeOrder { form, file: Some(file.replace('_', " ")) }
            }
            other => other,
        },
        ["recipe", name, degrees, scale, ref more @ ..] => {
            let found = world.shop.recipes().in_force().find(|(known, ..)| *known == name);
            let mut recipe = Recipe::clone(found.ok_or("no such recipe")?.2);
            recipe.set_point = read(&format!("{degrees} {scale}"))?;
            match more {
                [] => {}
                [seconds, "s", "every", garments] => {
                    recipe.dry.target = Span::seconds(number(seconds)?);
                    recipe.weigh_every = number(garments)?;
                }
                _ => return Err("no such recipe".into()),
            }
            Command::KeepRecipe { name: name.to_owned(), recipe: Arc::new(recipe) }
        }
        ["alter", name, path, ref value @ ..] => {
            let found = world.shop.recipes().in_force().find(|(known, ..)| *known == name);
            let recipe = found.ok_or("no such recipe")?.2.as_ref();
            let mut written = serde_json::to_value(recipe).map_err(|wrong| wrong.to_string())?;
            let field = path.split('.').fold(&mut written, |value, part| &mut value[part]);
            *field = Value::String(value.join(" "));
            let recipe: Recipe =
                serde_json::from_value(written).map_err(|wrong| wrong.to_string())?;
            recipe.check().map_err(|wrong| wrong.to_string())?;
            Command::KeepRecipe { name: name.to_owned(), recipe: Arc::new(recipe) }
        }
        ["weigh-every", name, garments] => {
            let found = world.shop.recipes().in_force().find(|(known, ..)| *known == name);
            let mut recipe = Recipe::clone(found.ok_or("no such recipe")?.2);
            recipe.weigh_every = number(garments)?;
            Command::KeepRecipe { name: name.to_owned(), recipe: Arc::new(recipe) }
        }
        ["weigh", tag, grams, unit] => {
            Command::Weigh { garment: read(tag)?, grams: read(&format!("{grams} {unit}"))? }
        }
        ["probe", no, ref degrees @ .., scale] => Command::CheckPress {
            press: press(no)?,
            readings: readings(degrees, scale)?,
            held: None,
        },
        ["strips", no, ref held @ ..] => {
            let held: Vec<bool> = held.iter().map(|word| *word == "held").collect();
            let held = held.try_into().map_err(|_| "four strips".to_owned())?;
            Command::CheckPress { press: press(no)?, readings: Vec::new(), held: Some(held) }
        }
        ["shut", no, tag] => {
            Command::Shut { press: press(no)?, garment: read(tag)?, by: By::Suggestion }
        }
        ["shut", no, tag, "chosen"] => {
            Command::Shut { press: press(no)?, garment: read(tag)?, by: By::Choice }
        }
        ["shut", no, tag, "scanned"] => {
            Command::Shut { press: press(no)?, garment: read(tag)?, by: By::Scan }
        }
        ["open", no] => Command::Open { press: press(no)? },
        ["steam", no] => Command::SteamStopped { press: press(no)? },
        ["sprayed", which] => Command::HandworkDone(some(which)?),
        ["printed", which] => Command::Printed(some(which)?),
        ["store", which] => Command::Store(some(which)?),
        ["clean", sheet] => Command::CleanSheet(SheetNo(number(sheet)?)),
        ["swap", no] => Command::SwapSheet { press: press(no)? },
        ["out", no, reason] => Command::OutOfUse { press: press(no)?, reason: named(reason)? },
        ["back", no] => Command::BackInUse { press: press(no)? },
        ["dial", no, degrees, scale, hard] => Command::SetDial {
            press: press(no)?,
            dial: read(&format!("{degrees} {scale}"))?,
            pressure: pressure(hard)?,
        },
        ["turn", no, degrees, scale, hard] => Command::TurnDial {
            press: press(no)?,
            dial: read(&format!("{degrees} {scale}"))?,
            pressure: pressure(hard)?,
        },
        ["heat", word, ref no @ ..] => Command::SayHeat {
            press: no.first().map(|no| press(no)).transpose()?,
            said: named(word)?,
        },
        ["morning", check, ref more @ ..] => Command::SayMorning {
            check: named(check)?,
            percent: more
                .first()
                .filter(|word| **word != "skipped")
                .map(|n| number(n))
                .transpose()?,
            skipped: more.first() == Some(&"skipped"),
        },
        ["approve", tag, said] => {
            Command::SaySample { garment: read(tag)?, approved: said == "yes" }
        }
        ["trouble", tag, trouble, outcome] => Command::NoteTrouble {
            garment: read(tag)?,
            trouble: named(trouble)?,
            outcome: named(outcome)?,
        },
        ["clock-back", hours] => {
            // The wall clock alone: spans go by the other one.
            world.now.at.0 -= number::<i64>(hours)? * 3_600_000_000;
            return Ok(None);
        }
        ["clock", seconds] => {
            world.now.at.0 += number::<i64>(seconds)? * 1_000_000;
            return Ok(None);
        }
        ["reboot", off, ref unset @ ..] => {
            let now = &mut world.now;
            now.at.0 =
                if unset.is_empty() { now.at.0 + number::<i64>(off)? * 1_000_000 } else { 0 };
            (now.boot, now.up) = (Boot(now.boot.0 + 1), Up(20_000_000));
            return Ok(None);
        }
        ["days", days] => {
            world.wait(number::<f64>(days)? * 86_400.0);
            return Ok(None);
        }
        ["stack", name] => Command::NameStack(name.replace('_', " ")),
        ["shift-stack", name] => Command::DisturbStack(name.replace('_', " ")),
        ["renew", tag] => Command::Renew(read(tag)?),
        ["lot", lot, contents, place, ref until @ ..] => Command::RegisterLot(LotRegistered {
            lot: lot.to_owned(),
            contents: named(contents)?,
            best_before: until.first().map(|day| read(day)).transpose()?,
            place: place.replace('_', " "),
        }),
        ["fill", lot, grams, unit, ref typed @ ..] => Command::FillSprayer(SprayerFilled {
            lot: lot.to_owned(),
            grams: read(&format!("{grams} {unit}"))?,
            scanned: typed.is_empty() || typed[0] != "typed",
            over: None,
            fluid: mixture(typed)?,
        }),
        ["flush"] => Command::FlushSprayer,
        ["sign", who] => Command::Sign(who.to_owned()),
        ["close-shift"] => Command::CloseShift,
        ["sample", tag] => Command::SampleForWash(read(tag)?),
        ["washed", tag, cycles, grade, ref change @ ..] => Command::NoteWash(Washed {
            garment: read(tag)?,
            cycles: number(cycles)?,
            grade: read(grade)?,
            delta_e: change.first().map(|change| number(change)).transpose()?,
            file: None,
        }),
        ["ago", seconds] => Command::CorrectTime { ago: Some(number(seconds)?) },
        ["not-timed"] => Command::CorrectTime { ago: None },
        ["ago", seconds, "of", act] => {
            Command::CorrectTimeOf { act: ActNo(number(act)?), ago: Some(number(seconds)?) }
        }
        ["not-timed", "of", act] => Command::CorrectTimeOf { act: ActNo(number(act)?), ago: None },
        ["undo"] => Command::Undo,
        ["underbase", no, line, answer] => Command::DecideUnderbase {
            order: own(number(no)?),
            line: number::<usize>(line)?.saturating_sub(1),
            underbase: answer_of(answer)? == Answer::Yes,
        },
        ["rank", no, rank] => {
            let rank = Rank::try_from(number::<u8>(rank)?)?;
            Command::ChangeOrder(OrderChange { rank: Some(rank), ..of(no)? })
        }
        ["due", no, due] => {
            let due = NewDue::try_from(due.to_owned()).map_err(|wrong| wrong.to_string())?;
            Command::ChangeOrder(OrderChange { due: Some(due), ..of(no)? })
        }
        ["more", no, line, count] => {
            let more = Some((number::<usize>(line)?.saturating_sub(1), number(count)?));
            Command::ChangeOrder(OrderChange { more, ..of(no)? })
        }
        ["change", no, ref parts @ ..] => Command::ChangeOrder(changed(of(no)?, parts)?),
        ["fewer", no, line, count, leaves] => Command::CancelOrder {
            order: own(number(no)?),
            fewer: Some((number::<usize>(line)?.saturating_sub(1), number(count)?)),
            leaves: named(leaves)?,
        },
        ["cancel", no, leaves] => {
            Command::CancelOrder { order: own(number(no)?), fewer: None, leaves: named(leaves)? }
        }
        ["caution", "read"] => Command::ReadCaution,
        // The caution, which every fresh shop asks first, has a sentence of its own.
        ["answer", answer, ref nth @ ..] => {
            let nth: usize = nth.first().map_or(Ok(1), |nth| number(nth))?;
            let questions = world.shop.questions().into_iter();
            let mut questions = questions.filter(|question| *question != Question::Caution);
            let question = questions.nth(nth - 1).ok_or("nothing is asked")?;
            let answered = question.answered(answer_of(answer)?);
            answered.ok_or_else(|| format!("{question:?} does not take that answer"))?
        }
        _ => return Err("no such sentence".into()),
    }))
}

/// What is said of a fluid, "light 1:1": nothing where nothing is said.
fn mixture(words: &[&str]) -> Result<Option<Mixture>, String> {
    let words: Vec<&str> = words.iter().copied().filter(|word| *word != "typed").collect();
    let [kind, more @ ..] = words.as_slice() else { return Ok(None) };
    let kind = FluidKind::ALL.into_iter().find(|one| one.words() == *kind);
    let dilution = more.first().map(|text| read(text)).transpose()?;
    let mixed = more.get(1).map(|text| read(text)).transpose()?;
    Ok(Some(Mixture { kind: Some(kind.ok_or("no such fluid")?), dilution, mixed }))
}

fn of(no: &str) -> Result<OrderChange, String> {
    Ok(OrderChange::of(own(number(no)?)))
}

/// Lines of an order, parted by "+".
fn order_lines(words: &[&str]) -> Result<Vec<OrderLine>, String> {
    words.split(|word| *word == "+").map(order_line).collect()
}

fn order_line(words: &[&str]) -> Result<OrderLine, String> {
    let [count, recipe, more @ ..] = words else { return Err("an order of nothing".into()) };
    let mut line = line(number(count)?, recipe);
    let mut more = more.iter();
    while let Some(word) = more.next() {
        match *word {
            "of" => line.cloth = Some(named(more.next().ok_or("of what cloth?")?)?),
            "marked" => line.mark = (*more.next().ok_or("marked how?")?).to_owned(),
            "undecided" => line.underbase = None,
            "no-underbase" => line.underbase = Some(false),
            "12x14" => line.print = Some(read("12 in x 14 in")?),
            "two" => line.places.push("back".to_owned()),
            "places" => {}
            _ => return Err(format!("no such order: {words:?}")),
        }
    }
    Ok(line)
}

/// Nine readings in rows of three; one stands for all nine. One in another scale says so: 168.25C.
fn readings(degrees: &[&str], scale: &str) -> Result<Vec<Vec<Temperature>>, String> {
    let all: Vec<Temperature> = degrees
        .iter()
        .map(|degrees| match degrees.strip_suffix('C') {
            Some(celsius) => read(&format!("{celsius} C")),
            None => read(&format!("{degrees} {scale}")),
        })
        .collect::<Result<_, _>>()?;
    match all[..] {
        [one] => Ok(vec![vec![one; 3]; 3]),
        _ => Ok(all.chunks(3).map(<[_]>::to_vec).collect()),
    }
}

fn some(text: &str) -> Result<Which, String> {
    Ok(match text {
        "all" => Which::All,
        tag if tag.contains('-') => Which::Tagged(read(tag)?),
        count => Which::First(number(count)?),
    })
}

fn answer_of(text: &str) -> Result<Answer, String> {
    match text {
        "yes" => Ok(Answer::Yes),
        "no" => Ok(Answer::No),
        "not-seen" => Ok(Answer::NotSeen),
        _ => Err(format!("no such answer: {text}")),
    }
}

fn pressure(text: &str) -> Result<Pressure, String> {
    let all = [Pressure::Light, Pressure::Medium, Pressure::Firm];
    all.into_iter().find(|p| p.to_string() == text).ok_or_else(|| format!("no pressure: {text}"))
}

/// Reads a number.
pub fn number<N: FromStr>(text: &str) -> Result<N, String> {
    text.parse().map_err(|_| format!("no number: {text}"))
}

/// Reads something that has a form of its own.
pub fn read<T: FromStr<Err: ToString>>(text: &str) -> Result<T, String> {
    text.parse().map_err(|wrong: T::Err| wrong.to_string())
}

/// Reads one of several names, as they are stored.
pub fn named<T: DeserializeOwned>(text: &str) -> Result<T, String> {
    serde_json::from_value(Value::from(text)).map_err(|wrong| wrong.to_string())
}

/// What is changed of an order, in the order in which it is told.
fn changed(mut change: OrderChange, parts: &[&str]) -> Result<OrderChange, String> {
    match parts {
        [] => return Ok(change),
        ["rank", rank, ..] => change.rank = Some(Rank::try_from(number::<u8>(rank)?)?),
        ["due", due, ..] => {
            change.due = Some(NewDue::try_from((*due).to_owned()).map_err(|w| w.to_string())?);
        }
        ["more", line, count, rest @ ..] => {
            change.more = Some((number::<usize>(line)?.saturating_sub(1), number(count)?));
            return changed(change, rest);
        }
        other => return Err(format!("no change of an order: {}", other.join(" "))),
    }
    changed(change, &parts[2..])
}
