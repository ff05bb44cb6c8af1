//! One garment by its tag, typed or scanned: its story, or what becomes of it on the shelf.

use crate::screen::input::{Key, KeyCode, Mode, Takes};

use super::entry::{At, Entry};
use super::text::Text;
use super::{Typed, place};
use crate::screen::View;
use crate::screen::act::Effect;
use crate::screen::meaning::Sight;
use crate::screen::paint::Line;
use crate::screen::theme::Role;
use crate::screen::ui::{StoryAsked, Tone};
use crate::screen::words;
use crate::shop::Shop;
use crate::shop::facts::ids::{NotATag, Tag};
use crate::shop::facts::remade::Remade;
use crate::shop::rules::command::{Command, Refusal};

/// What can be done with it, in the order of their digits.
#[derive(Clone, Copy, PartialEq, Eq)]
enum What {
    Story,
    Renew,
    Sample,
    Return,
    Again,
    TakeOver,
}

const CHOICES: [(What, &str); 6] = [
    (What::Story, "show its story"),
    (What::Renew, "treat it again: past its day, or its coat is spoiled"),
    (What::Sample, "keep it for a wash test"),
    (What::Return, "a customer brought it back (a tag, or the order alone)"),
    (What::Again, "make another: an order for 1, as its own was"),
    (What::TakeOver, "take it over from another station"),
];

/// The digits of all that can be done: "1 to 6".
fn digits() -> String {
    format!("1 to {}", CHOICES.len())
}

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

    fn submit(&mut self, sight: &Sight<'_>) -> Typed {
        if self.what == What::Return {
            return Typed::Returns(self.tag.trimmed().to_owned());
        }
        let tag: Tag = match read_tag(self.tag.trimmed(), sight.shop) {
            Ok(tag) => tag,
            Err(wrong) => {
                self.go_to(0);
                return Typed::Said(Tone::Refused, wrong.to_string());
            }
        };
        if self.what == What::TakeOver {
            return match sight.shop.garment(tag) {
                Some(here) if !here.is_away() => {
                    Typed::Said(Tone::Refused, format!("{tag} is here already"))
                }
                _ => Typed::TakesOver(tag),
            };
        }
        Typed::Closed(vec![match self.what {
            What::Story | What::Return | What::TakeOver => Effect::Trace(StoryAsked::Garment(tag)),
            What::Renew => Effect::Do(Command::Renew(tag)),
            What::Sample => Effect::Do(Command::SampleForWash(tag)),
            What::Again => match sight.shop.remake_of(Remade::Garment(tag), "") {
                Some(form) => Effect::Do(Command::TakeOrder { form, file: None }),
                None => {
                    let text = format!("{tag} is not known here any more: order it by hand");
                    return Typed::Said(Tone::Refused, text);
                }
            },
        }])
    }
}

impl Entry for LookUp {
    fn mode(&self) -> Mode {
        Mode::Field(if self.at_what { Takes::Figures } else { Takes::Scan })
    }

    fn fields(&self) -> usize {
        2
    }

    fn here(&self) -> usize {
        usize::from(self.at_what)
    }

    fn choose_field(&mut self, field: usize) {
        self.at_what = field == 1;
    }

    fn text(&mut self) -> Option<&mut Text> {
        (!self.at_what).then_some(&mut self.tag)
    }

    fn field_name(&self) -> &'static str {
        "garment"
    }

    fn list(&self, sight: &Sight<'_>) -> Option<Vec<String>> {
        Some(sight.shop.candidates().iter().map(ToString::to_string).collect())
    }

    fn key(&mut self, at: &At<'_>, key: &Key) -> Typed {
        match key.code {
            KeyCode::Char('+') => self.submit(at.sight),
            KeyCode::Char(digit @ '0'..='9') if self.at_what => {
                match place(digit).and_then(|place| CHOICES.get(place)) {
                    Some((what, _)) => self.what = *what,
                    None => return Typed::Said(Tone::Refused, format!("{}, then +", digits())),
                }
                Typed::Open
            }
            _ => {
                if let Some(text) = self.text() {
                    text.key(key);
                }
                Typed::Open
            }
        }
    }

    /// A tag was scanned: what is to be done with it comes next.
    fn scan(&mut self, _: &Sight<'_>, text: &str) -> Result<Typed, &'static str> {
        if self.at_what {
            return Err("no field here asks for it");
        }
        self.tag = Text::given(text.trim());
        self.at_what = true;
        Ok(Typed::Open)
    }

    fn refused(&mut self, _: &Refusal) {
        self.go_to(0);
    }

    fn lines(&self, view: &View<'_>) -> (String, Vec<Line>) {
        let tag: Option<Tag> = read_tag(self.tag.trimmed(), view.shop).ok();
        let garment = tag.and_then(|tag| view.shop.garment(tag));
        let known = match (tag, garment) {
            (None, _) => "such as A3-04".to_owned(),
            (Some(tag), None) => view
                .shop
                .whose(tag.order_id())
                .unwrap_or_else(|| "not on the floor: its story may be in the history".into()),
            (Some(_), Some(garment)) => match garment.shelved.as_deref() {
                Some(shelved) => {
                    let place = view.shop.floor().place_in_stack(garment.tag);
                    let place = place.map_or_else(String::new, |place| format!(" place {place}"));
                    format!(
                        "{}, stack {}{place}, good until {}, last day {}",
                        words::place(view.shop, garment.place),
                        shelved.stack,
                        shelved.good_until,
                        shelved.last_day
                    )
                }
                None => words::place(view.shop, garment.place),
            },
        };
        let mut lines = vec![
            self.tag.line("garment", !self.at_what, "typed or scanned; . a list"),
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
            _ if !view.acts() => "+ do it".to_owned(),
            true => format!("{}, then +", digits()),
            false => format!("Enter, then {}; + do it", digits()),
        };
        lines.push(Line::of(Role::Strong, hint));
        ("Look up a garment".into(), lines)
    }
}

/// Reads a tag; without its letters it is one of this station: "3-04".
pub(super) fn read_tag(text: &str, shop: &Shop) -> Result<Tag, NotATag> {
    let own = shop.station().map(|station| station.id.to_string()).unwrap_or_default();
    let starts_with_figure = text.starts_with(|letter: char| letter.is_ascii_digit());
    let whole = if starts_with_figure { own + text } else { text.to_owned() };
    // What is no tag is named as it was typed.
    whole.parse().or_else(|_: NotATag| text.parse())
}
