//! How heavy the coats are, what the steam of each press has taught, and how even the platens are.
//!
//! ```text
//!  Dark cotton   A3-07 212 g/m2 inside   window 138 to 270, target 200    press 1 Left, 340 F
//!  eight in a row on one side, heavier: the trigger has been opened ...    -4  +0  -5
//!  270 . . . . . . . . . . . . . . .                                       +1  +2  +0
//!  241 - - - - - - - - - - - - - - -  limit                                -3  +0  -6
//!            o        X                                                    turn the dial by +2 F
//!  203 ----o----o--o------o---------  mean                                 probed 2 days ago
//!  press 1: 27 s means 31 g; dry 38 s
//! ```

use ratatui::buffer::Buffer;
use ratatui::layout::Rect;

use super::View;
use super::coat_chart;
use super::coat_trial;
use super::keymap::Deed;
use super::paint::{self, Line};
use super::platen_map;
use super::theme::Role;
use super::words;
use crate::figures::coat::Verdict;
use crate::figures::units::Grams;
use crate::figures::wear::Course;
use crate::shop::books::coats::{LEAST_PAIRS, WeighIn};
use crate::shop::books::drift::{self, Drift, LEAST_FOR_LIMITS};
use crate::shop::books::sprayer::drift_told;
use crate::shop::facts::ids::PressNo;
use crate::shop::facts::mixture;
use crate::shop::facts::recipe::Recipe;
use crate::shop::facts::step::Step;
use crate::shop::facts::words::counted;
use crate::shop::floor::wash::LEAST_SAMPLES;

/// Columns of the platens.
const PLATENS: u16 = 27;

/// Draws the pane.
pub fn draw(view: &View<'_>, area: Rect, buf: &mut Buffer) {
    let area = paint::skip(area, 1, 0);
    if let Some(run) = view.shop.trial().filter(|_| view.ui.scroll == 0) {
        return coat_trial::draw(view, run, area, buf);
    }
    let platens = paint::skip(area, area.width.saturating_sub(PLATENS), 0);
    // A column between the two stays empty.
    let left = Rect { width: area.width.saturating_sub(PLATENS + 1), ..area };
    platen_map::draw(view, platens, buf);
    let Some((name, recipe)) = shown(view) else {
        let mut lines = vec![Line::of(Role::Strong, "No coat has been weighed yet.")];
        if view.acts() {
            let key = view.ui.keys.key(Deed::Weigh);
            let text = format!("{key} on the Bench weighs a garment: dry, then sprayed.");
            lines.push(Line::of(Role::Plain, text));
        }
        lines.push(Line::of(Role::Plain, "A recipe's weigh_every makes the board ask for it."));
        lines.extend(
            view.shop.recipes().all_set_aside().map(|one| Line::of(Role::Abnormal, one.in_words())),
        );
        let wide = usize::from(left.width);
        let lines: Vec<Line> = lines.into_iter().flat_map(|line| line.folded(wide)).collect();
        return paint::lines(buf, view.theme, left, &lines);
    };
    let wide = usize::from(left.width);
    let head: Vec<Line> =
        head(view, name, recipe).into_iter().flat_map(|line| line.folded(wide)).collect();
    let below = steam(view, name, recipe);
    let (top, foot) = (rows(head.len()), rows(below.len()));
    paint::lines(buf, view.theme, left, &head);
    let room = left.height.saturating_sub(top + foot);
    if let Some(drift) = view.shop.drift(name) {
        let place =
            Rect { height: room, width: left.width.saturating_sub(2), ..paint::skip(left, 0, top) };
        coat_chart::draw(view, &drift, recipe, place, buf);
    }
    paint::lines(buf, view.theme, paint::skip(left, 0, top + room), &below);
}

fn rows(lines: usize) -> u16 {
    u16::try_from(lines).unwrap_or(u16::MAX)
}

/// The recipe that is shown: that of the last weigh-in, or as far from it as has been scrolled.
fn shown<'a>(view: &View<'a>) -> Option<(&'a str, &'a Recipe)> {
    let mut weighed: Vec<(&str, &WeighIn, &Recipe)> = view
        .shop
        .recipes()
        .in_force()
        .filter_map(|(name, _, recipe)| {
            let book = view.shop.coat_book(name)?;
            Some((name, book.weighed.back()?, recipe.as_ref()))
        })
        .collect();
    weighed.sort_by_key(|(_, last, _)| std::cmp::Reverse(last.at.up));
    // A trial that runs stands before them.
    let above = usize::from(view.shop.trial().is_some());
    let place = view.ui.scroll.saturating_sub(above).min(weighed.len().saturating_sub(1));
    weighed.get(place).map(|(name, _, recipe)| (*name, *recipe))
}

fn head(view: &View<'_>, name: &str, recipe: &Recipe) -> Vec<Line> {
    let book = view.shop.coat_book(name);
    let mut lines = Vec::new();
    if let Some(last) = book.and_then(|book| book.weighed.back()) {
        let role = if last.verdict == Verdict::Inside { Role::Good } else { Role::Abnormal };
        let line = Line::of(Role::Strong, format!("{}   ", recipe.title))
            .and(Role::Strong, format!("{}  {:.0} g/m2  ", last.garment, last.coat.0))
            .and(role, last.verdict.words());
        lines.push(line);
    }
    let window = recipe.coat;
    let whose = if recipe.confirmed.is_some() { "" } else { ", unconfirmed" };
    lines.push(Line::of(
        Role::Plain,
        format!("window {} to {}, target {}{whose}", window.low.0, window.high.0, window.target),
    ));
    lines.extend(
        view.shop.recipes().set_aside(name).map(|one| Line::of(Role::Abnormal, one.in_words())),
    );
    let fluids = &view.shop.supplies().filling.fluids;
    if !fluids.is_empty() {
        lines.push(Line::of(Role::Plain, format!("sprayer: {}", mixture::in_words(fluids))));
    }
    let Some(drift) = view.shop.drift(name) else { return lines };
    lines.extend(figures(&drift));
    match drift.news() {
        Some(signal) => {
            let told = drift::advice(signal);
            lines.extend(told.map(|text| Line::of(Role::Abnormal, text)));
        }
        None if drift.chart.is_some() => {
            lines.push(Line::of(Role::Good, "steady: chance alone explains it"));
        }
        None => {}
    }
    lines
}

/// The mean of all, and the average that begins at the target and counts the newest most: of few weigh-ins it would
/// tell of the target, so it is told only once there are limits.
fn figures(drift: &Drift) -> Vec<Line> {
    let Some(chart) = drift.chart else {
        let left = LEAST_FOR_LIMITS.saturating_sub(drift.values.len());
        let text = format!("limits after {}", counted(left, "more weigh-in"));
        return vec![Line::of(Role::Plain, text)];
    };
    let (mean, weighted) = (chart.mean, drift.average.0);
    let text =
        format!("mean of {}: {mean:.0} g/m2, weighted to the newest: {weighted:.0}", chart.n);
    let capability = drift.capability.map(|(cp, cpk)| format!("Cp {cp:.2}  Cpk {cpk:.2}"));
    [text].into_iter().chain(capability).map(|text| Line::of(Role::Plain, text)).collect()
}

/// What the steam says on each press that dries.
fn steam(view: &View<'_>, name: &str, recipe: &Recipe) -> Vec<Line> {
    let dries = |press: &PressNo| {
        let profile = view.shop.station().and_then(|station| station.press(*press));
        profile.is_some_and(|profile| profile.uses.contains(&Step::Dry))
    };
    // Paper lets steam through, a PTFE sheet does not: each is learned apart.
    let mut lines =
        vec![Line::of(Role::Strong, format!("what the steam says, under {}", recipe.dry.cover))];
    let presses = view.shop.press_numbers().into_iter().filter(dries);
    lines.extend(presses.map(|press| steam_of(view, press, name, recipe)));
    lines.extend(wash(view, name));
    lines.extend(sprayer(view));
    lines
}

/// Grade against coat of the wash samples, and what that casts doubt on; never more than they carry.
fn wash(view: &View<'_>, name: &str) -> Vec<Line> {
    const SHOWN: usize = 4;
    let Some(found) = view.shop.wash_verdict(name) else { return Vec::new() };
    let count = found.points.len();
    let points = found.points.iter().rev().take(SHOWN).rev();
    let points: Vec<String> =
        points.map(|(coat, seen)| format!("{:.0} g/m2 {seen}", coat.0)).collect();
    let returned = match found.returned {
        0 => String::new(),
        back => format!(", {back} of them returned: only what fails comes back"),
    };
    let mut lines = vec![
        Line::of(Role::Strong, format!("wash tests: {}{returned}", counted(count, "sample"))),
        Line::of(Role::Plain, points.join(", ")),
    ];
    lines.push(match found.doubt {
        Some(doubt) => Line::of(Role::Abnormal, doubt),
        None if count < LEAST_SAMPLES => Line::of(Role::Plain, "too few to judge the window by"),
        None => Line::of(Role::Plain, "nothing against the window"),
    });
    lines
}

/// How the sprayer does over the weeks.
fn sprayer(view: &View<'_>) -> Option<Line> {
    let health = view.shop.books().sprayer.health(view.now)?;
    if let Some(text) = drift_told(health.course) {
        return Some(Line::of(Role::Abnormal, text));
    }
    let plan = format!("{} on plan", words::signed_per_cent(health.against_plan));
    let scatter = health
        .scatter
        .map_or_else(String::new, |scatter| format!(", coats scatter by {:.0} %", 100.0 * scatter));
    let text = match health.course {
        Course::Learning(left) => {
            let left = counted(left, "more day");
            format!("sprayer: {plan}{scatter}; its usual is known after {left}")
        }
        _ => {
            let days = counted(health.days, "day");
            format!("sprayer: steady over {days}, {plan}{scatter}")
        }
    };
    Some(Line::of(Role::Plain, text))
}

/// What is known of the steam of a press. All seconds are counted from its key, as on its panel: where the platen hovers
/// first or is lifted half-way, that is in them.
fn steam_of(view: &View<'_>, press: PressNo, name: &str, recipe: &Recipe) -> Line {
    let Some(learned) = view.shop.learned(press, name) else {
        let pairs = view.shop.pairs(press, name);
        let by = words::press_time(recipe.steam_gone_by());
        let why = match LEAST_PAIRS.checked_sub(pairs) {
            Some(left @ 1..) => format!("needs {}", counted(left, "more weigh-in")),
            _ => "weigh-ins too much alike".into(),
        };
        return Line::of(Role::Plain, format!("press {press}: gone by {by}; {why}"));
    };
    if !learned.is_believable() {
        let text = format!("press {press}: h {:.0} is impossible: check the scale", learned.h());
        return Line::of(Role::Abnormal, text);
    }
    // A press is learned in grams on a square metre.
    let heaviest = learned.seconds(Grams(recipe.coat.high.0));
    let usual = learned.seconds(Grams(recipe.coat.target.0));
    let (Ok(usual), Ok(heaviest)) = (usual, heaviest) else { return Line::default() };
    let pressing = recipe.drying();
    // A press is learned from the moment at which it closes.
    let (usual, heaviest) = (pressing.steam_from_key(usual), pressing.steam_from_key(heaviest));
    let left_out = match learned.far_off().len() {
        0 => String::new(),
        far => format!("; {} far off, left out", counted(far, "weigh-in")),
    };
    let text = format!(
        "press {press}: target {usual:.0} s, too heavy {heaviest:.0} s; dry {:.0} s{left_out}",
        heaviest.max(pressing.shortest.as_seconds()).ceil()
    );
    Line::of(Role::Plain, text)
}
