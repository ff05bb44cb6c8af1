//! What the tests share: the program in a pseudo terminal, a bench of its own for each, a shop to say things to.
//!
//! A crate, so that what one test needs and another does not is built once and is missed by neither.

pub mod bench;
pub mod deeds;
pub mod difference;
pub mod eye;
pub mod places;
pub mod postgres;
pub mod program;
pub mod proxy;
pub mod pty;
pub mod python;
pub mod random;
pub mod replay;
pub mod rest;
pub mod say;
pub mod seat;
pub mod shown;
pub mod skipped;
pub mod suggestions;
pub mod trial;
pub mod waiting;
pub mod world;

use std::path::Path;

/// The root of the project.
pub fn root() -> &'static Path {
    Path::new(concat!(env!("CARGO_MANIFEST_DIR"), "/../.."))
}
