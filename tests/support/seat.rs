//! A program in a pty, and what stands on its screen.

use std::io::{Read, Write};
use std::num::NonZero;
use std::sync::mpsc::{Receiver, channel};
use std::time::{Duration, Instant};

use portable_pty::{Child, CommandBuilder, MasterPty, PtySize, native_pty_system};

/// A program that runs in a pty of its own.
pub struct Seat {
    child: Box<dyn Child + Send + Sync>,
    keys: Box<dyn Write + Send>,
    bytes: Receiver<Vec<u8>>,
    screen: vt100::Parser,
    _master: Box<dyn MasterPty + Send>,
}

impl Seat {
    /// Starts a program at a size, in an empty environment but for a home of its own.
    pub fn start(words: &[&str], home: &std::path::Path, (columns, rows): (u16, u16)) -> Self {
        let size = PtySize { rows, cols: columns, pixel_width: 0, pixel_height: 0 };
        let pair = native_pty_system().openpty(size).unwrap();
        let mut command = CommandBuilder::new(words[0]);
        command.env_clear();
        command.args(&words[1..]);
        command.env("HOME", home);
        command.env("TERM", "xterm-256color");
        command.cwd(home);
        let child = pair.slave.spawn_command(command).unwrap();
        drop(pair.slave);
        let mut reader = pair.master.try_clone_reader().unwrap();
        let keys = pair.master.take_writer().unwrap();
        let (sender, bytes) = channel();
        std::thread::spawn(move || {
            let mut room = [0; 65_536];
            while let Ok(read @ 1..) = reader.read(&mut room) {
                if sender.send(room[..read].to_vec()).is_err() {
                    break;
                }
            }
        });
        let cells = |count: u16| NonZero::new(count).unwrap();
        let screen = vt100::Parser::new(cells(rows), cells(columns), 0);
        Self { child, keys, bytes, screen, _master: pair.master }
    }

    /// Strikes a key and waits until the screen is as wanted; how long that took.
    pub fn strike(&mut self, key: &[u8], wanted: impl Fn(&vt100::Screen) -> bool) -> Duration {
        self.settle(Duration::ZERO);
        assert!(!wanted(self.screen.screen()), "it is so before the key");
        let started = Instant::now();
        self.keys.write_all(key).unwrap();
        self.keys.flush().unwrap();
        self.wait_for(wanted);
        started.elapsed()
    }

    /// Waits until the screen is as wanted.
    pub fn wait_for(&mut self, wanted: impl Fn(&vt100::Screen) -> bool) {
        const PATIENCE: Duration = Duration::from_secs(10);
        let started = Instant::now();
        while !wanted(self.screen.screen()) {
            let left = PATIENCE.saturating_sub(started.elapsed());
            match self.bytes.recv_timeout(left) {
                Ok(bytes) => self.screen.process(&bytes),
                Err(_) => panic!("it never came:\n{}", self.screen.screen().contents()),
            }
        }
    }

    /// Takes in what is drawn for a while.
    pub fn settle(&mut self, span: Duration) {
        let started = Instant::now();
        loop {
            match self.bytes.recv_timeout(span.saturating_sub(started.elapsed())) {
                Ok(bytes) => self.screen.process(&bytes),
                Err(_) => return,
            }
        }
    }

    /// Takes in what is drawn for a while: the bytes that came, and those of the cells that they changed.
    pub fn watch(&mut self, span: Duration) -> (usize, usize) {
        let cells = |screen: &vt100::Screen| -> Vec<(String, vt100::Color, vt100::Color, bool)> {
            let (rows, columns) = screen.size();
            let all = (0..u16::from(rows))
                .flat_map(|row| (0..u16::from(columns)).map(move |column| (row, column)));
            all.filter_map(|(row, column)| screen.cell(row, column))
                .map(|cell| {
                    (cell.contents().to_owned(), cell.fgcolor(), cell.bgcolor(), cell.inverse())
                })
                .collect()
        };
        let (mut sent, mut changed) = (0, 0);
        let mut before = cells(self.screen.screen());
        let started = Instant::now();
        while let Ok(bytes) = self.bytes.recv_timeout(span.saturating_sub(started.elapsed())) {
            sent += bytes.len();
            self.screen.process(&bytes);
            let after = cells(self.screen.screen());
            let news = before.iter().zip(&after).filter(|(before, after)| before != after);
            changed += news.map(|(_, after)| after.0.len().max(1)).sum::<usize>();
            before = after;
        }
        (sent, changed)
    }

    /// The program's number.
    pub fn pid(&self) -> u32 {
        self.child.process_id().unwrap()
    }

    /// What stands on the screen.
    pub fn contents(&self) -> String {
        self.screen.screen().contents()
    }
}

impl Drop for Seat {
    fn drop(&mut self) {
        // It may have ended by itself.
        let _ = self.child.kill();
        let _ = self.child.wait();
    }
}
