//! A shut press: which, and for how long. From three metres only its figures can be read, and the words that stand
//! large below them.
//!
//! ```text
//!   ██           ██████  ██████
//! ████               ██      ██     the press's number is white and at the left edge, the seconds have the
//!   ██           ██████      ██     colour of their state
//!   ██           ██        ██
//! ██████         ██████    ██
//!  RUNNING  40 to 75 s
//! ▄▀▄ ▄█    ▄▀▄ ▀▀█   █▀▄ █▀▄ █ █   the garment and its step
//! █▀█  █ ▀▀ █ █ █▀▀   █ █ █▀▄  █
//! ▀ ▀ ▀▀▀    ▀  ▀▀▀   ▀▀  ▀ ▀  ▀
//!  steam by 35 s
//! ```
//!
//! They stand close under the figures, and small words below them: at the panel's foot they were read as one with the
//! next act, which is large as well.
//!
//! Without colour the number is of another grain. Past the longest time marks stand beside the seconds, so that
//! they differ from those of a press that is due by more than their colour.

use ratatui::buffer::Buffer;
use ratatui::layout::Rect;

use super::View;
use super::faces::Face;
use super::keymap::Deed;
use super::paint::{self, Line};
use super::press_look::{FEW_ROWS, Look};
use super::theme::{Role, Theme};
use super::{press_sheet, words};
use crate::figures::coat::Verdict;
use crate::shop::facts::fact::Fact;
use crate::shop::facts::ids::PressNo;
use crate::shop::facts::recipe::Pressing;
use crate::shop::facts::step::Step;
use crate::shop::floor::press::Load;

/// Columns before the number and the big words.
const MARGIN: u16 = 1;
/// Columns between the number and the seconds.
const GAP: u16 = 2;
/// Big words below do not make the figures smaller than this.
const TALL: u16 = 7;
/// On screens of so many rows the state is a big word too.
const MANY_ROWS: u16 = 48;

/// Where the parts of a shut press stand.
pub struct Places {
    number: Option<(Rect, Face)>,
    seconds: Rect,
    /// The state as a big word.
    state: Option<(Rect, Face)>,
    /// A row for the first of the small words, above the garment; the others are below it.
    first: Rect,
    words: Rect,
    /// The garment and the step as big words.
    garment: Option<(Rect, Face, String)>,
    /// State, garment and step stand in the title.
    titled: bool,
}

impl Places {
    /// Whether the title is to carry the state.
    pub fn are_titled(&self) -> bool {
        self.titled
    }

    /// Whether the garment stands there in big letters.
    pub fn name_garment(&self) -> bool {
        self.garment.is_some()
    }
}

/// Finds the places on a screen of so many rows: big words where the figures stay tall above them, else the largest figures there are.
pub fn places(
    view: &View<'_>,
    (press, load): (PressNo, &Load),
    look: &Look,
    body: Rect,
    rows: u16,
) -> Places {
    let halves = view.theme.halves;
    let few = body.height < FEW_ROWS;
    let number = press.to_string();
    let fits = |face: Face, height: u16| {
        let seconds = face.width(reserved(&look.figures)).saturating_add(2 * GAP);
        let wide = MARGIN.saturating_add(face.width(&number)).saturating_add(seconds);
        face.height() <= height && wide <= body.width
    };
    let figures = |height| Face::largest(halves, |face| fits(face, height));
    let inside = paint::skip(body, MARGIN, 0);
    let least = Face::least(halves, rows);
    let big = garment_words(load, inside.width, least);
    let tall = |below: u16| {
        let face = figures(body.height.saturating_sub(below + 1))?;
        (face.height() >= TALL).then_some(face)
    };
    // Measured by the longest step where that can be read, so that the letters are alike at all presses.
    let longest = format!("{} PRE-PRESS", load.garment);
    let measured = if least.width(&longest) <= inside.width { &longest } else { &big };
    let words_above = |rows: u16| {
        Face::largest_for_words(halves, |face| {
            face.fits(measured, (inside.width, body.height)) && tall(face.height() + rows).is_some()
        })
    };
    // The state's big word, where there is room for it between large figures and words.
    let state_high = if rows >= MANY_ROWS { Face::HALF_5.height() } else { 0 };
    let readable = |face: &Face| face.half_rows() >= least.half_rows();
    let garment = words_above(state_high).filter(readable).or_else(|| words_above(0));
    let below = garment.map_or(0, Face::height);
    let beside_words = tall(below + state_high).or_else(|| tall(below));
    let face = beside_words.filter(|_| garment.is_some()).or_else(|| {
        // Without big words a row for the state, unless the figures need that one as well, or the title has it.
        let whole = figures(body.height);
        if few {
            return whole;
        }
        let beside = figures(body.height.saturating_sub(1));
        whole.filter(|face| face.height() >= TALL).or(beside).or(whole)
    });
    let high = face.map_or(body.height.min(1), Face::height);
    let number_wide = face.map_or(0, |face| face.width(&number));
    let after = if face.is_some() { MARGIN + number_wide + GAP } else { 0 };
    let spare = body.height.saturating_sub(high + below);
    let state = (rows >= MANY_ROWS && spare > Face::HALF_5.height())
        .then(|| {
            let room = (inside.width, Face::HALF_7.height().min(spare - 1));
            Face::largest_for_words(halves, |face| face.fits(look.word, room))
        })
        .flatten();
    let state_high = state.map_or(0, Face::height);
    let spare = spare - state_high;
    let top = high + state_high;
    // A single row parts the garment from what stands below the panel.
    let first = u16::from(state.is_none() && (spare > 1 || garment.is_none())).min(spare);
    let words = Rect { height: spare - first, ..paint::skip(inside, 0, top + first + below) };
    Places {
        number: face.map(|face| (paint::skip(inside, 0, 0), face)),
        seconds: Rect { height: high, ..paint::skip(body, after, 0) },
        state: state.map(|face| (paint::skip(inside, 0, high), face)),
        titled: few || (spare == 0 && state.is_none()),
        first: Rect { height: first, ..paint::skip(inside, 0, top) },
        words,
        garment: garment.map(|face| (paint::skip(inside, 0, top + first), face, big)),
    }
}

/// As wide as the seconds become soon, so that they do not jump.
fn reserved(figures: &str) -> &str {
    let bare = figures.trim_start_matches('+');
    if bare.len() < 2 { "00" } else { bare }
}

/// The garment and its step for big letters, the step shortened where those that can be read from afar have no room for
/// it.
fn garment_words(load: &Load, width: u16, least: Face) -> String {
    let whole = format!("{} {}", load.garment, load.step.name().to_uppercase());
    if load.step == Step::PrePress && least.width(&whole) > width {
        return format!("{} PRE", load.garment);
    }
    whole
}

/// Draws a shut press at its places.
pub fn draw(
    view: &View<'_>,
    (press, load): (PressNo, &Load),
    look: &Look,
    places: &Places,
    buf: &mut Buffer,
) {
    if let Some((place, face)) = places.number {
        let ink = view.theme.number_ink(Role::Strong);
        face.draw(buf, place, &press.to_string(), ink);
        // The same line as at an open press: two figures side by side are no number.
        let line = Rect { x: places.seconds.x.saturating_sub(1), width: 1, ..places.seconds };
        for row in 0..line.height {
            paint::text(buf, view.theme, paint::row_of(line, row), Role::Frame, "│");
        }
    }
    if look.dot != Role::RunningDot {
        paint::fill(buf, view.theme, places.seconds, look.role);
    }
    let figures = draw_seconds(view, look, places, buf);
    if look.role == Role::Danger {
        marks(buf, view.theme, places.seconds, figures);
    }
    if let Some((place, face)) = places.state {
        let ground = Rect { width: face.width(look.word) + 2, height: face.height(), ..place };
        paint::fill(buf, view.theme, ground, look.role);
        face.draw(buf, paint::skip(place, 1, 0), look.word, view.theme.ink(Role::Strong));
    }
    if let Some((place, face, words)) = &places.garment {
        face.draw(buf, *place, words, view.theme.ink(Role::Strong));
    }
    draw_words(view, (press, load), look, places, buf);
}

fn draw_words(
    view: &View<'_>,
    (press, load): (PressNo, &Load),
    look: &Look,
    places: &Places,
    buf: &mut Buffer,
) {
    let wide = usize::from(places.words.width);
    let first = (!places.titled).then(|| first_words(view, load, look, places));
    let mut lines: Vec<Line> = first.into_iter().collect();
    for piece in small_words(view, press, load, look) {
        // Together on a row as far as they fit: each is whole or on the next.
        match lines.last_mut() {
            Some(line) if line.width() + piece.width() + 2 <= wide => line.append(piece),
            _ => lines.push(piece),
        }
    }
    let lines: Vec<Line> = lines.iter().flat_map(|line| line.folded(wide)).collect();
    let (first, rest) = lines.split_at(usize::from(places.first.height).min(lines.len()));
    paint::lines(buf, view.theme, places.first, first);
    paint::lines(buf, view.theme, places.words, rest);
}

/// State, garment and step, as far as they do not stand in big letters: in the longest words that fit on a row.
fn first_words(view: &View<'_>, load: &Load, look: &Look, places: &Places) -> Line {
    let mut state = Line::default();
    if places.state.is_none() {
        state.add(look.role, format!(" {} ", look.word)).add(Role::Plain, " ");
    }
    let again = if load.again { " again" } else { "" };
    if places.garment.is_some() {
        return if load.again { state.and(Role::Strong, "again  ") } else { state };
    }
    let tag = load.garment.to_string();
    let short = if load.step == Step::PrePress { "pre" } else { load.step.name() };
    let words = [
        format!("{} {}{again}  ", view.shop.in_hand(load.garment), load.step),
        format!("{tag} {}{again}", load.step),
        format!("{tag} {short}"),
    ];
    let wide = usize::from(places.words.width);
    let lines = words.map(|words| state.clone().and(Role::Strong, words));
    let fitting = lines.iter().find(|line| line.width() <= wide).cloned();
    fitting.unwrap_or_else(|| state.and(Role::Strong, tag))
}

/// What is said small of a shut press, the most wanted first.
fn small_words(view: &View<'_>, press: PressNo, load: &Load, look: &Look) -> Vec<Line> {
    let mut pieces = Vec::new();
    if look.role != Role::Running {
        pieces.push(Line::of(Role::Abnormal, "hot platen  "));
    }
    if let Some(pressing) = view.shop.pressing(load) {
        if load.step == Step::Dry {
            pieces.push(steam(view, press, load, &pressing).and(Role::Plain, "  "));
        }
        let times = format!(
            "{} to {}  ",
            words::press_time(pressing.target),
            words::press_time(pressing.longest)
        );
        pieces.push(Line::of(Role::Plain, times));
    }
    let sheet = press_sheet::lines(view, press).into_iter();
    pieces.extend(sheet.map(|line| line.and(Role::Plain, "  ")));
    // Nobody has confirmed the recipe's figures from the data sheets: once a shift it says so, until somebody has.
    let unconfirmed =
        view.shop.recipes().get(&load.recipe).is_some_and(|one| one.confirmed.is_none());
    let alike = |fact: &Fact| matches!(fact, Fact::PressShut(shut) if shut.recipe == load.recipe);
    if unconfirmed && view.is_first_of_shift(load.seq, alike) {
        pieces.push(Line::of(Role::Plain, "settings not confirmed  "));
    }
    let dries = |fact: &Fact| matches!(fact, Fact::PressShut(shut) if shut.step == Step::Dry);
    let running = look.role == Role::Running && load.step == Step::Dry;
    if running && view.is_first_of_shift(load.seq, dries) {
        pieces.push(Line::of(Role::Plain, "its steam carries fluid: extraction"));
    }
    pieces
}

fn steam(view: &View<'_>, press: PressNo, load: &Load, pressing: &Pressing) -> Line {
    let by = pressing.steam_gone_by.map_or(0, |span| span.0.as_secs());
    let heavy = |at: f64| pressing.steam_gone_by.is_some_and(|span| at > span.as_seconds());
    let key = view.ui.keys.key(Deed::SteamStopped);
    match (load.steam, load.estimate) {
        (Some(at), Some(estimate)) => {
            let inside = estimate.verdict == Verdict::Inside && !heavy(at);
            let role = if inside { Role::Plain } else { Role::Abnormal };
            let verdict = if heavy(at) { "TOO HEAVY" } else { estimate.verdict.words() };
            Line::of(role, format!("{verdict} {:.0} g/m2", estimate.coat.0))
        }
        (Some(at), None) if heavy(at) => Line::of(Role::Abnormal, format!("steam {at:.0} s HEAVY")),
        (Some(at), None) => Line::of(Role::Plain, format!("steam gone {at:.0} s")),
        // Its coat was weighed: this second teaches what every other one means.
        (None, _) if view.acts() && view.shop.steam_is_wanted(load) => {
            Line::of(Role::Chosen, format!(" {key} ")).and(Role::Strong, " steam gone?")
        }
        (None, _) if view.acts() && view.shop.steaming() == Some(press) => {
            Line::of(Role::Plain, format!("{key} steam by {by} s"))
        }
        (None, _) => Line::of(Role::Plain, format!("steam by {by} s")),
    }
}

/// The seconds in the face of the number, with their plus where there is room; in the end as plain text: they
/// are never left out. Returns where they stand.
fn draw_seconds(view: &View<'_>, look: &Look, places: &Places, buf: &mut Buffer) -> Rect {
    let area = places.seconds;
    let whole = look.figures.as_str();
    let bare = whole.trim_start_matches('+');
    let Some((_, face)) = places.number else {
        let words = paint::text(buf, view.theme, area, look.role, whole);
        return Rect { width: words, height: area.height.min(1), ..area };
    };
    // Beside the words the plus can go, since colour and word say the same.
    let roomy = |text: &&str| face.width(text).saturating_add(2 * GAP) <= area.width;
    let shown = [whole, bare].into_iter().find(roomy).unwrap_or(bare);
    let left = area.width.saturating_sub(face.width(shown)) / 2;
    let place = paint::skip(area, left, 0);
    let letters = Rect { width: face.width(shown), ..place };
    let dot = paint::letters_on(buf, view.theme, letters, look.dot);
    face.draw(buf, place, shown, view.theme.ink(dot))
}

/// Marks down both sides of the seconds.
fn marks(buf: &mut Buffer, theme: Theme, area: Rect, figures: Rect) {
    let area = area.intersection(buf.area);
    if figures.left() <= area.left() || figures.right() >= area.right() {
        return;
    }
    for at in area.positions().filter(|at| at.x == area.left() || at.x + 1 == area.right()) {
        buf[at].set_symbol("!").set_style(theme.style(Role::Danger));
    }
}
