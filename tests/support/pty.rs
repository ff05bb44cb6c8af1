//! The real program in a real pseudo terminal: keys go in as bytes, what it draws is read by a terminal
//! emulator on a thread of its own, with the moment at which it came.

use std::cell::Cell;
use std::io::{Read, Write};
use std::num::NonZeroU16;
use std::sync::{Arc, Mutex, MutexGuard, PoisonError};
use std::time::{Duration, Instant};

use portable_pty::{Child, CommandBuilder, MasterPty, PtySize, native_pty_system};

use crate::bench::Bench;
use crate::eye;
use crate::program::{dwell, environment as own};
use crate::waiting::{wait, wait_within};

/// How soon a board ends that was left.
const SOON: Duration = Duration::from_secs(10);
/// A key means what the screen said when it was struck, and nobody answers a picture sooner than this: the program
/// itself knows only a moment later that it stands.
const REACTION: Duration = Duration::from_millis(120);
/// Keys closer than 60 ms are a scan, so a person's are further apart.
const BETWEEN_KEYS: Duration = Duration::from_millis(85);
/// The same key is deaf for 700 ms after it acted, by the moment at which the program reads it.
const BETWEEN_SAME: Duration = Duration::from_millis(1100);

/// What has come out of the program so far.
struct Seen {
    parser: vt100::Parser,
    raw: Vec<u8>,
    /// While the size runs wild nobody can say what the emulator would show.
    blind: bool,
    /// Nobody reads what comes out.
    stalled: bool,
    /// The reader lets go of the terminal at the next byte.
    lets_go: bool,
    ended: bool,
    /// Each message that stood on the screen while the bar said "saved", in turn.
    saved: Vec<String>,
    /// What the screen said after so many bytes, big letters read.
    read: (usize, String),
}

/// The program in its terminal.
pub struct Pty {
    master: Option<Box<dyn MasterPty + Send>>,
    writer: Option<Box<dyn Write + Send>>,
    child: Box<dyn Child + Send + Sync>,
    seen: Arc<Mutex<Seen>>,
    keys: Vec<(Vec<u8>, Instant)>,
    /// When the screen was last found to be as it was wanted.
    read: Cell<Instant>,
    /// The flags of the terminal's line before the program took it over.
    pub before: Option<u64>,
}

fn parser(columns: u16, rows: u16) -> vt100::Parser {
    let size = |n| NonZeroU16::new(n).unwrap();
    vt100::Parser::new(size(rows), size(columns), 0)
}

fn extent(columns: u16, rows: u16) -> PtySize {
    PtySize { rows, cols: columns, pixel_width: 0, pixel_height: 0 }
}

fn lock(seen: &Mutex<Seen>) -> MutexGuard<'_, Seen> {
    seen.lock().unwrap_or_else(PoisonError::into_inner)
}

impl Pty {
    /// Opens the board of a bench at 80x24 and waits until it stands.
    pub fn board(bench: &Bench) -> Self {
        let pty = Self::start(bench, &[], &[]);
        pty.wait_for("[Bench]");
        pty
    }

    /// Opens the board of a bench over an order of two and leaves it: the journal has begun.
    pub fn begin(bench: &Bench) {
        bench.take(2);
        let mut pty = Self::board(bench);
        pty.wait_for("2 blanks");
        pty.wait_saved();
        assert_eq!(pty.leave(), 0);
    }

    /// Opens the board under a umask.
    pub fn under_umask(bench: &Bench, umask: u32) -> Self {
        let mut command = CommandBuilder::new("/bin/sh");
        command.args(["-c", &format!("umask {umask:o}; exec \"$0\""), dwell()]);
        Self::spawn(bench, command, &[])
    }

    /// Starts the program with these arguments and this much more in its environment.
    pub fn start(bench: &Bench, arguments: &[&str], environment: &[(&str, &str)]) -> Self {
        let mut command = CommandBuilder::new(dwell());
        command.args(arguments);
        Self::spawn(bench, command, environment)
    }

    /// Starts another program, which starts this one.
    pub fn of(
        bench: &Bench,
        program: &str,
        arguments: &[&str],
        environment: &[(&str, &str)],
    ) -> Self {
        let mut command = CommandBuilder::new(program);
        command.args(arguments);
        Self::spawn(bench, command, environment)
    }

    fn spawn(bench: &Bench, mut command: CommandBuilder, environment: &[(&str, &str)]) -> Self {
        let pair = native_pty_system().openpty(extent(80, 24)).unwrap();
        command.env_clear();
        for (name, value) in own() {
            command.env(name, value);
        }
        command.env("TERM", "xterm-256color");
        command.env("HOME", bench.home());
        command.env("DWELL_DATA", bench.data());
        command.env("DWELL_PROFILES", bench.profiles());
        for (name, value) in environment {
            command.env(name, value);
        }
        command.cwd(bench.root.path());
        let before = line_flags(&*pair.master);
        let child = pair.slave.spawn_command(command).unwrap();
        drop(pair.slave);
        let seen = Arc::new(Mutex::new(Seen {
            parser: parser(80, 24),
            raw: Vec::new(),
            blind: false,
            stalled: false,
            lets_go: false,
            ended: false,
            saved: Vec::new(),
            read: (0, String::new()),
        }));
        let reader = pair.master.try_clone_reader().unwrap();
        let shared = Arc::clone(&seen);
        std::thread::spawn(move || listen(reader, &shared));
        let writer = pair.master.take_writer().unwrap();
        Self {
            master: Some(pair.master),
            writer: Some(writer),
            child,
            seen,
            keys: Vec::new(),
            read: Cell::new(Instant::now()),
            before,
        }
    }

    /// What stands on the screen, its big letters read as they are from afar.
    pub fn contents(&self) -> String {
        let mut seen = lock(&self.seen);
        let bytes = seen.raw.len();
        if seen.read.0 != bytes {
            seen.read = (bytes, read(seen.parser.screen()));
        }
        seen.read.1.clone()
    }

    /// Every byte that came out.
    pub fn raw(&self) -> Vec<u8> {
        lock(&self.seen).raw.clone()
    }

    /// The messages that stood on the screen while the bar said "saved".
    pub fn saved(&self) -> Vec<String> {
        lock(&self.seen).saved.clone()
    }

    /// Waits until the screen is as wanted; returns it.
    pub fn wait_until(&self, what: &str, wanted: impl Fn(&str) -> bool) -> String {
        let vain = || format!("{what:?}; on the screen:\n{}", self.contents());
        let found = wait(vain, || {
            // Asked first: what a program draws before its end counts.
            let ended = lock(&self.seen).ended;
            let contents = self.contents();
            let found = wanted(&contents);
            assert!(found || !ended, "it ended before {what:?}; on the screen:\n{contents}");
            found.then_some(contents)
        });
        let found = self.whole(found, wanted);
        self.read.set(Instant::now());
        found
    }

    /// The screen once nothing more of its frame comes: what was found may be half of it. Where it is not as wanted any
    /// more by then, it is as it was found.
    fn whole(&self, found: String, wanted: impl Fn(&str) -> bool) -> String {
        const GAP: Duration = Duration::from_millis(15);
        let bytes = || lock(&self.seen).raw.len();
        for _ in 0..20 {
            let before = bytes();
            std::thread::sleep(GAP);
            if bytes() == before {
                let contents = self.contents();
                return if wanted(&contents) { contents } else { found };
            }
        }
        found
    }

    /// Waits until a text stands on the screen.
    pub fn wait_for(&self, text: &str) -> String {
        self.wait_until(text, |contents| contents.contains(text))
    }

    /// Waits until a garment stands somewhere with its step, in big letters or small ones; returns the screen.
    pub fn wait_for_step(&self, words: &str) -> String {
        let wanted = words.to_lowercase();
        self.wait_until(words, |contents| contents.to_lowercase().contains(&wanted))
    }

    /// Waits until everything that was done is in the journal.
    pub fn wait_saved(&self) {
        self.wait_until("saved", |contents| {
            contents.lines().next().is_some_and(|bar| bar.trim_end().ends_with(" saved"))
        });
    }

    /// Sends bytes at once, as a scanner does, or something that falls onto the keyboard.
    pub fn burst(&mut self, bytes: &[u8]) -> Instant {
        let writer = self.writer.as_mut().unwrap();
        writer.write_all(bytes).unwrap();
        writer.flush().unwrap();
        let now = Instant::now();
        self.keys.push((bytes.to_vec(), now));
        now
    }

    /// Strikes a key as a person does; returns when.
    pub fn key(&mut self, bytes: &[u8]) -> Instant {
        let last = self.keys.last().map(|(_, at)| *at + BETWEEN_KEYS);
        let same = self.keys.iter().rev().find(|(key, _)| key == bytes);
        let read = Some(self.read.get() + REACTION);
        let ready = read.max(last).max(same.map(|(_, at)| *at + BETWEEN_SAME));
        if let Some(wait) = ready.and_then(|at| at.checked_duration_since(Instant::now())) {
            std::thread::sleep(wait);
        }
        self.burst(bytes)
    }

    /// Strikes several keys, one after the other.
    pub fn keys(&mut self, keys: &str) {
        for key in keys.bytes() {
            self.key(&[key]);
        }
    }

    /// Strikes a key until its act shows. Where the machine stood still before the board could read it, the board says so
    /// and does nothing: then it is struck again.
    pub fn act(&mut self, key: &[u8], shows: &str) {
        const LATE: &str = "the board stood still";
        loop {
            self.key(key);
            let wanted = |contents: &str| contents.contains(shows) || contents.contains(LATE);
            if self.wait_until(shows, wanted).contains(shows) {
                return;
            }
            self.wait_until("that word's end", |contents| !contents.contains(LATE));
        }
    }

    /// Changes the terminal's size.
    pub fn resize(&mut self, columns: u16, rows: u16) {
        let mut seen = lock(&self.seen);
        if !seen.blind {
            seen.parser = parser(columns, rows);
            seen.read = (0, String::new());
        }
        self.master.as_ref().unwrap().resize(extent(columns, rows)).unwrap();
    }

    /// Whether what comes out is only counted, not shown.
    pub fn set_blind(&self, blind: bool) {
        lock(&self.seen).blind = blind;
    }

    /// Whether nobody reads what comes out, as over a line that hangs.
    pub fn set_stalled(&self, stalled: bool) {
        lock(&self.seen).stalled = stalled;
    }

    /// How often the bell has rung.
    pub fn bells(&self) -> usize {
        self.raw().iter().filter(|byte| **byte == 0x07).count()
    }

    /// The pages of memory that the program has resident now.
    pub fn resident(&self) -> u64 {
        let statm = format!("/proc/{}/statm", self.id());
        let text = std::fs::read_to_string(statm).unwrap();
        text.split_whitespace().nth(1).unwrap().parse().unwrap()
    }

    /// The number of the program.
    pub fn id(&self) -> u32 {
        self.child.process_id().unwrap()
    }

    /// Whether the program still runs.
    pub fn runs(&mut self) -> bool {
        self.child.try_wait().unwrap().is_none()
    }

    /// Sends a signal to the program.
    pub fn signal(&self, signal: rustix::process::Signal) {
        let id = i32::try_from(self.id()).unwrap();
        rustix::process::kill_process(rustix::process::Pid::from_raw(id).unwrap(), signal).unwrap();
    }

    /// Takes the terminal away, as when its window is closed.
    pub fn hang_up(&mut self) {
        lock(&self.seen).lets_go = true;
        // What it draws wakes the reader, which then lets go as well.
        self.burst(b"\x0c");
        self.read_to_end();
        drop(self.writer.take());
        drop(self.master.take());
    }

    /// Waits for the end of the program, which on a free machine comes within a span; its exit code.
    pub fn end_within(&mut self, span: Duration) -> u32 {
        let Self { child, seen, .. } = self;
        let vain = || format!("its end; on the screen:\n{}", lock(seen).parser.screen().contents());
        wait_within(span, vain, || Some(child.try_wait().unwrap()?.exit_code()))
    }

    /// Leaves by the keys, and waits until everything that came out has been read. Where the machine stood still between
    /// the keys, the board says so and does nothing: then they are struck again.
    pub fn leave(&mut self) -> u32 {
        let code = loop {
            self.key(b"q");
            self.wait_for("y leaves, any other key stays");
            self.key(b"y");
            let Self { child, seen, .. } = self;
            let vain =
                || format!("its end; on the screen:\n{}", lock(seen).parser.screen().contents());
            let ended = wait_within(SOON, vain, || {
                let stood_still =
                    lock(seen).parser.screen().contents().contains("the board stood still");
                match child.try_wait().unwrap() {
                    Some(status) => Some(Some(status.exit_code())),
                    None => stood_still.then_some(None),
                }
            });
            match ended {
                Some(code) => break code,
                None => self.key(b" "),
            };
        };
        self.read_to_end();
        code
    }

    /// Waits until the last byte has been read of a program that has ended.
    pub fn read_to_end(&self) {
        wait(|| "the last byte".into(), || lock(&self.seen).ended.then_some(()));
    }

    /// Kills the program as a pulled plug would: it has no say in it.
    pub fn kill(&mut self) {
        self.signal(rustix::process::Signal::KILL);
        self.child.wait().unwrap();
        self.read_to_end();
    }

    /// The flags of the terminal's line now.
    pub fn line_flags(&self) -> Option<u64> {
        line_flags(&**self.master.as_ref()?)
    }
}

/// A test that fails leaves no program behind.
impl Drop for Pty {
    fn drop(&mut self) {
        if self.child.try_wait().is_ok_and(|ended| ended.is_none()) {
            self.signal(rustix::process::Signal::KILL);
            let _ = self.child.wait();
        }
    }
}

fn line_flags(master: &dyn MasterPty) -> Option<u64> {
    master.get_termios().map(|termios| u64::from(termios.local_flags.bits()))
}

/// The screen as text with its big letters read.
fn read(screen: &vt100::Screen) -> String {
    let (rows, columns) = screen.size();
    let (rows, columns) = (rows.get(), columns.get());
    let mut dots = eye::Dots::none(usize::from(columns), usize::from(rows));
    // The bar at the top is all ground.
    for (row, column) in (1..rows).flat_map(|row| (0..columns).map(move |column| (row, column))) {
        let Some(cell) = screen.cell(row, column) else { continue };
        // Red and blue are grounds, on which the dots are white.
        let ground = matches!(cell.bgcolor(), vt100::Color::Default | vt100::Color::Idx(0 | 1 | 4));
        let place = (usize::from(column), usize::from(row));
        dots.put(place, cell.contents(), !ground || cell.inverse());
    }
    let text: Vec<String> = screen.rows(0, columns).collect();
    eye::with_words(&text, &dots)
}

/// Reads what the program draws until the terminal is gone.
fn listen(mut reader: Box<dyn Read + Send>, seen: &Mutex<Seen>) {
    let mut bytes = [0; 65536];
    loop {
        while lock(seen).stalled {
            std::thread::sleep(Duration::from_millis(5));
        }
        // The end of the program is an error here, not an end of file.
        let read = reader.read(&mut bytes).unwrap_or(0);
        let mut seen = lock(seen);
        seen.raw.extend_from_slice(&bytes[..read]);
        if read > 0 && !seen.blind {
            seen.parser.process(&bytes[..read]);
            note_saved(&mut seen);
        }
        if read == 0 || seen.lets_go {
            drop(reader);
            seen.ended = true;
            return;
        }
    }
}

/// Keeps the message on the screen if the bar says "saved" beside it, once a frame is whole: each ends with the shift
/// to the usual character set.
fn note_saved(seen: &mut Seen) {
    if !seen.raw.ends_with(b"\x0f") {
        return;
    }
    let rows: Vec<String> = seen.parser.screen().rows(0, 80).collect();
    let [bar, .., message, _question, _footer] = rows.as_slice() else { return };
    let message = message.trim();
    let is_saved = bar.trim_end().ends_with(" saved") && !message.is_empty();
    if is_saved && seen.saved.last().is_none_or(|last| last != message) {
        seen.saved.push(message.to_owned());
    }
}
