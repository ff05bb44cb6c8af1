//! A press is taken out of use, with the reason, or back into use.

use crate::screen::input::{Key, KeyCode};

use super::entry::{At, Entry};
use super::{Typed, press};
use crate::screen::View;
use crate::screen::act::Effect;
use crate::screen::paint::Line;
use crate::screen::theme::Role;
use crate::screen::ui::Tone;
use crate::shop::facts::ids::PressNo;
use crate::shop::facts::outage::OutOfUse;
use crate::shop::rules::command::Command;

const REASONS: [(char, OutOfUse); 3] =
    [('1', OutOfUse::HeatingUp), ('2', OutOfUse::BeingCleaned), ('3', OutOfUse::Broken)];

/// First the press, then the reason.
#[derive(Default)]
pub struct Outage {
    press: Option<PressNo>,
}

impl Entry for Outage {
    fn key(&mut self, at: &At<'_>, key: &Key) -> Typed {
        let shop = at.sight.shop;
        if key.code == KeyCode::Char('/') {
            return if self.press.take().is_some() { Typed::Open } else { Typed::Left };
        }
        let KeyCode::Char(letter) = key.code else { return Typed::Open };
        let Some(press) = self.press else {
            let Some(press) = press(shop, letter) else {
                return Typed::Said(Tone::Note, "the number of a press of this station".into());
            };
            if shop.out_of_use(press).is_some() {
                return Typed::Closed(vec![Effect::Do(Command::BackInUse { press })]);
            }
            self.press = Some(press);
            return Typed::Open;
        };
        match REASONS.iter().find(|(key, _)| *key == letter) {
            Some((_, reason)) => {
                Typed::Closed(vec![Effect::Do(Command::OutOfUse { press, reason: *reason })])
            }
            None => Typed::Said(Tone::Note, "a number from the list".into()),
        }
    }

    fn lines(&self, view: &View<'_>) -> (String, Vec<Line>) {
        let Some(press) = self.press else {
            let row = |press: PressNo| {
                let name = view.shop.press_name(press);
                match view.shop.out_of_use(press) {
                    Some(reason) => {
                        let text = format!("{press}  {name}: {}; back into use", reason.words());
                        Line::of(Role::Abnormal, text)
                    }
                    None => Line::of(Role::Plain, format!("{press}  {name}")),
                }
            };
            let lines = view.shop.press_numbers().into_iter().map(row).collect();
            return ("Which press goes out of use, or back?".into(), lines);
        };
        let row = |(key, reason): &(char, OutOfUse)| {
            Line::of(Role::Plain, format!("{key}  {}", reason.words()))
        };
        (format!("Why is press {press} out of use?"), REASONS.iter().map(row).collect())
    }
}
