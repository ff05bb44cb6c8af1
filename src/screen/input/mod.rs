//! From bytes to what a hand meant, with no clock and no file: bytes are framed to keys (`framer`, by the table in
//! `sequences`), and keys pass a gate that tells scans and held keys from struck ones (`gate`). Moments come in as
//! numbers of the boot clock, in microseconds.

mod framer;
mod gate;
mod key;
mod sequences;

pub use framer::{Framed, Framer, Noise};
pub use gate::{Gate, Heard, Mode, Takes};
pub use key::{Key, KeyCode};
