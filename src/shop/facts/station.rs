//! The station: its presses, its sheets and its habits, as the profile `station.ron` states them.

mod clock_time;
mod colours;
mod costs;
mod hand_times;
mod hub;
mod instrument;
mod sheet_rule;
mod tables;

use std::collections::BTreeMap;

use serde::de::Error as _;
use serde::{Deserialize, Deserializer, Serialize};

pub use super::breaks::Break;
pub use clock_time::ClockTime;
pub use colours::shipped_colours;
pub use costs::Costs;
pub use hand_times::HandTimes;
pub use hub::{Host, HubAddress, HubProfile};
pub use instrument::{Found, Frame, Instrument, NotRead, Reads, Shows};
pub use sheet_rule::SheetRule;
pub use tables::{DateOrder, Tables};

use super::check::{Senseless, check_sides, check_size};
use super::hours::Hours;
use super::ids::{PressNo, StationId};
use super::morning::MorningCheck;
use super::pad::Tender;
use super::sizes::{LONGEST_MARK, are_usual, check_marks, usual_sizes};
use super::step::{Pressure, Step};
use crate::figures::fan::Profile;
use crate::figures::spray::{self, Task};
use crate::figures::strokes::{Aim, Motion, Onto};
use crate::figures::units::bounds;
use crate::figures::units::table::{CENTIMETRE, GRAM, INCH, Unit};
use crate::figures::units::{
    Centimetres, Colour, Grams, GramsPerSecond, GramsPerSquareMetre, HeatSpan, Rectangle, Share,
    Span, Temperature, Typed,
};
use crate::label::Paper;
use colours::are_shipped;

/// The most presses a station can have: one to each digit key.
pub const MOST_PRESSES: usize = 9;
/// The most printers: as many as a plan is made for.
const MOST_PRINTERS: u8 = 9;

/// Everything that `station.ron` may say.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Station {
    /// Short name, the first part of every tag.
    #[serde(default)]
    pub id: StationId,
    pub name: String,
    pub presses: Vec<PressProfile>,
    /// How many printers there are, for plans.
    #[serde(default = "one_printer", skip_serializing_if = "is_one")]
    pub printers: u8,
    pub sheet: SheetRule,
    /// Program and arguments that make a sound, run without a shell. None: the terminal's bell.
    #[serde(default)]
    pub sounder: Option<Vec<String>>,
    /// Program and arguments that tell somebody elsewhere what happened, run without a shell. None: nobody is told.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub told: Option<Vec<String>>,
    /// How tables of orders are read. None: by the usual words.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub tables: Option<Tables>,
    /// What prints labels. None: they are drawn into files alone.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub labels: Option<LabelPrinter>,
    /// The scale, where it has a cable. None: a weight is typed, by hands or by the scale.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub scale: Option<Instrument>,
    /// The probe, where it has a cable. None: its figures are typed.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub probe: Option<Instrument>,
    /// Whether a scanned card whose code begins with `DO-` does what it names.
    #[serde(default, skip_serializing_if = "std::ops::Not::not")]
    pub cards: bool,
    /// Garment colours by the names that hands type.
    #[serde(default = "shipped_colours", skip_serializing_if = "are_shipped")]
    pub colours: BTreeMap<String, Colour>,
    /// Colours that heat harms, by their names.
    #[serde(default, skip_serializing_if = "BTreeMap::is_empty")]
    pub tender: BTreeMap<String, Tender>,
    /// The sizes of a row of counts, each at its place.
    #[serde(default = "usual_sizes", skip_serializing_if = "are_usual")]
    pub sizes: Vec<String>,
    /// Keys that differ from the defaults, by the name of what they do.
    #[serde(default)]
    pub keys: BTreeMap<String, Vec<String>>,
    /// How sprayed garments wait for the dryer.
    #[serde(default)]
    pub wet_garments: WetGarments,
    /// The character that the barcode scanner sends before a tag; None: scans are told by their speed.
    #[serde(default)]
    pub scanner_prefix: Option<char>,
    /// The shop's time zone, "Europe/Lisbon" say. None: the machine's.
    #[serde(default)]
    pub time_zone: Option<String>,
    /// Height above the sea: water boils earlier up there.
    #[serde(default = "sea_level")]
    pub altitude: Typed<Centimetres>,
    /// The sprayer; None: nobody has said, so no pace can be shown.
    #[serde(default)]
    pub sprayer: Option<Sprayer>,
    #[serde(default)]
    pub platen: PlatenRule,
    /// What hands and printer take, for plans.
    #[serde(default)]
    pub hands: HandTimes,
    /// When nobody works, every day, for plans.
    #[serde(default, skip_serializing_if = "Vec::is_empty")]
    pub breaks: Vec<Break>,
    /// What is looked at before a shift's first garment. Empty: nothing is asked.
    #[serde(default, skip_serializing_if = "Vec::is_empty")]
    pub morning: Vec<MorningCheck>,
    /// How long a press that was switched on soaks once its light shows.
    #[serde(default = "twenty_minutes", skip_serializing_if = "is_twenty_minutes")]
    pub soak: Span,
    /// When somebody works, for plans. Nothing: always.
    #[serde(default, skip_serializing_if = "Hours::is_always")]
    pub hours: Hours,
    /// What things cost, in the shop's own money.
    #[serde(default, skip_serializing_if = "is_usual")]
    pub costs: Costs,
    /// What that money is called, printed after each amount.
    #[serde(default, skip_serializing_if = "String::is_empty")]
    pub money: String,
    /// Where the shop's stations meet. None: this one is by itself.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub hub: Option<HubProfile>,
}

// From memory: what the light shows is the sensor, the platen's edges come later.
fn twenty_minutes() -> Span {
    Span::seconds(1200)
}

fn is_twenty_minutes(span: &Span) -> bool {
    *span == twenty_minutes()
}

/// What labels are given to.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct LabelPrinter {
    /// Program and arguments, run without a shell; the file's name comes last.
    pub program: Vec<String>,
    /// The labels that lie in it.
    #[serde(default)]
    pub size: Paper,
}

fn one_printer() -> u8 {
    1
}

#[expect(clippy::trivially_copy_pass_by_ref, reason = "serde hands a reference")]
fn is_one(count: &u8) -> bool {
    *count == 1
}

fn sea_level() -> Typed<Centimetres> {
    Typed::new(0.0, &CENTIMETRE)
}

/// A hand sprayer, as `dwell spray` asks for it.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Sprayer {
    /// What comes out: caught in a vessel for ten seconds and weighed.
    pub flow: Typed<GramsPerSecond>,
    /// Width of the fan on the garment, from the usual distance.
    pub fan: Typed<Centimetres>,
    /// How much of a fan's width the next stroke covers again.
    #[serde(default = "thirty_percent")]
    pub overlap: Share,
    /// How much of what is aimed at the garment stays on it.
    #[serde(default = "most_of_it")]
    pub kept: Share,
    /// How far each stroke runs on past the edge.
    #[serde(default = "two_inches")]
    pub past: Typed<Centimetres>,
    /// What lies past the edge of what is sprayed.
    #[serde(default, skip_serializing_if = "is_usual")]
    pub onto: Onto,
    /// How the fan's fluid lies across a stroke.
    #[serde(default, skip_serializing_if = "is_usual")]
    pub profile: Profile,
    /// How much fluid it holds. None: nobody has said.
    #[serde(default)]
    pub holds: Option<Typed<Grams>>,
    /// How long fluid may stay in it before it is flushed.
    #[serde(default = "a_day")]
    pub flush_every: Span,
}

/// Whether a field says what it would say by itself: it is not written then.
fn is_usual<T: Default + PartialEq>(field: &T) -> bool {
    *field == T::default()
}

// From memory: to be confirmed by the data sheet of the sprayer and the fluid.
fn a_day() -> Span {
    Span::seconds(86_400)
}

/// About 30 % for tapered flat fans (tests/data/README.md, section 6).
fn thirty_percent() -> Share {
    Share(0.3)
}

// From memory: to be confirmed by a weighed garment.
fn most_of_it() -> Share {
    Share(0.85)
}

fn two_inches() -> Typed<Centimetres> {
    Typed::new(2.0, &INCH)
}

impl Sprayer {
    /// Whether a hand can hold it.
    fn check(&self) -> Result<(), Senseless> {
        check_size("sprayer.flow", self.flow, bounds::FLOW)?;
        check_size("sprayer.fan", self.fan, bounds::FAN)?;
        check_size("sprayer.overlap", self.overlap, bounds::OVERLAP)?;
        check_size("sprayer.kept", self.kept, bounds::KEPT)?;
        check_size("sprayer.past", self.past, bounds::PAST)?;
        self.holds.map_or(Ok(()), |holds| check_size("sprayer.holds", holds, bounds::FILL))?;
        check_size("sprayer.flush_every", self.flush_every, bounds::FLUSHED)
    }

    /// How it is moved.
    pub fn motion(&self) -> Motion {
        Motion {
            fan: *self.fan,
            overlap: self.overlap.0,
            past: *self.past,
            profile: self.profile,
            onto: self.onto,
        }
    }

    /// What it has to do for a coat.
    pub fn task(&self, aim: Aim, coat: GramsPerSquareMetre) -> Task {
        let (flow_g_s, kept, motion) = (self.flow.0, self.kept.0, self.motion());
        Task { flow_g_s, kept, motion, aim, coat }
    }
}

/// How far a platen may be off its dial, and how often it is probed. Common practice, no source.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct PlatenRule {
    pub tolerance: HeatSpan,
    pub check_every: Span,
}

impl Default for PlatenRule {
    fn default() -> Self {
        Self { tolerance: HeatSpan::celsius(5.0), check_every: Span::seconds(7 * 86_400) }
    }
}

/// One heat press.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct PressProfile {
    pub name: String,
    /// What the dial shows; the platen itself may differ.
    pub dial: Temperature,
    #[serde(default)]
    pub pressure: Pressure,
    /// The platen. None: everything fits.
    #[serde(default)]
    pub size: Option<Rectangle>,
    /// The steps that this press is used for, by their names.
    #[serde(default = "all_pressed_steps", deserialize_with = "steps_by_name")]
    pub uses: Vec<Step>,
    /// Whether it opens by itself when its time is up.
    #[serde(default)]
    pub opens_itself: bool,
}

impl PressProfile {
    /// Whether it is used for a step, and takes these prints.
    pub fn serves(&self, step: Step, prints: impl IntoIterator<Item = Rectangle>) -> bool {
        let fit = |platen| prints.into_iter().all(|print| print.fits_on(platen));
        self.uses.contains(&step) && self.size.is_none_or(fit)
    }
}

fn all_pressed_steps() -> Vec<Step> {
    vec![Step::PrePress, Step::Dry, Step::Cure]
}

/// In RON the name of an enum's variant cannot hold a hyphen: a step is a text there, as it is in the journal.
fn steps_by_name<'de, D: Deserializer<'de>>(reader: D) -> Result<Vec<Step>, D::Error> {
    let step = |name: String| {
        all_pressed_steps().into_iter().find(|step| step.name() == name).ok_or_else(|| {
            let found = super::words::clean(&name, 20);
            let reason =
                format!("uses: found \"{found}\", expected \"pre-press\", \"dry\" or \"cure\"");
            D::Error::custom(reason)
        })
    };
    Vec::<String>::deserialize(reader)?.into_iter().map(step).collect()
}

/// How sprayed garments wait: touching ones spoil sooner.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default, Serialize, Deserialize)]
pub enum WetGarments {
    #[default]
    Touching,
    HungApart,
}

impl Station {
    /// The profile of a press, if the station has one with that number.
    pub fn press(&self, no: PressNo) -> Option<&PressProfile> {
        self.presses.get(usize::from(no.0).checked_sub(1)?)
    }

    /// The unit of a weight that is typed without one: that of the sprayer's fill, else grams.
    pub fn weight_unit(&self) -> &'static Unit {
        self.sprayer.and_then(|sprayer| sprayer.holds).map_or(&GRAM, Typed::unit)
    }

    /// Height above the sea, in metres.
    pub fn altitude_m(&self) -> f64 {
        const CM_PER_M: f64 = 100.0;
        self.altitude.0 / CM_PER_M
    }

    /// The numbers of all presses, in order.
    pub fn press_numbers(&self) -> impl Iterator<Item = PressNo> + use<> {
        (1..=self.presses.len().min(MOST_PRESSES)).filter_map(|n| u8::try_from(n).ok()).map(PressNo)
    }

    /// Takes control characters out of every text.
    pub fn cleaned(mut self) -> Self {
        self.name = super::words::clean(&self.name, 40);
        self.money = super::words::clean(&self.money, 8);
        for press in &mut self.presses {
            press.name = super::words::clean(&press.name, 16);
        }
        self.sizes.iter_mut().for_each(|mark| *mark = super::words::clean(mark, LONGEST_MARK));
        self
    }

    /// Whether the profile makes sense.
    ///
    /// # Errors
    /// The first field that does not, with the reason.
    pub fn check(&self) -> Result<(), Senseless> {
        if self.presses.is_empty() || self.presses.len() > MOST_PRESSES {
            let found = self.presses.len();
            return Err(Senseless::new("presses", format!("{found} presses: expected 1 to 9")));
        }
        for (n, press) in self.presses.iter().enumerate() {
            let field = |name: &str| format!("presses[{}].{name}", n + 1);
            if press.name.is_empty() {
                return Err(Senseless::new(field("name"), "a press needs a name"));
            }
            check_size(field("dial"), press.dial, bounds::PLATE)?;
            press.size.map_or(Ok(()), |size| check_sides(field("size"), size))?;
        }
        if !(1..=MOST_PRINTERS).contains(&self.printers) {
            let reason = format!("{} printers: expected 1 to {MOST_PRINTERS}", self.printers);
            return Err(Senseless::new("printers", reason));
        }
        check_marks(&self.sizes)?;
        if let Some(name) = self.unknown_tender() {
            let names = self.colour_names().join(", ");
            let reason = format!("\"{name}\" is no colour here; there are: {names}");
            return Err(Senseless::new("tender", reason));
        }
        self.sheet.check()?;
        self.check_bench()?;
        self.scale.as_ref().map_or(Ok(()), |scale| scale.check("scale", Shows::Weight))?;
        self.probe.as_ref().map_or(Ok(()), |probe| probe.check("probe", Shows::Heat))?;
        self.hub.as_ref().map_or(Ok(()), HubProfile::check)?;
        self.tables.as_ref().map_or(Ok(()), Tables::check)?;
        let runs = |words: &Vec<String>| words.first().is_some_and(|program| !program.is_empty());
        if self.sounder.as_ref().is_some_and(|words| !runs(words)) {
            let reason = "expected Some([\"program\", \"argument\"]) or None";
            return Err(Senseless::new("sounder", reason));
        }
        if self.told.as_ref().is_some_and(|words| !runs(words)) {
            let reason = "expected Some([\"program\", \"argument\"]) or None";
            return Err(Senseless::new("told", reason));
        }
        if self.labels.as_ref().is_some_and(|labels| !runs(&labels.program)) {
            let reason = "expected [\"program\", \"argument\"]";
            return Err(Senseless::new("labels.program", reason));
        }
        Ok(())
    }

    /// Height, sprayer and platen.
    fn check_bench(&self) -> Result<(), Senseless> {
        check_size("altitude", self.altitude, bounds::ALTITUDE)?;
        if let Some(sprayer) = &self.sprayer {
            sprayer.check()?;
            let any = Aim::Area(Rectangle::inches(14.0, 16.0));
            let any = sprayer.task(any, GramsPerSquareMetre(200.0));
            spray::pace(&any).map_err(|wrong| {
                Senseless::new(format!("sprayer.{}", wrong.name), wrong.to_string())
            })?;
        }
        check_size("platen.tolerance", self.platen.tolerance, bounds::TOLERANCE)?;
        for (n, one) in self.breaks.iter().enumerate() {
            check_size(format!("breaks[{}].lasts", n + 1), one.lasts, bounds::BREAK)?;
        }
        check_size("platen.check_every", self.platen.check_every, bounds::PROBING)?;
        check_size("soak", self.soak, bounds::SOAK)?;
        self.hands.check()
    }
}
