//! Garments of orders that all stations share: asked of the hub, taken in as an order of this station once they are
//! granted. Without the hub none is taken, and what this station has goes on.

use super::Board;
use crate::screen::elsewhere::Hub;
use crate::screen::keymap::Deed;
use crate::screen::ui::{HubStanding, Tone};
use crate::shell::hub::memory::own_number;
use crate::shell::hub::neighbours::LatestWord;
use crate::shell::hub::parts::PartAnswer;
use crate::shop::facts::fact::PartOf;
use crate::shop::facts::moment::Moment;
use crate::shop::facts::words::counted;
use crate::shop::floor::shared::Word;
use crate::shop::rules::command::Command;
use crate::shop::rules::shared::{Granted, HeardWord, PartWanted, SharedLine};

impl Board {
    /// Asks the hub for so many garments of a line of a shared order.
    pub(super) fn ask_for_part(&mut self, wanted: PartWanted, at: Moment) {
        let PartWanted { of, line, count } = wanted;
        if self.ui.elsewhere.asked.is_some() {
            return self.ui.say(Tone::Refused, "the hub is being asked already: one at a time", at);
        }
        let courier = self.at_hub.courier.as_ref();
        let Some(courier) = courier.filter(|_| self.ui.elsewhere.hub == Hub::There) else {
            let text = format!(
                "nothing of {of} is taken: the hub cannot be asked, and it alone sees to it that no two take the same. \
                 This station's own orders go on"
            );
            return self.ui.say(Tone::Refused, text, at);
        };
        if !self.takes_rows() {
            let text = format!(
                "nothing of {of} is taken: the hub takes no rows of this station now, so the others would not hear of it. \
                 This station's own orders go on"
            );
            return self.ui.say(Tone::Refused, text, at);
        }
        let grant = format!("{}-{}-{}", self.station, self.shop.seq(), own_number());
        let asked = PartOf { of, line, count, grant };
        match courier.ask_for(asked.clone()) {
            Ok(()) => {
                self.ui.elsewhere.asked = Some(asked);
                let what = counted(u64::from(count), "garment");
                self.ui.say(Tone::Note, format!("the hub is asked for {what} of {of}"), at);
            }
            Err(reason) => {
                self.ui.say(Tone::Refused, format!("the hub was not asked: {reason}"), at);
            }
        }
    }

    /// The hub has answered, or has not.
    pub(super) fn part_answered(&mut self, asked: PartOf, answer: PartAnswer, now: Moment) {
        self.ui.elsewhere.asked = None;
        let of = asked.of;
        let text = match answer {
            PartAnswer::Granted { .. } => return self.granted(asked, now),
            PartAnswer::FewerLeft { left: 0 } => {
                format!("{of}: all of it is taken, or it was cancelled")
            }
            PartAnswer::FewerLeft { left } => {
                format!("{of}: {left} left, not {}: nothing is taken, ask for fewer", asked.count)
            }
            PartAnswer::Unknown => {
                format!("the hub does not know {of} yet, or it was taken back: nothing is taken")
            }
            PartAnswer::Lacking => format!(
                "{of}: the hub is of an older dwell, nothing is taken: its owner runs `dwell hub prepare` of this version"
            ),
            PartAnswer::Unanswered(reason) => format!(
                "the hub gave no answer for {of}: if it has granted them, they come here by themselves. {reason}"
            ),
        };
        self.ui.say(Tone::Refused, text, now);
    }

    /// Whether what is taken in here comes to the hub. An old primary may grant, and so may the hub to a machine that was
    /// replaced: nobody would hear that it makes them.
    fn takes_rows(&self) -> bool {
        self.ui.hub.is_some_and(HubStanding::takes_rows)
    }

    /// The hub has granted garments to this station: they are an order of its own as soon as it takes rows of it.
    pub(super) fn granted(&mut self, part: PartOf, now: Moment) {
        if !self.at_hub.granted.contains(&part) {
            self.at_hub.granted.push(part);
        }
        self.take_granted(now);
    }

    /// What is granted is taken in, where the hub takes rows of this station; else it stays for then.
    pub(super) fn take_granted(&mut self, now: Moment) {
        if self.takes_rows() {
            let granted = self.at_hub.granted.clone();
            granted.into_iter().for_each(|part| self.take_part_in(part, now));
        }
    }

    fn take_part_in(&mut self, part: PartOf, now: Moment) {
        if self.shop.has_part(&part.grant) {
            return;
        }
        let all = self.ui.elsewhere.shared.with(&self.shop);
        // The order's own row may come later than the grant.
        let Some(form) = all.laid(part.of).cloned() else { return };
        self.state(Command::TakePart(Box::new(Granted { part, form })), now);
    }

    /// A word on a shared order counts at the hub. What this station has said since goes before it until that is there.
    pub(super) fn hear_word(&mut self, latest: LatestWord, own_upto: u64, now: Moment) {
        let LatestWord { order, kind, by, word } = latest;
        let own = self.shop.said_of(order, &kind);
        if own.is_some_and(|own| own.seq > own_upto) {
            return;
        }
        let is_it = |word: &Word| (word.station, word.seq) == (by.station, by.seq);
        let Some(word) = word.or(own).filter(is_it) else { return };
        let bench = self.ui.elsewhere.bench(&self.shop, by.station).name;
        let heard = HeardWord { order, life: by.life, word, bench };
        let command = Command::HearWord(Box::new(heard));
        // What is no business of this station's, or counts already, is nothing to say.
        if self.shop.judge(&command).is_ok() {
            self.state(command, now);
        }
    }

    /// Parts that are made here of orders that a station has cancelled for all.
    pub(super) fn cancelled_parts(&self) -> Vec<String> {
        let all = self.ui.elsewhere.shared.with(&self.shop);
        let own = self.shop.id();
        let cancelled = all.lines().filter(|line| line.cancelled);
        let parts =
            cancelled.flat_map(|line| line.parts.into_iter().map(move |one| (line.order, one)));
        let open = parts.filter(|(_, (part, _))| {
            let order = self.shop.order(*part).filter(|_| part.station == own);
            order.is_some_and(|order| !order.cancelled && self.shop.is_open(order))
        });
        let key = self.ui.keys.key(Deed::ChangeOrder);
        open.map(|(of, (part, _))| {
            format!(
                "{of} IS CANCELLED FOR ALL STATIONS: order {} here is of it: {key} takes it off",
                part.no
            )
        })
        .collect()
    }

    /// Lines of shared orders of which stations make more than they ask for: a hub had lost a grant.
    pub(super) fn too_many_taken(&self) -> Vec<String> {
        let elsewhere = &self.ui.elsewhere;
        let all = elsewhere.shared.with(&self.shop);
        let too_many = |line: SharedLine<'_>| {
            let own = self.shop.id();
            let by = line.by_station().into_iter().map(|(station, count)| match station == own {
                true => format!("{count} here"),
                false => format!("{count} at {}", elsewhere.bench(&self.shop, station)),
            });
            let by = by.collect::<Vec<_>>().join(", ");
            (line.over() > 0).then(|| {
                let SharedLine { order, line: n, wanted, .. } = line;
                format!(
                    "TOO MANY OF {order}, line {}: {wanted} wanted, {} taken ({by}). Agree who makes fewer, and take them \
                     off the order there",
                    n + 1,
                    line.taken()
                )
            })
        };
        all.lines().filter_map(too_many).collect()
    }
}
