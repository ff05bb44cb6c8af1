//! What the board knows of the shop's other stations: whoever hears of them fills it in, and nothing stands there where no
//! hub is. The screen only asks.

use std::collections::BTreeMap;
use std::fmt;
use std::sync::Arc;

use crate::shop::Shop;
use crate::shop::facts::fact::PartOf;
use crate::shop::facts::ids::{Neighbour, StationId, Tag};
use crate::shop::rules::command::Handover;
use crate::shop::rules::shared::{SharedBoard, SharedLine};

/// Whether other stations can be heard of.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub enum Hub {
    /// This station's profile names none.
    #[default]
    None,
    /// It cannot be asked now.
    CutOff,
    There,
}

/// What comes with a garment of another station, by its tag; None of one that nobody keeps.
pub type Keeps = Arc<dyn Fn(Tag) -> Option<Handover> + Send + Sync>;

/// What the board knows of the other stations.
#[derive(Clone, Default)]
pub struct Elsewhere {
    pub hub: Hub,
    /// What they are called.
    pub names: BTreeMap<StationId, String>,
    pub keeps: Option<Keeps>,
    /// What they say of orders that all stations share.
    pub shared: SharedBoard,
    /// Garments of one that the hub is being asked for.
    pub asked: Option<PartOf>,
}

impl Elsewhere {
    /// What comes with a garment that another station keeps, as far as it was heard.
    pub fn handover(&self, tag: Tag) -> Option<Handover> {
        self.keeps.as_ref().and_then(|keeps| keeps(tag))
    }

    /// "6 here, 3 at South bench": who makes how many of a line of a shared order; None where nobody does.
    pub fn makers(&self, line: &SharedLine<'_>, shop: &Shop) -> Option<String> {
        let by = line.by_station().into_iter().map(|(station, count)| {
            if station == shop.id() {
                return format!("{count} here");
            }
            format!("{count} at {}", self.bench(shop, station))
        });
        let by: Vec<String> = by.collect();
        (!by.is_empty()).then(|| by.join(", "))
    }

    /// Another station, by the name that it has now, else by the one that it had when a garment came from it.
    pub fn bench(&self, shop: &Shop, station: StationId) -> Neighbour {
        match self.names.get(&station) {
            Some(name) => Neighbour { station, name: name.clone() },
            None => shop.neighbour(station),
        }
    }
}

impl fmt::Debug for Elsewhere {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.debug_struct("Elsewhere").field("hub", &self.hub).field("names", &self.names).finish()
    }
}
