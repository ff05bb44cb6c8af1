//! How fast to move the hand, shown so that it can be followed without reading: a block that crosses the
//! garment at the right speed, stroke by stroke, first across, then up and down, with a tick at each turn.
//!
//! The press keys keep working meanwhile: the presses and what is due stand above.

use std::time::Duration;

use ratatui::buffer::Buffer;
use ratatui::layout::Rect;

use super::View;
use super::faces::Face;
use super::keymap::Deed;
use super::paint::{self, Line, part};
use super::theme::Role;
use crate::figures::spray::{self, NoPace, Pace};
use crate::figures::strokes::Aim;
use crate::figures::units::Centimetres;
use crate::shop::Shop;
use crate::shop::facts::moment::Moment;
use crate::shop::rules::people::FAN_OFF;

/// So many seconds are counted down before the first stroke.
const LEAD_IN: u32 = 3;
/// What is left of the screen at the end stays for a moment.
const STAYS_S: f64 = 2.0;
/// The block moves so often.
const FRAME: Duration = Duration::from_millis(100);

/// A pace that is being shown.
#[derive(Debug, Clone, PartialEq)]
pub struct Pacing {
    started: Moment,
    pace: Pace,
    past: Centimetres,
    /// The last beat that was ticked.
    ticked: Beat,
}

/// Why no pace can be shown.
#[derive(Debug, Clone, PartialEq, thiserror::Error)]
pub enum NoPacing {
    #[error("the station names no sprayer: fill in `sprayer` in station.ron (dwell spray --help)")]
    NoSprayer,
    #[error("nothing waits for spray: no coat to show a pace for")]
    NothingWaits,
    #[error(transparent)]
    NoPace(#[from] NoPace),
    #[error("{speed:.2} m/s: {advice}")]
    NoHand { speed: f64, advice: &'static str },
}

/// Where a pace has come to.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub enum Beat {
    /// So many seconds until the first stroke.
    LeadIn(std::cmp::Reverse<u32>),
    /// A stroke, counted from 0 through both directions.
    Stroke(u32),
    Over,
    Gone,
}

impl Pacing {
    /// The pace for the garment that is sprayed next.
    ///
    /// # Errors
    /// No sprayer in the profile, nothing to spray, a speed that no hand can hold.
    pub fn new(shop: &Shop, now: Moment) -> Result<Self, NoPacing> {
        let sprayer = shop.station().and_then(|station| station.sprayer);
        let sprayer = sprayer.ok_or(NoPacing::NoSprayer)?;
        let garment = shop.next_to_spray().ok_or(NoPacing::NothingWaits)?;
        let task = shop.spray_task(garment).ok_or(NoPacing::NothingWaits)?;
        let pace = spray::pace(&task)?;
        if let Some(advice) = spray::advice(pace.speed_cm_s) {
            return Err(NoPacing::NoHand { speed: pace.speed_cm_s / 100.0, advice });
        }
        let ticked = Beat::LeadIn(std::cmp::Reverse(LEAD_IN));
        Ok(Self { started: now, pace, past: *sprayer.past, ticked })
    }

    /// Seconds since the first stroke began; below 0 in the lead-in.
    fn seconds(&self, now: Moment) -> f64 {
        now.since(self.started).seconds() - f64::from(LEAD_IN)
    }

    /// The beat at `now`, and how far its stroke has come, 0 to 1.
    pub fn beat(&self, now: Moment) -> (Beat, f64) {
        let seconds = self.seconds(now);
        if seconds < 0.0 {
            let left = (1..=LEAD_IN).find(|n| -seconds <= f64::from(*n)).unwrap_or(LEAD_IN);
            return (Beat::LeadIn(std::cmp::Reverse(left)), 0.0);
        }
        let mut begun = 0.0;
        for n in 0..self.strokes() {
            let lasts = self.lasts(n);
            if seconds < begun + lasts {
                return (Beat::Stroke(n), (seconds - begun) / lasts);
            }
            begun += lasts;
        }
        (if seconds < begun + STAYS_S { Beat::Over } else { Beat::Gone }, 1.0)
    }

    fn strokes(&self) -> u32 {
        self.pace.strokes.across.count + self.pace.strokes.down.count
    }

    /// Seconds of a stroke.
    fn lasts(&self, stroke: u32) -> f64 {
        if stroke < self.pace.strokes.across.count {
            self.pace.seconds_a_stroke_across
        } else {
            self.pace.seconds_a_stroke_down
        }
    }

    /// Whether a beat has come since this was last asked: each one is ticked once.
    pub fn ticks(&mut self, now: Moment) -> bool {
        let (beat, _) = self.beat(now);
        let comes = beat > self.ticked && beat != Beat::Gone;
        self.ticked = self.ticked.max(beat);
        comes
    }

    /// Whether it has been over for long enough.
    pub fn is_gone(&self, now: Moment) -> bool {
        self.beat(now).0 == Beat::Gone
    }

    /// How long until it looks otherwise.
    pub fn next_deadline(&self, now: Moment) -> Duration {
        let (beat, along) = self.beat(now);
        let left = match beat {
            Beat::Stroke(n) => (1.0 - along) * self.lasts(n),
            _ => f64::INFINITY,
        };
        Duration::try_from_secs_f64(left).unwrap_or(FRAME).min(FRAME) + Duration::from_millis(1)
    }
}

/// Draws the pace below the presses.
pub fn draw(view: &View<'_>, pacing: &Pacing, area: Rect, buf: &mut Buffer) {
    let (beat, along) = pacing.beat(view.now);
    let inside = paint::frame(buf, view.theme, area, &title(view, pacing, beat), Role::Strong);
    match beat {
        Beat::LeadIn(std::cmp::Reverse(left)) => lead_in(view, pacing, left, inside, buf),
        Beat::Stroke(n) => stroke(view, pacing, (n, along), inside, buf),
        Beat::Over | Beat::Gone => {
            let text = over(&pacing.pace);
            paint::text(
                buf,
                view.theme,
                paint::skip(inside, 2, inside.height / 2),
                Role::Strong,
                &text,
            );
        }
    }
}

/// What was sprayed, to the tenth of a gram: so much decides on a small print.
fn over(pace: &Pace) -> String {
    let (used, on) = (pace.used.0, pace.on_scale.0);
    format!(
        "over: {used:.1} g sprayed; the scale should show {on:.1} g more, over {}",
        counted(pace)
    )
}

/// What the coat is counted over.
fn counted(pace: &Pace) -> String {
    match pace.strokes.aim {
        Aim::Print { size, margin } => format!("the {size} print and {margin} around it"),
        Aim::Area(size) => format!("the recipe's {size}: no print on the order line"),
    }
}

fn title(view: &View<'_>, pacing: &Pacing, beat: Beat) -> String {
    let key = view.ui.keys.key(Deed::Pacing);
    let speed = pacing.pace.speed_cm_s;
    let strokes = &pacing.pace.strokes;
    let (across, down) = (strokes.across.count, strokes.down.count);
    let what = match beat {
        Beat::LeadIn(_) => "get ready".to_owned(),
        Beat::Stroke(n) if n < across => format!("ACROSS {} of {across}", n + 1),
        Beat::Stroke(n) => format!("UP AND DOWN {} of {down}", n - across + 1),
        Beat::Over | Beat::Gone => "done".to_owned(),
    };
    format!(" {what}   {speed:.0} cm/s   {key} stops ")
}

fn lead_in(view: &View<'_>, pacing: &Pacing, left: u32, area: Rect, buf: &mut Buffer) {
    let text = left.to_string();
    let over = format!("start and end each stroke past the edge of {}", counted(&pacing.pace));
    let first = match view.shop.desk().fan_off {
        true => Line::of(Role::Danger, format!(" {FAN_OFF} ")),
        false => Line::of(Role::Plain, "extraction on, mask and eyes as the data sheet says"),
    };
    let wide = usize::from(area.width.saturating_sub(2));
    let words: Vec<Line> =
        [first, Line::of(Role::Plain, over)].iter().flat_map(|line| line.folded(wide)).collect();
    let words_at = area.height.saturating_sub(u16::try_from(words.len()).unwrap_or(0));
    let area_of_digit = Rect { height: words_at.saturating_sub(1), ..area };
    let room = (area_of_digit.width, area_of_digit.height);
    let Some(face) = Face::fitting(view.theme.halves, &text, room) else { return };
    let at = Rect {
        x: area.x + area.width.saturating_sub(face.width(&text)) / 2,
        y: area.y + area_of_digit.height.saturating_sub(face.height()) / 2,
        ..area_of_digit
    };
    face.draw(buf, at.intersection(area), &text, view.theme.ink(Role::RunningDot));
    paint::lines(buf, view.theme, paint::skip(area, 1, words_at), &words);
}

/// The block in its lane, running past the garment's edges; lanes that are done are shaded.
fn stroke(view: &View<'_>, pacing: &Pacing, (n, along): (u32, f64), area: Rect, buf: &mut Buffer) {
    let pace = &pacing.pace;
    let (of_across, of_down) = (pace.strokes.across.count, pace.strokes.down.count);
    let across = n < of_across;
    let garment = garment(area);
    let (lane, lanes) = if across { (n, of_across) } else { (n - of_across, of_down) };
    if !across {
        shade(view, garment, "░", buf);
    }
    for done in 0..lane {
        shade(view, strip(garment, across, done, lanes), if across { "░" } else { "▒" }, buf);
    }
    outline(view, garment, buf);
    // Every other stroke comes back; each runs on past the edge on either side.
    let along = if lane % 2 == 0 { along } else { 1.0 - along };
    let strip = strip(garment, across, lane, lanes);
    let block = if across {
        let width = (garment.width / 12).max(2);
        let over = past(garment.width, pacing, true);
        let left = area.x.max(garment.x.saturating_sub(over));
        let right = area.right().min(garment.right() + over).saturating_sub(width);
        Rect { x: left + part(right.saturating_sub(left), along), width, ..strip }
    } else {
        let height = (garment.height / 8).max(1);
        let over = past(garment.height, pacing, false);
        let top = area.y.max(garment.y.saturating_sub(over));
        let bottom = area.bottom().min(garment.bottom() + over).saturating_sub(height);
        Rect { y: top + part(bottom.saturating_sub(top), along), height, ..strip }
    };
    for y in block.top()..block.bottom().min(area.bottom()) {
        let row = Rect { y, height: 1, ..block };
        paint::text(buf, view.theme, row, Role::Strong, &"█".repeat(usize::from(block.width)));
    }
}

/// How far a stroke runs on past an edge, in cells of a side.
fn past(side: u16, pacing: &Pacing, across: bool) -> u16 {
    let (width, height) = pacing.pace.strokes.aim.sprayed();
    let length = if across { width } else { height };
    part(side, (pacing.past.0 / length).min(0.5)).max(1)
}

/// The garment's sprayed area: corners and edges.
fn outline(view: &View<'_>, garment: Rect, buf: &mut Buffer) {
    for y in [garment.y, garment.bottom().saturating_sub(1)] {
        let row = Rect { y, height: 1, ..garment };
        paint::text(buf, view.theme, row, Role::Frame, &"─".repeat(usize::from(garment.width)));
    }
    for x in [garment.x, garment.right().saturating_sub(1)] {
        for y in garment.top()..garment.bottom() {
            let cell = Rect { x, y, width: 1, height: 1 };
            paint::text(buf, view.theme, cell, Role::Frame, "│");
        }
    }
}

/// The sprayed area in the middle, with room around it for the strokes to run past.
fn garment(area: Rect) -> Rect {
    const MARGIN: (u16, u16) = (8, 1);
    Rect {
        x: area.x + MARGIN.0.min(area.width / 4),
        y: area.y + MARGIN.1.min(area.height / 4),
        width: area.width.saturating_sub(2 * MARGIN.0.min(area.width / 4)),
        height: area.height.saturating_sub(2 * MARGIN.1.min(area.height / 4)),
    }
}

/// The part of the field that a stroke covers.
fn strip(field: Rect, across: bool, lane: u32, lanes: u32) -> Rect {
    let edge = |side: u16, n: u32| part(side, f64::from(n) / f64::from(lanes.max(1)));
    if across {
        let (top, end) = (edge(field.height, lane), edge(field.height, lane + 1));
        Rect { y: field.y + top, height: (end - top).max(1), ..field }
    } else {
        let (left, end) = (edge(field.width, lane), edge(field.width, lane + 1));
        Rect { x: field.x + left, width: (end - left).max(1), ..field }
    }
}

fn shade(view: &View<'_>, strip: Rect, glyph: &str, buf: &mut Buffer) {
    for y in strip.top()..strip.bottom() {
        let row = Rect { y, height: 1, ..strip };
        paint::text(buf, view.theme, row, Role::Frame, &glyph.repeat(usize::from(strip.width)));
    }
}
