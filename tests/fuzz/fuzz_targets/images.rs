//! libFuzzer's way to the target `images`.

#![no_main]

#[path = "../targets/mod.rs"]
mod targets;

libfuzzer_sys::fuzz_target!(|bytes: &[u8]| targets::images::run(bytes));
