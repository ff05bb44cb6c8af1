//! A way to a server that a test can break: it cuts, goes deaf, or swallows answers, and leads elsewhere.

use std::io::{Read, Write};
use std::net::{Shutdown, TcpListener, TcpStream};
use std::sync::Arc;
use std::sync::atomic::{AtomicU8, AtomicU16, Ordering};
use std::time::Duration;

const PASS: u8 = 0;
const CUT: u8 = 1;
const STALL: u8 = 2;
const SWALLOW: u8 = 3;

/// How soon a change is heard of by what is under way.
const LOOK: Duration = Duration::from_millis(10);

/// It listens on 127.0.0.1 for as long as the test runs.
pub struct Proxy {
    port: u16,
    state: Arc<State>,
}

struct State {
    mode: AtomicU8,
    target: AtomicU16,
}

impl Proxy {
    /// A way to a port of this machine.
    pub fn to(target: u16) -> Self {
        let listener = TcpListener::bind("127.0.0.1:0").unwrap();
        let port = listener.local_addr().unwrap().port();
        let state = Arc::new(State { mode: AtomicU8::new(PASS), target: AtomicU16::new(target) });
        let heard = Arc::clone(&state);
        std::thread::spawn(move || {
            for client in listener.incoming().flatten() {
                if heard.mode.load(Ordering::SeqCst) == CUT {
                    continue;
                }
                let target = heard.target.load(Ordering::SeqCst);
                if let Ok(server) = TcpStream::connect(("127.0.0.1", target)) {
                    carry(&client, &server, &heard, false);
                    carry(&server, &client, &heard, true);
                }
            }
        });
        Self { port, state }
    }

    pub fn port(&self) -> u16 {
        self.port
    }

    /// All goes through.
    pub fn pass(&self) {
        self.state.mode.store(PASS, Ordering::SeqCst);
    }

    /// What is open is closed, and nothing new comes through.
    pub fn cut(&self) {
        self.state.mode.store(CUT, Ordering::SeqCst);
    }

    /// Nothing moves, and nothing is closed.
    pub fn stall(&self) {
        self.state.mode.store(STALL, Ordering::SeqCst);
    }

    /// What is sent arrives, what is answered does not.
    pub fn swallow_answers(&self) {
        self.state.mode.store(SWALLOW, Ordering::SeqCst);
    }

    /// Leads to another port from the next connection on; those that are open end.
    pub fn lead_to(&self, target: u16) {
        self.cut();
        std::thread::sleep(LOOK * 5);
        self.state.target.store(target, Ordering::SeqCst);
        self.pass();
    }
}

/// Carries what comes from one to the other, on a thread of its own.
fn carry(from: &TcpStream, to: &TcpStream, state: &Arc<State>, are_answers: bool) {
    let (mut from, mut to) = (from.try_clone().unwrap(), to.try_clone().unwrap());
    let state = Arc::clone(state);
    from.set_read_timeout(Some(LOOK)).unwrap();
    std::thread::spawn(move || {
        let mut bytes = [0; 65536];
        loop {
            let mode = state.mode.load(Ordering::SeqCst);
            if mode == CUT {
                break;
            }
            if mode == STALL {
                std::thread::sleep(LOOK);
                continue;
            }
            match from.read(&mut bytes) {
                Ok(0) => break,
                Ok(_) if are_answers && state.mode.load(Ordering::SeqCst) == SWALLOW => {}
                Ok(count) => {
                    if to.write_all(&bytes[..count]).is_err() {
                        break;
                    }
                }
                Err(reason) if reason.kind() == std::io::ErrorKind::WouldBlock => {}
                Err(_) => break,
            }
        }
        // The other direction ends by it; one that has ended already is no matter.
        drop(from.shutdown(Shutdown::Both));
        drop(to.shutdown(Shutdown::Both));
    });
}
