//! What is stored: the kinds of facts and their bodies, and the things that they name.
//!
//! Nothing here knows how a shop stands. A fact says what somebody did or what a profile says; its stored names
//! never change their meaning.

pub mod as_text;
pub mod bottle;
pub mod breaks;
pub mod calendar;
pub mod check;
pub mod cloth;
pub mod coat;
pub mod day;
pub mod fact;
pub mod hours;
pub mod ids;
pub mod measured;
pub mod mixture;
pub mod moment;
pub mod morning;
pub mod order;
pub mod outage;
pub mod pad;
pub mod rank;
pub mod recipe;
pub mod recipes;
pub mod remade;
pub mod shape;
pub mod sizes;
pub mod station;
pub mod step;
pub mod telling;
pub mod trouble;
pub mod typed_due;
pub mod when;
pub mod words;
