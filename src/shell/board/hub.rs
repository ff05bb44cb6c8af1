//! What the courier tells the board: a word beside `saved`, and a banner where a hand is needed. Nothing waits for it.

use std::collections::BTreeSet;

use tokio::sync::mpsc::UnboundedReceiver;

use super::{Board, Next, Source};
use crate::screen::elsewhere::{Elsewhere, Hub};
use crate::screen::ui::{HubStanding, Tone};
use crate::shell::hub::courier::CourierNews;
use crate::shell::hub::memory::Memory;
use crate::shell::hub::neighbours::{NeighbourNews, Neighbours};
use crate::shell::hub::replaced::Found;
use crate::shell::hub::{Courier, Destination};
use crate::shop::facts::fact::PartOf;
use crate::shop::facts::ids::StationId;
use crate::shop::facts::station::HubProfile;
use crate::shop::facts::words::counted;
use crate::shop::rules::command::Command;
use crate::shop::rules::command::HeardWord;

/// The courier, where the profile names a hub, and what it wants a hand for.
#[derive(Default)]
pub(super) struct AtHub {
    pub(super) courier: Option<Courier>,
    neighbours: Option<Neighbours>,
    banner: Option<String>,
    /// What a start had from it, as long as that is to be said.
    at_start: Option<String>,
    /// What the hub has granted of shared orders, as it was heard last: taken in once the hub takes rows of this station.
    pub(super) granted: Vec<PartOf>,
    /// The grants that this run has given back, or has tried to.
    pub(super) given_back: BTreeSet<String>,
    /// The words on shared orders that count among the other stations.
    pub(super) words: Vec<HeardWord>,
}

impl Board {
    /// Goes by the hub of a profile: no thread where there is none. One that waits for a hand tries again.
    pub(super) fn go_by_hub(&mut self, profile: Option<&HubProfile>, station: StationId) {
        let Source::Writes { writer, data, .. } = &self.source else { return };
        let at_hub = &mut self.at_hub;
        let goes_on = |courier: &Courier| profile.is_some_and(|profile| courier.goes_on(profile));
        if at_hub.courier.as_ref().is_some_and(goes_on) {
            if self.ui.elsewhere.hub != Hub::There {
                at_hub.neighbours = profile.and_then(|profile| neighbours(station, profile));
            }
            return;
        }
        *at_hub = AtHub::default();
        self.ui.hub = None;
        self.ui.elsewhere = Elsewhere::default();
        let Some(profile) = profile else { return };
        self.ui.elsewhere.hub = Hub::CutOff;
        // Until the hub is heard of, a move names the life in which this station sent last.
        if let Some(life) = Memory::read(data).and_then(|memory| memory.hub).map(|hub| hub.life) {
            self.shop.set_life(u32::try_from(life).unwrap_or_default());
        }
        at_hub.neighbours = neighbours(station, profile);
        match Courier::start(data, (profile, station), writer.progress()) {
            Ok(courier) => at_hub.courier = Some(courier),
            Err(reason) => {
                at_hub.banner = Some(format!("NOT SENT TO THE HUB: no thread is left: {reason}"));
            }
        }
    }

    /// What a courier that was started tells, once.
    pub fn take_courier(&mut self) -> Option<UnboundedReceiver<CourierNews>> {
        self.at_hub.courier.as_mut()?.take_told()
    }

    /// What those who hear of the other stations tell, once.
    pub fn take_neighbours(&mut self) -> Option<UnboundedReceiver<NeighbourNews>> {
        self.at_hub.neighbours.as_mut()?.take_news()
    }

    /// Something was heard of the other stations.
    pub fn heard_of_neighbours(&mut self, news: NeighbourNews) -> Next {
        let Some(neighbours) = &self.at_hub.neighbours else { return Next::Stay };
        let NeighbourNews { hub, names, life, shared, words, heard } = news;
        let granted = shared.granted_to(self.shop.id());
        let (keeps, asked) = (Some(neighbours.keeps()), self.ui.elsewhere.asked.take());
        self.ui.elsewhere = Elsewhere { hub, names, keeps, shared, asked };
        if let Some(life) = life {
            self.shop.set_life(life);
        }
        let now = self.clock.now();
        for heard in heard {
            // What is no business of this station's, or known already, is nothing to say.
            let command = Command::Hear(heard);
            if self.shop.judge(&command).is_ok() {
                self.state(command, now);
            }
        }
        if hub == Hub::There {
            (self.at_hub.granted, self.at_hub.words) = (granted, words);
            self.hear_words(now);
            self.take_granted(now);
        }
        self.put_up_banners(now);
        Next::Draw
    }

    /// The courier has told something.
    pub fn courier_tells(&mut self, news: CourierNews) -> Next {
        let now = self.clock.now();
        // One that the profile has taken leave of may still have had a word on its way.
        if self.at_hub.courier.is_none() {
            return Next::Stay;
        }
        match news {
            CourierNews::Standing { standing, banner } => {
                self.ui.hub = Some(standing);
                if standing == HubStanding::Sent {
                    self.at_hub.at_start = None;
                }
                self.at_hub.banner = banner;
                self.take_granted(now);
                self.put_up_banners(now);
            }
            CourierNews::Numbers(highest) => {
                if highest.0 >= self.shop.next_order() {
                    self.state(Command::NoteNumbers { upto: highest }, now);
                }
            }
            CourierNews::Part { asked, answer } => self.part_answered(asked, answer, now),
            CourierNews::GivenBack(part) => self.part_given_back(&part, now),
            CourierNews::Contested(tags) => {
                let tags = tags.join(", ");
                let text = format!("{tags}: another station has taken this too. Look where it is");
                self.ui.say(Tone::Note, text, now);
            }
        }
        Next::Draw
    }

    /// Takes note of what a start had from the hub.
    pub fn found_at_hub(&mut self, found: &Found) {
        let now = self.clock.now();
        match found {
            // What a hand has to do is told by the courier.
            Found::Nothing | Found::Hand => {}
            Found::Fetched(count) => {
                let events = counted(usize::try_from(*count).unwrap_or(usize::MAX), "event");
                self.ui.say(
                    Tone::Done,
                    format!("{events} of this station came back from the hub"),
                    now,
                );
            }
            Found::Untaken(reason) => {
                self.at_hub.at_start = Some(format!(
                    "THE HUB HAS LATER EVENTS OF THIS STATION THAT WERE NOT TAKEN, and nothing was changed here. {reason}"
                ));
            }
            Found::Unasked(reason) => {
                self.at_hub.at_start = Some(format!(
                    "THE HUB WAS NOT ASKED whether it has more of this station. Is this machine new, or the journal \
                     restored? Start again once the hub answers. {reason}"
                ));
            }
        }
    }

    pub(super) fn hub_banners(&self) -> impl Iterator<Item = String> {
        let AtHub { banner, at_start, .. } = &self.at_hub;
        // What a hand has to do now is said first.
        let said = banner.iter().chain(at_start).cloned().collect::<Vec<_>>();
        said.into_iter().chain(self.shared_banners())
    }
}

/// Whoever hears of the other stations; without a thread for it the board knows of none.
fn neighbours(station: StationId, profile: &HubProfile) -> Option<Neighbours> {
    // A profile that was read has an address that reads.
    let to = Destination::of_profile(profile).ok()?;
    let started = Neighbours::start(station, to);
    started
        .inspect_err(|reason| tracing::warn!(%reason, "no thread to hear of other stations"))
        .ok()
}
