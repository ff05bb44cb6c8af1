//! What a lesson says: what to do, one change at a time, and how far the coats lie apart. No score.

use super::kept::Begun;
use crate::figures::learn::{Advice, Lesson, Said, Spread, Stage, Try};
use crate::figures::spray;
use crate::shop::facts::words::counted;

/// The head, and the cautions.
pub fn welcome(begun: &Begun, lesson: &Lesson) -> Vec<String> {
    let print = begun.print.map_or_else(String::new, |print| format!(", print {print}"));
    let right = lesson.grams_right().0;
    vec![
        format!(
            "A beginner's hand: {}{print}. The scale shows {right:.1} g at the target.",
            begun.recipe
        ),
        "Begin with clean water: no fluid, no ink. Spray only where there is good ventilation."
            .into(),
        "Mist is not to be breathed: mask, gloves and eyes by the fluid's data sheet.".into(),
        "\"undo\" takes the last answer back, \"stop\" leaves; what you said is kept.".into(),
    ]
}

fn so_far(lesson: &Lesson) -> String {
    let (there, wanted) = (lesson.in_a_row, lesson.stage.wanted());
    if wanted == 1 { String::new() } else { format!(" ({there} of {wanted} in a row)") }
}

/// What is to be done next.
pub fn what_to_do(lesson: &Lesson) -> Vec<String> {
    let row = so_far(lesson);
    match lesson.stage {
        Stage::Catch => vec![
            String::new(),
            format!(
                "CATCH{row}: water in the sprayer, trigger half open. Weigh a cup, spray into it for 10 s, weigh again."
            ),
        ],
        Stage::Cardboard => vec![
            String::new(),
            format!("CARDBOARD{row}: water. Weigh a piece larger than the print."),
        ],
        Stage::Rag => {
            vec![String::new(), format!("RAG SHIRT{row}: water. A dry one each time. Weigh it.")]
        }
        Stage::Garments => {
            let mut lines = vec![String::new()];
            if lesson.tries.iter().all(|one| one.stage != Stage::Garments) {
                lines.push("Now FLUID: read its label, shake, fill. Fan running? Mask, gloves and eyes by its data sheet.".into());
            }
            lines.push(format!("GARMENT{row}: after its pre-press, weigh it. Each one, until five in a row are inside."));
            lines
        }
        Stage::Done => Vec::new(),
    }
}

/// How to spray what has been weighed.
pub fn spray(lesson: &Lesson) -> Vec<String> {
    let Ok(pace) = lesson.pace() else { return Vec::new() };
    let (across, down) = (pace.strokes.across.count, pace.strokes.down.count);
    let line = format!(
        "Spray: {} across of {:.1} s, then {} up and down of {:.1} s: {:.1} s in all, {:.0} cm/s. Run on past the edge.",
        counted(across, "stroke"),
        pace.seconds_a_stroke_across,
        counted(down, "stroke"),
        pace.seconds_a_stroke_down,
        pace.seconds,
        pace.speed_cm_s,
    );
    let warning = spray::advice(pace.speed_cm_s).map(|advice| format!("! {advice}"));
    [line].into_iter().chain(warning).collect()
}

/// What became of the last answer.
pub fn answer(before: &Lesson, after: &Lesson, said: Said) -> Vec<String> {
    let mut lines = match said {
        Said::TakenBack => vec!["the last answer is taken back".to_owned()],
        Said::Caught { .. } => vec![caught(after)],
        Said::Weighed { .. } => weighed(after),
    };
    if before.stage != after.stage && said != Said::TakenBack {
        lines.push(match after.stage {
            Stage::Cardboard => "The flow is known. Now the pace, on cardboard.".to_owned(),
            Stage::Rag => "Now on cloth: a rag shirt, the same pace.".to_owned(),
            Stage::Garments => "Three in a row within 15 %: your hand repeats.".to_owned(),
            Stage::Catch | Stage::Done => String::new(),
        });
    }
    lines
}

fn caught(lesson: &Lesson) -> String {
    let last = lesson.catches.last().copied().unwrap_or_default();
    match (lesson.flow(), lesson.catches.len()) {
        (Some(flow), _) => format!("{last:.2} g/s; the flow is {flow:.2} g/s"),
        (None, 1) => format!("{last:.2} g/s. Once more, the trigger just so: does it repeat?"),
        (None, _) => format!(
            "{last:.2} g/s: more than 10 % off the catch before. Hold the trigger alike; once more."
        ),
    }
}

fn weighed(lesson: &Lesson) -> Vec<String> {
    let Some(last) = lesson.tries.last() else { return Vec::new() };
    let mut lines = vec![coat(last)];
    lines.extend(lesson.spread().filter(|spread| spread.count > 1).map(spread_told));
    lines.extend(lesson.advice.map(advice));
    lines
}

fn coat(last: &Try) -> String {
    let (grams, coat, off) = (last.on.0, last.coat.0, 100.0 * last.off);
    let side = if off < 0.0 { "under" } else { "over" };
    format!("{grams:.1} g on: {coat:.0} g/m2, {:.0} % {side} the target", off.abs())
}

fn spread_told(spread: Spread) -> String {
    let (low, high, count) = (spread.low.0, spread.high.0, spread.count);
    let cv =
        spread.cv.map_or_else(String::new, |cv| format!("; they scatter by {:.0} %", 100.0 * cv));
    format!("the last {count} at this pace: {low:.0} to {high:.0} g/m2{cv}")
}

fn advice(advice: Advice) -> String {
    match advice {
        Advice::Same => "It counts. Change nothing.".to_owned(),
        Advice::Again => "Outside, once: that may be chance. Change nothing, do the next just so.".to_owned(),
        Advice::Scatters => {
            "Outside on both sides: no other pace helps. Keep it; hold distance, trigger and strokes alike.".to_owned()
        }
        Advice::Pace { from, to } => {
            let how = if to > from { "slower" } else { "faster" };
            format!("Two in a row on one side. Change one thing: the hand {how}, {to:.1} s in all instead of {from:.1} s.")
        }
    }
}

/// The end.
pub fn done(lesson: &Lesson) -> Vec<String> {
    let flow = lesson.flow().map_or_else(String::new, |flow| {
        format!(" With this trigger the sprayer gives {flow:.2} g/s: the profile's sprayer.flow.")
    });
    vec![
        String::new(),
        format!("Five garments in a row inside.{flow}"),
        "On the board: p shows the pace, m weighs. Weigh the first three of an order, then one in ten.".into(),
    ]
}
