//! The first day: one garment is led through by real keys, on a board of practice. A strip below the board says what is
//! seen and why, step by step, by where the garment stands and not by what was struck.
//!
//! ```text
//! ══ First day, 4 of 9: the coat ════════════════ practice: nothing here counts ══
//!  White ink holds only on fibre that has its coat of fluid. Try the pace of the
//!  hand by + . Enter: a block crosses as fast as the sprayer should. Fan on, and
//!  gloves and mask as the data sheet of the fluid says. Roll it, then Enter.
//! ```

use ratatui::buffer::Buffer;
use ratatui::layout::Rect;
use ratatui::widgets::{Clear, Widget};

use super::View;
use super::act::Effect;
use super::cells;
use super::forms::Form;
use super::keymap::Deed;
use super::meaning::Sight;
use super::paint;
use super::theme::Role;
use super::ui::{Practice, Saved, Standing, Tone, Ui};
use crate::figures::units::Days;
use crate::shop::Shop;
use crate::shop::facts::ids::{PressNo, Tag};
use crate::shop::facts::step::Step;
use crate::shop::facts::words::counted;
use crate::shop::floor::garment::{Garment, Place};
use crate::shop::rules::alarms::Alarm;
use crate::shop::rules::questions::Question;

/// Rows of the strip: its title, and what it says.
const HIGH: u16 = 6;
/// Where the screen has fewer rows than this the presses need them all.
const LEAST: u16 = 24;
/// Where it has fewer columns, the strip has no room for its words.
const LEAST_WIDE: u16 = 80;
/// The steps of the lesson.
const STEPS: usize = 9;
const NOTHING_COUNTS: &str = " practice: nothing here counts ";

/// What is said at one step.
struct Lesson {
    step: usize,
    title: &'static str,
    says: String,
}

impl Lesson {
    fn of(step: usize, title: &'static str, says: impl Into<String>) -> Self {
        Self { step, title, says: says.into() }
    }
}

/// Why the first day cannot be shown now; None where this board may be left for it.
pub fn hinders(ui: &Ui, shop: &Shop) -> Option<String> {
    if ui.standing != Standing::Writes {
        return Some("the first day is shown at the board alone".to_owned());
    }
    if ui.practice.is_some() {
        return Some("this is a board of practice already".to_owned());
    }
    let (columns, rows) = ui.extent;
    if columns < LEAST_WIDE || rows < LEAST {
        let least = format!("the first day needs a screen of {LEAST_WIDE}x{LEAST}");
        return Some(format!("{least}; this one has {columns}x{rows}"));
    }
    // Nobody would be called to what runs or waits here.
    if let Some((press, _)) = shop.loads().next() {
        return Some(format!("press {press} is shut: open it first, nothing would call you to it"));
    }
    for (step, its) in [(Step::Dry, "dry"), (Step::Cure, "cure")] {
        if let Some(garment) = shop.floor().waiting(step).next() {
            let tag = garment.tag;
            return Some(format!("{tag} is wet: {its} it first, nothing would call you to it"));
        }
    }
    // The question that is asked of leaving otherwise names what would be lost.
    (ui.saved != Saved::All)
        .then(|| "not everything is saved yet: the first day waits until it is".to_owned())
}

/// Asks whether to leave for the first day, or says what hinders it.
pub fn ask(ui: &mut Ui, sight: &Sight<'_>) -> Vec<Effect> {
    match hinders(ui, sight.shop) {
        Some(reason) => ui.say(Tone::Refused, reason, sight.now),
        None => return ui.opens(Form::first_day(sight.now)),
    }
    Vec::new()
}

/// Rows that the strip takes from the board.
pub fn height(view: &View<'_>, area: Rect) -> u16 {
    let teaches = view.ui.practice == Some(Practice::FirstDay) && view.ui.form.is_none();
    if teaches && view.ui.pacing.is_none() && area.height >= LEAST { HIGH } else { 0 }
}

/// Draws the strip.
pub fn draw(view: &View<'_>, area: Rect, buf: &mut Buffer) {
    Clear.render(area.intersection(buf.area), buf);
    let lesson = lesson(view);
    let top = paint::row_of(area, 0);
    paint::text(buf, view.theme, top, Role::Frame, &"═".repeat(usize::from(area.width)));
    let title = format!(" First day, {} of {STEPS}: {} ", lesson.step, lesson.title);
    let taken = paint::text(buf, view.theme, paint::skip(top, 2, 0), Role::Strong, &title) + 2;
    let wide = u16::try_from(NOTHING_COUNTS.len()).unwrap_or(0);
    if area.width > taken + wide + 4 {
        let place = paint::skip(top, area.width - wide - 2, 0);
        paint::text(buf, view.theme, place, Role::Abnormal, NOTHING_COUNTS);
    }
    let inside = paint::skip(area, 1, 1);
    let width = usize::from(inside.width.saturating_sub(1));
    for (text, row) in cells::wrapped(&lesson.says, width).iter().zip(0..HIGH - 1) {
        paint::text(buf, view.theme, paint::row_of(inside, row), Role::Plain, text);
    }
}

/// What is said now: by what the board asks, then by where the garment of the lesson stands.
fn lesson(view: &View<'_>) -> Lesson {
    if view.shop.questions().first() == Some(&Question::Caution) {
        let says = format!(
            "The line that begins with ? asks something; this one wants to be read before all else. {} says that you have \
             read it. The platens are hot, the fluid is sprayed, the wiping alcohol burns: what your shop and the data \
             sheets say comes before what any board says.",
            view.ui.keys.key(Deed::Yes)
        );
        return Lesson::of(1, "what the board asks", says);
    }
    let garments = || view.shop.floor().all().filter(|garment| garment.place != Place::Out);
    let under_way = garments().find(|garment| garment.place != Place::Finished);
    match under_way.or_else(|| garments().last()) {
        Some(garment) => at(view, garment),
        None => Lesson::of(1, "an order", an_order(view)),
    }
}

fn an_order(view: &View<'_>) -> String {
    // Where nothing is asked, the figure that would answer shuts a press.
    let asks = match Form::order_asks(view.shop) {
        true => "It asks whether the artwork is lighter than the garment: 1, yes, and + again. ",
        false => "",
    };
    format!(
        "Everything begins with an order. {} opens a new one: type 1 for one garment, and + to take it in. {asks}Other orders \
         come as files. {} takes back the last thing that was said, whatever it was: try what you like.",
        view.ui.keys.key(Deed::TakeOrder),
        view.ui.keys.key(Deed::Undo)
    )
}

fn at(view: &View<'_>, garment: &Garment) -> Lesson {
    match garment.place {
        Place::Undecided => Lesson::of(
            2,
            "the underbase",
            "White goes down first where the artwork is lighter than the garment, and white needs the fluid. The line with ? \
             asks what this artwork needs; nothing is pressed before that is known.",
        ),
        Place::Waiting(step) => waiting(view, garment, step),
        Place::InPress(press) => in_press(view, press),
        Place::Shelf => Lesson::of(
            7,
            "the shelf",
            format!(
                "{}, covered and dry; the Shelf screen has its last day. When it is to be printed it is pressed once more: {} \
                 picks it for a press.",
                keeps(view, garment),
                view.ui.keys.key(Deed::Pick)
            ),
        ),
        Place::Finished | Place::Out | Place::Away(_) => finished(view),
    }
}

/// How long a coated garment keeps, by its recipe.
fn keeps(view: &View<'_>, garment: &Garment) -> String {
    match view.shop.recipe_of(garment) {
        Some((_, recipe)) => format!(
            "By its recipe a coated garment keeps for {}, and {} at the most",
            in_days(recipe.keep.good_for),
            in_days(recipe.keep.at_most)
        ),
        None => "A coated garment keeps for as long as its recipe says".to_owned(),
    }
}

fn in_days(days: Days) -> String {
    counted(usize::try_from(days.0).unwrap_or(usize::MAX), "day")
}

/// What is to be done before the spray, where something is.
fn before_spray(view: &View<'_>, tag: Tag) -> Option<String> {
    let key = |deed| view.ui.keys.key(deed);
    let wanted = view.shop.weight_wanted().filter(|wanted| wanted.garment == tag);
    if view.shop.sprays_left() == Some(0) {
        return Some(format!(
            "FILL: there is not enough fluid in the sprayer for this garment. {} is a checklist, of which each line has its own \
             key, so that no finger runs through it. Then it is sprayed.",
            key(Deed::Fill)
        ));
    }
    if view.shop.desk().fan_off {
        return Some(format!(
            "FAN ON: somebody has said that the fan at the booth does not run, and nothing is sprayed without extraction. {} \
             when it runs.",
            key(Deed::Yes)
        ));
    }
    wanted.filter(|wanted| !wanted.coated).map(|_| {
        format!(
            "WEIGH: this garment is one of those whose coat the scale judges. {} takes its weight before the spray, and again \
             after it; {} passes this one by.",
            key(Deed::Weigh),
            key(Deed::No)
        )
    })
}

/// What is to be done with a wet coat before it is dried, where something is.
fn before_dry(view: &View<'_>, tag: Tag) -> Option<String> {
    let key = |deed| view.ui.keys.key(deed);
    let wanted = view.shop.weight_wanted().filter(|one| one.garment == tag && one.coated)?;
    let what = match wanted.mends {
        true => {
            "MEND: what the scale showed lies outside the recipe's window, and the board says what mends it. Weigh it again"
        }
        false => {
            "WEIGH: the coat is weighed while it is wet; in the dryer that would be lost. Lay it on the scale"
        }
    };
    let (weigh, no) = (key(Deed::Weigh), key(Deed::No));
    Some(format!("{what}: {weigh}. {no} goes on without it."))
}

/// A step that no press of this station serves: the garment goes on at another bench.
fn elsewhere(view: &View<'_>, step: Step) -> Lesson {
    let (no, title) = match step {
        Step::Cure => (8, "the cure"),
        Step::Dry => (5, "drying"),
        _ => (2, "the first press"),
    };
    let says = format!(
        "By its profile no press of this station serves this step ({step}): in the shop the garment goes on at another bench, \
         and the lesson ends here. {} takes back what was done last, {} leaves: your own board comes back as it was.",
        view.ui.keys.key(Deed::Undo),
        view.ui.keys.key(Deed::Leave)
    );
    Lesson::of(no, title, says)
}

fn waiting(view: &View<'_>, garment: &Garment, step: Step) -> Lesson {
    let key = |deed| view.ui.keys.key(deed);
    if !view.shop.is_done_here(step) {
        return elsewhere(view, step);
    }
    let first = match step {
        Step::Spray => before_spray(view, garment.tag).map(|says| (4, "the coat", says)),
        Step::Dry => before_dry(view, garment.tag).map(|says| (4, "the coat", says)),
        _ => None,
    };
    if let Some((no, title, says)) = first {
        return Lesson::of(no, title, says);
    }
    match step {
        Step::PrePress => Lesson::of(
            2,
            "the first press",
            "The big words name the one act that is next; its press stands behind LOAD. Pressed without fluid the garment loses \
             its moisture and its fibres lie flat. Lay it in, shut the press, and strike the press's own figure: from then \
             on the board counts the seconds. Mind the hot platen.",
        ),
        Step::Spray => Lesson::of(
            4,
            "the coat",
            format!(
                "White holds only on fibre that has its coat of fluid; too much of it washes out weeks later. {} shows the pace \
                 of the hand: a block crosses as fast as the sprayer should. Fan on; gloves and mask as the fluid's data \
                 sheet says. Spray it, roll the fibres one way, then {}.",
                key(Deed::Pacing),
                key(Deed::Sprayed)
            ),
        ),
        Step::Dry => Lesson::of(
            5,
            "drying",
            "Wet, it does not keep: it goes under a clean cover sheet into the press at once. The board knows the sheet's \
             presses under fluid, and asks for its wipe in time: both sides, cold, away from the press, since what wipes it burns. \
             Strike the press's figure as it shuts.",
        ),
        Step::Print if !garment.coated => Lesson::of(
            7,
            "look, then print",
            format!(
                "This one takes no fluid here, so no sheet tells of its coat: look that it lies flat and is dry. If something is \
                 wrong with it, {} says what; else it goes to the printer, and {} when its print is done.",
                key(Deed::Trouble),
                key(Deed::Printed)
            ),
        ),
        Step::Print => Lesson::of(
            7,
            "look, then print",
            format!(
                "How the sheet came off tells how the coat was: sliding is right, clinging is too much. If something is wrong \
                 with it, {} says what; else it goes to the printer, and {} when its print is done.",
                key(Deed::Trouble),
                key(Deed::Printed)
            ),
        ),
        Step::Cure => Lesson::of(
            8,
            "the cure",
            "A print is wet until it is cured, and its garment is not to be laid on another. LOAD names the press; the cure is \
             longer than the other steps, and in a shop you would make the next garment ready meanwhile: the board keeps \
             each one's place.",
        ),
    }
}

fn in_press(view: &View<'_>, press: PressNo) -> Lesson {
    let drying = view.shop.load(press).is_some_and(|load| load.step == Step::Dry);
    let (step, title) = match view.shop.load(press).map(|load| load.step) {
        Some(Step::Dry) => (6, "steam"),
        Some(Step::Cure) => (8, "the cure"),
        _ => (3, "the press counts"),
    };
    let of_press = |alarm: &&Alarm| alarm.press() == Some(press);
    let alarm = view.alarms.iter().find(of_press);
    let figure = view.ui.keys.key(Deed::Press(press));
    let opens_itself = view.shop.opens_itself(press);
    let says = match alarm {
        Some(Alarm::Overdue { .. }) => format!(
            "This was too long: the time is past what the recipe allows. Open it and strike {figure}. It is written down as late \
             and the garment is flagged, so that somebody looks for scorch; nothing is refused, for the board states what \
             happened."
        ),
        Some(Alarm::Shape { lifts: true, .. }) => {
            "LIFT: by its recipe this press is lifted half-way now. No key is struck for it: it is no opening, and the \
             seconds go on."
                .to_owned()
        }
        Some(Alarm::Shape { lifts: false, .. }) => {
            "CLOSE: by its recipe this press has hovered for long enough, and is closed \
             now. No key is struck for it; the seconds go on."
                .to_owned()
        }
        Some(Alarm::Check { .. }) => format!(
            "CHECK: how long this press has been shut is not sure, as after the power was gone. Look at its garment, open it, and \
             strike {figure}."
        ),
        Some(_) if opens_itself => format!(
            "UNLOAD: by its profile this press opens by itself. Take the garment out, and strike {figure}. Where two call at \
             once, the one that is in danger stands in the big words."
        ),
        Some(_) => format!(
            "It calls: open the press, and strike {figure}. In a shop two presses call at once now and then; the one that is in \
             danger stands in the big words."
        ),
        None if drying => format!(
            "Watch the steam at the edge of the platen: the second at which it stops says how heavy the coat was. Strike {} \
             when it stops. The seconds count down to the time of the recipe; {figure} when you open it, not before it calls.",
            view.ui.keys.key(Deed::SteamStopped)
        ),
        None if opens_itself => format!(
            "The big figures are the seconds that are left; you can go and do something else until it calls. This press opens by \
             itself: strike {figure} as you take the garment out."
        ),
        None => format!(
            "The big figures are the seconds that are left; you can go and do something else until it calls. Open it then, and \
             strike {figure}. Opened too early or too late is written down, and never refused."
        ),
    };
    Lesson::of(step, title, says)
}

fn finished(view: &View<'_>) -> Lesson {
    let key = |deed| view.ui.keys.key(deed);
    Lesson::of(
        STEPS,
        "done",
        format!(
            "That was one garment, and all that it needs is written down: {} shows it as it happened. {} lists every other act, \
             as the keypad lies; {} explains the keys. Take in another order to try more, or leave by {}: your own board \
             comes back as it was.",
            key(Deed::Past),
            key(Deed::Acts),
            key(Deed::Help),
            key(Deed::Leave)
        ),
    )
}
