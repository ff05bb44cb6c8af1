//! Waiting for what a program does: without end, as far as a machine is concerned that has much else to do.
//!
//! A test that passes never waits longer than it has to; one that fails says what it has waited for.

use std::time::Duration;

/// Between two looks.
const NAP: Duration = Duration::from_millis(5);
/// So many looks, at least five minutes of them: a thread that stands back (niceness 15) gets a thirtieth of a core
/// where others want it.
const LOOKS: u32 = 60_000;
/// What a machine that has nothing else to do keeps within a span is asked for within five times as many looks: they
/// come the later the more else there is to do, so this tells a promise that is kept late from one that is not kept.
const SLOWER: u32 = 5;

/// Looks until there is an answer; `vain` says what was waited for.
pub fn wait<T>(vain: impl FnOnce() -> String, ready: impl FnMut() -> Option<T>) -> T {
    looked(LOOKS, vain, ready)
}

/// The same for what a free machine does within `span`.
pub fn wait_within<T>(
    span: Duration,
    vain: impl FnOnce() -> String,
    ready: impl FnMut() -> Option<T>,
) -> T {
    let looks = u32::try_from(span.as_millis() / NAP.as_millis()).unwrap();
    looked(looks * SLOWER, vain, ready)
}

fn looked<T>(looks: u32, vain: impl FnOnce() -> String, mut ready: impl FnMut() -> Option<T>) -> T {
    for _ in 0..looks {
        if let Some(answer) = ready() {
            return answer;
        }
        std::thread::sleep(NAP);
    }
    panic!("waited in vain for {}", vain())
}
