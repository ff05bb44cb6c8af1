//! The requests of the kernel, answered from what the disk holds.

use std::ffi::OsStr;
use std::sync::{Arc, MutexGuard};
use std::time::{Duration, SystemTime};

use fuser::{
    BsdFileFlags, Errno, FileAttr, FileHandle, FileType, Filesystem, FopenFlags, Generation,
    INodeNo, LockOwner, OpenAccMode, OpenFlags, RenameFlags, ReplyAttr, ReplyCreate, ReplyData,
    ReplyDirectory, ReplyEmpty, ReplyEntry, ReplyOpen, ReplyStatfs, ReplyWrite, Request, TimeOrNow,
    WriteFlags,
};

use super::store::{Content, File, Folder, Node, Store};
use super::{Fault, Hold, Shared, State};

/// Nothing is remembered by the kernel: what is asked twice is answered twice.
const AT_ONCE: Duration = Duration::ZERO;

/// One mount of the disk.
pub struct Plug {
    pub shared: Arc<Shared>,
    pub number: u64,
}

/// Answers with nothing but success or failure.
pub fn done(reply: ReplyEmpty, answer: Result<(), Errno>) {
    match answer {
        Ok(()) => reply.ok(),
        Err(wrong) => reply.error(wrong),
    }
}

impl Plug {
    /// The disk's state once this request may go on.
    fn enter(&self) -> Result<MutexGuard<'_, State>, Errno> {
        let mut state = self.shared.state();
        state.waiting += 1;
        while state.hold == Hold::Everything && state.plug == Some(self.number) {
            state = self.shared.changed.wait(state).unwrap_or_else(|wrong| wrong.into_inner());
        }
        state.waiting -= 1;
        state.gate(self.number)?;
        Ok(state)
    }

    /// The same, for a request that changes something.
    fn enter_to_change(&self) -> Result<MutexGuard<'_, State>, Errno> {
        let mut state = self.enter()?;
        state.changes()?;
        Ok(state)
    }

    fn look(&self, parent: u64, name: &OsStr) -> Result<FileAttr, Errno> {
        let state = self.enter()?;
        let folder = state.store.folder(parent).ok_or(Errno::ENOTDIR)?;
        attributes(&state.store, folder.get(name).ok_or(Errno::ENOENT)?)
    }

    fn make(
        &self,
        parent: u64,
        name: &OsStr,
        content: Content,
        mode: u32,
    ) -> Result<FileAttr, Errno> {
        let mut state = self.enter_to_change()?;
        let folder = state.store.folder(parent).ok_or(Errno::ENOTDIR)?;
        if folder.get(name).is_some() {
            return Err(Errno::EEXIST);
        }
        let mode = u16::try_from(mode & 0o7777).unwrap_or(0);
        let number = state.store.make(parent, name, content, mode).ok_or(Errno::ENOTDIR)?;
        attributes(&state.store, number)
    }

    fn remove(&self, parent: u64, name: &OsStr) -> Result<(), Errno> {
        let mut state = self.enter_to_change()?;
        let folder = state.store.folder(parent).ok_or(Errno::ENOTDIR)?;
        let number = folder.get(name).ok_or(Errno::ENOENT)?;
        if state.store.folder(number).is_some_and(|folder| !folder.is_empty()) {
            return Err(Errno::ENOTEMPTY);
        }
        let folder = state.store.folder_mut(parent).ok_or(Errno::ENOTDIR)?;
        folder.change(vec![(name.to_owned(), None)]);
        Ok(())
    }

    fn read_file(&self, number: u64, offset: u64, size: u32) -> Result<Vec<u8>, Errno> {
        let mut state = match self.enter() {
            Ok(state) => state,
            // The shared memory of SQLite is read through a mapping: the kernel keeps its pages.
            Err(wrong) => {
                let state = self.shared.state();
                let shared = state.store.find("data/journal.sqlite-shm") == Some(number);
                return if shared { bytes(&state, number, offset, size) } else { Err(wrong) };
            }
        };
        let is_journal = state.store.find("data/journal.sqlite") == Some(number);
        if state.fault == Fault::Reads && is_journal && offset + u64::from(size) > 4096 {
            state.failures += 1;
            return Err(Errno::EIO);
        }
        bytes(&state, number, offset, size)
    }

    fn set(&self, number: u64, mode: Option<u32>, size: Option<u64>) -> Result<FileAttr, Errno> {
        let mut state = self.enter_to_change()?;
        let node = state.store.node_mut(number).ok_or(Errno::ENOENT)?;
        if let Some(mode) = mode {
            node.mode = u16::try_from(mode & 0o7777).unwrap_or(0);
        }
        if let Some(size) = size {
            let file = state.store.file_mut(number).ok_or(Errno::EISDIR)?;
            file.set_len(usize::try_from(size).unwrap());
        }
        attributes(&state.store, number)
    }

    fn sync(&self, number: u64, reply: ReplyEmpty) {
        match self.enter() {
            Ok(mut state) if state.hold == Hold::Syncs => state.held.push((number, reply)),
            Ok(mut state) => done(reply, state.sync(number)),
            Err(wrong) => reply.error(wrong),
        }
    }
}

fn bytes(state: &State, number: u64, offset: u64, size: u32) -> Result<Vec<u8>, Errno> {
    let file = state.store.file(number).ok_or(Errno::EISDIR)?;
    let place = |n: u64| usize::try_from(n).unwrap();
    Ok(file.read(place(offset), place(u64::from(size))).to_vec())
}

fn kind(node: &Node) -> FileType {
    match node.content {
        Content::File(_) => FileType::RegularFile,
        Content::Folder(_) => FileType::Directory,
    }
}

fn attributes(store: &Store, number: u64) -> Result<FileAttr, Errno> {
    let node = store.node(number).ok_or(Errno::ENOENT)?;
    let size = match &node.content {
        Content::File(file) => file.len() as u64,
        Content::Folder(_) => 0,
    };
    let then = SystemTime::UNIX_EPOCH;
    Ok(FileAttr {
        ino: INodeNo(number),
        size,
        blocks: size.div_ceil(512),
        atime: then,
        mtime: then,
        ctime: then,
        crtime: then,
        kind: kind(node),
        perm: node.mode,
        nlink: 1,
        uid: rustix::process::getuid().as_raw(),
        gid: rustix::process::getgid().as_raw(),
        rdev: 0,
        blksize: 4096,
        flags: 0,
    })
}

impl Filesystem for Plug {
    fn lookup(&self, _: &Request, parent: INodeNo, name: &OsStr, reply: ReplyEntry) {
        match self.look(parent.0, name) {
            Ok(found) => reply.entry(&AT_ONCE, &found, Generation(0)),
            Err(wrong) => reply.error(wrong),
        }
    }

    fn getattr(&self, _: &Request, ino: INodeNo, _: Option<FileHandle>, reply: ReplyAttr) {
        match self.enter().and_then(|state| attributes(&state.store, ino.0)) {
            Ok(found) => reply.attr(&AT_ONCE, &found),
            Err(wrong) => reply.error(wrong),
        }
    }

    fn setattr(
        &self,
        _: &Request,
        ino: INodeNo,
        mode: Option<u32>,
        _uid: Option<u32>,
        _gid: Option<u32>,
        size: Option<u64>,
        _atime: Option<TimeOrNow>,
        _mtime: Option<TimeOrNow>,
        _ctime: Option<SystemTime>,
        _fh: Option<FileHandle>,
        _crtime: Option<SystemTime>,
        _chgtime: Option<SystemTime>,
        _bkuptime: Option<SystemTime>,
        _flags: Option<BsdFileFlags>,
        reply: ReplyAttr,
    ) {
        match self.set(ino.0, mode, size) {
            Ok(found) => reply.attr(&AT_ONCE, &found),
            Err(wrong) => reply.error(wrong),
        }
    }

    fn mkdir(
        &self,
        _: &Request,
        parent: INodeNo,
        name: &OsStr,
        mode: u32,
        _umask: u32,
        reply: ReplyEntry,
    ) {
        match self.make(parent.0, name, Content::Folder(Folder::default()), mode) {
            Ok(made) => reply.entry(&AT_ONCE, &made, Generation(0)),
            Err(wrong) => reply.error(wrong),
        }
    }

    fn unlink(&self, _: &Request, parent: INodeNo, name: &OsStr, reply: ReplyEmpty) {
        done(reply, self.remove(parent.0, name));
    }

    fn rmdir(&self, _: &Request, parent: INodeNo, name: &OsStr, reply: ReplyEmpty) {
        done(reply, self.remove(parent.0, name));
    }

    fn rename(
        &self,
        _: &Request,
        parent: INodeNo,
        name: &OsStr,
        newparent: INodeNo,
        newname: &OsStr,
        _flags: RenameFlags,
        reply: ReplyEmpty,
    ) {
        let rename = || {
            let mut state = self.enter_to_change()?;
            if parent != newparent {
                return Err(Errno::EXDEV);
            }
            let folder = state.store.folder_mut(parent.0).ok_or(Errno::ENOTDIR)?;
            let node = folder.get(name).ok_or(Errno::ENOENT)?;
            folder.change(vec![(name.to_owned(), None), (newname.to_owned(), Some(node))]);
            Ok(())
        };
        done(reply, rename());
    }

    fn open(&self, _: &Request, _: INodeNo, flags: OpenFlags, reply: ReplyOpen) {
        let opened = self.enter().and_then(|mut state| {
            let reads = flags.acc_mode() == OpenAccMode::O_RDONLY;
            if reads || state.fault != Fault::ReadOnly { Ok(()) } else { state.changes() }
        });
        match opened {
            Ok(()) => reply.opened(FileHandle(0), FopenFlags::empty()),
            Err(wrong) => reply.error(wrong),
        }
    }

    fn read(
        &self,
        _: &Request,
        ino: INodeNo,
        _: FileHandle,
        offset: u64,
        size: u32,
        _: OpenFlags,
        _: Option<LockOwner>,
        reply: ReplyData,
    ) {
        match self.read_file(ino.0, offset, size) {
            Ok(bytes) => reply.data(&bytes),
            Err(wrong) => reply.error(wrong),
        }
    }

    fn write(
        &self,
        _: &Request,
        ino: INodeNo,
        _: FileHandle,
        offset: u64,
        data: &[u8],
        _: WriteFlags,
        _: OpenFlags,
        _: Option<LockOwner>,
        reply: ReplyWrite,
    ) {
        let written = self.enter_to_change().and_then(|mut state| {
            let file = state.store.file_mut(ino.0).ok_or(Errno::ENOENT)?;
            file.write(usize::try_from(offset).unwrap(), data);
            Ok(())
        });
        match written {
            Ok(()) => reply.written(u32::try_from(data.len()).unwrap()),
            Err(wrong) => reply.error(wrong),
        }
    }

    fn flush(&self, _: &Request, _: INodeNo, _: FileHandle, _: LockOwner, reply: ReplyEmpty) {
        reply.ok();
    }

    fn fsync(&self, _: &Request, ino: INodeNo, _: FileHandle, _: bool, reply: ReplyEmpty) {
        self.sync(ino.0, reply);
    }

    fn fsyncdir(&self, _: &Request, ino: INodeNo, _: FileHandle, _: bool, reply: ReplyEmpty) {
        self.sync(ino.0, reply);
    }

    fn readdir(
        &self,
        _: &Request,
        ino: INodeNo,
        _: FileHandle,
        offset: u64,
        mut reply: ReplyDirectory,
    ) {
        let state = match self.enter() {
            Ok(state) => state,
            Err(wrong) => return reply.error(wrong),
        };
        let Some(folder) = state.store.folder(ino.0) else { return reply.error(Errno::ENOTDIR) };
        let skip = usize::try_from(offset).unwrap();
        for ((name, number), next) in folder.entries().zip(1..).skip(skip) {
            let Some(node) = state.store.node(number) else { continue };
            if reply.add(INodeNo(number), next, kind(node), name) {
                break;
            }
        }
        reply.ok();
    }

    fn statfs(&self, _: &Request, _: INodeNo, reply: ReplyStatfs) {
        reply.statfs(1 << 20, 1 << 19, 1 << 19, 1 << 20, 1 << 19, 4096, 255, 4096);
    }

    fn create(
        &self,
        _: &Request,
        parent: INodeNo,
        name: &OsStr,
        mode: u32,
        _umask: u32,
        _flags: i32,
        reply: ReplyCreate,
    ) {
        match self.make(parent.0, name, Content::File(File::default()), mode) {
            Ok(made) => {
                let flags = FopenFlags::empty();
                reply.created(&AT_ONCE, &made, Generation(0), FileHandle(0), flags);
            }
            Err(wrong) => reply.error(wrong),
        }
    }
}
