//! `dwell`: the board beside the heat press.

pub mod commands;
pub mod figures;
pub mod forecast;
pub mod label;
pub mod screen;
pub mod shell;
pub mod shop;
