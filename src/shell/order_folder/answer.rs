//! What whoever reads a file answers.

use serde::{Deserialize, Serialize};

/// As JSON.
#[derive(Debug, Default, Serialize, Deserialize)]
pub struct Answer {
    /// The orders that were laid in the inbox, by name.
    pub laid: Vec<String>,
    /// Those that are queued or were taken in before.
    pub known: Vec<String>,
    /// What is not taken, and why: with the file's name and line.
    pub not_taken: Reasons,
    /// It is not the file that was to be read, or was written while it was read: nothing was laid.
    pub changed: bool,
}

/// Why something is not taken: nobody reads all that is wrong with a table whose every row is.
#[derive(Debug, Clone, Default, PartialEq, Eq, Serialize, Deserialize)]
pub struct Reasons {
    /// The first of it, line by line.
    pub first: Vec<String>,
    /// How many lines there are besides.
    pub more: usize,
    /// The first date of it that could be two, with its file.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub doubtful: Option<String>,
}

impl Reasons {
    /// The most lines that are kept of one file.
    const MOST: usize = 20;

    /// One more.
    pub fn say(&mut self, why: String) {
        if self.first.len() < Self::MOST {
            self.first.push(why);
        } else {
            self.more += 1;
        }
    }

    /// Whether nothing stands against it.
    pub fn is_empty(&self) -> bool {
        self.first.is_empty()
    }

    /// Those of another file, with all that was kept of them.
    pub(super) fn add(&mut self, other: &Self) {
        self.first.extend_from_slice(&other.first);
        self.more += other.more;
        self.doubtful = self.doubtful.take().or_else(|| other.doubtful.clone());
    }
}

impl From<String> for Reasons {
    fn from(why: String) -> Self {
        Self { first: vec![why], ..Self::default() }
    }
}
