//! What each press did in the last hour, as a strip of characters: the lead sees idle presses and late openings.
//!
//! ```text
//! last hour   13:02 to 14:02     █ running  ! past target  - changing  w sheet  . idle  x out of use
//! 1 Left      ███-███████--██████!!-███...███-█████wwww-███  running 71 %, past target 3 %
//! ```

use std::time::Duration;

use super::View;
use super::paint::Line;
use super::theme::Role;
use super::words;
use crate::shop::books::press_spans::{Doing, PressSpan};
use crate::shop::facts::ids::PressNo;

const HOUR: Duration = Duration::from_secs(3600);
/// Columns of the press's name before the strip, and of the shares after it.
const NAME: usize = 12;
const SHARES: usize = 32;
/// Columns of the two clocks above a strip.
const CLOCKS: usize = 16;
/// The widest strip that says more than a narrower one.
const WIDEST: usize = 120;
/// So much of a cell past the target shows as that: late is what the lead looks for.
const LATE_SHARE: f64 = 0.2;

fn mark(doing: Doing) -> (Role, char) {
    match doing {
        Doing::Running => (Role::Good, '█'),
        Doing::PastTarget => (Role::Danger, '!'),
        Doing::Changing => (Role::Plain, '-'),
        Doing::Idle => (Role::Frame, '.'),
        Doing::SheetWork => (Role::Strong, 'w'),
        Doing::OutOfUse => (Role::Abnormal, 'x'),
    }
}

/// A head, for which there is `head` room, and a line for each press.
pub fn lines(view: &View<'_>, width: u16, head: u16) -> Vec<Line> {
    let (width, head_room) = (usize::from(width), usize::from(head));
    let room = width.saturating_sub(NAME);
    // Where there is little room the strip alone.
    let shares = room > SHARES + 40;
    let cells = (if shares { room - SHARES } else { room }).min(WIDEST);
    let from = view.now.minus(HOUR).at;
    let clock = |at| words::clock(at, &view.ui.zone);
    let mut head = Line::of(Role::Strong, format!("{:<NAME$}", "last hour"));
    let whole: usize = Doing::ALL.iter().map(|doing| doing.words().len() + 4).sum();
    let roomy = head_room >= NAME + whole + CLOCKS;
    if roomy {
        head.add(Role::Plain, format!("{} to {}  ", clock(from), clock(view.now.at)));
    }
    for doing in Doing::ALL {
        let (role, glyph) = mark(doing);
        // Where there is little room the first word has to do.
        let words = doing.words();
        let words = if roomy { words } else { words.split(' ').next().unwrap_or(words) };
        head.add(role, glyph.to_string());
        head.add(Role::Plain, format!(" {words}  "));
    }
    let mut lines = vec![head];
    lines.extend(view.shop.press_numbers().into_iter().map(|press| {
        let mut line = strip(view, press, cells);
        if shares {
            line.add(Role::Plain, share_words(view, press));
        }
        line
    }));
    lines
}

fn strip(view: &View<'_>, press: PressNo, cells: usize) -> Line {
    let name: String = view.shop.press_name(press).chars().take(NAME - 4).collect();
    let mut line = Line::of(Role::Strong, format!("{press} {name:<width$} ", width = NAME - 3));
    let spans = view.shop.books().spans.spans(press, view.now, HOUR);
    let cell = HOUR / u32::try_from(cells.max(1)).unwrap_or(1);
    let mut run: Option<(Role, String)> = None;
    for n in (1..=u32::try_from(cells).unwrap_or(0)).rev() {
        let (role, glyph) = mark(most(&spans, cell * n, cell * (n - 1)));
        match &mut run {
            Some((same, text)) if *same == role => text.push(glyph),
            _ => {
                if let Some((role, text)) = run.replace((role, glyph.to_string())) {
                    line.add(role, text);
                }
            }
        }
    }
    if let Some((role, text)) = run {
        line.add(role, text);
    }
    line
}

/// What a press was doing for most of the time between two moments, so long ago.
fn most(spans: &[PressSpan], from: Duration, to: Duration) -> Doing {
    let share = |doing: Doing| -> f64 {
        let inside = |span: &PressSpan| span.from.min(from).saturating_sub(span.to.max(to));
        let of = spans.iter().filter(|span| span.doing == doing).map(inside);
        of.sum::<Duration>().as_secs_f64() / (from - to).as_secs_f64().max(1e-9)
    };
    if share(Doing::PastTarget) >= LATE_SHARE {
        return Doing::PastTarget;
    }
    Doing::ALL.into_iter().max_by(|a, b| share(*a).total_cmp(&share(*b))).unwrap_or(Doing::Idle)
}

/// How much of the hour it ran, and for how long garments lay past their target.
fn share_words(view: &View<'_>, press: PressNo) -> String {
    let totals = view.shop.books().spans.totals(press, view.now, HOUR);
    let of = |wanted: Doing| {
        let place = Doing::ALL.iter().position(|doing| *doing == wanted);
        place.map_or(0.0, |place| totals[place].as_secs_f64() / HOUR.as_secs_f64() * 100.0)
    };
    format!("  ran {:>2.0} %, past target {:.0} %", of(Doing::Running), of(Doing::PastTarget))
}
