//! Scenarios as data: given what has happened, when something is said, then these facts or this refusal.
//!
//! A scenario is a text beside this file, one sentence a line. `say.rs` reads what is said to the shop,
//! `hold.rs` what has to be true of it. After a sentence that is said come the facts that it leads to, all
//! of them, or the refusal:
//!
//! ```text
//! shut 1 A1-01
//!   > press-shut {"step": "pre-press", "scanned": false}
//! shut 1 A1-02
//!   ! press 1 is shut on A1-01
//! ```
//!
//! Of a fact's body only the fields that are named are compared; `null` means that it is not there.

mod hold;

use support::{say, world};

use std::path::PathBuf;
use std::process::Command;

use dwell::shop::facts::fact::Event;
use dwell::shop::rules::command::Refusal;
use rstest::rstest;
use serde_json::Value;
use world::World;

#[rstest]
fn comes_true(#[files("tests/scenarios/*.txt")] scenario: PathBuf) {
    let told = replay(&std::fs::read_to_string(&scenario).unwrap());
    told.unwrap_or_else(|wrong| panic!("{}:{wrong}", scenario.display()));
}

/// Which files are scenarios was found out when this was compiled.
#[test]
fn every_file_has_become_a_test() {
    let listed = Command::new(std::env::current_exe().unwrap()).arg("--list").output().unwrap();
    let listed = String::from_utf8(listed.stdout).unwrap();
    let tests = listed.lines().filter(|line| line.starts_with("comes_true::")).count();
    let folder = support::root().join("tests/scenarios");
    let files = std::fs::read_dir(folder).unwrap().map(|entry| entry.unwrap().path());
    let files = files.filter(|path| path.extension().is_some_and(|end| end == "txt")).count();
    assert_eq!(tests, files, "files have come or gone: touch tests/scenarios/main.rs");
}

/// Runs a scenario; the first line that does not come true, with its number.
fn replay(text: &str) -> Result<(), String> {
    let mut world = World::new(say::station(text)?);
    let mut lines = text.lines().enumerate().peekable();
    while let Some((number, line)) = lines.next() {
        let sentence = line.split('#').next().unwrap_or_default().trim();
        if sentence.is_empty() || say::is_about_the_station(sentence) {
            continue;
        }
        let at = |wrong: String| format!("{}: {sentence}: {wrong}", number + 1);
        let mut wanted = Vec::new();
        while let Some((_, then)) = lines.next_if(|(_, next)| next.starts_with("  ")) {
            wanted.push(then.trim());
        }
        if hold::holds(&world, sentence).map_err(at)? {
            continue;
        }
        let Some(command) = say::say(&mut world, sentence).map_err(at)? else { continue };
        then(world.say(&command), &wanted).map_err(at)?;
    }
    Ok(())
}

/// Compares what came of a command with what was to come.
fn then(came: Result<Vec<Event>, Refusal>, wanted: &[&str]) -> Result<(), String> {
    let refusal = wanted.iter().find_map(|line| line.strip_prefix("! "));
    let events = match (came, refusal) {
        (Err(came), Some(words)) if came.to_string().contains(words) => return Ok(()),
        (Err(came), Some(words)) => return Err(format!("refused: {came}, not: {words}")),
        (Err(came), None) => return Err(format!("refused: {came}")),
        (Ok(_), Some(words)) => return Err(format!("not refused: {words}")),
        (Ok(events), None) => events,
    };
    if !wanted.is_empty() && wanted.len() != events.len() {
        let facts: Vec<String> = events.iter().map(|event| event.fact.in_words()).collect();
        return Err(format!("{} facts, not {}: {facts:?}", events.len(), wanted.len()));
    }
    let acts = events.iter().all(|event| event.act == events[0].act);
    if !acts {
        return Err("the facts are not of one act".into());
    }
    wanted.iter().zip(&events).try_for_each(|(wanted, event)| fact_is(event, wanted))
}

fn fact_is(event: &Event, wanted: &str) -> Result<(), String> {
    let wanted = wanted.strip_prefix("> ").ok_or_else(|| format!("no fact: {wanted}"))?;
    let (kind, fields) = wanted.split_once(' ').unwrap_or((wanted, "{}"));
    if kind != event.fact.kind() {
        return Err(format!("{}, not {kind}", event.fact.kind()));
    }
    let body = event.fact.body().map_err(|wrong| wrong.to_string())?;
    let read = |text: &str| serde_json::from_str(text).map_err(|wrong| format!("{text}: {wrong}"));
    let (body, fields): (Value, Value) = (read(&body)?, read(fields)?);
    for (name, value) in fields.as_object().into_iter().flatten() {
        if body.get(name).unwrap_or(&Value::Null) != value {
            return Err(format!("{name} is not {value} in {body}"));
        }
    }
    Ok(())
}

/// The checker itself: a scenario that is wrong is found out.
#[rstest]
#[case("shut 1 A1-01\n  > press-shut {\"step\": \"dry\"}", "step is not")]
#[case("shut 1 A1-01\n  > press-opened", "not press-opened")]
#[case("shut 1 A1-01\n  ! shut already", "not refused")]
#[case("open 1", "is not shut")]
#[case("place A1-01 is on the shelf", "waits for pre-press")]
#[case("dance", "no such sentence")]
fn a_wrong_scenario_is_found_out(#[case] sentences: &str, #[case] words: &str) {
    let wrong = replay(&format!("order 1 dark-cotton\n{sentences}")).unwrap_err();
    assert!(wrong.contains(words), "{wrong}");
}
