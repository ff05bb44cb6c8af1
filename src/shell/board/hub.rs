//! What the courier tells the board: a word beside `saved`, and a banner where a hand is needed. Nothing waits for it.

use tokio::sync::mpsc::UnboundedReceiver;

use super::{Board, Next, Source};
use crate::screen::ui::Tone;
use crate::shell::hub::Courier;
use crate::shell::hub::courier::CourierNews;
use crate::shop::facts::station::HubProfile;

/// The courier, where the profile names a hub, and what it wants a hand for.
#[derive(Default)]
pub(super) struct AtHub {
    courier: Option<Courier>,
    banner: Option<String>,
}

impl Board {
    /// Goes by the hub of a profile: no thread where there is none. One that waits for a hand tries again.
    pub(super) fn go_by_hub(&mut self, profile: Option<&HubProfile>) {
        let Source::Writes { writer, data, .. } = &self.source else { return };
        let at_hub = &mut self.at_hub;
        let goes_on = |courier: &Courier| profile.is_some_and(|profile| courier.goes_on(profile));
        if at_hub.courier.as_ref().is_some_and(goes_on) {
            return;
        }
        *at_hub = AtHub::default();
        self.ui.hub = None;
        let Some(profile) = profile else { return };
        match Courier::start(data, profile, writer.progress()) {
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
                self.at_hub.banner = banner;
                self.put_up_banners(now);
            }
            CourierNews::Contested(tags) => {
                let tags = tags.join(", ");
                let text = format!("{tags}: another station has taken this too. Look where it is");
                self.ui.say(Tone::Note, text, now);
            }
        }
        Next::Draw
    }

    pub(super) fn hub_banner(&self) -> Option<String> {
        self.at_hub.banner.clone()
    }
}
