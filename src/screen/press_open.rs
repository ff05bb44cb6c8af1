//! An open press: which step it would be shut on, and which garment, read from three metres.
//!
//! ```text
//!   ██ │ ████    ████    ██████     step and garment in one face for all panels, by the longest word
//! ████ │ ██  ██  ██  ██  ██
//!   ██ │ ████    ████    ████
//!   ██ │ ▄▀▄ ▄█    ▄▀▄ ▄▀▀
//! ████ │ █▀█  █ ▀▀ █ █ █▀█
//!      │ the next blank             reasons small; they are the first to give way
//! ```
//!
//! What has to come first takes the step's place: the sheet's wipe, new paper, another heat. Where nothing can be
//! loaded the number is grey and the reason small.

use ratatui::buffer::Buffer;
use ratatui::layout::Rect;

use super::View;
use super::art;
use super::faces::Face;
use super::keymap::Deed;
use super::paint::{self, Line};
use super::theme::Role;
use super::{press_sheet, words};
use crate::figures::sketch::Sketch;
use crate::shop::facts::fact::Fact;
use crate::shop::facts::ids::{PressNo, Tag};
use crate::shop::facts::recipe::Pressing;
use crate::shop::facts::step::Step;
use crate::shop::floor::garment::Place;
use crate::shop::floor::platens::ProbeDue;
use crate::shop::floor::shelved::ShelfState;
use crate::shop::rules::command::By;
use crate::shop::rules::offer::{Idle, OfferedAct};
use crate::shop::rules::route::NextPress;

/// The steps of a press in big letters. All are measured, whichever are shown, so that no panel's letters grow
/// and shrink from act to act.
const WHOLE: [&str; 3] = ["PRE-PRESS", "CURE", "DRY"];
/// The same where the whole words have no room.
const SHORT: [&str; 3] = ["PRE", "CURE", "DRY"];
/// Columns of the line between number and words, with a blank on either side.
const DIVIDER: u16 = 3;
/// Columns before the number.
const MARGIN: u16 = 1;

/// The faces of all open presses of a screen.
pub struct OpenFaces {
    number: Option<Face>,
    step: Option<Face>,
    tag: Option<Face>,
    whole: bool,
    /// Step and tag fit below each other only where they have the title's row as well.
    over_title: bool,
}

impl OpenFaces {
    /// The faces for panels of which the smallest has so much room below its title, on a screen of so many rows: the
    /// title gives way before the garment's tag, that before the step's size, and whole words before short ones as
    /// long as they can be read from afar.
    pub fn for_room(view: &View<'_>, (width, height): (u16, u16), rows: u16) -> Self {
        let below_title = Self::in_room(view, (width, height), rows);
        if below_title.tag.is_some() {
            return below_title;
        }
        let over_title = Self::in_room(view, (width, height + 1), rows);
        match over_title.tag {
            Some(_) => Self { over_title: true, ..over_title },
            None => below_title,
        }
    }

    fn in_room(view: &View<'_>, (width, height): (u16, u16), rows: u16) -> Self {
        let halves = view.theme.halves;
        let number =
            if halves && height < Face::TALL_5.height() { Face::HALF_5 } else { Face::TALL_5 };
        let longest = |words: &[&str], face: Face| words.iter().map(|word| face.width(word)).max();
        let wide = width.saturating_sub(MARGIN + number.width("0") + DIVIDER);
        let fits = |words: &[&str], face: Face| {
            longest(words, face).is_some_and(|longest| longest <= wide) && face.height() <= height
        };
        let least = Face::least(halves, rows);
        let tag_face = |step: Face| {
            let below = height.saturating_sub(step.height() + gap_below(step));
            Face::largest_for_words(halves, |face| {
                face.half_rows() <= step.half_rows() && face.fits(&widest_tag(view), (wide, below))
            })
        };
        let found =
            [(true, &WHOLE[..]), (false, &SHORT[..])].into_iter().find_map(|(whole, words)| {
                let readable = |face: &Face| !whole || face.half_rows() >= least.half_rows();
                let both = Face::largest_for_words(halves, |face| {
                    fits(words, face) && tag_face(face).is_some()
                });
                let step =
                    both.or_else(|| Face::largest_for_words(halves, |face| fits(words, face)));
                step.filter(readable).map(|step| (whole, step))
            });
        let (step, whole) = (found.map(|(_, step)| step), found.is_some_and(|(whole, _)| whole));
        let tag = step.and_then(tag_face);
        // The number has what the widest words leave, so that all numbers are alike.
        let words = if whole { &WHOLE[..] } else { &SHORT[..] };
        let words = step.and_then(|step| longest(words, step)).unwrap_or(width / 2);
        let tags = tag.map_or(0, |tag| tag.width(&widest_tag(view)));
        let left = width.saturating_sub(words.max(tags) + MARGIN + DIVIDER);
        let number = Face::fitting(halves, "0", (left, height));
        Self { number, step, tag, whole, over_title: false }
    }

    fn word(&self, step: Step) -> String {
        if step == Step::PrePress && !self.whole {
            return "PRE".to_owned();
        }
        step.name().to_uppercase()
    }
}

/// Rows between the step and what stands below it: half dots leave half a row of their own.
fn gap_below(step: Face) -> u16 {
    u16::from(step.half_rows().is_multiple_of(2))
}

fn widest_tag(view: &View<'_>) -> String {
    let offered = view.offers.iter().filter_map(|offer| match offer.act {
        OfferedAct::Shut { garment, .. } => Some(garment.to_string()),
        _ => None,
    });
    offered.chain(["A0-00".to_owned()]).max_by_key(String::len).unwrap_or_default()
}

/// Whether an open press has its title's row for its big words: number, step and garment say what the title does.
pub fn takes_title(view: &View<'_>, press: PressNo, faces: &OpenFaces) -> bool {
    faces.over_title && big_words(view, press, faces).is_some_and(|big| big.tag.is_some())
}

/// Draws an open press below its title, or over the title's row as well; says whether the garment that it would be shut
/// on stands there in big letters.
pub fn draw(
    view: &View<'_>,
    press: PressNo,
    (faces, over_title): (&OpenFaces, bool),
    area: Rect,
    buf: &mut Buffer,
) -> bool {
    let big = big_words(view, press, faces);
    // Where they have the title's row, what lies above is a bar or other words: neither touches them.
    let (body, top) = (area, u16::from(over_title));
    let number = press.to_string();
    // Below a title there may be a row less than the faces are for.
    let high = body.height.saturating_sub(top);
    let fitting = |face: Face| match face.height() <= high {
        true => Some(face),
        false => Face::fitting(view.theme.halves, "0", (face.width("0"), high)),
    };
    let face = faces.number.and_then(fitting);
    let role = if big.is_some() { Role::Strong } else { Role::Plain };
    let number_wide = match face {
        Some(face) => {
            let place = paint::skip(body, MARGIN, top);
            face.draw(buf, place, &number, view.theme.number_ink(role));
            face.width(&number)
        }
        None => paint::text(buf, view.theme, paint::skip(body, MARGIN, 0), role, &number),
    };
    let divider = paint::skip(body, MARGIN + number_wide + 1, 0);
    for row in 0..body.height {
        paint::text(buf, view.theme, paint::row_of(divider, row), Role::Frame, "│");
    }
    let words = paint::skip(divider, 2, 0);
    let taken = big.as_ref().map_or(0, |big| draw_big(view, big, (faces, top), words, buf));
    draw_small(view, press, paint::skip(words, 0, taken), big.is_none(), buf);
    faces.tag.is_some()
}

/// What stands in big letters.
struct Big {
    role: Role,
    act: String,
    tag: Option<Tag>,
}

fn big_words(view: &View<'_>, press: PressNo, faces: &OpenFaces) -> Option<Big> {
    match view.offered(press)? {
        OfferedAct::Shut { garment, next, .. } => {
            let first = press_sheet::first_act(view, press).filter(|_| next.step == Step::Dry);
            let (role, act) = match first {
                Some((role, word)) => (role, word.to_owned()),
                None => (Role::Strong, faces.word(next.step)),
            };
            Some(Big { role, act, tag: Some(garment) })
        }
        OfferedAct::None(Idle::SetOtherwise { garment, wanted }) => {
            let dial = wanted.dial.to_string().replace(' ', "");
            Some(Big { role: Role::Abnormal, act: format!("SET {dial}"), tag: Some(garment) })
        }
        OfferedAct::None(Idle::Unready(why)) => {
            Some(Big { role: Role::Strong, act: why.words().to_uppercase(), tag: None })
        }
        _ => None,
    }
}

/// The face of an act: that of the steps, a smaller one for a longer word.
fn act_face(view: &View<'_>, act: &str, faces: &OpenFaces, room: (u16, u16)) -> Option<Face> {
    let step = faces.step?;
    if step.fits(act, room) {
        return Some(step);
    }
    Face::largest_for_words(view.theme.halves, |face| {
        face.half_rows() <= step.half_rows() && face.fits(act, room)
    })
}

/// Draws act and tag, so many half rows lower; returns the rows that they take.
fn draw_big(
    view: &View<'_>,
    big: &Big,
    (faces, lower): (&OpenFaces, u16),
    area: Rect,
    buf: &mut Buffer,
) -> u16 {
    let room = (area.width, area.height);
    let mut taken = match act_face(view, &big.act, faces, room) {
        Some(face) => {
            let filled = matches!(big.role, Role::Due | Role::Danger);
            if filled {
                let ground = Rect { height: face.height(), ..area };
                paint::fill(buf, view.theme, ground, big.role);
            }
            let dot = match big.role {
                Role::Due => Role::DueDot,
                Role::Danger => Role::DangerDot,
                role => role,
            };
            let letters = Rect { width: face.width(&big.act), height: face.height(), ..area };
            let dot = paint::letters_on(buf, view.theme, letters, dot);
            face.draw_below(lower, buf, area, &big.act, view.theme.ink(dot));
            face.height() + gap_below(face)
        }
        None => {
            paint::text(buf, view.theme, area, big.role, &big.act);
            1
        }
    };
    let Some(tag) = big.tag.map(|tag| tag.to_string()) else { return taken };
    let below = paint::skip(area, 0, taken);
    if let Some(face) = faces.tag.filter(|face| face.fits(&tag, (below.width, below.height))) {
        face.draw_below(lower, buf, below, &tag, view.theme.ink(Role::Strong));
        taken += face.height();
    }
    taken
}

/// The reasons, as many rows as there are, and the artwork below them where it has room.
fn draw_small(view: &View<'_>, press: PressNo, area: Rect, alone: bool, buf: &mut Buffer) {
    let wide = usize::from(area.width);
    let lines: Vec<Line> =
        small_lines(view, press).iter().flat_map(|line| line.folded(wide)).collect();
    let height = u16::try_from(lines.len()).unwrap_or(0);
    // Where nothing is big above them, the words stand in the middle.
    let top = if alone { area.height.saturating_sub(height) / 2 } else { 0 };
    paint::lines(buf, view.theme, paint::skip(area, 0, top), &lines);
    let below = paint::skip(area, 0, top + height + 1);
    if let Some((sketch, _)) = sketch_of_offered(view, press).zip(art::fitting(below)) {
        art::draw(buf, view.theme, below, sketch);
    }
}

/// The artwork of the garment that the press would be shut on: it tells orders apart at a glance.
fn sketch_of_offered<'a>(view: &View<'a>, press: PressNo) -> Option<&'a Sketch> {
    let OfferedAct::Shut { garment, .. } = view.offered(press)? else { return None };
    let garment = view.shop.garment(garment)?;
    let line = view.shop.order(garment.order())?.form.lines.get(garment.line)?;
    line.seen.as_ref().map(|seen| &seen.sketch)
}

fn small_lines(view: &View<'_>, press: PressNo) -> Vec<Line> {
    let mut lines = match view.offered(press) {
        Some(act @ OfferedAct::Shut { .. }) => shut_lines(view, press, act),
        Some(OfferedAct::None(idle)) => idle_lines(view, press, idle),
        _ => Vec::new(),
    };
    lines.extend(press_sheet::lines(view, press));
    lines.extend(probe_line(view, press));
    lines
}

fn shut_lines(view: &View<'_>, press: PressNo, act: OfferedAct) -> Vec<Line> {
    let OfferedAct::Shut { garment, next, by, suits } = act else { return Vec::new() };
    let again = if next.again { " again" } else { "" };
    let round = view.shop.place_of(garment);
    let mut head = Line::default();
    if view.acts() {
        let key = view.ui.keys.key(Deed::Press(press));
        head.add(Role::Chosen, format!(" {key} ")).add(Role::Strong, " ");
    }
    head.add(Role::Strong, format!("{} {}{again}", view.shop.in_hand(garment), next.step));
    let mut lines = vec![head];
    // Past its day comes before why it is its turn.
    lines.extend(shelf_line(view, garment));
    if !suits {
        lines.push(Line::of(Role::Abnormal, heats(view, press, garment, next)));
    } else if let Some(turn) = turn(view, press) {
        lines.push(Line::of(Role::Abnormal, turn));
    }
    let one = view.shop.garment(garment);
    let is_blank = one.is_none_or(|garment| garment.begun.is_none());
    let shelved = one.is_some_and(|garment| garment.place == Place::Shelf);
    let mut why = match by {
        By::Suggestion if shelved => "nothing else waits: from the shelf".to_owned(),
        By::Suggestion if next.again => "this step once more".into(),
        By::Suggestion => match next.step {
            Step::Dry => "wet: dry it first".to_owned(),
            Step::Cure => "printed: cure it".into(),
            _ if is_blank => "next blank".into(),
            _ => match round {
                Some(round) => format!("its {round} comes next"),
                None => "this step once more".into(),
            },
        },
        By::Plan => format!("plan: all done {} sooner", sooner(view.ui.advice.gain_s)),
        By::Choice => "your choice".into(),
        By::Scan => "scanned".into(),
    };
    if let Some(step) = next.implies {
        let done = if step == Step::Print { "printed" } else { "sprayed and rolled" };
        why = format!("{why}; also records it as {done}");
    }
    lines.extend(care(view, press).into_iter().map(|said| Line::of(Role::Abnormal, said)));
    lines.extend(shape(view, press).map(|shape| Line::of(Role::Strong, shape)));
    lines.push(Line::of(Role::Plain, why));
    lines.extend(view.shop.says_of_blanks(garment).map(|said| Line::of(Role::Abnormal, said)));
    lines
}

/// How the press is set, and how the garment wants it.
fn heats(view: &View<'_>, press: PressNo, tag: Tag, next: NextPress) -> String {
    let wanted = view.shop.garment(tag).and_then(|garment| view.shop.pressing_of(garment, next));
    match view.shop.setting(press).zip(wanted) {
        Some((is, wanted)) => format!(
            "set to {} {}, it wants {} {}",
            is.dial, is.pressure, wanted.set_point, wanted.pressure
        ),
        None => "this press is set otherwise".to_owned(),
    }
}

/// Which pressure a press is to be turned to before it is shut: named once at each change.
pub fn turn(view: &View<'_>, press: PressNo) -> Option<String> {
    let wanted = offered_pressing(view, press)?;
    let pressure = view.shop.pressure_to_turn(press, &wanted)?;
    Some(format!("turn it to {pressure} pressure first"))
}

/// What the garment asks of whoever lays it in, said of the first of its line in this press: a pad under the print,
/// a colour that heat harms, a cloth whose dye migrates at this heat or that the recipe is not for.
pub fn care(view: &View<'_>, press: PressNo) -> Vec<String> {
    let Some(OfferedAct::Shut { garment: tag, .. }) = view.offered(press) else {
        return Vec::new();
    };
    let Some(of) = view.shop.garment(tag) else { return Vec::new() };
    let line = view.shop.order(tag.order_id()).and_then(|order| order.form.lines.get(of.line));
    let Some(line) = line else { return Vec::new() };
    let tender = view.shop.station().and_then(|station| station.tender_of(line.garment));
    let pad = line.pad.map(|pad| pad.in_words());
    let tender =
        tender.map(|how| format!("{} {}", view.shop.colour_name(line.garment), how.words()));
    let dial = view.shop.setting(press).map(|set| set.dial);
    let cloth = view.shop.cloth(of);
    let too_hot = cloth.zip(dial).and_then(|(cloth, dial)| cloth.too_hot(dial));
    let other = view.shop.says_other_cloth(of);
    let said: Vec<String> = pad.into_iter().chain(tender).chain(other).chain(too_hot).collect();
    let alike = |fact: &Fact| match fact {
        Fact::PressShut(shut) if shut.press == press && shut.garment.order == tag.order => {
            view.shop.garment(shut.garment).is_some_and(|one| one.line == of.line)
        }
        _ => false,
    };
    // Most lines ask for nothing: the past is looked through for those that do.
    if said.is_empty() || view.ui.past.iter().any(|event| alike(&event.fact)) {
        return Vec::new();
    }
    said
}

/// What the step that a press is offered wants of it.
fn offered_pressing(view: &View<'_>, press: PressNo) -> Option<Pressing> {
    let OfferedAct::Shut { garment, next, .. } = view.offered(press)? else { return None };
    view.shop.pressing_of(view.shop.garment(garment)?, next)
}

/// How a press is worked that is not only shut: it hovers first, or is lifted half-way.
pub fn shape(view: &View<'_>, press: PressNo) -> Option<String> {
    offered_pressing(view, press)?.shape_in_words()
}

/// Five words hold no seconds: what a plan gains is said in whole minutes.
fn sooner(gain_s: f64) -> String {
    if (gain_s / 60.0).round() < 1.0 { "a little".to_owned() } else { words::minutes(gain_s) }
}

/// What the shelf says against a garment, before the press is shut on it.
fn shelf_line(view: &View<'_>, tag: Tag) -> Option<Line> {
    let shelved = view.shop.garment(tag)?.shelved.as_deref()?;
    let text = match shelved.state(view.shop.today(view.now)) {
        ShelfState::Past => return Some(Line::of(Role::Danger, " PAST ITS DAY ")),
        _ if shelved.disturbed => "its stack was shifted: look".to_owned(),
        _ if shelved.unsure => "days unsure: the clock was wrong".to_owned(),
        ShelfState::UseFirst => format!("use first: last day {}", shelved.last_day),
        ShelfState::Good => return None,
    };
    Some(Line::of(Role::Abnormal, text))
}

/// Whether the platen wants its probe. That it never had one is said without urgency, until it is used in a shift.
fn probe_line(view: &View<'_>, press: PressNo) -> Option<Line> {
    let key = if view.acts() { view.ui.keys.key(Deed::Probe) + " " } else { String::new() };
    let due = view.shop.probe_due(press, view.now)?;
    let used = |fact: &Fact| matches!(fact, Fact::PressShut(shut) if shut.press == press);
    if due == ProbeDue::Never && !view.is_first_of_shift(u64::MAX, used) {
        return None;
    }
    let (role, what) = match due {
        ProbeDue::Never => (Role::Plain, "platen never probed".to_owned()),
        ProbeDue::Old(span) => {
            (Role::Abnormal, format!("probe the platen: last {}", words::ago(span)))
        }
        ProbeDue::OtherDial => (Role::Abnormal, "probe the platen: dial was turned".into()),
    };
    Some(Line::of(role, format!("{key}{what}")))
}

fn idle_lines(view: &View<'_>, press: PressNo, idle: Idle) -> Vec<Line> {
    let mut lines = idle_lines_with_keys(view, press, idle);
    if !view.acts() {
        // The first says why, what follows says which keys.
        lines.truncate(1);
    }
    lines
}

fn idle_lines_with_keys(view: &View<'_>, press: PressNo, idle: Idle) -> Vec<Line> {
    let keys = &view.ui.keys;
    let choose = format!("{}: load one anyway", keys.key(Deed::NextCandidate));
    let plain = |text: String| Line::of(Role::Plain, text);
    match idle {
        Idle::OutOfUse(reason) => vec![
            Line::of(Role::Abnormal, format!("OUT OF USE: {}", reason.words())),
            plain(format!("{} brings it back", keys.key(Deed::OutOfUse))),
        ],
        Idle::SetOtherwise { garment, wanted } => vec![
            Line::of(
                Role::Abnormal,
                format!("{garment} wants {} {}", wanted.dial, wanted.pressure),
            ),
            plain(format!("{} when it is turned", keys.key(Deed::SetDial))),
        ],
        Idle::Unready(_) => vec![plain(words::unready(view.shop, press, view.now)), plain(choose)],
        Idle::SprayFirst => vec![
            plain("spray a garment first".into()),
            plain(format!("then press {}", keys.key(Deed::Sprayed))),
            plain(choose),
        ],
        Idle::PrintFirst => vec![
            plain("print a garment first".into()),
            plain(format!("then press {}", keys.key(Deed::Printed))),
            plain(choose),
        ],
        Idle::NothingWaits => vec![plain("nothing waits".into())],
    }
}
