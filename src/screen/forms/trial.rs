//! The trial that looks for a recipe's window: one form, which asks for whatever is next.
//!
//! ```text
//! ══ Trial of Dark cotton, no. 3 ═══════════ presses: * then 1 to 9 ══
//!  Spray no. 3: 228 g/m2, 33.0 g on the scale
//!  it weighed 152.4 g before
//!  grams       [    ]  with its coat; Enter
//!  + ends the trial
//! ```
//!
//! As on the scale, Enter takes what was typed: a scale that types ends its line with it. What cannot be taken in
//! passing, a signature and the end of the trial, wants `+`, and then 9.

use super::cabled::Cabled;
use super::entry::{At, Entry};
use super::known::Known;
use super::text::Text;
use super::{Typed, field, place};
use crate::figures::fastness::Grade;
use crate::figures::trial::Seen;
use crate::figures::trial::answer::Stop;
use crate::figures::units::table::Unit;
use crate::figures::units::{Grams, GramsPerSquareMetre, whole_reader};
use crate::screen::View;
use crate::screen::act::Effect;
use crate::screen::input::{Key, KeyCode, Mode, Takes};
use crate::screen::instrument::{Reading, Readings};
use crate::screen::meaning::Sight;
use crate::screen::paint::Line;
use crate::screen::theme::Role;
use crate::screen::ui::Tone;
use crate::screen::words::{is_weight, read_weight, unit_name, weight_unit};
use crate::shop::Shop;
use crate::shop::facts::fact::GradedAfter;
use crate::shop::floor::trial::{TrialRun, TrialStep};
use crate::shop::rules::command::Command;

/// The fields of a trial that is to be begun, counted from none.
const RECIPE: usize = 0;
const LIMIT: usize = 1;
const CYCLES: usize = 2;

/// What is asked for.
#[derive(Clone, Copy, PartialEq)]
enum Asks {
    Begin,
    Weight,
    Grade,
    Signature,
    End,
}

/// Whatever the trial wants next.
pub struct TrialEntry {
    recipes: Vec<Known>,
    recipe: usize,
    /// The limit grade and the washes of a new trial.
    asked: [Text; 2],
    field: usize,
    input: Text,
    unit: &'static Unit,
    asks: Asks,
    /// `+` was struck: 9 ends the trial.
    ending: bool,
    /// A scale with a cable, where a weight is asked for.
    cabled: Option<Cabled>,
}

/// Less is an empty scale: a piece of cloth weighs more.
const LEAST: Grams = Grams(1.0);

impl TrialEntry {
    pub fn new(shown: Option<&Reading>, shop: &Shop) -> Self {
        let mut entry = Self {
            recipes: Known::all(shop),
            recipe: 0,
            asked: [Text::given("4"), Text::given("5")],
            field: RECIPE,
            input: Text::default(),
            unit: weight_unit(shop),
            asks: Asks::Begin,
            ending: false,
            cabled: None,
        };
        entry.look(shop);
        if entry.asks == Asks::Weight {
            entry.cabled = Some(Cabled::scale(LEAST, shown, &mut entry.input));
        }
        entry
    }

    /// What the trial wants, as it stands.
    fn look(&mut self, shop: &Shop) {
        self.asks = match shop.trial().map(TrialRun::next) {
            None => Asks::Begin,
            Some(TrialStep::WeighDry { .. } | TrialStep::WeighCoated { .. }) => Asks::Weight,
            Some(TrialStep::Grade { .. }) => Asks::Grade,
            Some(TrialStep::Over(_)) if shop.window_found().is_some() => Asks::Signature,
            Some(TrialStep::Over(_)) => Asks::End,
        };
    }

    /// Says something to the shop; the form stays where it is refused.
    fn say(command: Command) -> Typed {
        Typed::Closed(vec![Effect::Do(command)])
    }

    fn begin(&mut self) -> Typed {
        let limit = Grade::read_half(self.asked[0].trimmed());
        let cycles = whole_reader::<u32>("washes", 1, 200)(self.asked[1].trimmed());
        let wrong = |field: usize, text: String| (field, Typed::Said(Tone::Refused, text));
        let (field, typed) = match (limit, cycles, self.recipes.get(self.recipe)) {
            (Err(reason), ..) => wrong(LIMIT, reason.to_string()),
            (_, Err(reason), _) => wrong(CYCLES, reason.to_string()),
            (.., None) => wrong(RECIPE, "no recipe is in force".into()),
            (Ok(limit), Ok(cycles), Some(known)) => {
                let recipe = known.name.clone();
                return Self::say(Command::BeginTrial { recipe, limit, cycles });
            }
        };
        self.go_to(field);
        typed
    }

    fn weigh(&mut self) -> Typed {
        match read_weight(self.input.value(), self.unit) {
            Ok(grams) => Self::say(Command::WeighTrial(grams)),
            Err(reason) => self.wrong(reason.to_string()),
        }
    }

    /// A grade leaves the form open for the next: they are given one after the other.
    fn grade(&mut self, at: &At<'_>) -> Typed {
        let seen = match self.input.trimmed() {
            "-" => None,
            "y" => Some(Seen::Passed(true)),
            "n" => Some(Seen::Passed(false)),
            text => match text.parse::<Seen>() {
                Ok(seen) => Some(seen),
                Err(reason) => {
                    return self.wrong(format!("{reason}; yes, no, or - where it is lost"));
                }
            },
        };
        let command = Command::GradeTrial(seen);
        match at.sight.shop.decide(&command, at.sight.now) {
            // The round is graded: what is known now stands on the Coat screen.
            Ok(facts) if facts.len() > 1 => Self::say(command),
            Ok(_) => {
                self.input = Text::default();
                Typed::Effects(vec![Effect::Do(command)])
            }
            Err(refusal) => self.wrong(refusal.to_string()),
        }
    }

    fn wrong(&mut self, reason: String) -> Typed {
        self.input.enter();
        Typed::Said(Tone::Refused, reason)
    }

    fn begin_key(&mut self, key: &Key) -> Typed {
        match key.code {
            KeyCode::Char('+') => return self.begin(),
            KeyCode::Char(digit @ '0'..='9') if self.field == RECIPE => {
                match place(digit).filter(|place| *place < self.recipes.len()) {
                    Some(place) => self.recipe = place,
                    None => return Typed::Said(Tone::Refused, "no recipe has that number".into()),
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

    fn end_key(&mut self, key: &Key) -> Typed {
        self.ending = false;
        match key.code {
            KeyCode::Char('9') => Self::say(Command::EndTrial),
            _ => Typed::Open,
        }
    }
}

impl Entry for TrialEntry {
    fn mode(&self) -> Mode {
        match self.asks {
            _ if self.ending => Mode::Acts,
            Asks::End => Mode::Acts,
            Asks::Weight => Mode::Field(Takes::Scan),
            Asks::Begin if self.field == RECIPE => Mode::Field(Takes::Figures),
            Asks::Begin | Asks::Grade | Asks::Signature => Mode::Field(Takes::Text),
        }
    }

    fn fields(&self) -> usize {
        if self.asks == Asks::Begin { 3 } else { 1 }
    }

    fn here(&self) -> usize {
        self.field
    }

    fn choose_field(&mut self, field: usize) {
        self.field = field;
    }

    fn text(&mut self) -> Option<&mut Text> {
        match (self.asks, self.field) {
            _ if self.ending => None,
            (Asks::End, _) | (Asks::Begin, RECIPE) => None,
            (Asks::Begin, field) => self.asked.get_mut(field - 1),
            _ => Some(&mut self.input),
        }
    }

    fn field_name(&self) -> &'static str {
        match self.asks {
            Asks::Grade => "grade",
            Asks::Signature => "initials",
            _ => "recipe",
        }
    }

    fn list(&self, sight: &Sight<'_>) -> Option<Vec<String>> {
        match self.asks {
            Asks::Grade => Some(vec!["yes".to_owned(), "no".to_owned()]),
            Asks::Signature => {
                Some(sight.shop.desk().people.iter().map(ToString::to_string).collect())
            }
            _ => None,
        }
    }

    fn key(&mut self, at: &At<'_>, key: &Key) -> Typed {
        self.look(at.sight.shop);
        if self.ending || self.asks == Asks::End {
            return self.end_key(key);
        }
        let is_plus = key.code == KeyCode::Char('+');
        let empty = self.input.trimmed().is_empty();
        match (self.asks, key.code) {
            (Asks::Begin, _) => return self.begin_key(key),
            (Asks::Signature, KeyCode::Char('+')) if !empty => {
                return Self::say(Command::SignWindow(self.input.value().to_owned()));
            }
            (Asks::Signature, KeyCode::Enter) => {
                return Typed::Said(Tone::Note, "press + to sign it; nothing is signed yet".into());
            }
            _ if is_plus && empty => self.ending = true,
            (Asks::Weight, KeyCode::Enter | KeyCode::Char('+')) => return self.weigh(),
            (Asks::Grade, KeyCode::Enter | KeyCode::Char('+')) => return self.grade(at),
            _ => self.input.key(key),
        }
        Typed::Open
    }

    fn scan(&mut self, sight: &Sight<'_>, text: &str) -> Result<Typed, &'static str> {
        self.look(sight.shop);
        if self.asks != Asks::Weight || !is_weight(text) {
            return Err(if self.asks == Asks::Weight {
                "a weight is wanted here"
            } else {
                "no scan is wanted here"
            });
        }
        self.input = Text::given(text.trim());
        Ok(self.weigh())
    }

    fn reads(&mut self, sight: &Sight<'_>, readings: &Readings) -> Typed {
        self.look(sight.shop);
        let shown = readings.weight.as_ref();
        match &mut self.cabled {
            Some(cabled) if self.asks == Asks::Weight && !self.ending => {
                if cabled.weighs(shown, &mut self.input) { self.weigh() } else { Typed::Open }
            }
            _ => Typed::Open,
        }
    }

    fn lines(&self, view: &View<'_>) -> (String, Vec<Line>) {
        let title = view.shop.trial_title();
        let title = title
            .map_or("A trial: which coats hold?".to_owned(), |title| format!("Trial of {title}"));
        if self.ending {
            let lines = vec![
                Line::of(Role::Strong, "End the trial without a window?"),
                Line::of(Role::Plain, "9 ends it, any other key goes back"),
            ];
            return (title, lines);
        }
        let Some(run) = view.shop.trial() else { return (title, self.begin_lines()) };
        let mut lines = match run.next() {
            TrialStep::WeighDry { no, aim } => self.dry_lines(view.shop, no, aim),
            TrialStep::WeighCoated { no, aim, before } => {
                let was = format!("it weighed {} dry", before.told_in(self.unit));
                vec![
                    Line::of(Role::Strong, spray_sentence(view.shop, no, aim)),
                    Line::of(Role::Plain, was),
                    self.input.line(unit_name(self.unit), true, "with its coat; Enter"),
                ]
            }
            TrialStep::Grade { no, after } => self.grade_lines(run, no, after),
            TrialStep::Over(stop) => return (title, self.over_lines(view.shop, run, stop)),
        };
        let has_cable = view.shop.station().is_some_and(|station| station.scale.is_some());
        if let Some(cabled) =
            self.cabled.as_ref().filter(|_| has_cable && self.asks == Asks::Weight)
        {
            lines.push(Line::of(Role::Plain, cabled.scale_says(view.shop)));
        }
        lines.push(Line::of(Role::Plain, "+ end the trial   / leave this, the trial goes on"));
        (title, lines)
    }
}

impl TrialEntry {
    fn begin_lines(&self) -> Vec<Line> {
        let known = self.recipes.get(self.recipe);
        let recipe = known.map_or_else(
            || "none".to_owned(),
            |known| format!("{} {}", self.recipe + 1, known.title),
        );
        let here = |field| self.field == field;
        vec![
            field("recipe", &recipe, here(RECIPE), "its number"),
            self.asked[0].line("limit grade", here(LIMIT), "such as 4 or 4.5"),
            self.asked[1].line("washes", here(CYCLES), "how often each is washed"),
            Line::of(
                Role::Strong,
                "+ begin it: 8 to 24 blanks of one garment, one filling, one cure, one eye",
            ),
            Line::of(
                Role::Plain,
                "They belong to no order. Coats across the window, two loads of the wash or more.",
            ),
        ]
    }

    fn dry_lines(&self, shop: &Shop, no: u32, aim: GramsPerSquareMetre) -> Vec<Line> {
        vec![
            Line::of(Role::Strong, format!("Pre-press blank no. {no}, then weigh it dry")),
            self.input.line(unit_name(self.unit), true, "dry, just before the spray; Enter"),
            Line::of(Role::Plain, format!("then {}", spray_text(shop, no, aim))),
        ]
    }

    fn grade_lines(&self, run: &TrialRun, no: u32, after: GradedAfter) -> Vec<Line> {
        let coat =
            usize::try_from(no).ok().and_then(|no| run.garments.get(no.checked_sub(1)?)?.coat);
        let coat = coat.map_or_else(String::new, |coat| format!(" ({:.0} g/m2)", coat.0));
        let (what, hint) = match after {
            GradedAfter::Cure => (
                format!(
                    "Grade the white of no. {no}{coat}, cured, beside a good patch that you keep"
                ),
                "print and cure all of the round first",
            ),
            GradedAfter::Wash => (
                format!("Grade no. {no}{coat} after {} washes", run.begun.cycles),
                "only those whose white passed, all in one load",
            ),
        };
        vec![
            Line::of(Role::Strong, what),
            Line::of(Role::Plain, hint),
            self.input.line("grade", true, "1 to 5, such as 4.5; . yes or no; - lost; Enter"),
        ]
    }

    fn over_lines(&self, shop: &Shop, run: &TrialRun, stop: Stop) -> Vec<Line> {
        let Some(window) = shop.window_found() else {
            return vec![
                Line::of(Role::Strong, format!("{}.", stop.advice())),
                Line::of(Role::Plain, "9 ends the trial, any other key goes back"),
            ];
        };
        let found = format!(
            "{:.0} to {:.0} g/m2, target {:.0}, after {} garments: {}",
            window.low.0,
            window.high.0,
            window.target.0,
            run.answer.garments,
            stop.words()
        );
        vec![
            Line::of(Role::Strong, found),
            self.input.line("initials", true, "whoever signs it; . a list; then +"),
            Line::of(
                Role::Plain,
                "Signed, it is this recipe's window until its file changes fluid, dilution, cloth, spray, dry, cure or \
                 the window. It holds for this garment and eye.",
            ),
            Line::of(Role::Plain, "+ alone: end the trial without it"),
        ]
    }
}

/// What to spray, in the station's own words: the coat, and what the scale shows of it.
pub fn spray_text(shop: &Shop, no: u32, aim: GramsPerSquareMetre) -> String {
    let unit = weight_unit(shop);
    let grams = shop.trial_coverage().map(|coverage| coverage.grams(aim));
    let grams = grams.map_or_else(String::new, |grams| {
        let told = grams.told_in(unit);
        format!(", {told:.1} on the scale")
    });
    let area =
        shop.trial_recipe().map_or_else(String::new, |recipe| format!(" over {}", recipe.area));
    format!("spray no. {no}: {:.0} g/m2{area}{grams}", aim.0)
}

/// The same at the beginning of a sentence.
pub fn spray_sentence(shop: &Shop, no: u32, aim: GramsPerSquareMetre) -> String {
    spray_text(shop, no, aim).replacen('s', "S", 1)
}
