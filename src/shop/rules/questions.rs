//! Questions that wait: none ever stands between a press key and the press, each may be left unanswered.
//!
//! They are worked out from the facts, not stored; only an answer is.

use super::command::Command;
use crate::shop::Shop;
use crate::shop::books::coats::WeightWanted;
use crate::shop::facts::fact::{DatesSaid, Steam};
use crate::shop::facts::ids::{OrderId, PressNo, StationId, Tag};
use crate::shop::facts::recipe::Recipe;
use crate::shop::facts::station::DateOrder;
use crate::shop::facts::step::Step;
use crate::shop::floor::garment::{Place, Queue};

/// Something that the board would like to know.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Question {
    /// The board is no safety device: has somebody read so?
    Caution,
    /// A garment is said to be at several stations: is it at the first? Where there are two, else at the other.
    Where { garment: Tag, at: StationId, or: Option<StationId> },
    /// Was the garment still steaming when its press was opened?
    Steam { press: PressNo, garment: Tag },
    /// Will the garment be weighed, now that it is about to be sprayed, or has been?
    Weight(WeightWanted),
    /// Who is at the bench? No shift is open, in a shop that opens them.
    Who,
    /// Does the fan at the spray booth run? Asked once, when a shift is opened.
    Fan,
    /// The first garment of an order is done: is it approved?
    Sample(Tag),
    /// Is some part of the line's artwork lighter than its garment?
    Underbase { order: OrderId, line: usize },
    /// A garment was lost: is a blank of that size mark taken in for it?
    Blank { order: OrderId, line: usize },
    /// A date in a table could be two: does its day stand first?
    Dates,
}

/// The three answers, each with its own letter.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Answer {
    Yes,
    No,
    NotSeen,
}

impl Question {
    /// What an answer states; None where the question does not take it.
    pub fn answered(self, answer: Answer) -> Option<Command> {
        Some(match (self, answer) {
            (Question::Caution, Answer::Yes) => Command::ReadCaution,
            (Question::Where { garment, at, .. }, Answer::Yes) => {
                Command::SettleWhere { garment, at }
            }
            (Question::Where { garment, or: Some(at), .. }, Answer::No) => {
                Command::SettleWhere { garment, at }
            }
            (Question::Steam { garment, .. }, answer) => {
                let said = match answer {
                    Answer::Yes => Steam::StillSteaming,
                    Answer::No => Steam::Gone,
                    Answer::NotSeen => Steam::NotSeen,
                };
                Command::SaySteam { garment, said }
            }
            // Yes is a weight: typed, or from a scale that types.
            (Question::Weight(wanted), Answer::No) => {
                Command::DeclineWeighing { garment: wanted.garment }
            }
            (Question::Fan, answer) => Command::SayFan(match answer {
                Answer::Yes => Some(true),
                Answer::No => Some(false),
                Answer::NotSeen => None,
            }),
            (Question::Sample(garment), Answer::Yes | Answer::No) => {
                Command::SaySample { garment, approved: answer == Answer::Yes }
            }
            (Question::Underbase { order, line }, Answer::Yes | Answer::No) => {
                Command::DecideUnderbase { order, line, underbase: answer == Answer::Yes }
            }
            (Question::Blank { order, line }, Answer::Yes) => Command::AddBlank { order, line },
            (Question::Blank { order, line }, Answer::No) => Command::GiveUpBlank { order, line },
            (Question::Dates, Answer::Yes | Answer::No) => {
                let first = match answer {
                    Answer::Yes => DateOrder::DayFirst,
                    _ => DateOrder::MonthFirst,
                };
                Command::SayDates(DatesSaid { first, file: None })
            }
            _ => return None,
        })
    }
}

impl Shop {
    /// All questions that wait, the most perishable first; before all, until it is read, the caution.
    pub fn questions(&self) -> Vec<Question> {
        if self.station().is_none() {
            return Vec::new();
        }
        let mut questions = Vec::new();
        // It takes the same letter as the others: nobody is to have answered it without having seen it.
        if !self.desk().caution_read {
            questions.push(Question::Caution);
        }
        questions.extend(self.doubtful().map(|(garment, stations)| Question::Where {
            garment,
            at: stations[0],
            or: stations.get(1).copied().filter(|_| stations.len() == 2),
        }));
        // What is made depends on these: they come first, and stay.
        // Another station's lost garments are replaced there.
        for order in self.orders().filter(|order| self.is_own(order.id)) {
            for line in (0..order.lines.len()).filter(|n| order.lines[*n].unanswered() > 0) {
                questions.push(Question::Blank { order: order.id, line });
            }
        }
        if let Some((press, garment)) = self.desk().steam_unsaid {
            questions.push(Question::Steam { press, garment });
        }
        questions.extend(self.weight_asked().map(Question::Weight));
        if self.desk().fan_asked {
            questions.push(Question::Fan);
        }
        let samples = self.orders().filter_map(|order| self.sample_of(order.id));
        questions.extend(samples.map(|garment| Question::Sample(garment.tag)));
        for order in self.orders() {
            for line in 0..order.lines.len() {
                if self.lacks_underbase(order.id, line) {
                    questions.push(Question::Underbase { order: order.id, line });
                }
            }
        }
        // What is known already stands behind the others: only its end is asked for.
        if self.desk().fan_off && !self.desk().fan_asked {
            questions.push(Question::Fan);
        }
        if self.desk().shifts_used && !self.desk().shift_open {
            questions.push(Question::Who);
        }
        questions
    }

    /// The weight that is asked for: not with the coat on while the garment has yet to be sprayed.
    fn weight_asked(&self) -> Option<WeightWanted> {
        let to_spray = |tag| {
            self.garment(tag).is_some_and(|garment| garment.place == Place::Waiting(Step::Spray))
        };
        self.weight_wanted().filter(|wanted| !(wanted.coated && to_spray(wanted.garment)))
    }

    /// Whether nobody has said what a line's artwork wants, and its recipe goes by that.
    fn lacks_underbase(&self, order: OrderId, line: usize) -> bool {
        let Some(order) = self.order(order) else { return false };
        let (Some(state), Some(form)) = (order.lines.get(line), order.form.lines.get(line)) else {
            return false;
        };
        let asks = |recipe: &Recipe| recipe.wants_underbase(None).is_none();
        // A garment of another station's order may be long past it.
        let named = self.recipes().named(&form.recipe);
        // Garments keep the recipe that they began with, whatever its name means by now.
        let undecided =
            || self.floor().first_of_line(Queue::Undecided, (order.id, line), |_| true).is_some();
        let may_ask = self.is_own(order.id) && named.is_some_and(|recipe| asks(recipe));
        state.underbase.is_none() && (may_ask || undecided())
    }
}
