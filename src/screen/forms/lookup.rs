//! One garment by its tag, typed or scanned: its story, or what becomes of it on the shelf.

use crate::screen::input::{Key, KeyCode, Takes};

use super::text::Text;
use super::{Typed, place};
use crate::screen::View;
use crate::screen::act::Effect;
use crate::screen::paint::Line;
use crate::screen::theme::Role;
use crate::screen::ui::Tone;
use crate::screen::words;
use crate::shop::facts::ids::Tag;
use crate::shop::rules::command::Command;

/// What can be done with it, in the order of their digits.
#[derive(Clone, Copy, PartialEq, Eq)]
enum What {
    Story,
    Renew,
    Sample,
}

const CHOICES: [(What, &str); 3] = [
    (What::Story, "show its story"),
    (What::Renew, "treat it again: past its day, or its coat is spoiled"),
    (What::Sample, "keep it for a wash test"),
];

/// A tag, and what for.
pub struct LookUp {
    tag: Text,
    what: What,
    at_what: bool,
}

impl LookUp {
    pub fn new(tag: Option<Tag>) -> Self {
        let tag = tag.map_or_else(String::new, |tag| tag.to_string());
        Self { tag: Text::given(tag), what: What::Story, at_what: false }
    }

    pub fn key(&mut self, key: &Key) -> Typed {
        match key.code {
            KeyCode::Char('+') => self.submit(),
            KeyCode::Enter | KeyCode::Tab | KeyCode::Up | KeyCode::Down => {
                self.at_what = !self.at_what;
                self.tag.enter();
                Typed::Open
            }
            KeyCode::Char(digit @ '0'..='9') if self.at_what => {
                match place(digit).and_then(|place| CHOICES.get(place)) {
                    Some((what, _)) => self.what = *what,
                    None => return Typed::Said(Tone::Refused, "1 to 3, then +".into()),
                }
                Typed::Open
            }
            _ if !self.at_what => {
                self.tag.key(key);
                Typed::Open
            }
            _ => Typed::Open,
        }
    }

    /// What the field takes that the cursor is in.
    pub fn takes(&self) -> Takes {
        if self.at_what { Takes::Figures } else { Takes::Scan }
    }

    /// A tag was scanned: what is to be done with it comes next.
    pub fn scan(&mut self, text: &str) -> Typed {
        self.tag = Text::given(text.trim());
        self.at_what = true;
        Typed::Open
    }

    pub fn refused(&mut self) {
        self.at_what = false;
        self.tag.enter();
    }

    fn submit(&mut self) -> Typed {
        let tag: Tag = match self.tag.trimmed().parse() {
            Ok(tag) => tag,
            Err(wrong) => {
                self.refused();
                return Typed::Said(Tone::Refused, wrong.to_string());
            }
        };
        Typed::Closed(vec![match self.what {
            What::Story => Effect::Trace(tag),
            What::Renew => Effect::Do(Command::Renew(tag)),
            What::Sample => Effect::Do(Command::SampleForWash(tag)),
        }])
    }

    pub fn lines(&self, view: &View<'_>) -> (String, Vec<Line>) {
        let tag: Option<Tag> = self.tag.trimmed().parse().ok();
        let garment = tag.and_then(|tag| view.shop.garment(tag));
        let known = match (tag, garment) {
            (None, _) => "such as A3-04".to_owned(),
            (Some(_), None) => "not on the floor: its story may be in the history".into(),
            (Some(_), Some(garment)) => match garment.shelved.as_deref() {
                Some(shelved) => {
                    let place = view.shop.place_in_stack(garment.tag);
                    let place = place.map_or_else(String::new, |place| format!(" place {place}"));
                    format!(
                        "{}, stack {}{place}, good until {}, last day {}",
                        words::place(garment.place),
                        shelved.stack,
                        shelved.good_until,
                        shelved.last_day
                    )
                }
                None => words::place(garment.place),
            },
        };
        let mut lines = vec![
            self.tag.line("garment", !self.at_what, "typed or scanned"),
            Line::of(Role::Plain, known),
        ];
        // A view shows stories, and changes nothing.
        let choices = if view.acts() { CHOICES.len() } else { 1 };
        for (n, (what, words)) in CHOICES.iter().enumerate().take(choices) {
            let role = if *what == self.what { Role::Strong } else { Role::Plain };
            let mark = if *what == self.what { '>' } else { ' ' };
            lines.push(Line::of(role, format!("{mark} {} {words}", n + 1)));
        }
        let hint = match self.at_what {
            _ if !view.acts() => "+ does it",
            true => "1 to 3, then +",
            false => "Enter, then 1 to 3; + does it",
        };
        lines.push(Line::of(Role::Strong, hint));
        ("Look up a garment".into(), lines)
    }
}
