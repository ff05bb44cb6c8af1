//! What the figures cost, as ratios within one run: `cargo bench --bench figures`.
//!
//! Prints one table; each line says what it may be at most, and "OVER" where it is more. Absolute figures
//! depend on the machine; the ratios should not. The inputs are made in a directory that goes with the run.

mod art;
mod charted;
mod measured;
mod picture;
mod python;

/// One line of the table: what, the figure, its yardstick, and whether it keeps what is allowed.
fn row(what: &str, figure: &str, beside: &str, kept: bool) {
    let over = if kept { "" } else { "   OVER" };
    println!("  {what:<52} {figure:>10}   {beside}{over}");
}

fn main() {
    let arguments: Vec<String> = std::env::args().skip(1).collect();
    if let [word, file] = arguments.as_slice()
        && word == art::DECODE
    {
        art::decode_alone(file.as_ref());
        return;
    }
    // `cargo test --all-targets` runs this too: measuring belongs to `cargo bench` alone.
    if !arguments.iter().any(|word| word == "--bench") {
        println!("nothing is measured here without --bench: cargo bench --bench figures");
        return;
    }
    let cores = std::thread::available_parallelism().map_or(1, std::num::NonZero::get);
    println!("\nThe figures, in figures ({cores} cores)");
    let there = tempfile::tempdir().unwrap();
    art::measure(there.path(), cores);
    charted::measure(there.path());
}
