//! Garments of orders that all stations share: asked of the hub, taken in as an order of this station once they are
//! granted. Without the hub none is taken, and what this station has goes on.

use super::Board;
use crate::screen::elsewhere::{Elsewhere, Hub};
use crate::screen::keymap::Deed;
use crate::screen::ui::Tone;
use crate::shell::hub::memory::own_number;
use crate::shell::hub::parts::PartAnswer;
use crate::shop::Shop;
use crate::shop::facts::fact::PartOf;
use crate::shop::facts::ids::OrderId;
use crate::shop::facts::moment::Moment;
use crate::shop::facts::words::counted;
use crate::shop::rules::command::Command;
use crate::shop::rules::command::Granted;
use crate::shop::rules::shared::{PartWanted, SharedBoard, SharedLine, called};

/// Why nothing of a shared order is taken.
const CUT_OFF: &str = "the hub cannot be asked, and it alone sees to it that no two take the same";
const NOT_HEARD: &str =
    "the hub takes no rows of this station now, so the others would not hear of it";

impl Board {
    /// Asks the hub for so many garments of a line of a shared order.
    pub(super) fn ask_for_part(&mut self, wanted: PartWanted, at: Moment) {
        let PartWanted { of, line, count } = wanted;
        if self.ui.elsewhere.asked.is_some() {
            return self.ui.say(Tone::Refused, "the hub is being asked already: one at a time", at);
        }
        let called = self.called_shared(of);
        let courier = match &self.at_hub.courier {
            _ if self.ui.elsewhere.hub != Hub::There => Err(CUT_OFF),
            None => Err(CUT_OFF),
            Some(_) if !self.ui.takes_rows() => Err(NOT_HEARD),
            Some(courier) => Ok(courier),
        };
        let courier = match courier {
            Ok(courier) => courier,
            Err(why) => {
                let text =
                    format!("nothing of {called} is taken: {why}. This station's own orders go on");
                return self.ui.say(Tone::Refused, text, at);
            }
        };
        let grant = format!("{}-{}-{}", self.station, self.shop.seq(), own_number());
        let asked = PartOf { of, line, count, grant };
        match courier.ask_for(asked.clone()) {
            Ok(()) => {
                self.ui.elsewhere.asked = Some(asked);
                let what = counted(u64::from(count), "garment");
                self.ui.say(Tone::Note, format!("the hub is asked for {what} of {called}"), at);
            }
            Err(reason) => {
                self.ui.say(Tone::Refused, format!("the hub was not asked: {reason}"), at);
            }
        }
    }

    /// The hub has answered, or has not.
    pub(super) fn part_answered(&mut self, asked: PartOf, answer: PartAnswer, now: Moment) {
        let of = self.called_shared(asked.of);
        let text = match answer {
            PartAnswer::Granted { .. } => {
                // It is taken in as what was asked for.
                self.granted(asked, now);
                self.ui.elsewhere.asked = None;
                return;
            }
            PartAnswer::FewerLeft { left: 0 } => {
                format!("{of}: all of it is taken, or it was cancelled")
            }
            PartAnswer::FewerLeft { left } => {
                format!("{of}: {left} left, not {}: nothing is taken, ask for fewer", asked.count)
            }
            PartAnswer::Unknown => {
                format!("the hub does not know {of} yet: nothing is taken")
            }
            PartAnswer::Lacking => format!(
                "{of}: the hub is of an older dwell, nothing is taken: its owner runs `dwell hub prepare` of this version"
            ),
            PartAnswer::Unanswered(reason) => format!(
                "the hub gave no answer for {of}: if it has granted them, they come here by themselves. {reason}"
            ),
        };
        self.ui.elsewhere.asked = None;
        self.ui.say(Tone::Refused, text, now);
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
        if self.ui.takes_rows() {
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
        if all.is_cancelled(part.of) {
            return self.give_back(part);
        }
        if self.shop.may_make(&form, part.line).is_err() {
            return;
        }
        let is_asked = self.ui.elsewhere.asked.as_ref() == Some(&part);
        let of_it = self.at_hub.words.iter().filter(|heard| heard.order == part.of);
        let words = of_it.cloned().collect();
        let taken = self.state(Command::TakePart(Box::new(Granted { part, form, words })), now);
        if taken
            && !is_asked
            && let Some(message) = &mut self.ui.message
        {
            message.text += "; granted earlier, heard of only now";
        }
    }

    /// Nobody is to make what was granted: it is not begun here. Tried once a run: a hub that does not take it back has it
    /// said by the lead's screen.
    fn give_back(&mut self, part: PartOf) {
        let Some(courier) = &self.at_hub.courier else { return };
        if self.at_hub.given_back.insert(part.grant.clone())
            && let Err(reason) = courier.give_back(part)
        {
            tracing::warn!(%reason, "a part was not given back");
        }
    }

    /// The hub has it back.
    pub(super) fn part_given_back(&mut self, part: &PartOf, now: Moment) {
        self.at_hub.granted.retain(|one| one != part);
        let what = counted(u64::from(part.count), "garment");
        let of = self.called_shared(part.of);
        let text =
            format!("{of} is cancelled for all stations: {what} of it given back, none begun");
        self.ui.say(Tone::Note, text, now);
    }

    /// A word on a shared order that counts among the others is taken note of where it counts here too.
    pub(super) fn hear_words(&mut self, now: Moment) {
        for heard in self.at_hub.words.clone() {
            let command = Command::HearWord(Box::new(heard));
            // What is no business of this station's, or counts already, is nothing to say.
            if self.shop.judge(&command).is_ok() {
                self.state(command, now);
            }
        }
    }

    /// "A17 "Harbour choir"", as far as it is known here.
    fn called_shared(&self, of: OrderId) -> String {
        match self.ui.elsewhere.shared.laid(of) {
            Some(form) => called(of, form),
            None => self.shop.called_shared(of),
        }
    }

    /// What is to be said of shared orders for as long as it is so.
    pub(super) fn shared_banners(&self) -> Vec<String> {
        let elsewhere = &self.ui.elsewhere;
        let all = elsewhere.shared.with(&self.shop);
        let lines = all.lines();
        let too_many = lines.iter().filter_map(|line| too_many(line, elsewhere, &self.shop));
        let cancelled = lines.iter().filter(|line| line.cancelled);
        let own = |order: &&OrderId| order.station == self.shop.id();
        let here =
            cancelled.flat_map(|line| line.open.iter().filter(own).map(move |one| (line, one)));
        let key = self.ui.keys.key(Deed::ChangeOrder);
        let cancelled = here.map(|(line, order)| {
            let (of, no) = (called(line.order, line.form), order.no);
            format!(
                "{of} IS CANCELLED FOR ALL STATIONS: order {no} here is of it: {key} takes it off"
            )
        });
        too_many.chain(cancelled).chain(self.not_begun(&all)).collect()
    }

    /// What the hub has granted to this station, and cannot be taken in.
    fn not_begun(&self, all: &SharedBoard) -> impl Iterator<Item = String> {
        let lacks = |part: &PartOf| {
            let form = all.laid(part.of).filter(|_| !self.shop.has_part(&part.grant))?;
            let lacks = self.shop.may_make(form, part.line).err()?.reason;
            let (of, count) = (called(part.of, form), counted(u64::from(part.count), "garment"));
            Some(format!("{of}: {count} GRANTED TO THIS STATION ARE NOT BEGUN: {lacks}"))
        };
        self.at_hub.granted.iter().filter_map(lacks)
    }
}

/// Stations make more of a line than it asks for: a hub had lost a grant.
fn too_many(line: &SharedLine<'_>, elsewhere: &Elsewhere, shop: &Shop) -> Option<String> {
    let by = elsewhere.makers(line, shop).filter(|_| line.over() > 0)?;
    let (of, n) = (called(line.order, line.form), line.line + 1);
    let (wanted, taken) = (line.wanted, line.taken());
    Some(format!(
        "TOO MANY OF {of}, line {n}: {wanted} wanted, {taken} taken ({by}). Agree who makes fewer, and take them off the order \
         there"
    ))
}
