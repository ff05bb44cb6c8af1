//! The folder into which a shop lays its tables of orders. Each file that comes there is taken once it is whole, then moved
//! to the folder `taken` in it; one that is not taken stays where it is, and the board says why until it is mended or gone.
//!
//! A file is read by our own program in a process of its own, under guard and within bounds of time and memory: it may come
//! from anywhere, and a table that has no end must not end the board. What it holds goes through the inbox like every order
//! that comes as a file, so nothing is taken twice wherever a crash comes in between. All of it on a thread of its own.

mod answer;
mod stamp;
mod writers;

use std::collections::BTreeMap;
use std::os::unix::fs::PermissionsExt;
use std::path::{Path, PathBuf};
use std::sync::mpsc::{Receiver, RecvTimeoutError, Sender, channel};
use std::time::Duration;

use tokio::sync::mpsc::{UnboundedReceiver, UnboundedSender, unbounded_channel};

pub use self::answer::{Answer, Reasons};
pub use self::stamp::Stamp;
use self::writers::Writers;
use super::guard::Guarded;
use super::mishap::catch_panic;
use super::{clock, new_file, private};
use crate::shop::facts::moment::Up;
use crate::shop::facts::words::{clean, counted};

/// The folder is looked into about so often.
const LOOK: Duration = Duration::from_secs(1);
/// A file is whole once it has stayed as it is for so long, and nobody whom the kernel knows of writes it.
const SETTLES: Duration = Duration::from_secs(3);
/// One that is not taken is tried again so often: what stood against it may be gone.
const AGAIN: Duration = Duration::from_secs(60);
/// Reading one takes a moment; longer than this and it has no end.
const HANGS: Duration = Duration::from_secs(60);
/// The most memory of whoever reads one, in bytes: far more than a table of a day's orders needs.
const MOST_MEMORY: u64 = 1 << 30;
/// The most files that are looked at: what comes behind them waits until some are gone.
const MOST_FILES: usize = 500;
/// Where files go that were taken.
const TAKEN: &str = "taken";

/// What lies beside tables and is no order: artwork, and what other programs have in the works.
const PASSED_OVER: [&str; 16] = [
    "png",
    "jpg",
    "jpeg",
    "webp",
    "gif",
    "tif",
    "tiff",
    "svg",
    "pdf",
    "psd",
    "ai",
    "eps",
    "tmp",
    "part",
    "crdownload",
    "lock",
];

/// What the board hears.
#[derive(Debug)]
pub enum FolderNews {
    /// A file was taken, in words.
    Taken(String),
    /// All that is not taken and why; nothing: nothing any more.
    NotTaken(Reasons),
}

/// Has this process stand back: it reads one file for a board that runs.
pub fn stand_back() {
    use rustix::process::{Resource, Rlimit, setrlimit};
    super::lower_priority();
    let bound = Rlimit { current: Some(MOST_MEMORY), maximum: Some(MOST_MEMORY) };
    if let Err(reason) = setrlimit(Resource::As, bound) {
        tracing::debug!(%reason, "memory is not bounded");
    }
}

/// What is watched, and what its files are read with.
#[derive(Debug, Clone, PartialEq, Eq)]
struct Watched {
    folder: PathBuf,
    data: PathBuf,
    profiles: Option<PathBuf>,
}

/// The folder that is watched, if one is.
#[derive(Debug)]
pub struct OrderFolder {
    set: Option<Sender<Option<Watched>>>,
    watched: Option<Watched>,
    tell: UnboundedSender<FolderNews>,
    told: Option<UnboundedReceiver<FolderNews>>,
    /// What was told last that is not taken.
    pub not_taken: Reasons,
}

impl Default for OrderFolder {
    fn default() -> Self {
        let (tell, told) = unbounded_channel();
        Self { set: None, watched: None, tell, told: Some(told), not_taken: Reasons::default() }
    }
}

impl OrderFolder {
    /// What is told, once.
    pub fn take_told(&mut self) -> Option<UnboundedReceiver<FolderNews>> {
        self.told.take()
    }

    /// Watches a folder from now on, or none. Whatever the profiles say else may have changed: what was not taken is tried
    /// again.
    pub fn set(&mut self, folder: Option<&str>, data: &Path, profiles: Option<&Path>) {
        self.watched = folder.map(|folder| Watched {
            folder: folder.into(),
            data: data.to_owned(),
            profiles: profiles.map(Path::to_owned),
        });
        if self.set.is_none() && self.watched.is_some() {
            self.set = start(self.tell.clone());
        }
        self.try_again();
    }

    /// Tries what was not taken once more: what stood against it may be gone.
    pub fn try_again(&self) {
        if let Some(set) = &self.set {
            // A thread that has gone down has said so.
            drop(set.send(self.watched.clone()));
        }
    }
}

fn start(tell: UnboundedSender<FolderNews>) -> Option<Sender<Option<Watched>>> {
    let (set, settings) = channel();
    let again = tell.clone();
    let work = move || {
        let mut thread = FolderThread {
            tell,
            watched: None,
            seen: BTreeMap::new(),
            writers: None,
            told: Reasons::default(),
        };
        if catch_panic(|| thread.work(&settings)).is_none() {
            let text = "the folder of orders is not looked into any more: its thread ended by a panic, the log says more";
            // The loop may have ended already.
            drop(again.send(FolderNews::NotTaken(text.to_owned().into())));
        }
    };
    match std::thread::Builder::new().name("orders".into()).spawn(work) {
        Ok(_) => Some(set),
        Err(reason) => {
            tracing::warn!(%reason, "no thread to look into the folder of orders");
            None
        }
    }
}

/// A file that lies in the folder.
struct Seen {
    stamp: Stamp,
    since: Up,
    /// When it was read last.
    read: Option<Up>,
    /// Why it is not taken.
    why: Reasons,
}

/// What became of a file.
enum Became {
    Taken(String),
    NotTaken(Reasons),
    /// It was written meanwhile.
    Changed,
}

/// The thread's own state.
struct FolderThread {
    tell: UnboundedSender<FolderNews>,
    watched: Option<Watched>,
    seen: BTreeMap<PathBuf, Seen>,
    writers: Option<Writers>,
    told: Reasons,
}

impl FolderThread {
    fn work(&mut self, settings: &Receiver<Option<Watched>>) {
        loop {
            match settings.recv_timeout(LOOK) {
                Ok(watched) => {
                    self.watched = watched;
                    self.seen.clear();
                    self.writers = None;
                }
                Err(RecvTimeoutError::Timeout) => {}
                Err(RecvTimeoutError::Disconnected) => return,
            }
            let not_taken = match self.watched.clone() {
                Some(watched) => self.look(&watched).unwrap_or_else(Reasons::from),
                None => Reasons::default(),
            };
            if self.told != not_taken {
                self.told.clone_from(&not_taken);
                if self.tell.send(FolderNews::NotTaken(not_taken)).is_err() {
                    return;
                }
            }
        }
    }

    /// Looks into the folder once; all that is not taken, or why nothing can be.
    fn look(&mut self, watched: &Watched) -> Result<Reasons, String> {
        let folder = &watched.folder;
        let files = usable(watched).and_then(|()| files(folder));
        let files = files.map_err(|why| format!("{}: {why}", folder.display()))?;
        Writers::keep(&mut self.writers, folder);
        self.seen.retain(|path, _| files.iter().any(|(there, _)| there == path));
        for (path, stamp) in files {
            let up = clock::up();
            let seen = self.seen.entry(path.clone()).or_insert_with(|| Seen::new(stamp, up));
            if seen.stamp != stamp {
                *seen = Seen::new(stamp, up);
            }
            let is_whole = up.since(seen.since) >= SETTLES;
            let writes = self.writers.as_ref().is_some_and(|writers| writers.write(&path));
            if !is_whole || writes || seen.read.is_some_and(|read| up.since(read) < AGAIN) {
                continue;
            }
            seen.read = Some(up);
            match taken(watched, &path, stamp) {
                Became::Changed => *seen = Seen::new(stamp, clock::up()),
                Became::NotTaken(why) => {
                    if seen.why != why {
                        tracing::info!(?why, "a file in the folder of orders is not taken");
                    }
                    seen.why = why;
                }
                Became::Taken(text) => {
                    tracing::info!(text, "a file in the folder of orders was taken");
                    // The loop may have ended already.
                    drop(self.tell.send(FolderNews::Taken(text)));
                }
            }
        }
        let mut not_taken = Reasons::default();
        self.seen.values().for_each(|seen| not_taken.add(&seen.why));
        Ok(not_taken)
    }
}

impl Seen {
    fn new(stamp: Stamp, since: Up) -> Self {
        Self { stamp, since, read: None, why: Reasons::default() }
    }
}

/// Whether files can be taken from a folder.
fn usable(watched: &Watched) -> Result<(), String> {
    let folder = &watched.folder;
    let there = std::fs::canonicalize(folder).map_err(|reason| {
        format!("{reason}: make the folder of orders, or name another in station.ron under tables")
    })?;
    if std::fs::canonicalize(&watched.data).is_ok_and(|data| there.starts_with(data)) {
        return Err(
            "only the board writes in its data directory: name another folder of orders".into()
        );
    }
    rustix::fs::access(folder, rustix::fs::Access::WRITE_OK).map_err(|_| {
        "the board may not move files here, and takes none: give its user the right to write in the folder".to_owned()
    })
}

/// Every file of the folder that may hold orders, by name.
fn files(folder: &Path) -> Result<Vec<(PathBuf, Stamp)>, String> {
    let entries = std::fs::read_dir(folder).map_err(|reason| reason.to_string())?;
    let mut paths: Vec<PathBuf> = entries.flatten().map(|entry| entry.path()).collect();
    paths.retain(|path| !is_passed_over(path));
    paths.sort();
    let there = |path: PathBuf| {
        let there = std::fs::symlink_metadata(&path).ok().filter(|there| !there.is_dir())?;
        Some((path, Stamp::of(&there)))
    };
    Ok(paths.into_iter().filter_map(there).take(MOST_FILES).collect())
}

fn is_passed_over(path: &Path) -> bool {
    let name = path.file_name().unwrap_or_default().to_string_lossy();
    let end = path.extension().unwrap_or_default().to_string_lossy().to_ascii_lowercase();
    name.starts_with(['.', '~']) || name.ends_with(['~', '#']) || PASSED_OVER.contains(&&*end)
}

/// Has a file read, and moves it once all that it holds is in the inbox.
fn taken(watched: &Watched, path: &Path, stamp: Stamp) -> Became {
    let name = clean(&path.file_name().unwrap_or_default().to_string_lossy(), 40);
    let not_taken = |why: &str| Became::NotTaken(format!("{name}: {why}").into());
    if !std::fs::symlink_metadata(path).is_ok_and(|there| there.is_file()) {
        return not_taken("it is no regular file; lay the file itself here");
    }
    let answer = match read(watched, path, stamp) {
        Ok(answer) => answer,
        Err(why) => return not_taken(&why),
    };
    if answer.changed || Stamp::at(path).ok() != Some(stamp) {
        return Became::Changed;
    }
    if !answer.not_taken.is_empty() {
        return Became::NotTaken(answer.not_taken);
    }
    match moved(path, &watched.folder, stamp) {
        Ok(None) => Became::Changed,
        Ok(Some(there)) => {
            let orders = match (answer.laid.len(), answer.known.len()) {
                (0, _) => "all of it was taken before".to_owned(),
                (laid, 0) => format!("{} taken", counted(laid, "order")),
                (laid, known) => format!("{} taken, {known} before", counted(laid, "order")),
            };
            let there = there.file_name().unwrap_or_default().to_string_lossy().into_owned();
            Became::Taken(format!(
                "{name}: {orders}; the file is now {TAKEN}/{}",
                clean(&there, 40)
            ))
        }
        Err(reason) => not_taken(&format!(
            "its orders are taken, and it cannot be moved to {TAKEN} ({reason}): move it away by hand"
        )),
    }
}

/// Moves a file that was taken; None where another had come in its place, which is laid back. Where the taken ones go is
/// open to whoever the folder is open to.
fn moved(path: &Path, above: &Path, stamp: Stamp) -> std::io::Result<Option<PathBuf>> {
    let folder = &above.join(TAKEN);
    if !folder.is_dir() {
        private::directory(folder)?;
        let mode = std::fs::metadata(above)?.permissions().mode();
        std::fs::set_permissions(folder, std::fs::Permissions::from_mode(mode))?;
    }
    let there = new_file::move_into(path, folder)?;
    if Stamp::at(&there)?.is_renamed(stamp) {
        return Ok(Some(there));
    }
    // Where a third has come under its name, that one stays too.
    if new_file::name_once(&there, path).is_err() {
        new_file::move_into(&there, above)?;
    }
    private::sync_name(&there);
    private::sync_name(path);
    Ok(None)
}

/// Has a file read by our own program, as it was at its stamp.
fn read(watched: &Watched, path: &Path, stamp: Stamp) -> Result<Answer, String> {
    /// The most bytes of an answer.
    const MOST: u64 = 1 << 24;
    let place = new_file::passing_folder().map_err(|reason| reason.to_string())?;
    let answer = place.path().join("answer.json");
    let mut arguments = vec!["take".into(), path.to_owned(), "--for-board".into(), answer.clone()];
    arguments.extend(["--stamp".into(), stamp.to_string().into()]);
    arguments.extend(["--data".into(), watched.data.clone()]);
    arguments.extend(watched.profiles.iter().flat_map(|own| ["--profiles".into(), own.clone()]));
    let arguments: Option<Vec<String>> =
        arguments.iter().map(|one| one.to_str().map(str::to_owned)).collect();
    let arguments = arguments.ok_or("its name is not in UTF-8: give it another")?;
    // By this name it is the very program that runs, also where another has taken its place since.
    let ended =
        Guarded::run("/proc/self/exe", &arguments, HANGS).map_err(|reason| reason.to_string())?;
    if ended.is_none() {
        return Err(format!(
            "reading it took over {} s: save it as CSV, with the rows of the orders alone",
            HANGS.as_secs()
        ));
    }
    let text = private::read_small(&answer, MOST).map_err(|_| {
        "it cannot be read, its sheet may be far too large: save it as CSV, with the rows of the orders alone".to_owned()
    })?;
    serde_json::from_str(&text).map_err(|wrong| wrong.to_string())
}

#[cfg(test)]
mod tests {
    use std::fs;

    use super::*;

    #[test]
    fn a_file_that_came_in_the_place_of_a_taken_one_is_laid_back() {
        let place = new_file::passing_folder().unwrap();
        let path = place.path().join("orders.csv");
        fs::write(&path, "order,count\nHarbour choir,2\n").unwrap();
        let read = Stamp::at(&path).unwrap();
        let other = place.path().join("other");
        fs::write(&other, "order,count\nLantern walk,3\n").unwrap();
        fs::rename(&other, &path).unwrap();
        assert_eq!(moved(&path, place.path(), read).unwrap(), None);
        assert!(fs::read_to_string(&path).unwrap().contains("Lantern walk"));
        // Itself it is moved.
        let there = moved(&path, place.path(), Stamp::at(&path).unwrap()).unwrap();
        assert_eq!(there, Some(place.path().join("taken/orders.csv")));
        assert!(!path.exists());
    }

    #[test]
    fn a_stamp_is_read_as_it_is_written() {
        let stamp = Stamp::at(Path::new("/")).unwrap();
        assert_eq!(stamp.to_string().parse(), Ok(stamp));
        for wrong in ["", "1,2,3", "1,2,3,4,5,6,7,8", "1,2,3,4,5,6,x", "-1,2,3,4,5,6,7"] {
            assert!(wrong.parse::<Stamp>().is_err(), "{wrong}");
        }
    }
}
