//! What the board costs, as ratios within one run: `cargo bench --bench board`.
//!
//! Prints one table. Absolute figures depend on the machine; the ratios should not.

mod commands;
mod frames;
mod heap;
mod latency;

use support::rest;

/// One line of the table.
fn row(what: &str, figure: &str, beside: &str) {
    println!("  {what:<58} {figure:>12}   {beside}");
}

fn main() {
    let arguments: Vec<String> = std::env::args().skip(1).collect();
    if arguments.iter().any(|word| word == latency::ECHO) {
        latency::echo().unwrap();
        return;
    }
    // `cargo test --all-targets` runs this too: measuring belongs to `cargo bench` alone.
    if !arguments.iter().any(|word| word == "--bench") {
        println!("nothing is measured here without --bench: cargo bench --bench board");
        return;
    }
    println!("\nThe board in figures");
    if arguments.iter().any(|word| word == "heap") {
        heap::measure();
        return;
    }
    if arguments.iter().any(|word| word == "frames") {
        frames::measure();
        return;
    }
    commands::measure();
    frames::measure();
    heap::measure();
    latency::measure();
    rest::measure();
}
