//! What a disk holds: each file as it is read now and as it would be found after a power cut.
//!
//! Kept in pages, as the kernel keeps them. A sync makes the pages of a file safe that were written since the last
//! one. At a cut each page that was not synced is lost, or found as some write had left it: later writes may
//! survive earlier ones, so what lies beyond a sync is torn. Changes of a directory survive in their order.

use std::collections::{BTreeMap, BTreeSet};
use std::ffi::{OsStr, OsString};

use crate::random::Random;

/// Bytes of a page.
const PAGE: usize = 4096;

/// The number of the root directory.
pub const ROOT: u64 = 1;

/// The contents of a file.
#[derive(Default)]
pub struct File {
    now: Vec<u8>,
    safe: Vec<u8>,
    /// Pages that were written since the last sync, each as every write left it.
    dirty: BTreeMap<usize, Vec<Vec<u8>>>,
}

impl File {
    pub fn len(&self) -> usize {
        self.now.len()
    }

    pub fn read(&self, offset: usize, size: usize) -> &[u8] {
        let from = offset.min(self.now.len());
        &self.now[from..(from + size).min(self.now.len())]
    }

    pub fn write(&mut self, offset: usize, bytes: &[u8]) {
        let end = offset + bytes.len();
        self.now.resize(self.now.len().max(end), 0);
        self.now[offset..end].copy_from_slice(bytes);
        for page in offset / PAGE..end.div_ceil(PAGE) {
            let content = self.page(page);
            self.dirty.entry(page).or_default().push(content);
        }
    }

    pub fn set_len(&mut self, len: usize) {
        self.now.resize(len, 0);
        self.dirty.retain(|page, _| page * PAGE < len);
    }

    fn page(&self, page: usize) -> Vec<u8> {
        self.now[page * PAGE..((page + 1) * PAGE).min(self.now.len())].to_vec()
    }

    fn sync(&mut self) {
        self.safe.resize(self.now.len(), 0);
        for page in std::mem::take(&mut self.dirty).into_keys() {
            let content = self.page(page);
            self.safe[page * PAGE..page * PAGE + content.len()].copy_from_slice(&content);
        }
    }

    /// A failed sync: the pages count as clean from here on and are still read, but never come to the disk unless
    /// they are written again. This is how Linux has it.
    fn fail_to_sync(&mut self) {
        self.dirty.clear();
    }

    fn cut(&mut self, random: &mut Random) {
        let len = if random.below(2) == 0 { self.safe.len() } else { self.now.len() };
        self.safe.resize(len, 0);
        for (page, versions) in std::mem::take(&mut self.dirty) {
            // None of them, as often as any one of them.
            let chosen = usize::try_from(random.below(versions.len() as u64 + 1)).unwrap();
            let Some(content) = versions.get(chosen) else { continue };
            let from = (page * PAGE).min(len);
            let to = (page * PAGE + content.len()).min(len);
            self.safe[from..to].copy_from_slice(&content[..to - from]);
        }
        self.now = self.safe.clone();
    }
}

/// A change of a directory: names that came (with a node) or went (without one), all at once or not at all.
type Change = Vec<(OsString, Option<u64>)>;

/// What a directory names.
#[derive(Default)]
pub struct Folder {
    now: BTreeMap<OsString, u64>,
    safe: BTreeMap<OsString, u64>,
    unsynced: Vec<Change>,
}

impl Folder {
    pub fn entries(&self) -> impl Iterator<Item = (&OsString, u64)> {
        self.now.iter().map(|(name, node)| (name, *node))
    }

    pub fn is_empty(&self) -> bool {
        self.now.is_empty()
    }

    pub fn get(&self, name: &OsStr) -> Option<u64> {
        self.now.get(name).copied()
    }

    pub fn change(&mut self, change: Change) {
        apply(&mut self.now, &change);
        self.unsynced.push(change);
    }

    fn sync(&mut self) {
        self.safe = self.now.clone();
        self.unsynced.clear();
    }

    fn cut(&mut self, random: &mut Random) {
        let survive = usize::try_from(random.below(self.unsynced.len() as u64 + 1)).unwrap();
        for change in self.unsynced.drain(..).take(survive) {
            apply(&mut self.safe, &change);
        }
        self.now = self.safe.clone();
    }
}

fn apply(names: &mut BTreeMap<OsString, u64>, change: &Change) {
    for (name, node) in change {
        match node {
            Some(node) => names.insert(name.clone(), *node),
            None => names.remove(name),
        };
    }
}

/// A file or a directory.
pub enum Content {
    File(File),
    Folder(Folder),
}

/// One of them, with its permissions.
pub struct Node {
    pub content: Content,
    pub mode: u16,
}

/// Everything on the disk.
pub struct Store {
    nodes: BTreeMap<u64, Node>,
    last: u64,
}

impl Default for Store {
    fn default() -> Self {
        let root = Node { content: Content::Folder(Folder::default()), mode: 0o755 };
        Self { nodes: BTreeMap::from([(ROOT, root)]), last: ROOT }
    }
}

impl Store {
    pub fn node(&self, number: u64) -> Option<&Node> {
        self.nodes.get(&number)
    }

    pub fn node_mut(&mut self, number: u64) -> Option<&mut Node> {
        self.nodes.get_mut(&number)
    }

    pub fn file(&self, number: u64) -> Option<&File> {
        match &self.nodes.get(&number)?.content {
            Content::File(file) => Some(file),
            Content::Folder(_) => None,
        }
    }

    pub fn file_mut(&mut self, number: u64) -> Option<&mut File> {
        match &mut self.nodes.get_mut(&number)?.content {
            Content::File(file) => Some(file),
            Content::Folder(_) => None,
        }
    }

    pub fn folder(&self, number: u64) -> Option<&Folder> {
        match &self.nodes.get(&number)?.content {
            Content::Folder(folder) => Some(folder),
            Content::File(_) => None,
        }
    }

    pub fn folder_mut(&mut self, number: u64) -> Option<&mut Folder> {
        match &mut self.nodes.get_mut(&number)?.content {
            Content::Folder(folder) => Some(folder),
            Content::File(_) => None,
        }
    }

    /// Makes a node and names it in its directory; None where that is no directory.
    pub fn make(&mut self, folder: u64, name: &OsStr, content: Content, mode: u16) -> Option<u64> {
        let number = self.last + 1;
        self.folder_mut(folder)?.change(vec![(name.to_owned(), Some(number))]);
        self.nodes.insert(number, Node { content, mode });
        self.last = number;
        Some(number)
    }

    /// What a path from the root leads to.
    pub fn find(&self, path: &str) -> Option<u64> {
        path.split('/').try_fold(ROOT, |node, name| self.folder(node)?.get(OsStr::new(name)))
    }

    /// Makes a file's contents, or a directory's names, outlast a cut.
    pub fn sync(&mut self, number: u64) {
        match self.nodes.get_mut(&number).map(|node| &mut node.content) {
            Some(Content::File(file)) => file.sync(),
            Some(Content::Folder(folder)) => folder.sync(),
            None => {}
        }
    }

    /// The sync of a file fails.
    pub fn fail_to_sync(&mut self, number: u64) {
        if let Some(file) = self.file_mut(number) {
            file.fail_to_sync();
        }
    }

    /// The power is cut: forgets what was not synced, but for what the disk happened to have written already.
    pub fn cut(&mut self, random: &mut Random) {
        for node in self.nodes.values_mut() {
            match &mut node.content {
                Content::File(file) => file.cut(random),
                Content::Folder(folder) => folder.cut(random),
            }
        }
        // What no directory names any more is gone.
        let (mut named, mut look) = (BTreeSet::from([ROOT]), vec![ROOT]);
        while let Some(number) = look.pop() {
            let inside = self.folder(number).into_iter().flat_map(Folder::entries);
            let inside: Vec<u64> = inside.map(|(_, node)| node).collect();
            look.extend(inside.iter().filter(|node| named.insert(**node)));
        }
        self.nodes.retain(|number, _| named.contains(number));
    }
}
