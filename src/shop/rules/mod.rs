//! What may be said and what follows from it: route, offers, decisions, their application, undo, alarms, questions.
//!
//! `decide` turns a command into facts or a refusal and changes nothing; `apply` turns facts into the next state and
//! refuses nothing.

pub mod aim;
pub mod alarms;
pub mod apply;
pub mod causes;
pub mod command;
pub(in crate::shop) mod correct;
pub mod decide;
pub mod offer;
pub mod questions;
pub mod route;
pub(in crate::shop) mod trail;
pub(in crate::shop) mod weighing;
