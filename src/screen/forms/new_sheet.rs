//! A PTFE sheet is thrown away, worn, curled or creased, and a new one laid in: which one, named by its number and press.

use crate::screen::input::{Key, KeyCode};

use super::entry::{At, Entry};
use super::{Typed, place};
use crate::screen::View;
use crate::screen::act::Effect;
use crate::screen::meaning::Sight;
use crate::screen::paint::Line;
use crate::screen::theme::Role;
use crate::screen::ui::Tone;
use crate::shop::Shop;
use crate::shop::facts::ids::{PressNo, SheetNo};
use crate::shop::facts::step::Step;
use crate::shop::facts::words::counted;
use crate::shop::floor::sheets::Sheet;
use crate::shop::rules::command::Command;
use crate::shop::rules::next::NextAct;
use crate::shop::rules::offer::{Offer, OfferedAct};

/// As many sheets as there are digits.
const MOST: usize = 9;

/// The sheets of the open presses as they stood when it was opened, and the one that is marked.
pub struct NewSheetEntry {
    sheets: Vec<SheetNo>,
    marked: usize,
}

impl NewSheetEntry {
    /// Marks the likeliest; None where no PTFE sheet lies in an open press.
    pub fn new(sight: &Sight<'_>) -> Option<Self> {
        let sheets = sight.shop.sheets_to_renew(dries_next(sight)).into_iter();
        let sheets: Vec<SheetNo> = sheets.take(MOST).map(|sheet| sheet.no).collect();
        (!sheets.is_empty()).then_some(Self { sheets, marked: 0 })
    }

    fn marked(&self) -> SheetNo {
        self.sheets[self.marked]
    }
}

impl Entry for NewSheetEntry {
    fn key(&mut self, _: &At<'_>, key: &Key) -> Typed {
        let digit = match key.code {
            KeyCode::Char('/') => return Typed::Left,
            KeyCode::Char('+') => {
                return Typed::Closed(vec![Effect::Do(Command::RenewSheet(self.marked()))]);
            }
            KeyCode::Char(letter) => place(letter),
            _ => None,
        };
        match digit.filter(|digit| *digit < self.sheets.len()) {
            Some(digit) => {
                self.marked = digit;
                Typed::Open
            }
            None => {
                Typed::Said(Tone::Note, "+ records it; a number for another sheet; / back".into())
            }
        }
    }

    fn lines(&self, view: &View<'_>) -> (String, Vec<Line>) {
        let several = self.sheets.len() > 1;
        let row = |(n, no): (usize, &SheetNo)| {
            let marked = n == self.marked;
            let (role, mark) = if marked { (Role::Chosen, '>') } else { (Role::Plain, ' ') };
            let text = view
                .shop
                .sheets()
                .get(*no)
                .map_or_else(String::new, |sheet| sheet_words(view.shop, sheet));
            let digit = Line::of(Role::Strong, format!("{mark} {}  ", n + 1));
            (several || marked).then(|| digit.and(role, text))
        };
        let mut lines: Vec<Line> = self.sheets.iter().enumerate().filter_map(row).collect();
        let another = if several { "   a number: another sheet" } else { "" };
        lines.push(Line::of(Role::Strong, format!("+ record it{another}   / back")));
        lines
            .push(Line::of(Role::Plain, "Let it cool before you take it. Hot platen: keep clear."));
        (format!("Throw away sheet {} and lay in a new one?", self.marked()), lines)
    }
}

/// "sheet 3 in press 2, dry: worn, 305 presses".
fn sheet_words(shop: &Shop, sheet: &Sheet) -> String {
    let lies = sheet.at.map_or_else(String::new, |press| format!(" in press {press}"));
    let age = match sheet.life {
        Some(life) if shop.is_worn(sheet) => format!("worn, {}", counted(life, "press")),
        Some(life) => counted(life, "press"),
        None => "age not known".to_owned(),
    };
    format!("sheet {}{lies}, {}: {age}", sheet.no, sheet.covers)
}

/// The open press that the next dry is laid into.
fn dries_next(sight: &Sight<'_>) -> Option<PressNo> {
    let dries = |offer: &&Offer| matches!(offer.act, OfferedAct::Shut { next, .. } if next.step == Step::Dry);
    let offers: Vec<Offer> = sight.meant.offers.iter().filter(dries).cloned().collect();
    match sight.shop.load_next(&offers, true, sight.now)?.act {
        NextAct::Load { press, .. } => Some(press),
        _ => None,
    }
}
