//! Which files of the inbox were taken in: the same one is never taken twice.

use std::collections::VecDeque;

use serde::{Deserialize, Serialize};

/// The most that are kept in mind.
const MOST: usize = 1000;

/// The newest files that were taken in, by the names that their facts have, oldest first.
#[derive(Debug, Clone, Default, PartialEq, Eq, Serialize, Deserialize)]
pub struct TakenFiles(VecDeque<String>);

impl TakenFiles {
    /// Whether a file was taken in.
    pub fn has(&self, file: &str) -> bool {
        self.0.iter().any(|known| known == file)
    }

    /// All of them.
    pub fn all(&self) -> impl Iterator<Item = &str> {
        self.0.iter().map(String::as_str)
    }

    pub(in crate::shop) fn remember(&mut self, file: &str) {
        self.0.push_back(file.to_owned());
        if self.0.len() > MOST {
            self.0.pop_front();
        }
    }
}
