//! Whether the system gives us as many file handles as the board may need at once: one that runs out of them in the
//! middle of a shift would lose its keyboard or its journal, so that is looked at before anything is opened.

use std::fs::File;

use rustix::process::{Resource, getrlimit, setrlimit};

/// What a board holds at most at the same time (measured: 19 at rest; the sounder, a story, a picture, a snapshot and a
/// rescue file beside that), with some to spare.
const NEEDED: usize = 48;

/// Too few file handles.
#[derive(Debug, thiserror::Error)]
#[error(
    "the system gives this program too few file handles ({reason}): the board needs {NEEDED}. \
     `ulimit -n 256` before it, or close other programs"
)]
pub struct TooFew {
    reason: std::io::Error,
}

/// Asks for as many handles as we may have, and tries whether the board's are among them.
///
/// # Errors
/// They are not.
pub fn try_out() -> Result<(), TooFew> {
    let mut limit = getrlimit(Resource::Nofile);
    // Nobody needs a right to raise the limit that is in force to the one that stands above it.
    if limit.current.is_some_and(|current| current < 1024) {
        limit.current = limit.maximum.map(|most| most.min(1024)).or(Some(1024));
        if let Err(reason) = setrlimit(Resource::Nofile, limit) {
            tracing::debug!(%reason, "the limit of file handles stays");
        }
    }
    let all: std::io::Result<Vec<File>> = (0..NEEDED).map(|_| File::open("/dev/null")).collect();
    all.map(drop).map_err(|reason| TooFew { reason })
}
