//! How a shut press looks: the word of its state, its figures, and what they mean.

use std::time::Duration;

use super::View;
use super::theme::Role;
use super::words;
use crate::shop::facts::ids::PressNo;
use crate::shop::facts::shape::Phase;
use crate::shop::floor::press::{Load, Progress};

/// With fewer rows below it the title carries what stands there otherwise.
pub const FEW_ROWS: u16 = 6;

/// How a shut press looks: its word, its figures, and what they mean.
pub struct Look {
    pub word: &'static str,
    pub role: Role,
    pub dot: Role,
    pub figures: String,
}

/// How a shut press looks at `view.now`.
pub fn look(view: &View<'_>, press: PressNo, load: &Load) -> Look {
    let elapsed = load.elapsed(view.now);
    let pressing = view.shop.pressing(load);
    let progress = pressing.map_or(Progress::Running, |p| load.progress(&p, view.now));
    let target = pressing.map_or(0, |p| p.target.0.as_secs());
    let gone = elapsed.span.as_secs();
    let figures = match progress {
        Progress::Due | Progress::Overdue => {
            format!("+{}", words::countdown(gone.saturating_sub(target)))
        }
        // The figure of a second stands until that second is over: at 0 it is due.
        _ => words::countdown(target.saturating_sub(gone)),
    };
    if !elapsed.sure {
        return Look { word: "CHECK", role: Role::Due, dot: Role::DueDot, figures: "?".into() };
    }
    if !load.timed {
        return Look {
            word: "NOT TIMED",
            role: Role::Abnormal,
            dot: Role::RunningDot,
            figures: "?".into(),
        };
    }
    let phase = pressing.map_or(Phase::Shut, |pressing| pressing.phase(elapsed.span));
    let running = matches!(progress, Progress::Young | Progress::Running);
    let left = |left: Duration| words::countdown(words::seconds_left(left));
    let (figures, shaped) = match phase {
        _ if !running => (figures, None),
        Phase::Hover(span) => (left(span), Some(("HOVER", Role::Running, Role::RunningDot))),
        Phase::Lift(span) => (left(span), Some(("LIFT IT", Role::Due, Role::DueDot))),
        Phase::Close => (figures, Some(("CLOSE IT", Role::Due, Role::DueDot))),
        Phase::Shut => (figures, None),
    };
    if let Some((word, role, dot)) = shaped {
        return Look { word, role, dot, figures };
    }
    let (word, role, dot) = match progress {
        Progress::Young | Progress::Running => ("RUNNING", Role::Running, Role::RunningDot),
        _ if view.shop.opens_itself(press) => ("OPEN: UNLOAD", Role::Due, Role::DueDot),
        Progress::Due => ("OPEN NOW", Role::Due, Role::DueDot),
        Progress::Overdue => ("TOO LONG", Role::Danger, Role::DangerDot),
    };
    Look { word, role, dot, figures }
}
