//! The shop run ahead of time: what a shift would look like.
//!
//! Works on a copy of the shop, never on the shop itself, and on made-up moments, never on a clock.

pub mod advice;
pub mod coats;
pub mod crew;
pub mod dispatch;
pub mod finish;
pub mod habit;
pub mod jobshop;
pub mod made_up;
pub mod operator;
pub mod outlook;
pub mod plan;
pub mod shift;
pub mod simulation;
pub mod weeks;
pub mod workload;
