//! Who writes a file in the folder, as far as the kernel tells: a file that is written slowly may rest longer than one that
//! is whole. Where nothing is told, as of what another machine writes on a share, its rest alone counts.

use std::collections::BTreeSet;
use std::os::unix::fs::MetadataExt;
use std::path::{Path, PathBuf};
use std::sync::{Arc, Mutex, PoisonError};

use notify::event::{AccessKind, AccessMode, ModifyKind};
use notify::{EventKind, RecursiveMode, Watcher};

/// The files that somebody has begun to write and not closed.
pub struct Writers {
    at_work: Arc<Mutex<BTreeSet<PathBuf>>>,
    /// Which folder it is, whatever is mounted there later.
    folder: (u64, u64),
    _watcher: notify::RecommendedWatcher,
}

impl Writers {
    /// Watches a folder, anew where another lies there by now.
    pub fn keep(kept: &mut Option<Self>, folder: &Path) {
        let which = std::fs::metadata(folder).ok().map(|there| (there.dev(), there.ino()));
        if kept.as_ref().map(|kept| kept.folder) != which {
            *kept = which.and_then(|which| Self::watch(folder, which));
        }
    }

    fn watch(folder: &Path, which: (u64, u64)) -> Option<Self> {
        let at_work = Arc::new(Mutex::new(BTreeSet::new()));
        let heard = Arc::clone(&at_work);
        let hear = move |event: notify::Result<notify::Event>| {
            let mut at_work = heard.lock().unwrap_or_else(PoisonError::into_inner);
            match event {
                Ok(event) if !event.need_rescan() => note(&mut at_work, event),
                // Something was not heard: nobody is held to write for ever.
                _ => at_work.clear(),
            }
        };
        let mut watcher = notify::recommended_watcher(hear).ok()?;
        watcher.watch(folder, RecursiveMode::NonRecursive).ok()?;
        Some(Self { at_work, folder: which, _watcher: watcher })
    }

    /// Whether somebody writes a file.
    pub fn write(&self, path: &Path) -> bool {
        self.at_work.lock().unwrap_or_else(PoisonError::into_inner).contains(path)
    }
}

fn note(at_work: &mut BTreeSet<PathBuf>, event: notify::Event) {
    match event.kind {
        EventKind::Modify(ModifyKind::Data(_)) => at_work.extend(event.paths),
        EventKind::Access(AccessKind::Close(AccessMode::Write))
        | EventKind::Modify(ModifyKind::Name(_))
        | EventKind::Remove(_) => at_work.retain(|path| !event.paths.contains(path)),
        _ => {}
    }
}
