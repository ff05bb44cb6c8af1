//! The recipe: heat, pressure, times and coat for one kind of garment, as `recipes/NAME.ron` states them.

use serde::{Deserialize, Serialize};
use sha2::{Digest, Sha256};

use super::check::{Senseless, check_sides, check_size};
use super::cloth::{Cloth, Weights};
use super::coat::CoatWindow;
use super::ids::RecipeHash;
use super::mixture::{Dilution, FluidKind, Mixture};
pub use super::shape::Pressing;
use super::shape::check_shape;
use super::station::WetGarments;
use super::step::{Cover, Pressure, Step};
use crate::figures::artwork::Limits;
use crate::figures::coat::Verdict;
use crate::figures::units::{
    Days, Grams, GramsPerSquareMetre, Rectangle, Span, Temperature, Typed, bounds,
};

/// Everything that a recipe may say.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Recipe {
    pub title: String,
    pub underbase: Underbase,
    /// Whether fluid goes on; a decision of its own beside the underbase.
    #[serde(default)]
    pub fluid: Fluid,
    pub set_point: Temperature,
    #[serde(default)]
    pub pressure: Pressure,
    pub prepress: Stage,
    pub dry: DryStage,
    /// How long a sprayed garment may wait for the dryer where wet garments touch.
    pub wet_at_most: Span,
    /// The same where they hang apart.
    #[serde(default = "an_hour")]
    pub wet_apart_at_most: Span,
    pub coat: CoatWindow,
    /// What its garments are made of; None: nothing is said, and they count as cotton in the balance of the steam.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub cloth: Option<Cloth>,
    /// What that cloth weighs, and a garment of it of size M; None: as is usual.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub cloth_weight: Option<GramsPerSquareMetre>,
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub blank_weight: Option<Typed<Grams>>,
    /// The fluid that the window is for, and how it is thinned; None: any.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub fluid_kind: Option<FluidKind>,
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub dilution: Option<Dilution>,
    pub keep: Keep,
    /// A garment from the shelf is pressed again for a moment before it is printed.
    #[serde(default = "a_moment")]
    pub again: Stage,
    /// The same where the room is damp, above 60 %.
    #[serde(default = "a_damp_moment", skip_serializing_if = "is_a_damp_moment")]
    pub again_damp: Stage,
    /// How long a garment rests after its press before it is printed. None: it goes on at once.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub rest: Option<Span>,
    /// How long a print may wait, wet, for its cure.
    #[serde(default = "half_an_hour")]
    pub print_wet_at_most: Span,
    pub cure: Stage,
    /// What the printer takes for one; None: as the station says.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub print: Option<Span>,
    /// Whether the fibres are laid down with a roller after the spray.
    #[serde(default = "yes")]
    pub roll: bool,
    #[serde(default)]
    pub spray: Spray,
    /// What the coat is counted over where a line names no print.
    #[serde(default = "usual_area")]
    pub area: Rectangle,
    /// Every so many sprayed garments one is to be weighed before and after; 0: none.
    #[serde(default)]
    pub weigh_every: u32,
    /// What of an artwork asks for white.
    #[serde(default)]
    pub artwork: Limits,
    /// Where the figures come from.
    pub basis: String,
    /// Who confirmed them from the data sheets, and when; until then the board says that nobody has.
    #[serde(default)]
    pub confirmed: Option<String>,
}

fn yes() -> bool {
    true
}

// From memory: to be confirmed, like every recipe that relies on them.
fn an_hour() -> Span {
    Span::seconds(3600)
}

/// 14 in x 16 in, a platen of the trade (common practice, no source).
fn usual_area() -> Rectangle {
    Rectangle::inches(14.0, 16.0)
}

fn half_an_hour() -> Span {
    Span::seconds(1800)
}

fn a_moment() -> Stage {
    Stage {
        shortest: Span::seconds(3),
        target: Span::seconds(5),
        longest: Span::seconds(30),
        set_point: None,
        pressure: None,
        cover: None,
        hover: None,
        lift: None,
    }
}

/// 10 to 15 s above 60 % humidity (from memory).
fn a_damp_moment() -> Stage {
    Stage { shortest: Span::seconds(10), target: Span::seconds(12), ..a_moment() }
}

fn is_a_damp_moment(stage: &Stage) -> bool {
    *stage == a_damp_moment()
}

/// What decides whether white goes down first.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize)]
pub enum Underbase {
    FromArtwork,
    Always,
    Never,
}

/// What decides whether pretreatment fluid goes on.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default, Serialize, Deserialize)]
pub enum Fluid {
    /// White holds only on a coat, so the one asks for the other.
    #[default]
    WithUnderbase,
    Always,
    Never,
}

/// How the coat gets onto the garment.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default, Serialize, Deserialize)]
pub enum Spray {
    #[default]
    Hand,
    /// A machine, and the time that it takes.
    Machine(Span),
    /// The blank was bought with its coat on and dried.
    BoughtTreated,
}

/// One press of a garment: shortest, target and longest time, and what differs from the recipe.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Stage {
    pub shortest: Span,
    pub target: Span,
    pub longest: Span,
    #[serde(default)]
    pub set_point: Option<Temperature>,
    #[serde(default)]
    pub pressure: Option<Pressure>,
    #[serde(default)]
    pub cover: Option<Cover>,
    /// So long the platen hovers over the garment before it closes.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub hover: Option<Span>,
    /// Half-way the press is lifted for so long: two presses in one.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub lift: Option<Span>,
}

/// The press that boils the water off, under its cover.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct DryStage {
    pub shortest: Span,
    pub target: Span,
    pub longest: Span,
    /// By then the steam must have stopped, or the coat was too heavy.
    pub steam_gone_by: Span,
    pub cover: Cover,
    #[serde(default)]
    pub set_point: Option<Temperature>,
    #[serde(default)]
    pub pressure: Option<Pressure>,
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub hover: Option<Span>,
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub lift: Option<Span>,
}

/// How long a treated garment keeps on the shelf, in calendar days.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Keep {
    pub good_for: Days,
    pub at_most: Days,
}

impl Recipe {
    /// What the press does for `step`; `again` is the short press of a garment from the shelf.
    /// None for a step that is not done in a heat press.
    pub fn pressing(&self, step: Step, again: bool) -> Option<Pressing> {
        self.pressing_when(step, again, false)
    }

    /// The same; `damp` where the room is.
    pub fn pressing_when(&self, step: Step, again: bool, damp: bool) -> Option<Pressing> {
        let stage = match step {
            Step::PrePress if again && damp => &self.again_damp,
            Step::PrePress if again => &self.again,
            Step::PrePress => &self.prepress,
            Step::Dry => return Some(self.drying()),
            Step::Cure => &self.cure,
            Step::Spray | Step::Print => return None,
        };
        Some(
            Pressing {
                shortest: stage.shortest,
                target: stage.target,
                longest: stage.longest,
                steam_gone_by: None,
                set_point: stage.set_point.unwrap_or(self.set_point),
                pressure: stage.pressure.unwrap_or(self.pressure),
                cover: stage.cover,
                hover: Span::default(),
                lift: Span::default(),
            }
            .shaped(stage.hover, stage.lift),
        )
    }

    /// By when its steam is gone, from the key, which is struck as the platen begins to hover.
    pub fn steam_gone_by(&self) -> Span {
        self.drying().steam_gone_by.unwrap_or(self.dry.steam_gone_by)
    }

    /// How a wet garment is dried.
    pub fn drying(&self) -> Pressing {
        Pressing {
            shortest: self.dry.shortest,
            target: self.dry.target,
            longest: self.dry.longest,
            steam_gone_by: Some(self.dry.steam_gone_by),
            set_point: self.dry.set_point.unwrap_or(self.set_point),
            pressure: self.dry.pressure.unwrap_or(self.pressure),
            cover: Some(self.dry.cover),
            hover: Span::default(),
            lift: Span::default(),
        }
        .shaped(self.dry.hover, self.dry.lift)
    }

    /// The fluid that its window is for.
    pub fn fluid_wanted(&self) -> Mixture {
        Mixture { kind: self.fluid_kind, dilution: self.dilution, mixed: None }
    }

    /// How long a sprayed garment may wait for the dryer.
    pub fn wet_limit(&self, garments: WetGarments) -> Span {
        match garments {
            WetGarments::Touching => self.wet_at_most,
            WetGarments::HungApart => self.wet_apart_at_most,
        }
    }

    /// Whether white goes down first, given what the artwork said; None while it has said nothing.
    pub fn wants_underbase(&self, artwork: Option<bool>) -> Option<bool> {
        match self.underbase {
            Underbase::Always => Some(true),
            Underbase::Never => Some(false),
            Underbase::FromArtwork => artwork,
        }
    }

    /// Whether fluid goes on at this station; None while the artwork has said nothing.
    pub fn wants_fluid(&self, artwork: Option<bool>) -> Option<bool> {
        if self.spray == Spray::BoughtTreated {
            return Some(false);
        }
        match self.fluid {
            Fluid::Always => Some(true),
            Fluid::Never => Some(false),
            Fluid::WithUnderbase => self.wants_underbase(artwork),
        }
    }

    /// The fingerprint of the recipe: SHA-256 of its JSON, shortened to twelve digits.
    pub fn hash(&self) -> RecipeHash {
        // A recipe holds only numbers and texts, so writing it as JSON cannot fail.
        let text = serde_json::to_vec(self).unwrap_or_default();
        let digest = Sha256::digest(&text);
        let mut first = [0; 6];
        first.copy_from_slice(&digest[..6]);
        RecipeHash(first)
    }

    /// The recipe as it is gone by once its file is read: the edges of its window where they were left out, and no
    /// control characters in any text.
    pub fn cleaned(mut self) -> Self {
        self.coat = self.coat.opened(self.confirmed.is_some());
        self.title = super::words::clean(&self.title, 40);
        self.basis = super::words::clean(&self.basis, 200);
        self.confirmed = self.confirmed.map(|who| super::words::clean(&who, 60));
        self
    }

    /// Whether the recipe makes sense.
    ///
    /// # Errors
    /// The first field that does not, with the reason.
    pub fn check(&self) -> Result<(), Senseless> {
        check_size("set_point", self.set_point, bounds::PLATE)?;
        check_sides("area", self.area)?;
        let stages = [
            ("prepress", &self.prepress),
            ("again", &self.again),
            ("again_damp", &self.again_damp),
            ("cure", &self.cure),
        ];
        for (name, stage) in stages {
            check_stage(name, stage.shortest, stage.target, stage.longest, stage.set_point)?;
            check_shape(name, stage.hover, stage.lift)?;
        }
        self.rest.map_or(Ok(()), |rest| check_size("rest", rest, bounds::REST))?;
        let dry = &self.dry;
        check_shape("dry", dry.hover, dry.lift)?;
        check_stage("dry", dry.shortest, dry.target, dry.longest, dry.set_point)?;
        if dry.steam_gone_by > dry.target || dry.steam_gone_by.0.is_zero() {
            let reason =
                format!("{} is not between 0s and target ({})", dry.steam_gone_by, dry.target);
            return Err(Senseless::new("dry.steam_gone_by", reason));
        }
        for (name, limit) in [
            ("wet_at_most", self.wet_at_most),
            ("wet_apart_at_most", self.wet_apart_at_most),
            ("print_wet_at_most", self.print_wet_at_most),
        ] {
            check_size(name, limit, bounds::WET)?;
        }
        self.coat.check()?;
        self.check_cloth()?;
        self.print.map_or(Ok(()), |takes| check_size("print", takes, bounds::HAND))?;
        if self.weigh_every > 1000 {
            let reason = format!("{}: expected 0 (never) to 1000", self.weigh_every);
            return Err(Senseless::new("weigh_every", reason));
        }
        check_artwork(&self.artwork)?;
        self.keep.check()
    }

    /// What cloth and garments weigh that are treated by it; of another cloth than its own, as that usually does.
    pub fn weights(&self, cloth: Option<Cloth>) -> Weights {
        let other = cloth.filter(|cloth| self.cloth.is_some_and(|own| own != *cloth));
        if let Some(other) = other {
            return other.usual();
        }
        let usual = cloth.or(self.cloth).unwrap_or(Cloth::Cotton).usual();
        Weights {
            cloth: self.cloth_weight.unwrap_or(usual.cloth),
            blank: self.blank_weight.map_or(usual.blank, Typed::quantity),
        }
    }

    fn check_cloth(&self) -> Result<(), Senseless> {
        let (cloth, blank) = (self.cloth_weight, self.blank_weight);
        cloth.map_or(Ok(()), |weight| check_size("cloth_weight", weight, bounds::CLOTH))?;
        blank.map_or(Ok(()), |weight| check_size("blank_weight", weight, bounds::GARMENT))
    }

    /// How a coat lies to the recipe's window.
    pub fn verdict(&self, coat: GramsPerSquareMetre) -> Verdict {
        Verdict::of(coat, self.coat.low, self.coat.high)
    }
}

fn check_artwork(limits: &Limits) -> Result<(), Senseless> {
    check_size("artwork.lighter_by", limits.lighter_by, bounds::LIGHTER)?;
    if !(0.0..=1.0).contains(&limits.brighter_by) {
        let reason = format!("{}: expected a part of full light, 0 to 1", limits.brighter_by);
        return Err(Senseless::new("artwork.brighter_by", reason));
    }
    check_size("artwork.share", limits.share, bounds::DECIDING)
}

fn check_stage(
    name: &str,
    shortest: Span,
    target: Span,
    longest: Span,
    set_point: Option<Temperature>,
) -> Result<(), Senseless> {
    const LONGEST_PRESS: Span = Span::seconds(3600);
    let field = |part: &str| format!("{name}.{part}");
    if target.0.is_zero() {
        return Err(Senseless::new(field("target"), "0s is no press: expected more"));
    }
    if shortest > target {
        let reason = format!("{shortest} is over target ({target})");
        return Err(Senseless::new(field("shortest"), reason));
    }
    if longest < target || longest > LONGEST_PRESS {
        let reason = format!("{longest} is not between target ({target}) and 1h");
        return Err(Senseless::new(field("longest"), reason));
    }
    set_point.map_or(Ok(()), |heat| check_size(field("set_point"), heat, bounds::PLATE))
}

impl Keep {
    fn check(self) -> Result<(), Senseless> {
        if self.good_for.0 == 0 || self.good_for > self.at_most {
            let reason =
                format!("{} is not between 1day and at_most ({})", self.good_for, self.at_most);
            return Err(Senseless::new("keep.good_for", reason));
        }
        if self.at_most.0 > 366 {
            return Err(Senseless::new("keep.at_most", "expected at most 366days"));
        }
        Ok(())
    }
}
