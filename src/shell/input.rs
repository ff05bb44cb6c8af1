//! What comes in to the loop: keys and signals, and what its threads have to tell.

use super::board::planning::Planned;
use super::clerk::ClerkNews;
use super::follower::News;
use super::hub::courier::CourierNews;
use super::hub::neighbours::NeighbourNews;
use super::journal::Progress;
use super::keyboard::Struck;
use super::order_folder::FolderNews;
use super::painter::Drawn;
use super::profiles::{FileError, Profiles};
use super::serial;
use crate::screen::act::LookRequest;
use crate::shop::facts::order::Artwork;

/// Everything that can come in.
#[derive(Debug)]
pub(super) enum Input {
    Struck(Struck),
    Drawn(Drawn),
    Saved(Progress),
    /// An errand on the disk has brought something.
    Clerk(ClerkNews),
    /// Something became of a file in the folder of orders.
    Orders(FolderNews),
    /// A scale or a probe with a cable.
    Cable(serial::InstrumentNews),
    /// The courier to the hub has told something.
    Courier(CourierNews),
    /// Something was heard of the shop's other stations.
    Neighbours(NeighbourNews),
    /// Something was heard of the journal that a view follows.
    News(News),
    Profiles(Box<Result<Profiles, FileError>>),
    /// An artwork was looked at.
    Looked(Box<(LookRequest, Result<Option<Artwork>, String>)>),
    /// A plan was made.
    Planned(Planned),
    /// Labels were given to the printer's program, or not.
    Labels(Result<String, String>),
    /// A garment's story was read.
    Traced(Result<Vec<String>, String>),
    Resized,
    /// Asked to stop for a while, as with Ctrl-Z.
    Stop,
    Continued,
    /// Asked to end, by a signal.
    End,
    /// A thread of ours has panicked.
    Broken(&'static str),
}

impl Input {
    /// Whether it asks the board to end.
    pub(super) fn is_end(&self) -> bool {
        matches!(self, Input::End)
    }
}
