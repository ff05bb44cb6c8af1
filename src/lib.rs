//! `dwell`: the board beside the heat press.

pub mod figures;
pub mod screen;
pub mod shop;
