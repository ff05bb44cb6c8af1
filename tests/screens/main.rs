//! The screen as a person sees it: pictures of each pane as plain text, and every size without a panic.
//!
//! The pictures lie in `snapshots/`. After a change that is meant, write them anew and look at the
//! difference: `INSTA_UPDATE=always cargo test --test screens`.

mod afar;
mod changing;
mod keypad;
mod lesson;
mod literals;
mod next_words;
mod pace;
mod pacing;
mod pictures;
mod renewals;
mod shapes;
mod sizes;
mod stage;
mod strokes;
mod texts;

use support::world;
