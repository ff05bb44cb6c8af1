//! Built before the rest: puts a fingerprint of the rules into the program.
//!
//! A snapshot of the shop is only as good as the rules that made it. So it carries this fingerprint of every file
//! that the rules are written in, and of the libraries, and any change of them makes old snapshots worthless by itself.

use std::collections::hash_map::DefaultHasher;
use std::hash::{Hash, Hasher};
use std::path::{Path, PathBuf};

/// What the state of a shop follows from, within the crate.
const RULES: [&str; 4] = ["src/shop", "src/figures", "src/label", "Cargo.lock"];

fn files_under(path: &Path, files: &mut Vec<PathBuf>) -> std::io::Result<()> {
    if !path.is_dir() {
        files.push(path.to_owned());
        return Ok(());
    }
    for entry in std::fs::read_dir(path)? {
        files_under(&entry?.path(), files)?;
    }
    Ok(())
}

fn main() -> std::io::Result<()> {
    let mut files = Vec::new();
    for path in RULES {
        println!("cargo::rerun-if-changed={path}");
        files_under(Path::new(path), &mut files)?;
    }
    files.sort();
    let mut print = DefaultHasher::new();
    for file in files {
        (&file, std::fs::read(&file)?).hash(&mut print);
    }
    println!("cargo::rustc-env=DWELL_RULES={:016x}", print.finish());
    Ok(())
}
