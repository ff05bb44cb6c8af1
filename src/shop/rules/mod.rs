//! What may be said and what follows from it: route, offers, decisions, their application, undo, alarms, questions.
//!
//! `decide` turns a command into facts or a refusal and changes nothing; `apply` turns facts into the next state and
//! refuses nothing.

pub mod aim;
pub mod alarms;
pub mod apply;
pub mod blanks;
pub mod causes;
pub mod command;
pub(in crate::shop) mod correct;
pub mod decide;
pub(in crate::shop) mod fluid;
pub mod heat;
pub mod held;
pub mod morning;
pub mod moves;
pub mod next;
pub mod notices;
pub mod offer;
pub(in crate::shop) mod orders;
pub mod people;
pub(in crate::shop) mod platens;
pub mod printing;
pub mod questions;
pub(in crate::shop) mod remake;
mod returns;
pub mod route;
pub mod shared;
pub(in crate::shop) mod shelf;
pub(in crate::shop) mod trail;
pub mod trials;
mod troubles;
pub mod turn;
pub(in crate::shop) mod wash;
pub(in crate::shop) mod weighing;
