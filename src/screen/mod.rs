//! The screen: the shop, what is being typed, and the moment become cells. A pane a file.
//!
//! Nothing here reads a clock or a file, or changes the shop.

pub mod act;
mod art;
mod bench;
pub mod cells;
mod choosing;
mod chrome;
mod coat;
mod coat_chart;
mod coat_trial;
mod counts;
pub mod elsewhere;
pub mod faces;
mod foot;
pub mod forms;
pub mod input;
pub mod instrument;
pub mod keymap;
pub mod lesson;
pub mod meaning;
mod next;
mod next_alarm;
mod next_drawn;
mod next_shared;
mod pace;
mod pace_chart;
pub mod pacing;
pub mod paint;
mod past;
mod platen_map;
pub mod practised;
mod press_figures;
mod press_look;
mod press_open;
mod press_panel;
mod press_sheet;
mod press_strip;
mod remarks;
mod scanned;
mod shelf;
mod small;
mod star;
pub mod stations;
pub mod table;
pub mod theme;
pub mod ui;
pub mod words;

use std::cell::OnceCell;

use ratatui::buffer::Buffer;
use ratatui::layout::Rect;

use crate::shop::Shop;
use crate::shop::facts::ids::PressNo;
use crate::shop::facts::moment::Moment;
use crate::shop::rules::alarms::Alarm;
use crate::shop::rules::offer::{Offer, OfferedAct};
use crate::shop::rules::questions::Question;
use keymap::Deed;
use next::Next;
use theme::Theme;
use ui::{Pane, Standing, Ui};

/// Everything that a pane may look at.
pub struct View<'a> {
    pub shop: &'a Shop,
    pub ui: &'a Ui,
    pub offers: &'a [Offer],
    pub alarms: &'a [Alarm],
    pub now: Moment,
    pub theme: Theme,
    /// What comes next, worked out once where it is asked for.
    next: OnceCell<(Next, Option<Next>)>,
}

impl<'a> View<'a> {
    /// What panes see at a moment: `offers` are what the presses' keys do, `alarms` what calls.
    pub fn new(
        shop: &'a Shop,
        ui: &'a Ui,
        (offers, alarms): (&'a [Offer], &'a [Alarm]),
        now: Moment,
        theme: Theme,
    ) -> Self {
        Self { shop, ui, offers, alarms, now, theme, next: OnceCell::new() }
    }

    /// The questions that wait: those of the shop, and what is asked of a table. An order waits for that: it stands before what
    /// is asked of orders that are there, and what may stay unanswered for a whole shift.
    pub fn questions(&self) -> Vec<Question> {
        let mut questions = self.shop.questions();
        if self.ui.doubtful_date.is_some() {
            let waits = |question: &Question| {
                matches!(question, Question::Sample(_) | Question::Underbase { .. } | Question::Who)
            };
            let at = questions.iter().position(waits).unwrap_or(questions.len());
            questions.insert(at, Question::Dates);
        }
        questions
    }

    /// Whether keys act here: a view changes nothing, and in a rehearsal the made-up operator acts.
    pub fn acts(&self) -> bool {
        self.ui.standing == Standing::Writes
    }

    /// What the key of a press does.
    fn offered(&self, press: PressNo) -> Option<OfferedAct> {
        self.offers.iter().find(|offer| offer.press == press).map(|offer| offer.act)
    }

    /// The key of an act after some words; nothing where it would do nothing.
    fn then(&self, words: &str, deed: Deed) -> String {
        let from_form = match deed {
            Deed::Press(press) => star::how(self.ui.form.as_ref(), press),
            _ => None,
        };
        let key = from_form.unwrap_or_else(|| self.ui.keys.key(deed));
        if self.acts() { format!("{words}{key}") } else { String::new() }
    }
}

/// Below this the panes give way to one line for each press, and to a single line in the end.
const LEAST: (u16, u16) = (72, 20);

/// Draws the whole screen.
pub fn draw(view: &View<'_>, buf: &mut Buffer) {
    let area = buf.area;
    if area.width < LEAST.0 || area.height < LEAST.1 {
        return small::draw(view, area, buf);
    }
    let Some(strip) = strip(view, area) else {
        let taught = lesson::height(view, area);
        let board = Rect { height: area.height - taught, ..area };
        let inside = chrome::draw(view, board, buf);
        draw_pane(view, inside, buf);
        chrome::foot(view, board, buf);
        if taught > 0 {
            lesson::draw(view, paint::skip(area, 0, board.height), buf);
        }
        return;
    };
    let above = Rect { height: area.height - strip.height, ..area };
    let inside = chrome::bars(view, above, buf);
    // Who acts at the presses sees them while typing; who only looks keeps the pane.
    if view.acts() {
        bench::draw_above_form(view, inside, buf);
    } else {
        draw_pane(view, inside, buf);
    }
    match (&view.ui.form, &view.ui.pacing) {
        (Some(form), _) => form.draw(view, strip, buf),
        (None, Some(pacing)) => {
            // The press keys go on working, so what they did is said here too.
            let high = strip.height.saturating_sub(1);
            pacing::draw(view, pacing, Rect { height: high, ..strip }, buf);
            chrome::message(view, paint::row_of(strip, high), buf);
        }
        (None, None) => {}
    }
}

/// The rows at the bottom that a form takes; the pace of the hand takes all but those that the presses need.
fn strip(view: &View<'_>, area: Rect) -> Option<Rect> {
    const PRESSES_BESIDE_A_PACE: u16 = 12;
    let high = match (&view.ui.form, &view.ui.pacing) {
        (Some(form), _) if form.is_whole() => area.height.saturating_sub(1),
        (Some(_), _) => forms::strip::height(area.height),
        (None, Some(_)) if view.ui.pane == Pane::Bench => area.height - PRESSES_BESIDE_A_PACE,
        (None, _) => return None,
    };
    Some(paint::skip(area, 0, area.height - high))
}

fn draw_pane(view: &View<'_>, area: Rect, buf: &mut Buffer) {
    match view.ui.pane {
        Pane::Bench => bench::draw(view, area, buf),
        Pane::Pace => pace::draw(view, area, buf),
        Pane::Shelf => shelf::draw(view, area, buf),
        Pane::Coat => coat::draw(view, area, buf),
        Pane::Past => past::draw(view, area, buf),
    }
}
