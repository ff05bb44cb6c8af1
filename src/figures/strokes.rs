//! Where the strokes lie: over the print and its margin, on past the edge, first across, then up and down.

use serde::{Deserialize, Serialize};

use super::fan::{Layer, Profile, Stroke, expected_variance};
use super::units::{CM_PER_INCH, Centimetres, Rectangle};

/// How far around a print is sprayed where nobody has said: half an inch (from memory).
pub const USUAL_MARGIN: Centimetres = Centimetres(0.5 * CM_PER_INCH);
/// By how much a stroke of a hand lies beside its place, and by what part its pace differs (from memory).
const WANDER_CM: f64 = 1.0;
const UNEVEN_PACE: f64 = 0.1;

/// What a coat is counted over.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum Aim {
    /// A print, and how far around it is sprayed too.
    Print { size: Rectangle, margin: Centimetres },
    /// No print is known: the area of the recipe stands for what is sprayed, and all that is on the cloth counts.
    Area(Rectangle),
}

impl Aim {
    /// What the coat is counted over.
    pub fn counted(self) -> Rectangle {
        match self {
            Aim::Print { size, .. } | Aim::Area(size) => size,
        }
    }

    /// How far around it is sprayed.
    pub fn margin(self) -> Centimetres {
        match self {
            Aim::Print { margin, .. } => margin,
            Aim::Area(_) => Centimetres(0.0),
        }
    }

    /// Width and height of what is sprayed, in centimetres: the print and its margin.
    pub fn sprayed(self) -> (f64, f64) {
        let (size, around) = (self.counted(), 2.0 * self.margin().0);
        (size.width.0 + around, size.height.0 + around)
    }
}

/// What lies past the edge of what is sprayed.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default, Serialize, Deserialize)]
pub enum Onto {
    /// The garment itself: what runs past wets it, and is on the scale.
    #[default]
    Garment,
    /// A mask with an opening for the print and its margin: what runs past is not on the scale.
    Mask,
    /// The board that the garment is drawn over, the garment ending there: not on the scale either.
    Board,
}

/// How a sprayer is moved over a garment.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Motion {
    /// Width of the fan on the garment.
    pub fan: Centimetres,
    /// Share of a fan's width that the next stroke covers again, 0 to below 1.
    pub overlap: f64,
    /// How far each stroke runs on past the edge, on either side.
    pub past: Centimetres,
    pub profile: Profile,
    pub onto: Onto,
}

/// Strokes of one direction, side by side about the middle of a side, a pitch apart.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Lanes {
    pub count: u32,
    /// Centimetres from the middle of one to the middle of the next.
    pub pitch: f64,
    fan: f64,
    profile: Profile,
}

/// The strokes of both directions.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Strokes {
    pub aim: Aim,
    pub across: Lanes,
    pub down: Lanes,
    pub overlap: f64,
    past: f64,
    onto: Onto,
}

impl Lanes {
    /// As many as cover a side: the first covers a fan, each further one a pitch.
    fn covering(side: f64, motion: &Motion) -> Self {
        /// A hair short of the edge is the edge.
        const SLACK: f64 = 1e-9;
        let pitch = motion.fan.0 * (1.0 - motion.overlap);
        Self::counted(((side - motion.fan.0) / pitch - SLACK).ceil(), pitch, motion)
    }

    /// The fewest that lie level over a side, a pitch apart that makes them level.
    fn level(side: f64, pitch: f64, motion: &Motion) -> Self {
        const SLACK: f64 = 1e-9;
        let (beyond, alone) = motion.profile.level_beyond();
        let fan = motion.fan.0;
        if side <= 2.0 * alone * fan * (1.0 + SLACK) {
            return Self::counted(0.0, pitch, motion);
        }
        let further = ((side - 2.0 * beyond * fan) / pitch - SLACK).ceil();
        Self::counted(further.max(1.0), pitch, motion)
    }

    fn counted(further: f64, pitch: f64, motion: &Motion) -> Self {
        // A garment is some strokes wide; a nozzle of a hair's width on a sail is refused by `Task::check`.
        #[expect(
            clippy::cast_possible_truncation,
            clippy::cast_sign_loss,
            reason = "0 to some 10,000"
        )]
        let count = further.clamp(0.0, 1e6) as u32 + 1;
        Self { count, pitch, fan: motion.fan.0, profile: motion.profile }
    }

    /// Where their middles lie, in centimetres from the middle of the side.
    pub fn places(&self) -> impl Iterator<Item = f64> + use<> {
        let (pitch, half) = (self.pitch, f64::from(self.count - 1) / 2.0);
        (0..self.count).map(move |n| (f64::from(n) - half) * pitch)
    }

    fn over(&self, side: f64) -> Vec<Stroke> {
        self.places().map(|place| (side / 2.0 + place, 1.0)).collect()
    }

    /// How many whole strokes' fluid falls within so many centimetres about the middle.
    fn within(&self, side: f64) -> f64 {
        let part = |at| self.profile.between(at, self.fan, (-side / 2.0, side / 2.0));
        self.places().map(part).sum()
    }

    /// What they lay on a side about the middle.
    pub fn layer(&self, side: f64) -> Layer {
        self.profile.layer(&self.over(side), self.fan, side)
    }

    /// What they lay at its very middle.
    pub fn in_the_middle(&self, side: f64) -> f64 {
        self.profile.laid_at(&self.over(side), self.fan, side / 2.0)
    }

    /// The mean square deviation that is to be expected of a hand.
    pub fn by_hand(&self, side: f64) -> f64 {
        let hand = (WANDER_CM, UNEVEN_PACE);
        expected_variance(self.profile, &self.over(side), (self.fan, side), hand)
    }
}

impl Strokes {
    /// The strokes that cover a print and its margin at the motion's overlap.
    pub fn covering(aim: Aim, motion: &Motion) -> Self {
        let (width, height) = aim.sprayed();
        let (across, down) = (Lanes::covering(height, motion), Lanes::covering(width, motion));
        let (past, onto) = (motion.past.0, motion.onto);
        Self { aim, across, down, overlap: motion.overlap, past, onto }
    }

    /// The fewest strokes that lie level all over the print: no others are more even.
    pub fn evenest(aim: Aim, motion: &Motion) -> Self {
        let overlap = motion.profile.level_overlap();
        let pitch = motion.fan.0 * (1.0 - overlap);
        let size = aim.counted();
        let across = Lanes::level(size.height.0, pitch, motion);
        let down = Lanes::level(size.width.0, pitch, motion);
        Self { aim, across, down, overlap, past: motion.past.0, onto: motion.onto }
    }

    /// Centimetres of a stroke across, and of one up and down.
    pub fn lengths(&self) -> (f64, f64) {
        let (width, height) = self.aim.sprayed();
        (width + 2.0 * self.past, height + 2.0 * self.past)
    }

    /// Centimetres of all strokes.
    pub fn way(&self) -> f64 {
        let (across, down) = self.lengths();
        f64::from(self.across.count) * across + f64::from(self.down.count) * down
    }

    /// Centimetres of way whose fluid falls on what the coat is counted over, of strokes as whole as they lie there.
    pub fn way_counted(&self) -> f64 {
        let size = self.aim.counted();
        self.way_within(size.width.0, size.height.0)
    }

    /// Centimetres of way whose fluid falls on the cloth, where the scale finds it.
    pub fn way_on_cloth(&self) -> f64 {
        match self.onto {
            Onto::Garment => self.way(),
            Onto::Mask | Onto::Board => {
                let (width, height) = self.aim.sprayed();
                self.way_within(width, height)
            }
        }
    }

    fn way_within(&self, width: f64, height: f64) -> f64 {
        self.across.within(height) * width + self.down.within(width) * height
    }
}
