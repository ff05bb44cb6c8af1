//! A garment that another station keeps is taken over here: with what is known of it, else by what a hand says of it.
//!
//! ```text
//! ══ Take B3-02 over? ═══════════════════════ presses: * then 1 to 9 ══
//!  Lantern walk, M: at South bench, waits for dry
//!  recipe dark-cotton, coat 31 g/m2, lot F-118
//!  + take it over   / back
//! ```
//!
//! ```text
//! ══ Take B3-02 over? ═══════════════════════ presses: * then 1 to 9 ══
//!  The hub cannot be asked: look at the garment and say where it stands.
//!  waits for    [dry]  1 pre-press  2 spray  3 dry  4 print  5 cure
//!  recipe        dark-cotton
//!  + take it over, not confirmed  Enter next  / back
//! ```

use super::entry::{At, Entry};
use super::{Typed, field, place};
use crate::screen::View;
use crate::screen::act::Effect;
use crate::screen::elsewhere::{Elsewhere, Hub};
use crate::screen::input::{Key, KeyCode, Mode, Takes};
use crate::screen::meaning::Sight;
use crate::screen::paint::Line;
use crate::screen::theme::Role;
use crate::screen::ui::Tone;
use crate::shop::Shop;
use crate::shop::facts::fact::{Awaits, Comes, Timing};
use crate::shop::facts::ids::Tag;
use crate::shop::facts::step::Step;
use crate::shop::facts::words::behind;
use crate::shop::rules::command::Command;
use crate::shop::rules::command::{Handover, TakenOver};

const STEP: usize = 0;
const RECIPE: usize = 1;
/// As many recipes as there are digits.
const MOST: usize = 9;

/// The garment, and what comes with it or is said of it.
pub struct TakeOverEntry {
    tag: Tag,
    hub: Hub,
    handed: Option<Handover>,
    step: Option<Step>,
    recipes: Vec<String>,
    recipe: Option<usize>,
    field: usize,
}

impl TakeOverEntry {
    pub fn new(tag: Tag, sight: &Sight<'_>, elsewhere: &Elsewhere) -> Self {
        let recipes: Vec<String> =
            sight.shop.recipes().names().map(str::to_owned).take(MOST).collect();
        // One of this station's own that has been elsewhere keeps its recipe.
        let own = sight.shop.garment(tag).and_then(|garment| sight.shop.recipe_name(garment));
        let known = own.and_then(|own| recipes.iter().position(|name| name == own));
        let only = (recipes.len() == 1).then_some(0);
        Self {
            tag,
            hub: elsewhere.hub,
            handed: elsewhere.handover(tag),
            step: None,
            recipe: known.or(only),
            recipes,
            field: STEP,
        }
    }

    fn submit(&mut self, shop: &Shop) -> Typed {
        let unconfirmed = self.hub != Hub::There;
        let taken = match &self.handed {
            Some(handed) => TakenOver::handed(self.tag, handed.clone(), unconfirmed),
            None => match self.said(shop) {
                Ok(comes) => TakenOver::said(self.tag, comes),
                Err((at, text)) => {
                    self.go_to(at);
                    return Typed::Said(Tone::Refused, text.to_owned());
                }
            },
        };
        Typed::Closed(vec![Effect::Do(Command::TakeOver(Box::new(taken)))])
    }

    fn said(&self, shop: &Shop) -> Result<Comes, (usize, &'static str)> {
        let step = self.step.ok_or((STEP, "what does it wait for? 1 to 5"))?;
        let name = self.recipe.and_then(|place| self.recipes.get(place));
        let name = name.ok_or((RECIPE, "by which recipe? Its number"))?;
        let hash =
            shop.recipes().hash_of(name).ok_or((RECIPE, "that recipe is not there any more"))?;
        Ok(Comes::said(step, name, *hash))
    }

    fn known_lines(&self, view: &View<'_>, handed: &Handover) -> Vec<Line> {
        let comes = &handed.comes;
        let bench = view.ui.elsewhere.bench(view.shop, handed.from.station);
        let order = comes.order.as_ref().map_or_else(
            || view.shop.order(self.tag.order_id()).map(|order| order.form.name.clone()),
            |of| Some(of.name.clone() + &behind(Some(&of.line.mark))),
        );
        let order = order.unwrap_or_else(|| self.tag.to_string());
        let mut known = vec![format!("recipe {}", comes.recipe)];
        known.extend(comes.coat.map(|coat| {
            let how = if comes.estimated { " by its steam" } else { "" };
            format!("coat {:.0} g/m2{how}", coat.0)
        }));
        known.extend(match comes.lots.as_slice() {
            [] => None,
            lots => Some(format!("lot {}", lots.join(" and "))),
        });
        let mut lines = vec![
            Line::of(Role::Strong, order)
                .and(Role::Plain, format!(": at {bench}, {}", waits(comes.waits))),
            Line::of(Role::Plain, known.join(", ")),
        ];
        let fault = comes.dried.and_then(|dried| match dried.timing {
            Timing::Early => Some("dried for too short a time there"),
            Timing::Late => Some("dried for too long there"),
            Timing::InTime | Timing::NotTimed => None,
        });
        lines.extend(fault.map(|fault| Line::of(Role::Abnormal, fault)));
        if self.hub == Hub::CutOff {
            let text = "The hub cannot be asked now: it may have moved on since. Not confirmed.";
            lines.push(Line::of(Role::Abnormal, text));
        }
        lines.push(Line::of(Role::Strong, "+ take it over   / back"));
        lines
    }

    fn said_lines(&self) -> Vec<Line> {
        let why = match self.hub {
            Hub::None => "No hub here: look at the garment and say where it stands.",
            Hub::CutOff => "The hub cannot be asked: look at the garment and say where it stands.",
            Hub::There => {
                "No station says that it keeps it: look at the garment and say where it stands."
            }
        };
        let steps = numbered(Step::ALL.iter().map(|step| step.name()));
        // A name that is parted from its figure is nobody's.
        let recipes = numbered(self.recipes.iter().map(String::as_str)).replace("  ", "\n");
        let recipes = recipes.replace(' ', "\u{a0}").replace('\n', "  ");
        let step = self.step.map_or("", Step::name);
        let recipe = self.recipe.and_then(|place| self.recipes.get(place));
        vec![
            Line::of(Role::Abnormal, why),
            field("waits for", step, self.field == STEP, &steps),
            field("recipe", recipe.map_or("", String::as_str), self.field == RECIPE, &recipes),
            Line::of(Role::Strong, "+ take it over, not confirmed  Enter next  / back"),
        ]
    }
}

impl Entry for TakeOverEntry {
    fn mode(&self) -> Mode {
        if self.handed.is_some() { Mode::Lists } else { Mode::Field(Takes::Figures) }
    }

    fn fields(&self) -> usize {
        if self.handed.is_some() { 1 } else { RECIPE + 1 }
    }

    fn here(&self) -> usize {
        self.field
    }

    fn choose_field(&mut self, field: usize) {
        self.field = field.min(RECIPE);
    }

    fn key(&mut self, at: &At<'_>, key: &Key) -> Typed {
        let place = match key.code {
            KeyCode::Char('+') => return self.submit(at.sight.shop),
            KeyCode::Char('/') => return Typed::Left,
            KeyCode::Char(digit) if self.handed.is_none() => place(digit),
            _ => None,
        };
        match (self.field, place) {
            (STEP, Some(place)) if place < Step::ALL.len() => self.step = Some(Step::ALL[place]),
            (RECIPE, Some(place)) if place < self.recipes.len() => self.recipe = Some(place),
            _ if self.handed.is_some() => {
                return Typed::Said(Tone::Note, "+ takes it over; / back".into());
            }
            _ => return Typed::Said(Tone::Refused, "a number from the list, then Enter".into()),
        }
        Typed::Open
    }

    fn lines(&self, view: &View<'_>) -> (String, Vec<Line>) {
        let lines = match &self.handed {
            Some(handed) => self.known_lines(view, handed),
            None => self.said_lines(),
        };
        (format!("Take {} over?", self.tag), lines)
    }
}

/// "waits for dry".
fn waits(for_what: Awaits) -> &'static str {
    match for_what {
        Awaits::PrePress => "waits for pre-press",
        Awaits::Spray => "waits for spray",
        Awaits::Dry => "waits for dry",
        Awaits::Print => "waits for print",
        Awaits::Cure => "waits for cure",
        Awaits::Underbase => "waits for a yes or no: underbase?",
        Awaits::Shelf => "on the shelf",
    }
}

/// "1 pre-press  2 spray".
fn numbered<'a>(names: impl Iterator<Item = &'a str>) -> String {
    let each: Vec<String> =
        (1..).zip(names).map(|(n, name): (u8, _)| format!("{n} {name}")).collect();
    each.join("  ")
}
