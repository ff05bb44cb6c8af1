//! What is fuzzed: each target takes bytes from outside and must neither panic nor leave the shop in pieces.
//!
//! The same functions are called by libFuzzer (`fuzz_targets/`) and by the normal test run (`main.rs`).

pub mod bench;
pub mod images;
pub mod keys;
pub mod orders;
pub mod profiles;
pub mod rows;
