//! What became of the files in the folder of orders.

use std::collections::HashSet;

use super::{Board, Next, Source};
use crate::screen::ui::Tone;
use crate::shell::order_folder::FolderNews;
use crate::shell::profiles::Profiles;
use crate::shop::facts::fact::{Event, Fact};

impl Board {
    /// Looks into the folder that the profile names: from the profile alone, never from a journal, that may come from
    /// anywhere.
    pub(super) fn go_by_order_folder(&mut self, profiles: &Profiles) {
        let Source::Writes { data, .. } = &self.source else { return };
        let tables = profiles.station.tables.as_ref();
        let folder = tables.and_then(|tables| tables.folder.as_deref());
        self.order_folder.set(folder, data, profiles.directory.as_deref());
    }

    /// A file was taken, or another is not.
    pub fn order_folder_tells(&mut self, news: FolderNews) -> Next {
        let now = self.clock.now();
        match news {
            FolderNews::Taken(text) => self.ui.say(Tone::Done, text, now),
            FolderNews::NotTaken(reasons) => {
                let known: HashSet<&String> = self.order_folder.not_taken.first.iter().collect();
                if let Some(first) = reasons.first.iter().find(|line| !known.contains(line)) {
                    self.ui.say(Tone::Refused, format!("NOT TAKEN: {first}"), now);
                }
                self.ui.doubtful_date.clone_from(&reasons.doubtful);
                self.order_folder.not_taken = reasons;
                self.put_up_banners(now);
            }
        }
        Next::Draw
    }

    /// Somebody has said what stands first in a date: files that waited for it are read again.
    pub(super) fn dates_are_said(&mut self, event: &Event) {
        if matches!(event.fact, Fact::DatesSaid(_)) {
            self.ui.doubtful_date = None;
            self.order_folder.try_again();
        }
    }

    /// What stands in the folder and is not taken: the first of it, and how much more there is.
    pub(super) fn order_folder_banner(&self) -> Option<String> {
        let not_taken = &self.order_folder.not_taken;
        let (first, others) = not_taken.first.split_first()?;
        Some(match others.len() + not_taken.more {
            0 => format!("NOT TAKEN: {first}"),
            more => format!(
                "NOT TAKEN: {first} (and {more} more: `dwell take FILE --preview` shows them)"
            ),
        })
    }
}
