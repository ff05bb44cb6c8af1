//! A garment that a customer brought back: by its tag, or by its order and size, for the tag is often cut out.
//!
//! ```text
//! ══ A customer brought it back ═════════════ presses: * then 1 to 9 ══
//!  garment      [A3]  tag or order; . a list
//!  size          M
//!  what          washed out
//!  washes        5
//!  grade
//!  Harbour choir: 4 garments may be meant
//!  + record it and show which it may be  Enter next
//! ```

use super::entry::{At, Entry};
use super::text::Text;
use super::{Typed, field, place};
use crate::figures::fastness::Grade;
use crate::figures::units::whole_reader;
use crate::screen::View;
use crate::screen::act::Effect;
use crate::screen::input::{Key, KeyCode, Mode, Takes};
use crate::screen::meaning::Sight;
use crate::screen::paint::Line;
use crate::screen::theme::Role;
use crate::screen::ui::{StoryAsked, Tone};
use crate::shop::Shop;
use crate::shop::facts::fact::{Complaint, ReturnAsked, Returned};
use crate::shop::facts::ids::{OrderId, Tag};
use crate::shop::facts::order::Order;
use crate::shop::facts::remade::Remade;
use crate::shop::facts::words::counted;
use crate::shop::rules::command::{Command, Refusal};

const WHICH: usize = 0;
const SIZE: usize = 1;
const WHAT: usize = 2;
const WASHES: usize = 3;
const GRADE: usize = 4;

/// At what is wrong with it: whether another is made.
const ANOTHER: char = '4';

/// What is said of it.
pub struct ReturnEntry {
    which: Text,
    size: Text,
    complaint: Complaint,
    washes: Text,
    grade: Text,
    /// The customer gets another one.
    again: bool,
    field: usize,
}

impl ReturnEntry {
    /// Of a tag or an order, as it was typed.
    pub fn new(which: &str) -> Self {
        let known = !which.is_empty();
        Self {
            which: Text::given(which),
            size: Text::default(),
            complaint: Complaint::default(),
            washes: Text::default(),
            grade: Text::default(),
            again: false,
            field: if known { SIZE } else { WHICH },
        }
    }

    fn asked(&self, shop: &Shop) -> Result<ReturnAsked, String> {
        let mut asked = which(self.which.trimmed(), shop)?;
        self.size.trimmed().clone_into(&mut asked.size);
        // Where only one can be meant, that is the one.
        let mut meant = shop.may_be_returned(asked.order, &asked.size).map(|garment| garment.tag);
        let only = meant.next().xor(meant.next()).filter(|_| shop.remembers_all(asked.order));
        Ok(ReturnAsked { garment: asked.garment.or(only), ..asked.clone() })
    }

    fn submit(&mut self, sight: &Sight<'_>) -> Typed {
        let shop = sight.shop;
        let refuse = |form: &mut Self, at: usize, text: String| {
            form.go_to(at);
            Typed::Said(Tone::Refused, text)
        };
        let asked = match self.asked(shop) {
            Ok(asked) => asked,
            Err(text) => return refuse(self, WHICH, text),
        };
        let cycles = match self.washes.trimmed() {
            "" => None,
            text => match whole_reader::<u32>("washes", 1, 200)(text) {
                Ok(cycles) => Some(cycles),
                Err(wrong) => return refuse(self, WASHES, wrong.to_string()),
            },
        };
        let grade = match self.grade.trimmed() {
            "" => None,
            text => match Grade::read_half(text) {
                Ok(grade) => Some(grade),
                Err(wrong) => return refuse(self, GRADE, wrong.to_string()),
            },
        };
        let said = Returned {
            size: asked.size.clone(),
            cycles,
            grade,
            ..Returned::of(asked.order.no, asked.garment, self.complaint)
        };
        let note = Command::NoteReturn(said);
        let mut again = None;
        if self.again && shop.decide(&note, sight.now).is_ok() {
            let what = asked.garment.map_or(Remade::Order(None, asked.order.no), Remade::Garment);
            let Some(form) = shop.remake_of(what, &asked.size) else {
                let text =
                    "which is made again? Its tag, or its order and size, of orders kept here";
                return refuse(self, WHICH, text.to_owned());
            };
            again = Some(Effect::Do(Command::TakeOrder { form, file: None }));
        }
        let story = Effect::Trace(StoryAsked::Return(asked));
        Typed::Closed([Effect::Do(note)].into_iter().chain(again).chain([story]).collect())
    }
}

impl Entry for ReturnEntry {
    fn mode(&self) -> Mode {
        Mode::Field(match self.field {
            WHICH => Takes::Scan,
            WHAT | WASHES => Takes::Figures,
            _ => Takes::Text,
        })
    }

    fn fields(&self) -> usize {
        GRADE + 1
    }

    fn here(&self) -> usize {
        self.field
    }

    fn choose_field(&mut self, field: usize) {
        self.field = field.min(GRADE);
    }

    fn text(&mut self) -> Option<&mut Text> {
        Some(match self.field {
            WHICH => &mut self.which,
            SIZE => &mut self.size,
            WASHES => &mut self.washes,
            GRADE => &mut self.grade,
            _ => return None,
        })
    }

    fn field_name(&self) -> &'static str {
        match self.field {
            WHICH => "order",
            SIZE => "size",
            GRADE => "grade",
            _ => "",
        }
    }

    fn list(&self, sight: &Sight<'_>) -> Option<Vec<String>> {
        match self.field {
            WHICH => Some(sight.shop.orders().rev().map(named).collect()),
            SIZE => {
                let order = which(self.which.trimmed(), sight.shop).ok()?.order;
                let lines = sight.shop.order(order).map_or(&[][..], |order| &order.form.lines);
                let mut marks: Vec<String> = lines.iter().map(|line| line.mark.clone()).collect();
                marks.retain(|mark| !mark.is_empty());
                marks.dedup();
                Some(marks)
            }
            GRADE => Some(Grade::all().map(|grade| grade.to_string()).collect()),
            _ => None,
        }
    }

    fn key(&mut self, at: &At<'_>, key: &Key) -> Typed {
        match (self.field, key.code) {
            (_, KeyCode::Char('+')) => return self.submit(at.sight),
            (WHAT, KeyCode::Char(ANOTHER)) => self.again = !self.again,
            (WHAT, KeyCode::Char(digit)) => {
                match place(digit).and_then(|place| Complaint::ALL.get(place)) {
                    Some(complaint) => self.complaint = *complaint,
                    None => return Typed::Said(Tone::Refused, "1 to 4, then Enter".into()),
                }
            }
            _ => {
                if let Some(text) = self.text() {
                    text.key(key);
                }
            }
        }
        Typed::Open
    }

    /// Its tag was scanned.
    fn scan(&mut self, _: &Sight<'_>, text: &str) -> Result<Typed, &'static str> {
        if self.field != WHICH {
            return Err("no field here asks for it");
        }
        self.which = Text::given(text.trim());
        self.go_to(WHAT);
        Ok(Typed::Open)
    }

    fn refused(&mut self, refusal: &Refusal) {
        self.go_to(if matches!(refusal, Refusal::NoCycles(_)) { WASHES } else { WHICH });
    }

    fn lines(&self, view: &View<'_>) -> (String, Vec<Line>) {
        let here = |field: usize| self.field == field;
        let again = if self.again { ", make another" } else { "" };
        let what = format!("{}{again}", self.complaint);
        let mut choices: Vec<String> = (1..)
            .zip(Complaint::ALL)
            .map(|(n, complaint): (u8, _)| format!("{n} {complaint}"))
            .collect();
        choices.push(format!("{ANOTHER} make another"));
        let lines = vec![
            self.which.line("garment", here(WHICH), "its tag, or the order; . a list"),
            self.size.line("size", here(SIZE), "its size mark, if known; . a list"),
            field("what", &what, here(WHAT), &choices.join("  ")),
            self.washes.line("washes", here(WASHES), "how often, if known"),
            self.grade.line("grade", here(GRADE), "5 as new to 1; empty: not graded; . a list"),
            self.meant(view.shop),
            Line::of(Role::Strong, "+ record it and show which it may be  Enter next"),
        ];
        ("A customer brought it back".into(), lines)
    }
}

impl ReturnEntry {
    /// Which garments it may be, as far as the shop remembers.
    fn meant(&self, shop: &Shop) -> Line {
        if self.which.trimmed().is_empty() {
            return Line::of(Role::Plain, "such as A3-04, or A3 where the tag is gone");
        }
        let asked = match which(self.which.trimmed(), shop) {
            Ok(asked) => asked,
            Err(wrong) => return Line::of(Role::Plain, wrong),
        };
        let Some(order) = shop.order(asked.order) else {
            return Line::of(Role::Plain, "long done: + asks the history");
        };
        let count = shop.may_be_returned(asked.order, self.size.trimmed()).count();
        let meant = match asked.garment {
            Some(tag) => tag.to_string(),
            None => format!("{} may be meant", counted(count, "garment")),
        };
        Line::of(Role::Plain, format!("{}: {meant}", order.form.name))
    }
}

/// "A3 Harbour choir".
fn named(order: &Order) -> String {
    format!("{} {}", order.id, order.form.name)
}

/// A return is of an order, and its station knows what it made.
fn ours(order: OrderId, shop: &Shop) -> Result<(), String> {
    shop.whose(order).map_or(Ok(()), |whose| Err(format!("{whose}: record it at that board")))
}

/// A tag, an order by its number with or without the station's letters, or by its name.
fn which(text: &str, shop: &Shop) -> Result<ReturnAsked, String> {
    if let Ok(tag) = super::lookup::read_tag(text, shop) {
        ours(tag.order_id(), shop)?;
        return Ok(ReturnAsked { order: tag.order_id(), garment: Some(tag), size: String::new() });
    }
    let mut called = shop.orders().filter(|order| order.form.name.eq_ignore_ascii_case(text));
    let no = match (called.next(), called.next()) {
        (Some(only), None) => Some(only.id),
        _ => OrderId::read(text.split_whitespace().next().unwrap_or_default(), shop.id()),
    };
    let order = no.ok_or_else(|| format!("\"{text}\" is no tag and no order: A3-04, or A3"))?;
    ours(order, shop)?;
    Ok(ReturnAsked { order, garment: None::<Tag>, size: String::new() })
}
