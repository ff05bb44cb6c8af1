//! An order, on one form, by the keypad alone: count, recipe, underbase, then what can wait.

use crossterm::event::{KeyCode, KeyEvent, KeyModifiers};
use tui_input::Input;

use super::{Typed, edit, field};
use crate::figures::units::Colour;
use crate::screen::act::Effect;
use crate::screen::paint::Line;
use crate::screen::theme::Role;
use crate::screen::ui::Tone;
use crate::shop::Shop;
use crate::shop::command::Command;
use crate::shop::ids::RecipeHash;
use crate::shop::order::{OrderForm, OrderLine};
use crate::shop::recipe::Underbase;

/// The fields from top to bottom.
#[derive(Clone, Copy, PartialEq, Eq)]
enum Field {
    Count,
    Recipe,
    Underbase,
    Name,
    Garment,
    Mark,
    Print,
    Places,
    Due,
}

const FIELDS: [Field; 9] = [
    Field::Count,
    Field::Recipe,
    Field::Underbase,
    Field::Name,
    Field::Garment,
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

/// The form as it is filled in.
pub struct OrderEntry {
    recipes: Vec<(String, String, bool)>,
    recipe: usize,
    underbase: Said,
    count: Input,
    name: Input,
    garment: Input,
    mark: Input,
    print: Input,
    places: Input,
    due: Input,
    field: usize,
    lines: Vec<OrderLine>,
}

impl OrderEntry {
    pub fn new(shop: &Shop) -> Self {
        let asks = |hash: &RecipeHash| {
            shop.recipe(hash).is_some_and(|recipe| recipe.underbase == Underbase::FromArtwork)
        };
        let recipes: Vec<(String, String, bool)> = shop
            .recipes()
            .map(|(name, hash, recipe)| (name.to_owned(), recipe.title.clone(), asks(hash)))
            .collect();
        let usual = recipes.iter().position(|(name, ..)| name == "dark-cotton").unwrap_or(0);
        let next = shop.orders().next_back().map_or(1, |order| order.no.0 + 1);
        Self {
            recipes,
            recipe: usual,
            underbase: Said::Nothing,
            count: Input::default(),
            name: Input::new(format!("Order {next}")),
            garment: Input::new("#16181d".into()),
            mark: Input::default(),
            print: Input::default(),
            places: Input::new("front".into()),
            due: Input::default(),
            field: 0,
            lines: Vec::new(),
        }
    }

    fn here(&self) -> Field {
        FIELDS[self.field]
    }

    /// Whether the chosen recipe goes by the artwork, so that somebody has to say what it wants.
    fn asks(&self) -> bool {
        self.recipes.get(self.recipe).is_some_and(|(_, _, asks)| *asks)
    }

    pub fn key(&mut self, shop: &Shop, key: &KeyEvent) -> Typed {
        match key.code {
            KeyCode::Char('+') => return self.submit(shop),
            KeyCode::Char('n') if key.modifiers.contains(KeyModifiers::CONTROL) => {
                return self.another_line();
            }
            KeyCode::Enter | KeyCode::Tab | KeyCode::Down => self.step(1),
            KeyCode::BackTab | KeyCode::Up => self.step(FIELDS.len() - 1),
            _ => match self.here() {
                Field::Recipe => self.choose_recipe(key),
                Field::Underbase => self.choose_underbase(key),
                Field::Count if !is_figure(key) => {}
                _ => {
                    if let Some(input) = self.input() {
                        edit(input, key);
                    }
                }
            },
        }
        Typed::Open
    }

    fn step(&mut self, by: usize) {
        self.field = (self.field + by) % FIELDS.len();
        if self.here() == Field::Underbase && !self.asks() {
            self.field = (self.field + by) % FIELDS.len();
        }
    }

    fn choose_recipe(&mut self, key: &KeyEvent) {
        let last = self.recipes.len().saturating_sub(1);
        match key.code {
            KeyCode::Char(digit @ '1'..='9') => {
                let place = digit.to_digit(10).and_then(|n| usize::try_from(n).ok()).unwrap_or(1);
                self.recipe = (place - 1).min(last);
            }
            KeyCode::Left => self.recipe = self.recipe.saturating_sub(1),
            KeyCode::Right | KeyCode::Char(' ') => self.recipe = (self.recipe + 1).min(last),
            _ => {}
        }
    }

    fn choose_underbase(&mut self, key: &KeyEvent) {
        self.underbase = match key.code {
            KeyCode::Char('1' | 'y') => Said::Yes,
            KeyCode::Char('2' | 'x') => Said::No,
            KeyCode::Char('3') => Said::Later,
            _ => self.underbase,
        };
    }

    fn input(&mut self) -> Option<&mut Input> {
        Some(match self.here() {
            Field::Count => &mut self.count,
            Field::Name => &mut self.name,
            Field::Garment => &mut self.garment,
            Field::Mark => &mut self.mark,
            Field::Print => &mut self.print,
            Field::Places => &mut self.places,
            Field::Due => &mut self.due,
            Field::Recipe | Field::Underbase => return None,
        })
    }

    fn go_to(&mut self, field: Field) {
        self.field = FIELDS.iter().position(|f| *f == field).unwrap_or(0);
    }

    fn another_line(&mut self) -> Typed {
        match self.line() {
            Ok(line) => {
                self.lines.push(line);
                self.count = Input::default();
                self.mark = Input::default();
                self.go_to(Field::Count);
                Typed::Open
            }
            Err((field, text)) => {
                self.go_to(field);
                Typed::Said(Tone::Refused, text)
            }
        }
    }

    fn submit(&mut self, shop: &Shop) -> Typed {
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
        let due = match self.due.value().trim() {
            "" => None,
            text => Some(text.parse().map_err(at(Field::Due))?),
        };
        Ok(OrderForm { name: self.name.value().to_owned(), due, lines }.cleaned())
    }

    fn line(&self) -> Result<OrderLine, (Field, String)> {
        let count = self.count.value().trim().parse().map_err(|_| {
            (Field::Count, "how many garments? A whole number, then + again".to_owned())
        })?;
        let (recipe, ..) = self
            .recipes
            .get(self.recipe)
            .ok_or((Field::Recipe, "there is no recipe to choose".to_owned()))?;
        let underbase = match self.underbase {
            _ if !self.asks() => None,
            Said::Nothing => {
                let text =
                    "is some of the artwork lighter than the garment? 1 yes 2 no 3 later, then +";
                return Err((Field::Underbase, text.to_owned()));
            }
            Said::Yes => Some(true),
            Said::No => Some(false),
            Said::Later => None,
        };
        let print = match self.print.value().trim() {
            "" => None,
            text => Some(text.parse().map_err(at(Field::Print))?),
        };
        let places =
            self.places.value().split(',').map(str::trim).filter(|place| !place.is_empty());
        Ok(OrderLine {
            count,
            recipe: recipe.clone(),
            garment: self.garment.value().parse::<Colour>().map_err(at(Field::Garment))?,
            art: None,
            print,
            mark: self.mark.value().to_owned(),
            places: places.map(str::to_owned).collect(),
            underbase,
            seen: None,
        })
    }

    pub fn lines(&self) -> (String, Vec<Line>) {
        let here = self.here();
        let recipe = match self.recipes.get(self.recipe) {
            Some((_, title, _)) => format!("{} {title}", self.recipe + 1),
            None => "none".into(),
        };
        let said = match self.underbase {
            _ if !self.asks() => "as the recipe says",
            Said::Nothing => "?",
            Said::Yes => "yes",
            Said::No => "no",
            Said::Later => "asked later",
        };
        let text = |name, input: &Input, of, hint| field(name, input.value(), here == of, hint);
        let mut lines: Vec<Line> = self
            .lines
            .iter()
            .map(|line| {
                Line::of(Role::Plain, format!("{} {} {}", line.count, line.recipe, line.mark))
            })
            .collect();
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
            text("size mark", &self.mark, Field::Mark, "M, XL, ..."),
            text("print", &self.print, Field::Print, "12 in x 14 in"),
            text("places", &self.places, Field::Places, "front, back"),
            text("due", &self.due, Field::Due, "2026-12-04T16:00"),
            Line::of(Role::Strong, "+ takes the order in   Enter next field   Esc closes"),
            Line::of(Role::Plain, "ctrl-n another line of the same order"),
        ]);
        ("A new order".into(), lines)
    }
}

fn is_figure(key: &KeyEvent) -> bool {
    match key.code {
        KeyCode::Char(letter) => letter.is_ascii_digit(),
        _ => true,
    }
}

/// Puts an error at its field.
fn at<E: std::fmt::Display>(field: Field) -> impl Fn(E) -> (Field, String) {
    move |error| (field, error.to_string())
}
