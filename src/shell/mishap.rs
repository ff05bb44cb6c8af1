//! A panic in one of our own threads: which the board outlives, and a way for tests to provoke one.
//!
//! A panic that is outlived is told in the log alone: the terminal stays ours, and nothing is written over it.

use std::cell::Cell;
use std::panic::{AssertUnwindSafe, catch_unwind};

thread_local! {
    /// Whether a panic in this thread, now, ends the board.
    static FATAL: Cell<bool> = const { Cell::new(false) };
}

/// From here on a panic in this thread ends the board: it is one of those without which there is none.
pub fn ends_the_board() {
    FATAL.set(true);
}

/// Does work whose panic the board outlives; None where it panicked.
pub fn catch_panic<T>(work: impl FnOnce() -> T) -> Option<T> {
    let before = FATAL.replace(false);
    let done = catch_unwind(AssertUnwindSafe(work)).ok();
    FATAL.set(before);
    done
}

/// Whether a panic in this thread, now, would be outlived.
pub fn is_caught() -> bool {
    !FATAL.get()
}

/// Panics where a test has asked for it: see `DWELL_TEST_PANIC` in tests/README.md. `seq` is the event that the
/// work at hand has come to.
#[cfg(debug_assertions)]
pub fn panic_if_asked(place: &str, seq: u64) {
    use std::sync::OnceLock;
    use std::sync::atomic::{AtomicBool, Ordering};
    static ASKED: OnceLock<Option<String>> = OnceLock::new();
    static STRUCK: AtomicBool = AtomicBool::new(false);
    let Some(asked) = ASKED.get_or_init(|| std::env::var("DWELL_TEST_PANIC").ok()) else { return };
    let (asked, once) = asked.strip_suffix(",once").map_or((&**asked, false), |rest| (rest, true));
    let Some((wanted, from)) = asked.split_once('@') else { return };
    let comes = wanted == place && from.parse().is_ok_and(|from: u64| seq >= from);
    if comes && !(once && STRUCK.swap(true, Ordering::SeqCst)) {
        panic!("a test asked for a panic in {place}");
    }
}

/// Nothing in a program that is built for use.
#[cfg(not(debug_assertions))]
pub fn panic_if_asked(_place: &str, _seq: u64) {}
