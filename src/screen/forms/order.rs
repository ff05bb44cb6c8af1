//! An order, on one form, by the keypad alone: count, recipe, underbase, then what can wait.

use super::entry::{At, Draft, Entry};
use super::known::Known;
use super::order_fields::{FIELDS, Field, Said, Seen};
use super::text::Text;
use super::{Typed, order_lines, order_lists, place};
use crate::figures::units::{Colour, Rectangle};
use crate::screen::View;
use crate::screen::act::{Effect, LookRequest};
use crate::screen::input::{Key, KeyCode, Mode, Takes};
use crate::screen::keymap::Keymap;
use crate::screen::meaning::Sight;
use crate::screen::paint::Line;
use crate::screen::ui::Tone;
use crate::shop::Shop;
use crate::shop::facts::order::{Artwork, Backdrop, OrderForm, OrderLine};
use crate::shop::facts::typed_due::typed_due;
use crate::shop::rules::command::{Command, Refusal};

/// The usual garment: the first recipe is for dark ones. From memory.
const USUAL: Colour = Colour { red: 0x16, green: 0x18, blue: 0x1d };
fn usual_colour() -> String {
    USUAL.to_string()
}

/// The form as it is filled in.
pub struct OrderEntry {
    pub(super) recipes: Vec<Known>,
    pub(super) recipe: usize,
    pub(super) underbase: Said,
    pub(super) count: Text,
    pub(super) name: Text,
    pub(super) garment: Text,
    pub(super) art: Text,
    /// What was seen of the artwork, and of which.
    pub(super) seen: Option<(LookRequest, Seen)>,
    pub(super) backdrop: Option<Backdrop>,
    pub(super) mark: Text,
    pub(super) pad: Text,
    pub(super) print: Text,
    pub(super) places: Text,
    pub(super) due: Text,
    pub(super) cloth: Text,
    /// Whether every station may take garments of it; None where this one has no hub.
    pub(super) shared: Option<bool>,
    pub(super) field: usize,
    pub(super) lines: Vec<OrderLine>,
    /// The colour of the line before, beside which was said what the artwork wants.
    said_of: Option<Colour>,
    /// Left half filled in, and open again.
    pub(super) kept: bool,
}

impl OrderEntry {
    pub fn new(shop: &Shop) -> Self {
        let recipes = Known::all(shop);
        let usual = recipes.iter().position(|known| known.name == "dark-cotton").unwrap_or(0);
        let next = shop.next_order();
        Self {
            recipes,
            recipe: usual,
            underbase: Said::Nothing,
            count: Text::default(),
            name: Text::given(format!("Order {next}")),
            garment: Text::given(
                shop.station().map_or_else(usual_colour, |station| station.colour_name(USUAL)),
            ),
            art: Text::default(),
            seen: None,
            backdrop: None,
            mark: Text::default(),
            pad: Text::default(),
            print: Text::default(),
            places: Text::given("front"),
            due: Text::default(),
            cloth: Text::default(),
            shared: shop.station().is_some_and(|station| station.hub.is_some()).then_some(false),
            field: 0,
            lines: Vec::new(),
            said_of: None,
            kept: false,
        }
    }

    pub(super) fn at_field(&self) -> Field {
        FIELDS[self.field]
    }

    /// Whether the chosen recipe goes by the artwork, so that somebody has to say what it wants.
    pub(super) fn asks(&self) -> bool {
        self.chosen().is_some_and(|known| known.asks)
    }

    pub(super) fn chosen(&self) -> Option<&Known> {
        self.recipes.get(self.recipe)
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
        let recipe = shop.recipes().named(name)?;
        let garment = self.colour(shop).ok()?;
        let (limits, backdrop) = (recipe.artwork, self.backdrop);
        (!art.is_empty()).then(|| LookRequest { art: art.to_owned(), garment, limits, backdrop })
    }

    /// The artwork as it was seen, if it was.
    pub(super) fn shown_artwork(&self) -> Option<&Artwork> {
        match &self.seen {
            Some((_, Seen::Art(artwork))) if !self.art.trimmed().is_empty() => Some(artwork),
            _ => None,
        }
    }

    /// Whether what was said of the artwork was said beside a garment of another colour.
    fn is_other_colour(&self, garment: Colour) -> bool {
        self.said_of.is_some_and(|of| of != garment)
    }

    /// Whether it hangs on the backdrop what the artwork says, or somebody has said so already.
    pub(super) fn asks_backdrop(&self) -> bool {
        self.backdrop.is_some() || matches!(self.seen, Some((_, Seen::Border)))
    }

    fn choose_backdrop(&mut self, key: &Key) {
        self.backdrop = match key.code {
            KeyCode::Char('1' | 'y') => Some(Backdrop::Keep),
            KeyCode::Char('2' | 'x') => Some(Backdrop::Drop),
            _ => self.backdrop,
        };
    }

    fn choose_recipe(&mut self, digit: char) -> Typed {
        let count = self.recipes.len();
        match place(digit).filter(|place| *place < count) {
            Some(recipe) => {
                // Another recipe says its own.
                if recipe != self.recipe {
                    self.cloth = Text::default();
                }
                self.recipe = recipe;
                Typed::Open
            }
            None => {
                let text = format!("there is no recipe {digit}: 1 to {count}");
                Typed::Said(Tone::Refused, text)
            }
        }
    }

    fn choose_underbase(&mut self, key: &Key) {
        self.underbase = match key.code {
            KeyCode::Char('1' | 'y') => Said::Yes,
            KeyCode::Char('2' | 'x') => Said::No,
            KeyCode::Char('3') => Said::Later,
            _ => return,
        };
        self.said_of = None;
    }

    fn choose_shared(&mut self, key: &Key) {
        self.shared = self.shared.map(|is| match key.code {
            KeyCode::Char('1' | 'y') => true,
            KeyCode::Char('2' | 'x') => false,
            _ => is,
        });
    }

    fn input(&mut self) -> Option<&mut Text> {
        Some(match self.at_field() {
            Field::Count => &mut self.count,
            Field::Name => &mut self.name,
            Field::Garment => &mut self.garment,
            Field::Art => &mut self.art,
            Field::Mark => &mut self.mark,
            Field::Pad => &mut self.pad,
            Field::Print => &mut self.print,
            Field::Places => &mut self.places,
            Field::Due => &mut self.due,
            Field::Cloth => &mut self.cloth,
            Field::Recipe | Field::Underbase | Field::Backdrop | Field::Shared => return None,
        })
    }

    fn go(&mut self, field: Field) {
        self.go_to(FIELDS.iter().position(|f| *f == field).unwrap_or(0));
    }

    /// The garment's colour, by the name that the station gives it, or as it is written.
    fn colour(&self, shop: &Shop) -> Result<Colour, String> {
        let text = self.garment.trimmed();
        let named = shop.station().and_then(|station| station.colour(text));
        named
            .map_or_else(|| text.parse::<Colour>(), Ok)
            .map_err(|wrong| format!("{wrong}, or one of the station's colours: . lists them"))
    }

    /// The next line has the same recipe, cloth and artwork; its count, size mark, pad and colour are its own, and with
    /// another colour somebody says again what the artwork wants.
    fn another_line(&mut self, shop: &Shop) -> Typed {
        if let Some(wait) = self.unseen(shop) {
            return wait;
        }
        match self.line(shop) {
            Ok(line) => {
                self.said_of = Some(line.garment);
                self.lines.push(line);
                self.count = Text::default();
                self.mark = Text::default();
                self.pad = Text::default();
                self.go(Field::Count);
                Typed::Said(Tone::Note, "another line: its count, then Enter for its colour".into())
            }
            Err((field, text)) => {
                self.go(field);
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
        self.go(field);
        Some(Typed::Said(Tone::Refused, text))
    }

    fn submit(&mut self, sight: &Sight<'_>) -> Typed {
        let shop = sight.shop;
        if let Some(wait) = self.unseen(shop) {
            return wait;
        }
        let form = match self.form(sight) {
            Ok(form) => form,
            Err((field, text)) => {
                self.go(field);
                return Typed::Said(Tone::Refused, text);
            }
        };
        let names: Vec<&str> = shop.recipes().names().collect();
        if let Err(senseless) = form.check(|name| names.contains(&name), &names.join(", ")) {
            self.go(Field::Count);
            return Typed::Said(Tone::Refused, senseless.to_string());
        }
        Typed::Closed(vec![Effect::Do(Command::TakeOrder { form, file: None })])
    }

    /// Whether a draft that is open again has a dash alone for its count. That is no row of sizes, only the beginning of
    /// one: `+` behind it throws the draft away, and has no other meaning there.
    fn is_given_up(&self) -> bool {
        self.kept && self.count.trimmed() == "-"
    }

    fn form(&self, sight: &Sight<'_>) -> Result<OrderForm, (Field, String)> {
        let shop = sight.shop;
        let mut lines = self.lines.clone();
        if lines.is_empty() || !self.count.value().is_empty() {
            lines.push(self.line(shop)?);
        }
        let due = match self.due.trimmed() {
            "" => None,
            text => Some(typed_due(text, sight.now, shop.zone()).map_err(at(Field::Due))?),
        };
        Ok(OrderForm {
            name: self.name.value().to_owned(),
            rank: Default::default(),
            due,
            shared: self.shared == Some(true),
            lines,
        }
        .cleaned())
    }

    fn line(&self, shop: &Shop) -> Result<OrderLine, (Field, String)> {
        let garment = self.colour(shop).map_err(at(Field::Garment))?;
        let (count, sizes) =
            order_lists::counted(self.count.trimmed(), shop).map_err(at(Field::Count))?;
        let recipe = self
            .recipes
            .get(self.recipe)
            .ok_or((Field::Recipe, "there is no recipe to choose".to_owned()))?;
        let seen = self.shown_artwork().cloned();
        let said = if self.is_other_colour(garment) { Said::Nothing } else { self.underbase };
        let underbase = match (said, &seen) {
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
        let pad = Some(self.pad.trimmed()).filter(|text| !text.is_empty());
        let pad = pad.map(str::parse).transpose().map_err(at(Field::Pad))?;
        let cloth = Some(self.cloth.trimmed()).filter(|text| !text.is_empty());
        let cloth = cloth.map(str::parse).transpose().map_err(at(Field::Cloth))?;
        let places =
            self.places.value().split(',').map(str::trim).filter(|place| !place.is_empty());
        Ok(OrderLine {
            sizes,
            art: Some(self.art.trimmed().to_owned()).filter(|art| !art.is_empty()),
            print,
            mark: self.mark.value().to_owned(),
            pad,
            cloth,
            places: places.map(str::to_owned).collect(),
            underbase,
            seen: seen.map(Box::new),
            ..OrderLine::plain(count, &recipe.name, garment)
        })
    }
}

impl Entry for OrderEntry {
    fn mode(&self) -> Mode {
        Mode::Field(match self.at_field() {
            Field::Count | Field::Recipe | Field::Underbase | Field::Backdrop | Field::Shared => {
                Takes::Figures
            }
            _ => Takes::Text,
        })
    }

    fn fields(&self) -> usize {
        FIELDS.len()
    }

    fn here(&self) -> usize {
        self.field
    }

    fn choose_field(&mut self, field: usize) {
        self.field = field.min(FIELDS.len() - 1);
    }

    fn skips(&self, field: usize) -> bool {
        match FIELDS.get(field) {
            Some(Field::Underbase) => !self.asks(),
            Some(Field::Backdrop) => !self.asks_backdrop(),
            Some(Field::Shared) => self.shared.is_none(),
            _ => false,
        }
    }

    fn moved(&mut self, at: &At<'_>) -> Typed {
        self.look(at.sight.shop)
    }

    fn text(&mut self) -> Option<&mut Text> {
        self.input()
    }

    fn is_path(&self) -> bool {
        self.at_field() == Field::Art
    }

    fn field_name(&self) -> &'static str {
        match self.at_field() {
            Field::Garment => "colour",
            Field::Art => "artwork",
            Field::Mark => "size mark",
            Field::Pad => "pad",
            Field::Print => "print",
            Field::Places => "places",
            Field::Cloth => "cloth",
            _ => "",
        }
    }

    fn list(&self, sight: &Sight<'_>) -> Option<Vec<String>> {
        order_lists::of(self.at_field(), sight.shop)
    }

    fn chose(&mut self, at: &At<'_>) -> Typed {
        self.look(at.sight.shop)
    }

    fn key(&mut self, at: &At<'_>, key: &Key) -> Typed {
        let shop = at.sight.shop;
        match (self.at_field(), key.code) {
            (Field::Count, KeyCode::Char('+')) if self.is_given_up() => {
                *self = Self::new(shop);
                return Typed::Said(Tone::Note, "thrown away: a new order".into());
            }
            (_, KeyCode::Char('+')) => return self.submit(at.sight),
            (Field::Count, KeyCode::Char('-')) => {
                self.count.key(key);
                if self.is_given_up() {
                    let text = "+ throws all of this order away; or go on with counts, such as -12";
                    return Typed::Said(Tone::Note, text.into());
                }
            }
            (_, KeyCode::Char('n')) if key.ctrl => return self.another_line(shop),
            (Field::Count, KeyCode::Char('.')) => return self.another_line(shop),
            (Field::Recipe, KeyCode::Char(digit @ '0'..='9')) => return self.choose_recipe(digit),
            (Field::Underbase, _) => self.choose_underbase(key),
            (Field::Shared, _) => self.choose_shared(key),
            (Field::Backdrop, _) => {
                self.choose_backdrop(key);
                return self.look(shop);
            }
            (Field::Count, KeyCode::Char(letter)) if !letter.is_ascii_digit() => {}
            _ => {
                if let Some(input) = self.input() {
                    input.key(key);
                }
            }
        }
        Typed::Open
    }

    fn refused(&mut self, _: &Refusal) {}

    fn takes_ctrl(&self, _: &Keymap, key: &Key) -> bool {
        key.code == KeyCode::Char('n')
    }

    fn draft(&self) -> Option<Draft> {
        Some(Draft::Order)
    }

    /// Opens again what was left half filled in.
    fn reopen(&mut self) {
        self.go(Field::Count);
        self.kept = true;
    }

    /// Takes what was seen of an artwork, where it is still the one that is named here.
    fn looked(&mut self, request: &LookRequest, found: Result<Option<Artwork>, String>) {
        let Some((of, seen)) = &mut self.seen else { return };
        if of == request {
            *seen = match found {
                Ok(Some(artwork)) => Seen::Art(Box::new(artwork)),
                Ok(None) => Seen::Border,
                Err(reason) => Seen::Not(reason),
            };
        }
    }

    fn artwork(&self) -> Option<&Artwork> {
        self.shown_artwork()
    }

    fn lines(&self, view: &View<'_>) -> (String, Vec<Line>) {
        order_lines::lines(self, view)
    }
}

/// Puts an error at its field.
fn at<E: std::fmt::Display>(field: Field) -> impl Fn(E) -> (Field, String) {
    move |error| (field, error.to_string())
}
