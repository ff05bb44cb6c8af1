//! What a store owes: it may forget what it has not reported as saved, never what it has.

use dwell::shop::facts::fact::Event;

use super::step::Fault;

/// A store that a simulated shop writes to.
pub trait Store {
    /// Takes the events of one act.
    fn hand(&mut self, act: Vec<Event>);
    /// Something goes wrong from now on, or right again.
    fn meet(&mut self, fault: Fault);
    /// Every event up to this one has been reported as saved.
    fn reported(&mut self) -> u64;
    /// What lies in the store, in order. None where nobody can look at the moment.
    fn rows(&self) -> Option<Result<Vec<Event>, String>>;
    /// The process ends without a word. So many of a hundred acts that were never reported are kept all the same;
    /// afterwards a new process has the store open, and no fault stands.
    fn crash(&mut self, kept: u8);
}

/// How many of so many acts `kept` of a hundred are.
pub fn share(acts: usize, kept: u8) -> usize {
    acts * usize::from(kept) / 100
}

/// A store without a disk: what the promise says and nothing else. Makes days of shop time a second.
#[derive(Default)]
pub struct Memory {
    saved: Vec<Event>,
    /// Acts that are not saved, oldest first.
    waiting: Vec<Vec<Event>>,
    fault: Option<Fault>,
}

impl Memory {
    /// Forgets its newest event: for a test of the laws.
    pub fn forget_last(&mut self) {
        self.saved.pop();
    }
}

impl Store for Memory {
    fn hand(&mut self, act: Vec<Event>) {
        self.waiting.push(act);
        if self.fault.is_none() {
            self.saved.extend(self.waiting.drain(..).flatten());
        }
    }

    fn meet(&mut self, fault: Fault) {
        self.fault = Some(fault).filter(|fault| *fault != Fault::Heals);
        if self.fault.is_none() {
            self.saved.extend(self.waiting.drain(..).flatten());
        }
    }

    fn reported(&mut self) -> u64 {
        self.saved.len() as u64
    }

    fn rows(&self) -> Option<Result<Vec<Event>, String>> {
        Some(Ok(self.saved.clone()))
    }

    fn crash(&mut self, kept: u8) {
        let kept = share(self.waiting.len(), kept);
        self.saved.extend(self.waiting.drain(..).take(kept).flatten());
        self.waiting.clear();
        self.fault = None;
    }
}
