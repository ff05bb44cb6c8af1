//! Whether somebody is in the midst of reading the journal.
//!
//! Beside a reader SQLite brings into the file only those pages of the log that have not changed again since the
//! reader's moment, and leaves the others to later: until then the file alone is no whole database. Were the log taken
//! away in between, all rows would go with it. So nothing is brought into the file while somebody reads.
//!
//! SQLite does not tell who reads, the kernel does: a reader holds a lock on one of four bytes of the shared memory
//! (https://sqlite.org/walformat.html, 2.2.1 and 2.3.1: WAL_READ_LOCK(1) to (4), bytes 124 to 127), and /proc/locks lists
//! all locks (proc_locks(5)). Whoever begins after the look reads the newest moment, and is in nobody's way.

use std::os::unix::fs::MetadataExt;
use std::path::Path;

/// The bytes of the shared memory on which readers hold locks.
const READERS: std::ops::RangeInclusive<u64> = 124..=127;

/// Whether anybody, this process too, reads the journal whose shared memory this is. False where nothing can be known.
pub(super) fn anybody_reads(index: &Path) -> bool {
    let (Ok(index), Ok(locks)) = (std::fs::metadata(index), std::fs::read_to_string("/proc/locks"))
    else {
        return false;
    };
    locks.lines().any(|line| locks_readers(line, index.ino()))
}

/// A line such as "3: POSIX  ADVISORY  READ 2041 fd:01:393222 124 124".
fn locks_readers(line: &str, inode: u64) -> bool {
    let words: Vec<&str> = line.split_whitespace().collect();
    // One that waits for its lock has an arrow before its kind.
    let [_, "POSIX" | "OFDLCK", _, _, _, file, from, to] = words[..] else { return false };
    // Some file systems name another device here than they tell of their files.
    let its = file.rsplit(':').next().and_then(|number| number.parse().ok()) == Some(inode);
    let from = from.parse().unwrap_or(0);
    let to = to.parse().unwrap_or(u64::MAX);
    its && from <= *READERS.end() && to >= *READERS.start()
}

#[cfg(test)]
mod tests {
    use super::*;
    use rusqlite::Connection;

    #[test]
    fn a_reader_in_the_midst_is_seen_and_an_idle_one_is_not() {
        let there = tempfile::tempdir().unwrap();
        let path = there.path().join("j");
        let index = there.path().join("j-shm");
        let writer = Connection::open(&path).unwrap();
        writer.pragma_update_and_check(None, "journal_mode", "WAL", |_| Ok(())).unwrap();
        writer.execute_batch("CREATE TABLE t (n); INSERT INTO t VALUES (1)").unwrap();
        let reader = Connection::open(&path).unwrap();
        let count = || reader.query_row("SELECT count(*) FROM t", [], |row| row.get::<_, i64>(0));
        count().unwrap();
        assert!(!anybody_reads(&index), "both are idle");
        reader.execute_batch("BEGIN").unwrap();
        count().unwrap();
        assert!(anybody_reads(&index));
        writer.execute_batch("INSERT INTO t VALUES (2)").unwrap();
        assert!(anybody_reads(&index));
        reader.execute_batch("COMMIT").unwrap();
        assert!(!anybody_reads(&index));
        assert!(!anybody_reads(&there.path().join("nothing")));
    }

    #[test]
    fn a_line_of_the_kernels_is_read() {
        for (line, reads) in [
            ("3: POSIX  ADVISORY  READ  2041 fd:01:393222 124 124", true),
            ("3: OFDLCK ADVISORY  READ  -1 00:2a:393222 120 EOF", true),
            ("3: POSIX  ADVISORY  READ  2041 fd:01:393222 128 128", false),
            ("3: POSIX  ADVISORY  READ  2041 fd:01:393222 123 123", false),
            ("3: POSIX  ADVISORY  READ  2041 fd:01:39322 124 124", false),
            ("3: -> POSIX  ADVISORY  WRITE 2041 fd:01:393222 124 127", false),
            ("3: FLOCK  ADVISORY  WRITE 2041 fd:01:393222 0 EOF", false),
            ("", false),
        ] {
            assert_eq!(locks_readers(line, 393_222), reads, "{line}");
        }
    }
}
