//! What strokes of a flat fan lay beside each other: exact, piece by piece, never on a grid.
//!
//! A fan lays a profile across its stroke, made of straight pieces. Strokes beside each other add up to straight
//! pieces again, so mean, extremes and mean square of what they lay are sums over the pieces between breaks.

use serde::{Deserialize, Serialize};

/// How a fan's fluid lies across its stroke.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default, Serialize, Deserialize)]
pub enum Profile {
    /// Heaviest in the middle: level over the middle 40 % of the fan, then straight down to nothing over 30 % on
    /// either side. That tapered fans want an overlap of about 30 % is published (two guides of nozzle makers); the
    /// shape is the simplest one that lies level at that overlap (common practice, no source).
    #[default]
    Tapered,
    /// The same all over the fan, as fans for single bands have it.
    Even,
}

/// One stroke as a side sees it: where its middle lies, in centimetres from the side's beginning, and how much of
/// a usual stroke it lays.
pub type Stroke = (f64, f64);

/// What strokes lay on a side: parts of a stroke's fluid on each centimetre across it.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Layer {
    pub mean: f64,
    pub low: f64,
    pub high: f64,
    /// Mean square of the deviation from the mean.
    pub variance: f64,
}

/// Pieces shorter than this part of the fan are rounding, no gaps.
const HAIR: f64 = 1e-9;

impl Profile {
    /// The overlap at which strokes side by side lie level: 30 % for the tapered, half over half for the even.
    ///
    /// Even fans lie level edge to edge too, but there each wander of the hand leaves a bare strip.
    pub fn level_overlap(self) -> f64 {
        match self {
            Profile::Tapered => 0.3,
            Profile::Even => 0.5,
        }
    }

    /// How far beyond the middle of the outermost of several strokes at the level overlap the coat stays level, in
    /// fans; for a single stroke the second figure.
    pub fn level_beyond(self) -> (f64, f64) {
        match self {
            Profile::Tapered => (0.2, 0.2),
            Profile::Even => (0.0, 0.5),
        }
    }

    /// Half of the part that is level, in fans.
    fn level_half(self) -> f64 {
        match self {
            Profile::Tapered => 0.2,
            Profile::Even => 0.5,
        }
    }

    /// What a stroke lays at a distance from its middle, as a part of its fluid on a centimetre: sums to 1.
    pub fn density(self, off: f64, fan: f64) -> f64 {
        let off = off.abs() / fan;
        let (level, edge) = (self.level_half(), 0.5);
        let peak = 1.0 / (fan * (level + edge));
        if (off - edge).abs() < HAIR {
            // At the very edge of a fan that ends at once: half, so that two that meet make a whole.
            return if edge - level < HAIR { peak / 2.0 } else { 0.0 };
        }
        match off {
            off if off > edge => 0.0,
            off if off <= level => peak,
            off => peak * (edge - off) / (edge - level),
        }
    }

    /// The part of a stroke's fluid on its left up to a distance from its middle: the integral of the density.
    fn up_to(self, off: f64, fan: f64) -> f64 {
        let (level, edge) = (self.level_half(), 0.5);
        let off = (off / fan).clamp(-edge, edge);
        let peak = 1.0 / (level + edge);
        let right = match off.abs() {
            off if off <= level => peak * off,
            off => {
                let (slope, into) = (edge - level, off - level);
                peak * (level + into - into * into / (2.0 * slope))
            }
        };
        0.5 + right.copysign(off)
    }

    /// The part of a stroke's fluid that falls between two places.
    pub fn between(self, stroke: f64, fan: f64, (from, to): (f64, f64)) -> f64 {
        self.up_to(to - stroke, fan) - self.up_to(from - stroke, fan)
    }

    /// Where the pieces of a stroke meet, from its middle.
    fn breaks(self, fan: f64) -> [f64; 4] {
        let level = self.level_half() * fan;
        [-fan / 2.0, -level, level, fan / 2.0]
    }

    /// What strokes lay at a place. They stand in order of their middles.
    pub fn laid_at(self, strokes: &[Stroke], fan: f64, at: f64) -> f64 {
        let reach = fan * (0.5 + HAIR);
        let first = strokes.partition_point(|(middle, _)| *middle < at - reach);
        let near = strokes[first..].iter().take_while(|(middle, _)| *middle <= at + reach);
        near.map(|(middle, part)| part * self.density(at - middle, fan)).sum()
    }

    /// What strokes, in order of their middles, lay over a side that begins at 0.
    pub fn layer(self, strokes: &[Stroke], fan: f64, side: f64) -> Layer {
        let mut breaks = vec![0.0, side];
        let of_all =
            strokes.iter().flat_map(|(middle, _)| self.breaks(fan).map(|off| middle + off));
        breaks.extend(of_all.filter(|at| *at > 0.0 && *at < side));
        breaks.sort_by(f64::total_cmp);
        // Length, and what is laid at the beginning and at the end of each piece, from the inside: two places within a
        // straight piece give its ends.
        let piece = |pair: &[f64]| {
            let (from, long) = (pair[0], pair[1] - pair[0]);
            let at = |part: f64| self.laid_at(strokes, fan, from + part * long);
            let (a, b) = (at(0.25), at(0.75));
            (long > HAIR * fan.min(side)).then_some((long, 1.5 * a - 0.5 * b, 1.5 * b - 0.5 * a))
        };
        let pieces: Vec<(f64, f64, f64)> = breaks.windows(2).filter_map(piece).collect();
        let mean = pieces.iter().map(|(long, a, b)| long * (a + b) / 2.0).sum::<f64>() / side;
        let square = |(long, a, b): &(f64, f64, f64)| {
            let (a, b) = (a - mean, b - mean);
            long * (a * a + a * b + b * b) / 3.0
        };
        let low = pieces.iter().map(|(_, a, b)| a.min(*b)).fold(f64::INFINITY, f64::min);
        let high = pieces.iter().map(|(_, a, b)| a.max(*b)).fold(0.0, f64::max);
        // Rounding must not leave a hair below nothing.
        let variance = pieces.iter().map(square).sum::<f64>() / side;
        Layer { mean, low: low.max(0.0), high, variance }
    }
}

/// The mean square deviation to be expected over a side from a hand whose strokes wander and whose pace differs from
/// stroke to stroke.
///
/// The strokes are independent, so what each adds is its own mean square less that of its mean: with e the wander
/// and t the scatter of the pace, E|Pa|^2 = |P E a|^2 + sum ((1 + t^2) E|P a_i|^2 - |P E a_i|^2), P taking the mean
/// over the side off. The wander is taken as e to one side or the other.
pub fn expected_variance(
    profile: Profile,
    strokes: &[Stroke],
    (fan, side): (f64, f64),
    (wander, scatter): (f64, f64),
) -> f64 {
    let square = |strokes: &[Stroke]| profile.layer(strokes, fan, side).variance;
    let of_one = |(middle, part): &Stroke| {
        let (to, fro) = ([(middle - wander, *part)], [(middle + wander, *part)]);
        let both = [(to[0].0, part / 2.0), (fro[0].0, part / 2.0)];
        (1.0 + scatter * scatter) * (square(&to) + square(&fro)) / 2.0 - square(&both)
    };
    let mut meant: Vec<Stroke> = strokes
        .iter()
        .flat_map(|(middle, part)| [-wander, wander].map(|off| (middle + off, part / 2.0)))
        .collect();
    meant.sort_by(|a, b| a.0.total_cmp(&b.0));
    square(&meant) + strokes.iter().map(of_one).sum::<f64>()
}
