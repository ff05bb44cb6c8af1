//! The fuzz targets in the normal run: every find and seed once more, then some thousand seeded mutations of them.
//!
//! `.ci/fuzz` has libFuzzer look for more, each target for a minute. What either finds lies under `finds/` and stays
//! there. `DWELL_FUZZ_ROUNDS` asks for more mutations here, `DWELL_SEED` for others.

mod mutate;
mod targets;

use std::panic::{AssertUnwindSafe, catch_unwind};
use std::path::{Path, PathBuf};

use mutate::Mutator;
use rstest::rstest;

/// What is fuzzed.
type Target = fn(&[u8]);

fn folder(kind: &str, name: &str) -> PathBuf {
    Path::new(env!("CARGO_MANIFEST_DIR")).join("tests/fuzz").join(kind).join(name)
}

/// The files of a folder by name, where there is one.
fn files(folder: &Path) -> Vec<(PathBuf, Vec<u8>)> {
    let entries = std::fs::read_dir(folder).into_iter().flatten().flatten();
    let mut paths: Vec<PathBuf> = entries.map(|entry| entry.path()).collect();
    paths.sort();
    paths.into_iter().map(|path| (path.clone(), std::fs::read(path).unwrap())).collect()
}

fn number(name: &str) -> Option<u64> {
    let text = std::env::var(name).ok()?;
    Some(text.parse().unwrap_or_else(|_| panic!("{name} is \"{text}\": expected a number")))
}

#[rstest]
#[case::keys("keys", targets::keys::run, 1000)]
#[case::profiles("profiles", targets::profiles::run, 3000)]
#[case::orders("orders", targets::orders::run, 3000)]
#[case::images("images", targets::images::run, 3000)]
#[case::rows("rows", targets::rows::run, 1000)]
fn nothing_from_outside_brings_it_down(
    #[case] name: &str,
    #[case] target: Target,
    #[case] rounds: u64,
) {
    let (finds, seeds) = (files(&folder("finds", name)), files(&folder("seeds", name)));
    assert!(!seeds.is_empty(), "{name} has no seeds");
    for (path, bytes) in finds.iter().chain(&seeds) {
        let held = catch_unwind(|| target(bytes));
        assert!(held.is_ok(), "{} brings it down again", path.display());
    }
    // Finds are often large or slow: once each is enough.
    let corpus: Vec<Vec<u8>> = seeds.into_iter().map(|(_, bytes)| bytes).collect();
    let mut mutator = Mutator::new(number("DWELL_SEED").unwrap_or(1), &corpus);
    for _ in 0..number("DWELL_FUZZ_ROUNDS").unwrap_or(rounds) {
        let bytes = mutator.next();
        if catch_unwind(AssertUnwindSafe(|| target(&bytes))).is_err() {
            let path = Path::new(env!("CARGO_TARGET_TMPDIR")).join(format!("find-{name}"));
            std::fs::write(&path, &bytes).unwrap();
            panic!("a find: mend it, and keep {} under tests/fuzz/finds/{name}", path.display());
        }
    }
}

/// The check itself: a target that breaks is found out.
#[test]
fn a_target_that_breaks_is_found_within_the_normal_rounds() {
    let broken = |bytes: &[u8]| assert!(!bytes.windows(2).any(|pair| pair == b"9-"), "broken");
    let corpus = [b"count: 12, due: \"2026-03-02\"".to_vec(), b"left - right".to_vec()];
    let mut mutator = Mutator::new(1, &corpus);
    let found = (0..3000).any(|_| {
        let bytes = mutator.next();
        catch_unwind(AssertUnwindSafe(|| broken(&bytes))).is_err()
    });
    assert!(found, "three thousand mutations never came to \"9-\"");
}
