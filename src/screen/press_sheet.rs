//! What a press panel says of the cover sheet that lies in the press.

use super::View;
use super::keymap::Deed;
use super::paint::Line;
use super::theme::Role;
use crate::shop::facts::ids::PressNo;
use crate::shop::facts::step::{Cover, Step};
use crate::shop::facts::words::counted;
use crate::shop::floor::sheets::Sheet;

/// What is to be done to the sheet in a press before it is shut: a word for big letters, and how it presses.
pub fn first_act(view: &View<'_>, press: PressNo) -> Option<(Role, &'static str)> {
    let (sheet, wipe_at, wipe_by) = sheet_and_rule(view, press)?;
    match sheet.kind {
        _ if sheet.presses < wipe_at => None,
        Cover::PtfeSheet if sheet.presses >= wipe_by => Some((Role::Danger, "WIPE")),
        Cover::PtfeSheet => Some((Role::Due, "WIPE")),
        Cover::ReleasePaper => Some((Role::Due, "PAPER")),
    }
}

/// The counter of the PTFE sheet, or of the paper where that is what has been used, after what is to be done to
/// it: always the presses since its wipe or change, of those after which that is due.
pub fn lines(view: &View<'_>, press: PressNo) -> Vec<Line> {
    let Some((sheet, wipe_at, _)) = sheet_and_rule(view, press) else { return Vec::new() };
    let what = match sheet.kind {
        Cover::PtfeSheet => "sheet",
        Cover::ReleasePaper => "paper",
    };
    let count =
        Line::of(Role::Plain, format!("{what} {}: {} of {wipe_at}", sheet.no, sheet.presses));
    let act = first_act(view, press).map(|(role, word)| match role {
        Role::Danger => Line::of(role, " WIPE FIRST "),
        _ if word == "PAPER" => Line::of(role, " NEW PAPER "),
        _ => Line::of(role, " WIPE "),
    });
    let worn = [Step::Dry, Step::Cure].into_iter().filter_map(|step| worn(view, press, step));
    act.into_iter().chain([count]).chain(worn.map(|worn| Line::of(Role::Abnormal, worn))).collect()
}

/// What is said of the PTFE sheet that covers a step in a press, once it has seen as many presses as it lasts: a new one
/// is laid in while the press is open.
pub fn worn(view: &View<'_>, press: PressNo, step: Step) -> Option<String> {
    let sheet = view.shop.sheets().at(press, Cover::PtfeSheet, step)?;
    let life = sheet.life.filter(|_| view.shop.is_worn(sheet))?;
    let key = match view.shop.load(press) {
        None => view.then(", then ", Deed::NewSheet),
        Some(_) => " once it is open".to_owned(),
    };
    Some(format!("sheet {} worn, {}: a new one{key}", sheet.no, counted(life, "press")))
}

fn sheet_and_rule<'a>(view: &View<'a>, press: PressNo) -> Option<(&'a Sheet, u32, u32)> {
    let rule = view.shop.station()?.sheet;
    let sheet = [Cover::PtfeSheet, Cover::ReleasePaper]
        .into_iter()
        .find_map(|kind| view.shop.sheets().at(press, kind, Step::Dry))?;
    Some((sheet, rule.wipe_at, rule.wipe_by))
}
