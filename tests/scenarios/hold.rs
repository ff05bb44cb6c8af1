//! What can be held to be true in a scenario.
//!
//! ```text
//! place A1-01 waits for dry         offers 1 shut A1-01 dry | open A1-01 | none SprayFirst
//! waits dry 2                       asks Underbase | asks Nothing
//! sheet 1 at 1 after 3 | aside      alarm Overdue 1 | Due 1 | WetTooLong | None
//! next load A1-01 dry | set 1 A1-01 | print A1-01 | spray A1-01 | nothing (what the plain rule names)
//! undoable shut press 1             short 1
//! shelf A1-01 1 1 2026-03-23 2026-04-01 Good         fluid 362 g of F1+F2   left-lying wet
//! turns A1-01 A1-02 (the shelf, whose turn is first)               steps-to A1-01 (of the shelf, by `c`)
//! blames A1-01 dirty sheet 5        learned 1 dark-cotton yes       probe-due 1 OtherDial | None
//! advises A1-01 17 g short: ...     pairs 1 dark-cotton 0     first-pass 1 of 2, 1 mended
//! to-turn 1 A1-01 light | as it stands (the pressure of a press before it is loaded)
//! other-fluid A1-01 the sprayer holds ... | no          offers-fluid F1 dark fluid, thinned 1:1
//! cloth-weighs A1-01 180       other-cloth A1-01 polyester: ... | no      gone-by 1 28 s
//! ready 1 soaking 1200 s | 1 yes       morning-left 3
//! held A1-01 dried 16 s of 35 | A1-01 (nothing)     lost coat outside 1
//! ```

use std::time::Duration;

use dwell::screen::words;
use dwell::shop::books::finished::Scope;
use dwell::shop::facts::ids::{PressNo, SheetNo, Tag};
use dwell::shop::floor::garment::{Place, Queue};
use dwell::shop::rules::next::NextAct;
use dwell::shop::rules::offer::{Choice, OfferedAct};
use dwell::shop::rules::questions::Question;

use super::say::{named, number, read};
use super::world::World;

/// Whether a sentence is of this kind; an error where it is and does not hold.
pub fn holds(world: &World, sentence: &str) -> Result<bool, String> {
    let Some((verb, rest)) = sentence.split_once(' ') else { return Ok(false) };
    let words: Vec<&str> = rest.split_whitespace().collect();
    let found = match (verb, &words[..]) {
        ("place", [tag, ..]) => {
            let garment = world.shop.garment(read(tag)?).ok_or("no such garment")?;
            format!("{tag} {}", words::place(&world.shop, garment.place))
        }
        ("offers", [press, ..]) => format!("{press} {}", offered(world, PressNo(number(press)?))),
        ("waits", [step, _]) => {
            format!("{step} {}", world.shop.floor().count(Queue::Step(named(step)?)))
        }
        ("asks", _) => asked(world),
        ("next", _) => next(world),
        ("blames", [tag, ..]) => {
            let first = world.shop.suspects(read(tag)?, world.now).into_iter().next();
            let first = first.map(|first| format!("{} {}", first.cause.words(), first.points));
            format!("{tag} {}", first.unwrap_or_default())
        }
        ("shelf", [tag, ..]) => {
            let garment = world.shop.garment(read(tag)?).ok_or("no such garment")?;
            let shelved = garment.shelved.as_deref().ok_or("never stored")?;
            let state = shelved.state(world.shop.today(world.now));
            let stack = &shelved.stack;
            let place = world.shop.floor().place_in_stack(garment.tag).unwrap_or_default();
            format!("{tag} {stack} {place} {} {} {state:?}", shelved.good_until, shelved.last_day)
        }
        ("turns", _) => {
            let listed: Vec<String> = world
                .shop
                .floor()
                .queue(Queue::Shelf)
                .map(|garment| garment.tag.to_string())
                .collect();
            let queue = world.shop.floor().queue(Queue::Shelf).map(|garment| garment.tag);
            let queue: Vec<String> = queue.map(|tag| tag.to_string()).collect();
            let page = world.shop.shelf_page(world.now, 0, listed.len());
            let page: Vec<String> =
                page.garments.iter().map(|(garment, _)| garment.tag.to_string()).collect();
            if listed != queue || listed != page {
                return Err(format!("listed {listed:?}, queue {queue:?}, page {page:?}"));
            }
            listed.join(" ")
        }
        ("steps-to", _) => {
            let there = world.shop.candidates();
            let stored = |tag: &&Tag| {
                world.shop.garment(**tag).is_some_and(|garment| garment.place == Place::Shelf)
            };
            there.iter().find(stored).map_or_else(String::new, Tag::to_string)
        }
        ("fluid", _) => {
            let filling = &world.shop.supplies().filling;
            format!("{:.0} g of {}", filling.left().0, filling.lots.join("+"))
        }
        ("left-lying", _) => world.shop.left_lying(world.now).join("; "),
        ("doubts", [recipe, ..]) => {
            let found = world.shop.wash_verdict(recipe).ok_or("no samples")?;
            format!("{recipe} {} {}", found.points.len(), found.doubt.unwrap_or("nothing".into()))
        }
        ("learned", [press, recipe, _]) => {
            let learned = world.shop.learned(PressNo(number(press)?), recipe);
            format!("{press} {recipe} {}", if learned.is_some() { "yes" } else { "no" })
        }
        ("pairs", [press, recipe, _]) => {
            let pairs = world.shop.pairs(PressNo(number(press)?), recipe);
            format!("{press} {recipe} {pairs}")
        }
        ("advises", [tag, ..]) => {
            let garment = world.shop.garment(read(tag)?).ok_or("no such garment")?;
            format!("{tag} {}", world.shop.mend(garment).unwrap_or_default())
        }
        ("ready", [press, ..]) => {
            let state = world.shop.unready(PressNo(number(press)?), world.now);
            let state = state.map(|(why, left)| format!("{} {} s", why.words(), left.as_secs()));
            format!("{press} {}", state.unwrap_or("yes".into()))
        }
        ("lacks-sample", [tag, ..]) => {
            format!("{tag} {}", world.shop.lacks_sample(read(tag)?).unwrap_or("no".into()))
        }
        ("morning-left", _) => world.shop.morning_left(world.now).to_string(),
        ("other-fluid", [tag, ..]) => {
            let garment = world.shop.garment(read(tag)?).ok_or("no such garment")?;
            format!("{tag} {}", world.shop.says_other_fluid(garment).unwrap_or("no".into()))
        }
        ("other-cloth", [tag, ..]) => {
            let garment = world.shop.garment(read(tag)?).ok_or("no such garment")?;
            format!("{tag} {}", world.shop.says_other_cloth(garment).unwrap_or("no".into()))
        }
        ("cloth-weighs", [tag, _]) => {
            let garment = world.shop.garment(read(tag)?).ok_or("no such garment")?;
            let weighs = world.shop.cloth_weight(garment).ok_or("no recipe")?;
            format!("{tag} {:.0}", weighs.0)
        }
        ("gone-by", [press, ..]) => {
            let load = world.shop.load(PressNo(number(press)?)).ok_or("it is open")?;
            let by = world.shop.pressing(load).and_then(|one| one.steam_gone_by);
            format!("{press} {} s", by.ok_or("it boils nothing")?.as_seconds())
        }
        ("offers-fluid", [lot, ..]) => format!("{lot} {}", world.shop.supplies().offered(lot)),
        ("to-turn", [press, tag, ..]) => {
            let garment = world.shop.garment(read(tag)?).ok_or("no such garment")?;
            let next = world.shop.next_press(garment).ok_or("no press")?;
            let wanted = world.shop.pressing_of(garment, next).ok_or("no press")?;
            let turned = world.shop.pressure_to_turn(PressNo(number(press)?), &wanted);
            let turned = turned.map_or("as it stands".to_owned(), |turned| turned.to_string());
            format!("{press} {tag} {turned}")
        }
        ("held", [tag, ..]) => {
            let garment = world.shop.garment(read(tag)?).ok_or("no such garment")?;
            let faults = world.shop.held(garment);
            let said: Vec<String> = faults.iter().map(ToString::to_string).collect();
            // Nothing after its tag: nothing is held against it.
            if rest == *tag && !said.is_empty() {
                return Err(format!("held {tag} {}", said.join("; ")));
            }
            format!("{tag} {}", said.join("; ")).trim().to_owned()
        }
        ("lost", _) => {
            let losses = world.shop.books().losses.rows(world.now, Duration::from_secs(86_400));
            let (cause, _) = rest.rsplit_once(' ').ok_or("lost CAUSE COUNT")?;
            let loss = losses.iter().find(|loss| loss.cause.words() == cause);
            format!("{cause} {}", loss.map_or(0, |loss| loss.garments))
        }
        ("first-pass", _) => {
            let finished = &world.shop.books().finished;
            let (right, all) = finished.first_pass(Scope::From(0));
            format!("{right} of {all}, {} mended", finished.mended(Scope::From(0)))
        }
        ("probe-due", [press, ..]) => {
            let due = world.shop.probe_due(PressNo(number(press)?), world.now);
            format!("{press} {}", due.map_or_else(|| "None".into(), |due| format!("{due:?}")))
        }
        ("sheet", [no, ..]) => format!("{no} {}", sheet(world, SheetNo(number(no)?))?),
        ("alarm", _) => alarm(world),
        ("notices", _) => {
            let notices = world.shop.notices(&[], world.now).into_iter();
            let words: Vec<String> =
                notices.map(|one| world.shop.notice_in_words(one, world.now)).collect();
            if words.is_empty() { "nothing".to_owned() } else { words.join("; ") }
        }
        ("undoable", _) => world.shop.undoable().map_or_else(String::new, |(_, what)| what),
        ("short", _) => {
            let lines = world.shop.orders().flat_map(|order| &order.lines);
            lines.map(|line| line.lost - line.replaced).sum::<u32>().to_string()
        }
        _ => return Ok(false),
    };
    if found.starts_with(rest) { Ok(true) } else { Err(format!("{verb} {found}")) }
}

fn offered(world: &World, press: PressNo) -> String {
    let offers = world.shop.offers(&Choice::default(), world.now);
    match offers.iter().find(|offer| offer.press == press).map(|offer| offer.act) {
        Some(OfferedAct::Open { garment }) => format!("open {garment}"),
        Some(OfferedAct::Shut { garment, next, .. }) => {
            let again = if next.again { " again" } else { "" };
            format!("shut {garment} {}{again}", next.step)
        }
        Some(OfferedAct::None(idle)) => format!("none {idle:?}"),
        None => "no such press".into(),
    }
}

/// The act that comes first, where nobody knows what holds the shop back.
fn next(world: &World) -> String {
    let offers = world.shop.offers(&Choice::default(), world.now);
    match world.shop.next_acts(&offers, None, world.now).first() {
        Some(NextAct::Load { garment, step, .. }) => format!("load {garment} {step}"),
        Some(NextAct::Set { press, garment, wanted }) => {
            format!("set {press} {garment} {}", wanted.dial)
        }
        Some(NextAct::Print(tag)) => format!("print {tag}"),
        Some(NextAct::Spray(tag)) => format!("spray {tag}"),
        None => "nothing".into(),
    }
}

/// The question that waits first, except the one about the caution, which every fresh shop asks.
fn asked(world: &World) -> String {
    let questions = world.shop.questions();
    let names = questions.iter().map(|question| match question {
        Question::Weight(wanted) if wanted.coated => format!("Weight {} coated", wanted.garment),
        Question::Weight(wanted) => format!("Weight {} dry", wanted.garment),
        question => format!("{question:?}"),
    });
    names.into_iter().find(|name| name != "Caution").unwrap_or_else(|| "Nothing".into())
}

fn sheet(world: &World, no: SheetNo) -> Result<String, String> {
    let sheet = world.shop.sheets().get(no).ok_or("no such sheet")?;
    let at = sheet.at.map_or("aside".to_owned(), |press| format!("at {press}"));
    Ok(format!("{at} after {}", sheet.presses))
}

fn alarm(world: &World) -> String {
    let alarms = world.shop.alarms(world.now);
    let Some(first) = alarms.first() else { return "None".into() };
    let name = format!("{first:?}");
    let name = name.split([' ', '(']).next().unwrap_or_default().to_owned();
    first.press().map_or(name.clone(), |press| format!("{name} {press}"))
}
