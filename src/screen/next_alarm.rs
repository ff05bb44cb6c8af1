//! What an alarm wants done, as a verb and what it is done to.

use super::View;
use super::keymap::Deed;
use crate::shop::facts::ids::PressNo;
use crate::shop::facts::step::Cover;
use crate::shop::rules::alarms::Alarm;

/// The act of an alarm, and what is said beside it.
pub(super) fn act(view: &View<'_>, alarm: Alarm) -> (String, Vec<String>) {
    let key = |press| view.then("then ", Deed::Press(press));
    let shut = |press| {
        let load = view.shop.load(press);
        load.map_or_else(String::new, |load| format!("{} {}", load.garment, load.step))
    };
    match alarm {
        Alarm::Due { press, .. } => {
            let verb = if view.shop.opens_itself(press) { "UNLOAD" } else { "OPEN" };
            (format!("{verb} {press}"), vec![shut(press), key(press)])
        }
        Alarm::Overdue { press, .. } => {
            (format!("OPEN {press}"), vec![too_long(view, press), "hot platen".into(), key(press)])
        }
        Alarm::Shape { press, lifts, .. } => {
            let (verb, why) = if lifts { ("LIFT", "half-way") } else { ("CLOSE", "now") };
            (format!("{verb} {press}"), vec![format!("{}: {why}, no key", shut(press))])
        }
        Alarm::Check { press, .. } => {
            let why = "how long it has been shut is not sure".to_owned();
            (format!("CHECK {press}"), vec![why, key(press)])
        }
        Alarm::WetTooLong(tag) => {
            let why = format!("{tag} has waited wet too long");
            (format!("DRY {tag}"), vec![why])
        }
        Alarm::UncuredTooLong(tag) => {
            let why = format!("{tag}: its print has waited too long");
            (format!("CURE {tag}"), vec![why])
        }
        Alarm::WipeDue { sheet, press } | Alarm::WipeOverdue { sheet, press } => {
            let sheet = view.shop.sheets().get(sheet);
            let paper = sheet.is_some_and(|sheet| sheet.kind == Cover::ReleasePaper);
            let no = sheet.map_or_else(String::new, |sheet| sheet.no.to_string());
            let at =
                press.map_or_else(|| "set aside".to_owned(), |press| format!("of press {press}"));
            if paper {
                let key = view.then("then ", Deed::CleanSheet);
                return (format!("PAPER {no}"), vec![format!("new paper {no} {at}"), key]);
            }
            let first =
                if matches!(alarm, Alarm::WipeOverdue { .. }) { "WIPE FIRST: " } else { "" };
            let wiped = view.then(", then ", Deed::CleanSheet);
            let how = "cold, away from the press: alcohol burns".to_owned();
            let swap = view.then("or swap it: ", Deed::SwapSheet);
            let sheet = format!("{first}sheet {no} {at}, both sides{wiped}");
            (format!("WIPE {no}"), vec![sheet, how, swap])
        }
    }
}

/// "TOO LONG: A1-01 cure, 128 s of 90".
fn too_long(view: &View<'_>, press: PressNo) -> String {
    let Some(load) = view.shop.load(press) else { return "TOO LONG".to_owned() };
    let gone = load.elapsed(view.now).span.as_secs();
    let longest = view.shop.pressing(load).map_or(0, |pressing| pressing.longest.0.as_secs());
    format!("TOO LONG: {} {}, {gone} s of {longest}", load.garment, load.step)
}
