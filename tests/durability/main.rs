//! What was shown as saved is never lost: kills at random moments, damaged files, newer files.

mod away;
mod backups;
mod damage;
mod escapes;
mod files;
mod inbox;
mod keys;
mod kills;
mod lost_end;
mod memory;
mod mended;
mod migrations;
mod owner;
mod snapshots;
mod touched;
mod trusted;
mod walls;

use support::{bench, pty, random, replay, shown, skipped};
