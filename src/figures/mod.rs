//! Pure arithmetic of the trade: no state, no input or output.
//!
//! Every formula has its source above it; every quantity is a type that carries its unit.

pub mod units;
