//! The last of the tests by its name, so the last words of a run: what was passed over in it, and why.
//!
//! It is no test and fails never: what cannot be had on a machine is no fault of the program, but whoever reads "all
//! passed" has to know what that says nothing of.

use support::skipped;

fn main() {
    // A tool that wants to know the tests by their names: there are none.
    if std::env::args().any(|argument| argument == "--list") {
        return;
    }
    let words = words();
    println!();
    match words.len() {
        0 => println!("Nothing was skipped: each test of this run had all that it needs."),
        1 => println!("1 test was SKIPPED, so what it holds was not looked at:"),
        count => println!("{count} tests were SKIPPED, so what they hold was not looked at:"),
    }
    for line in words {
        println!("  {line}");
    }
    println!();
    forget_other_runs();
}

/// What was written down in this run, in the order of the binaries.
fn words() -> Vec<String> {
    let Ok(files) = std::fs::read_dir(skipped::this_run()) else { return Vec::new() };
    let read = |file: std::fs::DirEntry| std::fs::read_to_string(file.path()).ok();
    let mut words: Vec<String> = files.flatten().filter_map(read).collect();
    words.sort();
    words
}

/// Takes away what lies there of runs that have ended.
fn forget_other_runs() {
    let Ok(folders) = std::fs::read_dir(skipped::all_runs()) else { return };
    for folder in folders.flatten() {
        let name = folder.file_name().to_string_lossy().into_owned();
        let parent = name.split('-').next().unwrap_or_default();
        if !std::path::Path::new("/proc").join(parent).exists() {
            // Another run may do the same at this moment.
            drop(std::fs::remove_dir_all(folder.path()));
        }
    }
}
