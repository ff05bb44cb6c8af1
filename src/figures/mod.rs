//! Pure arithmetic of the trade: no state, no input or output.
//!
//! Every formula has its source above it; every quantity is a type that carries its unit.

pub mod artwork;
pub mod chart;
pub mod coat;
pub mod colour;
pub mod coverage;
pub mod fan;
pub mod fastness;
pub mod funnel;
pub mod kpi;
pub mod learn;
pub mod light;
pub mod line;
pub mod money;
pub mod platen;
pub mod profile;
pub mod robust;
pub mod sketch;
pub mod spray;
pub mod steam;
pub mod strokes;
pub mod trial;
pub mod units;
pub mod upright;
pub mod water;
pub mod wear;
pub(crate) mod written;
