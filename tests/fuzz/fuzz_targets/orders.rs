//! libFuzzer's way to the target `orders`.

#![no_main]

#[expect(dead_code, reason = "each has a program of its own")]
#[path = "../targets/mod.rs"]
mod targets;

libfuzzer_sys::fuzz_target!(|bytes: &[u8]| targets::orders::run(bytes));
