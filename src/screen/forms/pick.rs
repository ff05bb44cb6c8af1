//! A garment is picked for an open press, from all that wait for one: first the press, where several stand open, then
//! the garment.

use super::Typed;
use super::entry::{At, Entry};
use crate::screen::View;
use crate::screen::input::{Key, KeyCode};
use crate::screen::meaning::Sight;
use crate::screen::paint::Line;
use crate::screen::theme::Role;
use crate::screen::ui::Tone;
use crate::screen::words;
use crate::shop::facts::ids::{PressNo, Tag};
use crate::shop::rules::offer::{Idle, OfferedAct};

/// As many garments to a page as there are digits.
const PAGE: usize = 9;

/// The presses that stand open, and what waits for one.
pub struct PickList {
    presses: Vec<PressNo>,
    press: Option<PressNo>,
    candidates: Vec<Tag>,
    page: usize,
}

impl PickList {
    /// What there is to pick.
    ///
    /// # Errors
    /// No press stands open, or no garment waits.
    pub fn new(sight: &Sight<'_>) -> Result<Self, &'static str> {
        let presses = open_presses(sight);
        let candidates = sight.shop.candidates();
        match (presses.as_slice(), candidates.is_empty()) {
            ([], _) => Err("every press is shut or out of use"),
            (_, true) => Err("no garment waits"),
            ([only], _) => Ok(Self { press: Some(*only), presses, candidates, page: 0 }),
            _ => Ok(Self { press: None, presses, candidates, page: 0 }),
        }
    }

    fn digit(&mut self, digit: char) -> Typed {
        let Some(press) = self.press else {
            let named = digit.to_digit(10).and_then(|n| u8::try_from(n).ok()).map(PressNo);
            return match named.filter(|press| self.presses.contains(press)) {
                Some(press) => {
                    self.press = Some(press);
                    Typed::Open
                }
                None => Typed::Said(Tone::Note, "the number of an open press".into()),
            };
        };
        let picked = super::place(digit)
            .filter(|place| *place < PAGE)
            .and_then(|place| self.candidates.get(self.page * PAGE + place));
        match picked {
            Some(tag) => Typed::Picks(press, *tag),
            None => Typed::Said(Tone::Note, "a number from the list, . for more, / back".into()),
        }
    }
}

impl Entry for PickList {
    fn key(&mut self, _: &At<'_>, key: &Key) -> Typed {
        match key.code {
            KeyCode::Char('/') if self.press.is_some() && self.presses.len() > 1 => {
                self.press = None;
                Typed::Open
            }
            KeyCode::Char('/') => Typed::Closed(Vec::new()),
            KeyCode::Char('.') => {
                let pages = self.candidates.len().div_ceil(PAGE).max(1);
                self.page = (self.page + 1) % pages;
                Typed::Open
            }
            KeyCode::Char(digit) => self.digit(digit),
            _ => Typed::Said(Tone::Note, "a number from the list, . for more, / back".into()),
        }
    }

    fn lines(&self, view: &View<'_>) -> (String, Vec<Line>) {
        let Some(press) = self.press else {
            let row = |press: &PressNo| {
                let name = view.shop.press_name(*press);
                Line::of(Role::Strong, format!("{press}")).and(Role::Plain, format!("  {name}"))
            };
            return ("For which press?".into(), self.presses.iter().map(row).collect());
        };
        let here = self.candidates.iter().skip(self.page * PAGE).take(PAGE);
        let row = |(n, tag): (usize, &Tag)| {
            let place = view.shop.garment(*tag).map(|garment| garment.place);
            let place = place.map_or_else(String::new, |place| words::place(view.shop, place));
            Line::of(Role::Strong, format!("{n}")).and(Role::Plain, format!("  {tag}  {place}"))
        };
        let mut lines: Vec<Line> = (1..).zip(here).map(row).collect();
        let pages = self.candidates.len().div_ceil(PAGE);
        if pages > 1 {
            let text = format!(". more (page {} of {pages})   / back", self.page + 1);
            lines.push(Line::of(Role::Plain, text));
        }
        (format!("Pick a garment for press {press}"), lines)
    }
}

/// The presses that could be shut on something.
pub fn open_presses(sight: &Sight<'_>) -> Vec<PressNo> {
    let open = sight.meant.offers.iter().filter(|offer| {
        !matches!(offer.act, OfferedAct::Open { .. } | OfferedAct::None(Idle::OutOfUse(_)))
    });
    open.map(|offer| offer.press).collect()
}
