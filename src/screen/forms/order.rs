//! An order, on one form, by the keypad alone: count, recipe, underbase, then what can wait.

use crate::screen::input::{Key, KeyCode, Takes};

use super::known::Known;
use super::text::Text;
use super::{Typed, field, place};
use crate::figures::sketch;
use crate::figures::units::{Colour, Rectangle};
use crate::screen::act::{Effect, LookRequest};
use crate::screen::paint::Line;
use crate::screen::theme::Role;
use crate::screen::ui::Tone;
use crate::shop::Shop;
use crate::shop::facts::order::{Artwork, Backdrop, OrderForm, OrderLine};
use crate::shop::rules::command::Command;

/// The fields from top to bottom.
#[derive(Clone, Copy, PartialEq, Eq)]
enum Field {
    Count,
    Recipe,
    Underbase,
    Name,
    Garment,
    Art,
    Backdrop,
    Mark,
    Print,
    Places,
    Due,
}

const FIELDS: [Field; 11] = [
    Field::Count,
    Field::Recipe,
    Field::Underbase,
    Field::Name,
    Field::Garment,
    Field::Art,
    Field::Backdrop,
    Field::Mark,
    Field::Print,
    Field::Places,
    Field::Due,
];

/// What has been said of the underbase.
#[derive(Clone, Copy, PartialEq, Eq)]
enum Said {
    Nothing,
    Yes,
    No,
    Later,
}

/// What came of a look at the artwork.
#[derive(Clone)]
enum Seen {
    /// The shell has been asked to look.
    Awaited,
    Art(Box<Artwork>),
    /// It has a border of one colour, and what it says hangs on whether that is printed.
    Border,
    Not(String),
}

/// The form as it is filled in.
pub struct OrderEntry {
    recipes: Vec<Known>,
    recipe: usize,
    underbase: Said,
    count: Text,
    name: Text,
    garment: Text,
    art: Text,
    /// What was seen of the artwork, and of which.
    seen: Option<(LookRequest, Seen)>,
    backdrop: Option<Backdrop>,
    mark: Text,
    print: Text,
    places: Text,
    due: Text,
    field: usize,
    lines: Vec<OrderLine>,
    /// Left half filled in, and open again.
    kept: bool,
}

impl OrderEntry {
    pub fn new(shop: &Shop) -> Self {
        let recipes = Known::all(shop);
        let usual = recipes.iter().position(|known| known.name == "dark-cotton").unwrap_or(0);
        let next = shop.orders().next_back().map_or(1, |order| order.no.0 + 1);
        Self {
            recipes,
            recipe: usual,
            underbase: Said::Nothing,
            count: Text::default(),
            name: Text::given(format!("Order {next}")),
            garment: Text::given("#16181d"),
            art: Text::default(),
            seen: None,
            backdrop: None,
            mark: Text::default(),
            print: Text::default(),
            places: Text::given("front"),
            due: Text::default(),
            field: 0,
            lines: Vec::new(),
            kept: false,
        }
    }

    /// Opens again what was left half filled in.
    pub fn reopen(&mut self) {
        self.go_to(Field::Count);
        self.kept = true;
    }

    fn here(&self) -> Field {
        FIELDS[self.field]
    }

    /// What the field takes that the cursor is in.
    pub fn takes(&self) -> Takes {
        match self.here() {
            Field::Count | Field::Recipe | Field::Underbase | Field::Backdrop => Takes::Figures,
            _ => Takes::Text,
        }
    }

    /// Whether the chosen recipe goes by the artwork, so that somebody has to say what it wants.
    fn asks(&self) -> bool {
        self.chosen().is_some_and(|known| known.asks)
    }

    fn chosen(&self) -> Option<&Known> {
        self.recipes.get(self.recipe)
    }

    pub fn key(&mut self, shop: &Shop, key: &Key) -> Typed {
        let left = self.here();
        match key.code {
            KeyCode::Char('+') => return self.submit(shop),
            KeyCode::Char('-') if self.kept && left == Field::Count => {
                *self = Self::new(shop);
                return Typed::Said(Tone::Note, "thrown away: a new order".into());
            }
            KeyCode::Char('n') if key.ctrl => {
                return self.another_line(shop);
            }
            KeyCode::Enter | KeyCode::Tab | KeyCode::Down => self.step(1),
            KeyCode::BackTab | KeyCode::Up => self.step(FIELDS.len() - 1),
            _ => match self.here() {
                Field::Recipe => {
                    if let Err(text) = self.choose_recipe(key) {
                        return Typed::Said(Tone::Refused, text);
                    }
                }
                Field::Underbase => self.choose_underbase(key),
                Field::Backdrop => self.choose_backdrop(key),
                Field::Count if !is_figure(key) => {}
                _ => {
                    if let Some(input) = self.input() {
                        input.key(key);
                    }
                }
            },
        }
        if left != self.here() || left == Field::Backdrop { self.look(shop) } else { Typed::Open }
    }

    /// Asks for a look at the artwork, unless it has been looked at as it stands.
    fn look(&mut self, shop: &Shop) -> Typed {
        let Some(request) = self.request(shop) else { return Typed::Open };
        if self.seen.as_ref().is_some_and(|(of, _)| *of == request) {
            return Typed::Open;
        }
        self.seen = Some((request.clone(), Seen::Awaited));
        Typed::Effects(vec![Effect::Look(request)])
    }

    /// What is to be looked at; None without an artwork or a colour.
    fn request(&self, shop: &Shop) -> Option<LookRequest> {
        let art = self.art.trimmed();
        let Known { name, .. } = self.chosen()?;
        let recipe = shop.recipes().find(|(known, ..)| known == name)?.2;
        let garment = self.garment.value().parse().ok()?;
        let (limits, backdrop) = (recipe.artwork, self.backdrop);
        (!art.is_empty()).then(|| LookRequest { art: art.to_owned(), garment, limits, backdrop })
    }

    /// Takes what was seen of an artwork, where it is still the one that is named here.
    pub fn looked(&mut self, request: &LookRequest, found: Result<Option<Artwork>, String>) {
        let Some((of, seen)) = &mut self.seen else { return };
        if of == request {
            *seen = match found {
                Ok(Some(artwork)) => Seen::Art(Box::new(artwork)),
                Ok(None) => Seen::Border,
                Err(reason) => Seen::Not(reason),
            };
        }
    }

    /// The artwork as it was seen, if it was.
    pub fn artwork(&self) -> Option<&Artwork> {
        match &self.seen {
            Some((_, Seen::Art(artwork))) if !self.art.trimmed().is_empty() => Some(artwork),
            _ => None,
        }
    }

    /// Whether it hangs on the backdrop what the artwork says, or somebody has said so already.
    fn asks_backdrop(&self) -> bool {
        self.backdrop.is_some() || matches!(self.seen, Some((_, Seen::Border)))
    }

    fn step(&mut self, by: usize) {
        loop {
            self.field = (self.field + by) % FIELDS.len();
            let skipped = match self.here() {
                Field::Underbase => !self.asks(),
                Field::Backdrop => !self.asks_backdrop(),
                _ => false,
            };
            if !skipped {
                break;
            }
        }
        self.enter();
    }

    fn enter(&mut self) {
        if let Some(input) = self.input() {
            input.enter();
        }
    }

    fn choose_backdrop(&mut self, key: &Key) {
        self.backdrop = match key.code {
            KeyCode::Char('1' | 'y') => Some(Backdrop::Keep),
            KeyCode::Char('2' | 'x') => Some(Backdrop::Drop),
            _ => self.backdrop,
        };
    }

    fn choose_recipe(&mut self, key: &Key) -> Result<(), String> {
        let count = self.recipes.len();
        match key.code {
            KeyCode::Char(digit @ '0'..='9') => {
                self.recipe = place(digit).filter(|place| *place < count).ok_or_else(|| {
                    format!("there is no recipe {digit}: 1 to {count}, or cursor keys")
                })?;
            }
            KeyCode::Left => self.recipe = self.recipe.saturating_sub(1),
            KeyCode::Right | KeyCode::Char(' ') if self.recipe + 1 < count => self.recipe += 1,
            _ => {}
        }
        Ok(())
    }

    fn choose_underbase(&mut self, key: &Key) {
        self.underbase = match key.code {
            KeyCode::Char('1' | 'y') => Said::Yes,
            KeyCode::Char('2' | 'x') => Said::No,
            KeyCode::Char('3') => Said::Later,
            _ => self.underbase,
        };
    }

    fn input(&mut self) -> Option<&mut Text> {
        Some(match self.here() {
            Field::Count => &mut self.count,
            Field::Name => &mut self.name,
            Field::Garment => &mut self.garment,
            Field::Art => &mut self.art,
            Field::Mark => &mut self.mark,
            Field::Print => &mut self.print,
            Field::Places => &mut self.places,
            Field::Due => &mut self.due,
            Field::Recipe | Field::Underbase | Field::Backdrop => return None,
        })
    }

    fn go_to(&mut self, field: Field) {
        self.field = FIELDS.iter().position(|f| *f == field).unwrap_or(0);
        self.enter();
    }

    fn another_line(&mut self, shop: &Shop) -> Typed {
        if let Some(wait) = self.unseen(shop) {
            return wait;
        }
        match self.line() {
            Ok(line) => {
                self.lines.push(line);
                self.count = Text::default();
                self.mark = Text::default();
                self.go_to(Field::Count);
                Typed::Open
            }
            Err((field, text)) => {
                self.go_to(field);
                Typed::Said(Tone::Refused, text)
            }
        }
    }

    /// What stands in the way of an artwork that is named: it has not been looked at, or cannot be.
    fn unseen(&mut self, shop: &Shop) -> Option<Typed> {
        if let look @ Typed::Effects(_) = self.look(shop) {
            return Some(look);
        }
        self.request(shop)?;
        // Somebody has said what the artwork wants, or the recipe does not go by it: then it is a picture, no more.
        if !self.asks() || matches!(self.underbase, Said::Yes | Said::No) {
            return None;
        }
        let (field, text) = match &self.seen {
            Some((_, Seen::Awaited)) => {
                (Field::Art, "the artwork is being looked at: + again".into())
            }
            Some((_, Seen::Border)) => {
                let text = "its border is of one colour: 1 it is printed 2 it is not, then +";
                (Field::Backdrop, text.into())
            }
            Some((_, Seen::Not(reason))) => (Field::Art, reason.clone()),
            _ => return None,
        };
        self.go_to(field);
        Some(Typed::Said(Tone::Refused, text))
    }

    fn submit(&mut self, shop: &Shop) -> Typed {
        if let Some(wait) = self.unseen(shop) {
            return wait;
        }
        let form = match self.form() {
            Ok(form) => form,
            Err((field, text)) => {
                self.go_to(field);
                return Typed::Said(Tone::Refused, text);
            }
        };
        let names: Vec<&str> = shop.recipes().map(|(name, ..)| name).collect();
        if let Err(senseless) = form.check(|name| names.contains(&name), &names.join(", ")) {
            self.go_to(Field::Count);
            return Typed::Said(Tone::Refused, senseless.to_string());
        }
        Typed::Closed(vec![Effect::Do(Command::TakeOrder { form, file: None })])
    }

    fn form(&self) -> Result<OrderForm, (Field, String)> {
        let mut lines = self.lines.clone();
        if lines.is_empty() || !self.count.value().is_empty() {
            lines.push(self.line()?);
        }
        let due = match self.due.trimmed() {
            "" => None,
            text => Some(text.parse().map_err(at(Field::Due))?),
        };
        Ok(OrderForm { name: self.name.value().to_owned(), due, lines }.cleaned())
    }

    fn line(&self) -> Result<OrderLine, (Field, String)> {
        let count = self.count.trimmed().parse().map_err(|_| {
            (Field::Count, "how many garments? A whole number, then + again".to_owned())
        })?;
        let recipe = self
            .recipes
            .get(self.recipe)
            .ok_or((Field::Recipe, "there is no recipe to choose".to_owned()))?;
        let seen = self.artwork().cloned();
        let underbase = match (self.underbase, &seen) {
            _ if !self.asks() => None,
            (Said::Yes, _) => Some(true),
            (Said::No, _) => Some(false),
            (_, Some(seen)) => Some(seen.underbase),
            (Said::Later, None) => None,
            (Said::Nothing, None) => {
                let text =
                    "is some of the artwork lighter than the garment? 1 yes 2 no 3 later, then +";
                return Err((Field::Underbase, text.to_owned()));
            }
        };
        let print = match self.print.trimmed() {
            "" => None,
            text => Some(Rectangle::read_in(text, Some(recipe.unit)).map_err(at(Field::Print))?),
        };
        let places =
            self.places.value().split(',').map(str::trim).filter(|place| !place.is_empty());
        Ok(OrderLine {
            count,
            recipe: recipe.name.clone(),
            garment: self.garment.value().parse::<Colour>().map_err(at(Field::Garment))?,
            art: Some(self.art.trimmed().to_owned()).filter(|art| !art.is_empty()),
            print,
            prints: [].into(),
            margin: None,
            mark: self.mark.value().to_owned(),
            places: places.map(str::to_owned).collect(),
            underbase,
            seen: seen.map(Box::new),
        })
    }

    pub fn lines(&self) -> (String, Vec<Line>) {
        let here = self.here();
        let recipe = match self.chosen() {
            Some(known) => format!("{} {}", self.recipe + 1, known.title),
            None => "none".into(),
        };
        let said = match self.underbase {
            _ if !self.asks() => "as the recipe says",
            Said::Yes => "yes",
            Said::No => "no",
            _ if self.artwork().is_some_and(|seen| seen.underbase) => "yes, by the artwork",
            _ if self.artwork().is_some() => "no, by the artwork",
            Said::Nothing => "?",
            Said::Later => "asked later",
        };
        let text = |name, input: &Text, of, hint| input.line(name, here == of, hint);
        let mut lines: Vec<Line> = Vec::new();
        if self.kept {
            lines.push(super::kept_line("garments"));
        }
        lines.extend(self.lines.iter().map(|line| {
            Line::of(Role::Plain, format!("{} {} {}", line.count, line.recipe, line.mark))
        }));
        lines.extend([
            text("garments", &self.count, Field::Count, "how many"),
            field(
                "recipe",
                &recipe,
                here == Field::Recipe,
                &format!("1 to {}", self.recipes.len()),
            ),
            field("underbase", said, here == Field::Underbase, "art lighter? 1 yes 2 no 3 later"),
            text("name", &self.name, Field::Name, ""),
            text("colour", &self.garment, Field::Garment, "of the garment, #rrggbb"),
            text("artwork", &self.art, Field::Art, "its file; Enter looks at it"),
            text("size mark", &self.mark, Field::Mark, "M, XL, ..."),
            text("print", &self.print, Field::Print, self.chosen().map_or("", Known::a_size)),
            text("places", &self.places, Field::Places, "front, back"),
            text("due", &self.due, Field::Due, "2026-12-04T16:00"),
        ]);
        if self.artwork().is_some() {
            // The sketch stands beside the fields: what is told goes below it.
            lines.resize(lines.len().max(sketch::ROWS), Line::default());
        }
        lines.extend(self.told(here));
        lines.extend([
            Line::of(
                Role::Strong,
                "+ takes the order in   Enter next field   Esc keeps it for later",
            ),
            Line::of(Role::Plain, "ctrl-n another line of the same order"),
        ]);
        ("A new order".into(), lines)
    }

    /// What the look at the artwork has told.
    fn told(&self, here: Field) -> Option<Line> {
        if self.art.trimmed().is_empty() {
            return None;
        }
        if self.asks_backdrop() {
            let said = match self.backdrop {
                None => "?",
                Some(Backdrop::Keep) => "printed",
                Some(Backdrop::Drop) => "not printed",
            };
            let hint = "a border of one colour: 1 printed 2 not";
            return Some(field("border", said, here == Field::Backdrop, hint));
        }
        Some(match &self.seen.as_ref()?.1 {
            Seen::Awaited => Line::of(Role::Plain, "looking at the artwork ..."),
            Seen::Art(artwork) => Line::of(Role::Plain, artwork.reason.clone()),
            Seen::Border => return None,
            Seen::Not(reason) => Line::of(Role::Abnormal, reason.clone()),
        })
    }
}

fn is_figure(key: &Key) -> bool {
    match key.code {
        KeyCode::Char(letter) => letter.is_ascii_digit(),
        _ => true,
    }
}

/// Puts an error at its field.
fn at<E: std::fmt::Display>(field: Field) -> impl Fn(E) -> (Field, String) {
    move |error| (field, error.to_string())
}
