//! Every pane and every form at every size from nothing at all to a large screen.

use dwell::screen::ui::{Pane, Saved, Tone};

use super::stage::Stage;

/// Sizes around those at which the layout changes, and a few between.
const COLUMNS: [u16; 21] =
    [0, 1, 2, 3, 7, 13, 20, 29, 39, 40, 41, 55, 63, 71, 72, 73, 80, 97, 114, 120, 130];
const ROWS: [u16; 18] = [0, 1, 2, 3, 4, 5, 7, 9, 10, 11, 15, 19, 20, 21, 24, 31, 36, 45];

/// With colour and without in turn, like the fields of a chess board: what is drawn where does not depend on it, and each
/// size has a neighbour of the other kind.
fn at_every_size(stage: &Stage) {
    for (c, columns) in COLUMNS.into_iter().enumerate() {
        for (r, rows) in ROWS.into_iter().enumerate() {
            let cells = stage.draw(columns, rows, (c + r) % 2 == 0);
            assert_eq!(cells.content.len(), usize::from(columns) * usize::from(rows));
        }
    }
}

/// Everything at once that can stand around a pane, with texts too long for any.
fn crowded(mut stage: Stage) -> Stage {
    let now = stage.world.now;
    stage.ui.say(Tone::Refused, "a message as long as a message can be ".repeat(6), now);
    stage.ui.banners = vec!["PROFILE NOT READ, the last good one stays ".repeat(5); 3];
    stage.ui.saved = Saved::Not { events: 123_456, reason: "no space left ".repeat(9) };
    stage.ui.quieted = true;
    stage
}

#[test]
fn every_pane_draws_at_every_size() {
    for presses in [1, 4, 9] {
        for pane in Pane::ALL {
            at_every_size(&Stage::in_a_shift(presses, 6.0, 1).on(pane));
            at_every_size(&crowded(Stage::in_a_shift(presses, 6.0, 1)).on(pane));
        }
    }
    for pane in Pane::ALL {
        at_every_size(&Stage::empty(2).on(pane));
    }
}

#[test]
fn every_form_draws_at_every_size() {
    // Order, help, leave, count, out of use and its list, dial, trouble and its outcomes, time.
    for keys in [
        "+",
        "+.",
        "+0",
        "+0Lantern walk",
        "?",
        "q",
        "n",
        "n12",
        "o",
        "o1",
        "d",
        "d1",
        ".",
        ".1",
        "t",
    ] {
        let stage = Stage::in_a_shift(2, 6.0, 1).struck(keys);
        assert!(stage.ui.form.is_some(), "{keys} opened no form");
        at_every_size(&stage);
    }
}

#[test]
fn lists_scrolled_past_their_end_draw_at_every_size() {
    for pane in Pane::ALL {
        let mut stage = Stage::in_a_shift(2, 12.0, 1).on(pane);
        stage.ui.scroll = usize::MAX / 2;
        at_every_size(&stage);
    }
}

#[test]
fn presses_that_are_long_overdue_draw_at_every_size() {
    let mut stage = Stage::in_a_shift(4, 6.0, 2);
    stage.world.wait(400_000.0);
    at_every_size(&stage);
}

#[test]
fn a_screen_before_the_first_profile_draws() {
    let mut stage = Stage::empty(2);
    stage.world.shop = dwell::shop::Shop::default();
    for pane in Pane::ALL {
        stage = stage.on(pane);
        at_every_size(&stage);
    }
}

/// The words that keep somebody from doing harm are there at every size at which there is room for any.
#[test]
fn what_is_urgent_is_said_at_every_usual_size() {
    let mut stage = Stage::in_a_shift(2, 20.0, 2);
    stage.world.wait(500.0);
    for (columns, rows) in [(30, 5), (60, 15), (80, 24), (120, 36), (200, 56)] {
        let text = stage.text(columns, rows);
        assert!(text.contains("TOO LONG"), "{columns}x{rows}:\n{text}");
    }
}

/// A press that is shut shows how long in figures, however long that is.
#[test]
fn a_shut_press_shows_its_figures_however_long_it_is_shut() {
    let mut stage = Stage::in_a_shift(2, 20.0, 2);
    // From ten minutes over its target on, the figures are plain text: no face is narrow enough.
    for _ in 0..11 {
        stage.world.wait(50.0);
        let plain = stage.draw(80, 24, false);
        // Without colour the dots of an overdue press are holes in its ground.
        let holes = (3..12)
            .flat_map(|row| (1..21).map(move |column| (column, row)))
            .filter(|at| !plain[*at].modifier.contains(ratatui::style::Modifier::REVERSED))
            .count();
        assert!(holes > 10, "no figures:\n{}", stage.text(80, 24));
    }
}
