//! Whether an artwork needs white beneath it on a garment, pixel by pixel, row by row.
//!
//! White is needed where some part of the art is lighter than the garment; and where a channel is brighter,
//! since inks only take light away: red on sky blue goes muddy though it is darker (common practice, no source).
//! A pixel that is more transparent than not is not printed; a semi-transparent one is what it looks like over
//! the garment, mixed as screens mix it, in encoded sRGB. Nothing is rounded on the way: a mixture of codes of 8
//! bits is a whole number of 65,025ths, and what has 16 bits or a profile is reckoned in double precision.

mod block;
mod deep;

use std::sync::LazyLock;

use serde::{Deserialize, Serialize};

use block::{BLOCK, Block, Bounds, is_of_one_colour};

use super::colour::{lightness, linear, luminance, luminance_at};
use super::light::{Deep, Light, spread};
use super::units::{Colour, Share};

/// Which of the two findings asks for white.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default, Serialize, Deserialize)]
pub enum Decides {
    #[default]
    Either,
    /// Only parts that are lighter than the garment.
    Lighter,
    /// Only parts with a channel that is brighter than the garment's.
    BrighterChannel,
}

/// From when on it counts, and what.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize)]
#[serde(default, deny_unknown_fields)]
pub struct Limits {
    pub decides: Decides,
    /// A pixel is lighter when its L* exceeds the garment's by more than this.
    pub lighter_by: f64,
    /// A channel is brighter when its linear value exceeds the garment's by more than this.
    pub brighter_by: f64,
    /// White is needed when more than this share of the printed pixels says so.
    pub share: Share,
}

impl Default for Limits {
    fn default() -> Self {
        Self { decides: Decides::Either, lighter_by: 1.0, brighter_by: 0.02, share: Share(0.0005) }
    }
}

impl Limits {
    /// What asks for white where so large a share is lighter and so large a one brighter.
    fn asks(&self, lighter: f64, brighter: f64) -> Asks {
        Asks {
            lighter: self.decides != Decides::BrighterChannel && self.exceeded_by(lighter),
            brighter: self.decides != Decides::Lighter && self.exceeded_by(brighter),
        }
    }

    /// Whether a share of pixels is more than it may be. A share that was typed in per cent may be off by a last
    /// bit, far less than one pixel of the largest picture.
    fn exceeded_by(&self, share: f64) -> bool {
        share > self.share.0 + 1e-12
    }
}

/// What asks for white: the pixels that are lighter, those with a brighter channel, both, or neither.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Asks {
    pub lighter: bool,
    pub brighter: bool,
}

/// One pixel of sRGB: red, green, blue, opacity.
pub type Rgba = [u8; 4];

/// Pixels side by side.
#[derive(Clone, Copy)]
pub enum Strip<'a> {
    /// sRGB of 8 bits.
    Plain(&'a [Rgba]),
    /// 16 bits, in light by the picture's own profile.
    Deep(&'a [Deep], &'a Light),
}

impl Strip<'_> {
    /// How many pixels.
    pub fn len(&self) -> usize {
        match self {
            Strip::Plain(pixels) => pixels.len(),
            Strip::Deep(pixels, _) => pixels.len(),
        }
    }

    /// Whether there is none.
    pub fn is_empty(&self) -> bool {
        self.len() == 0
    }
}

/// A mixture of two codes of 8 bits by an opacity of 8 bits has so many steps.
const STEPS: u16 = 255 * 255;

/// The light of each such mixture.
static MIXTURES: LazyLock<Vec<f64>> = LazyLock::new(|| {
    (0..=STEPS).map(|mixed| linear(f64::from(mixed) / f64::from(STEPS))).collect()
});

/// Whether each pixel is opaque or not printed at all, so that none has to be mixed with the garment.
fn is_without_mixtures(block: &Block) -> bool {
    block.iter().fold(true, |none, pixel| none & ((pixel[3] == u8::MAX) | (pixel[3] < PRINTED)))
}

/// So little of L* is the rounding of the formulas, a ten thousandth of a step of 16 bits.
const ROUNDING: f64 = 1e-9;

/// The least opacity that is printed: a pixel that is more transparent than not is not.
const PRINTED: u8 = 128;

/// Equal pixels side by side.
#[derive(Clone, Copy)]
struct Run {
    pixel: Rgba,
    length: u64,
}

/// What one colour of pixel means on the garment.
#[derive(Debug, Clone, Copy, PartialEq)]
struct Kind {
    printed: bool,
    lighter: bool,
    brighter: bool,
    luminance: f64,
}

/// Counts of pixels of one sort.
#[derive(Debug, Clone, Copy, Default, PartialEq)]
struct Counts {
    printed: u64,
    lighter: u64,
    brighter: u64,
    lightest: f64,
}

impl Counts {
    fn add(&mut self, kind: Kind, pixels: u64) {
        if !kind.printed {
            return;
        }
        self.printed += pixels;
        self.lighter += u64::from(kind.lighter) * pixels;
        self.brighter += u64::from(kind.brighter) * pixels;
        self.lightest = self.lightest.max(kind.luminance);
    }
}

/// The picture's first pixel, and how many are like it: perhaps a backdrop.
#[derive(Debug, Clone, Copy)]
struct Corner {
    pixel: Deep,
    kind: Kind,
    alike: u64,
}

/// Looks at a picture as its rows come.
pub struct Judge {
    garment: Colour,
    limits: Limits,
    /// What each code of each channel adds to the luminance.
    light: [[f64; 256]; 3],
    lighter_above: f64,
    brighter_above: [f64; 3],
    /// For each channel the least code that is brighter than the garment's; 256 where none is.
    brighter_from: [u16; 3],
    counts: Counts,
    corner: Option<Corner>,
    border_alike: bool,
    pixels: u64,
}

/// What was found.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Finding {
    pub underbase: bool,
    pub asks: Asks,
    pub garment_lightness: f64,
    /// The lightest printed L*; None where nothing is printed.
    pub lightest: Option<f64>,
    pub lighter_share: f64,
    pub brighter_channel_share: f64,
    pub printed_share: f64,
    /// The border is opaque and of one colour: perhaps it is not meant to be printed.
    pub backdrop_suspected: bool,
    pub pixels: u64,
}

impl Judge {
    /// A judge for artwork on a garment of this colour.
    pub fn new(garment: Colour, limits: Limits) -> Self {
        let linear: [f64; 256] = std::array::from_fn(|code| linear(code as f64 / 255.0));
        let of_garment = garment.linear();
        let light = [0, 1, 2].map(|channel| {
            linear.map(|value| {
                let mut alone = [0.0; 3];
                alone[channel] = value;
                luminance(alone)
            })
        });
        let brighter_above = of_garment.map(|channel| channel + limits.brighter_by);
        let brighter_from = brighter_above
            .map(|above| (0..256).find(|code| linear[usize::from(*code)] > above).unwrap_or(256));
        Self {
            garment,
            limits,
            light,
            // There and back again the formulas lose a last bit: it makes nothing lighter than itself.
            lighter_above: luminance_at(
                lightness(luminance(of_garment)) + limits.lighter_by + ROUNDING,
            ),
            brighter_above,
            brighter_from,
            counts: Counts::default(),
            corner: None,
            border_alike: true,
            pixels: 0,
        }
    }

    /// Takes one row; `edge` says that it is the first or the last.
    pub fn row(&mut self, row: Strip<'_>, edge: bool) {
        self.pixels += u64::try_from(row.len()).unwrap_or(0);
        match row {
            Strip::Plain(row) => self.plain_row(row, edge),
            Strip::Deep(row, light) => self.deep_row(row, light, edge),
        }
    }

    fn plain_row(&mut self, row: &[Rgba], edge: bool) {
        let Some(first) = row.first().copied() else { return };
        let first = Corner { pixel: spread(first), kind: self.kind(first), alike: 0 };
        let Corner { pixel, kind, mut alike } = self.corner.unwrap_or(first);
        let corner: Rgba = pixel.map(|code| code.to_be_bytes()[0]);
        // Artwork repeats itself: a run of equal pixels is looked at once.
        let mut run = Run { pixel: corner, length: 0 };
        let mut counts = self.counts;
        let mut close = |run: Run, counts: &mut Counts| {
            if run.pixel == corner {
                alike += run.length;
            } else {
                counts.add(self.kind(run.pixel), run.length);
            }
        };
        let (blocks, rest) = row.as_chunks::<BLOCK>();
        for block in blocks {
            if is_of_one_colour(block) {
                if block[0] != run.pixel {
                    close(run, &mut counts);
                    run = Run { pixel: block[0], length: 0 };
                }
                run.length += BLOCK as u64;
            } else if self.count_by_bounds(Bounds::of(block), corner, &mut counts) {
                // All of it means the same.
            } else if is_without_mixtures(block) {
                let others = self.count_unmixed(block, corner, &mut counts);
                close(Run { pixel: corner, length: BLOCK as u64 - others }, &mut counts);
            } else {
                for pixel in block {
                    close(Run { pixel: *pixel, length: 1 }, &mut counts);
                }
            }
        }
        close(run, &mut counts);
        for pixel in rest {
            close(Run { pixel: *pixel, length: 1 }, &mut counts);
        }
        self.counts = counts;
        self.corner = Some(Corner { pixel, kind, alike });
        self.border_alike &= border(row, edge).all(|pixel| *pixel == corner && pixel[3] == 255);
    }

    /// The pixel that a backdrop would be made of, where the border is of one colour.
    pub fn backdrop(&self) -> Option<Deep> {
        self.corner.filter(|_| self.border_alike).map(|corner| corner.pixel)
    }

    /// Sums up. With `drop_backdrop` the colour of the border is not printed.
    pub fn finish(&self, drop_backdrop: bool) -> Finding {
        let mut counts = self.counts;
        let suspected = self.backdrop().is_some();
        if let Some(Corner { kind, alike, .. }) = self.corner
            && !(drop_backdrop && suspected)
        {
            counts.add(kind, alike);
        }
        let share = |part: u64, of: u64| if of == 0 { 0.0 } else { part as f64 / of as f64 };
        let lighter = share(counts.lighter, counts.printed);
        let brighter = share(counts.brighter, counts.printed);
        let asks = self.limits.asks(lighter, brighter);
        Finding {
            underbase: asks.lighter || asks.brighter,
            asks,
            garment_lightness: lightness(luminance(self.garment.linear())),
            lightest: (counts.printed > 0).then(|| lightness(counts.lightest.min(1.0))),
            lighter_share: lighter,
            brighter_channel_share: brighter,
            printed_share: share(counts.printed, self.pixels),
            backdrop_suspected: suspected,
            pixels: self.pixels,
        }
    }

    /// Counts a block of which all pixels mean the same, as its bounds show; false where they do not show it.
    ///
    /// More of a channel never means less luminance, and a mixture with the garment has its extremes where colour
    /// and opacity have theirs. So between two bounds that mean the same all means the same.
    fn count_by_bounds(&self, bounds: Bounds, corner: Rgba, counts: &mut Counts) -> bool {
        let Bounds { least: [r, g, b, thinnest], greatest: [red, green, blue, thickest] } = bounds;
        if bounds.may_hold(corner) || (thinnest < PRINTED && thickest >= PRINTED) {
            return false;
        }
        if thickest < PRINTED {
            return true;
        }
        let ends = |colour: [u8; 3], better: fn(u16, u16) -> u16| {
            if thinnest == u8::MAX {
                return self.kind_of(colour, true);
            }
            let mixed = [thinnest, thickest]
                .map(|opacity| self.over_garment([colour[0], colour[1], colour[2], opacity]));
            self.kind_of_mixture([0, 1, 2].map(|n| better(mixed[0][n], mixed[1][n])), true)
        };
        let (low, high) = (ends([r, g, b], u16::min), ends([red, green, blue], u16::max));
        let alike = low.lighter == high.lighter && low.brighter == high.brighter;
        if !alike || high.luminance > counts.lightest {
            return false;
        }
        counts.add(low, BLOCK as u64);
        true
    }

    /// Counts what is not like the corner in a block without mixtures, and tells how many such pixels there are.
    /// The same as `kind` for each pixel, without a branch in it: grain and dots are beyond guessing.
    fn count_unmixed(&self, block: &Block, corner: Rgba, counts: &mut Counts) -> u64 {
        let (mut others, mut sum) = (0, Counts::default());
        // Four greatest so far, so that none of four pixels waits for the one before it.
        let mut lightest = [counts.lightest; 4];
        for four in block.as_chunks::<4>().0 {
            for (pixel, lightest) in four.iter().zip(&mut lightest) {
                let other = *pixel != corner;
                let printed = other & (pixel[3] >= PRINTED);
                let kind = self.kind_of([pixel[0], pixel[1], pixel[2]], printed);
                others += u64::from(other);
                sum.printed += u64::from(printed);
                sum.lighter += u64::from(kind.lighter & printed);
                sum.brighter += u64::from(kind.brighter & printed);
                let luminance = if printed { kind.luminance } else { 0.0 };
                // Not `max`, which would look out for what is no number.
                *lightest = if luminance > *lightest { luminance } else { *lightest };
            }
        }
        counts.printed += sum.printed;
        counts.lighter += sum.lighter;
        counts.brighter += sum.brighter;
        counts.lightest = lightest.into_iter().fold(counts.lightest, f64::max);
        others
    }

    /// What a pixel means. Ink covers the garment as far as it is opaque.
    fn kind(&self, pixel: Rgba) -> Kind {
        match pixel {
            [red, green, blue, u8::MAX] => self.kind_of([red, green, blue], true),
            [.., opacity] => self.kind_of_mixture(self.over_garment(pixel), opacity >= PRINTED),
        }
    }

    /// What a colour means as it is seen.
    fn kind_of(&self, seen: [u8; 3], printed: bool) -> Kind {
        let [r, g, b] = [0, 1, 2].map(|channel| self.light[channel][usize::from(seen[channel])]);
        let light = r + g + b;
        let brighter = [0, 1, 2].map(|n| u16::from(seen[n]) >= self.brighter_from[n]);
        Kind {
            printed,
            lighter: light > self.lighter_above,
            brighter: brighter[0] | brighter[1] | brighter[2],
            luminance: light,
        }
    }

    /// What a mixture with the garment means, in steps of `STEPS`.
    fn kind_of_mixture(&self, mixed: [u16; 3], printed: bool) -> Kind {
        self.kind_of_light(mixed.map(|mixed| MIXTURES[usize::from(mixed)]), printed)
    }

    /// What light means, linear and of sRGB.
    fn kind_of_light(&self, light: [f64; 3], printed: bool) -> Kind {
        let luminance = luminance(light);
        let brighter = (0..3).any(|n| light[n] > self.brighter_above[n]);
        Kind { printed, lighter: luminance > self.lighter_above, brighter, luminance }
    }

    /// A pixel mixed with the garment, in steps of `STEPS`: exactly what screens round.
    fn over_garment(&self, [red, green, blue, opacity]: Rgba) -> [u16; 3] {
        let opacity = u16::from(opacity);
        let over = |channel: u8, garment: u8| {
            u16::from(channel) * opacity + u16::from(garment) * (255 - opacity)
        };
        [
            over(red, self.garment.red),
            over(green, self.garment.green),
            over(blue, self.garment.blue),
        ]
    }
}

/// What of a row lies on the picture's border: all of an edge, else its ends.
fn border<P>(row: &[P], edge: bool) -> impl Iterator<Item = &P> {
    let whole = if edge { row } else { &[] };
    whole.iter().chain(row.first()).chain(row.last())
}

impl Finding {
    /// Why, in a sentence.
    pub fn reason(&self, limits: Limits) -> String {
        let percent = |share: f64| format!("{:.2} %", share * 100.0);
        if self.lightest.is_none() {
            return "nothing is printed: every pixel is transparent".into();
        }
        let lighter = limits.exceeded_by(self.lighter_share);
        let brighter = limits.exceeded_by(self.brighter_channel_share);
        if self.asks.lighter {
            return format!(
                "{} of the print is lighter than the garment",
                percent(self.lighter_share)
            );
        }
        if self.asks.brighter {
            let text = format!(
                "{} has a colour that the garment would swallow",
                percent(self.brighter_channel_share)
            );
            return if lighter { text } else { format!("no part is lighter, but {text}") };
        }
        match limits.decides {
            Decides::Lighter if brighter => {
                return "no part is lighter; purer colours do not decide here".into();
            }
            Decides::BrighterChannel if lighter => {
                return "no part is purer; lighter parts do not decide here".into();
            }
            _ => {}
        }
        "no part of the print is lighter or purer than the garment".into()
    }
}
