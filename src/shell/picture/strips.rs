//! From the bytes that a decoder gives to pixels whose light is known.

use std::path::Path;

use super::NoPicture;
use crate::figures::artwork::{Rgba, Strip};
use crate::figures::light::{Deep, Light, spread};
use crate::figures::profile::{Depth, NoProfile, Reading, Samples, Table};

/// What the bytes of a row are.
#[derive(Debug, Clone, Copy)]
pub struct Layout {
    pub samples: Samples,
    /// Whether each pixel's last sample is its opacity.
    pub opacity: bool,
    pub depth: Depth,
}

/// What was found of a picture's colours.
#[derive(Debug, Clone, PartialEq, Eq, Default)]
pub struct ColoursFound {
    /// By what its pixels were taken to sRGB.
    pub profile: Option<&'static str>,
    /// What was assumed where it has no profile.
    pub assumed: Option<&'static str>,
    /// Why a profile that it has does not read.
    pub unread: Option<String>,
}

impl ColoursFound {
    /// The trouble, briefly, for a line of the board.
    pub fn in_short(&self) -> Option<&'static str> {
        match (&self.unread, self.assumed) {
            (Some(_), Some(ASSUMED)) => Some("its profile does not read: taken as sRGB"),
            (Some(_), _) => Some("its profile does not read"),
            (None, Some(ASSUMED_INKS)) => Some("CMYK without a profile: taken as plain inks"),
            (None, _) => None,
        }
    }
}

/// Assumed of a picture without a profile (PNG, third edition, 12.1; CSS Color 4 likewise).
const ASSUMED: &str = "sRGB";
/// Assumed of CMYK without a profile: each ink takes its own third of the light away, black takes all.
const ASSUMED_INKS: &str = "plain inks";

/// A source of a picture's colours: its name, and what came of reading it.
pub type Source = (&'static str, Result<Reading, String>);

/// The first source that reads, in order of precedence, and what is to be told of it and of those before it.
pub fn first_that_reads(
    sources: impl IntoIterator<Item = Source>,
    of: Samples,
) -> (Reading, ColoursFound) {
    let mut told = ColoursFound::default();
    for (name, reading) in sources {
        match reading {
            Ok(reading) => {
                told.profile = Some(name);
                return (reading, told);
            }
            Err(reason) => _ = told.unread.get_or_insert(format!("{name}: {reason}")),
        }
    }
    told.assumed = Some(if of == Samples::Inks { ASSUMED_INKS } else { ASSUMED });
    (Reading::Srgb, told)
}

/// How light comes from a row's samples.
enum Conversion {
    /// They are sRGB of 8 bits.
    Plain,
    Light(Light),
    /// Converted to sRGB of 16 bits.
    Table(Table, Light),
    /// Inks without a profile.
    Inks(Light),
}

/// Makes rows of bytes into pixels, each row into the same memory.
pub struct Strips {
    layout: Layout,
    way: Conversion,
    plain: Vec<Rgba>,
    deep: Vec<Deep>,
    samples: Vec<u16>,
    colours: Vec<u16>,
    converted: Vec<u16>,
}

impl Strips {
    /// For rows that are laid out so and read so.
    pub fn new(layout: Layout, reading: Reading) -> Self {
        let way = match (reading, layout.samples, layout.depth) {
            (Reading::Table(table), ..) => Conversion::Table(table, Light::srgb()),
            (_, Samples::Inks, _) => Conversion::Inks(Light::srgb()),
            (Reading::Light(light), ..) => Conversion::Light(light),
            (Reading::Srgb, _, Depth::Sixteen) => Conversion::Light(Light::srgb()),
            (Reading::Srgb, _, Depth::Eight) => Conversion::Plain,
        };
        let (plain, deep) = (Vec::new(), Vec::new());
        Self {
            layout,
            way,
            plain,
            deep,
            samples: Vec::new(),
            colours: Vec::new(),
            converted: Vec::new(),
        }
    }

    /// The pixels of a row.
    ///
    /// # Errors
    /// Tables that do not take it.
    pub fn strip<'a>(&'a mut self, path: &Path, row: &'a [u8]) -> Result<Strip<'a>, NoPicture> {
        let Layout { samples, opacity, depth } = self.layout;
        match &self.way {
            Conversion::Plain if opacity && samples == Samples::Colour => {
                return Ok(Strip::Plain(row.as_chunks::<4>().0));
            }
            Conversion::Plain => {
                self.plain.clear();
                self.plain.extend(pixels(row, samples, opacity, u8::MAX));
                return Ok(Strip::Plain(&self.plain));
            }
            _ => {}
        }
        self.deep.clear();
        if let (Conversion::Light(light), Depth::Eight, Samples::Colour, true) =
            (&self.way, depth, samples, opacity)
        {
            self.deep.extend(row.as_chunks::<4>().0.iter().map(|pixel| spread(*pixel)));
            return Ok(Strip::Deep(&self.deep, light));
        }
        self.samples.clear();
        match depth {
            Depth::Eight => self.samples.extend(row.iter().map(|code| u16::from(*code) * 257)),
            Depth::Sixteen => {
                self.samples
                    .extend(row.as_chunks::<2>().0.iter().map(|at| u16::from_be_bytes(*at)));
            }
        }
        match &self.way {
            Conversion::Plain => Ok(Strip::Plain(&[])),
            Conversion::Light(light) => {
                self.deep.extend(pixels(&self.samples, samples, opacity, u16::MAX));
                Ok(Strip::Deep(&self.deep, light))
            }
            Conversion::Inks(light) => {
                self.deep.extend(self.samples.as_chunks::<4>().0.iter().map(without_profile));
                Ok(Strip::Deep(&self.deep, light))
            }
            Conversion::Table(table, light) => {
                let failed = |reason: NoProfile| NoPicture::new(path, reason);
                let channels = channels(samples);
                let own = channels + usize::from(opacity);
                let pixels = self.samples.chunks_exact(own);
                let opacities =
                    pixels.clone().map(|pixel| *pixel[channels..].first().unwrap_or(&u16::MAX));
                self.colours.clear();
                self.colours.extend(pixels.flat_map(|pixel| &pixel[..channels]));
                self.converted.resize(self.colours.len() / channels * 3, 0);
                table.convert(&self.colours, &mut self.converted).map_err(failed)?;
                let colours = self.converted.as_chunks::<3>().0.iter();
                self.deep.extend(colours.zip(opacities).map(|([r, g, b], a)| [*r, *g, *b, a]));
                Ok(Strip::Deep(&self.deep, light))
            }
        }
    }
}

/// How many samples of colour a pixel has.
pub fn channels(samples: Samples) -> usize {
    match samples {
        Samples::Grey => 1,
        Samples::Colour => 3,
        Samples::Inks => 4,
    }
}

/// Grey or colour, with opacity or without, as pixels.
fn pixels<C: Copy>(
    row: &[C],
    samples: Samples,
    opacity: bool,
    opaque: C,
) -> impl Iterator<Item = [C; 4]> {
    let own = channels(samples) + usize::from(opacity);
    row.chunks_exact(own).map(move |pixel| {
        let last = if opacity { pixel[own - 1] } else { opaque };
        match samples {
            Samples::Grey => [pixel[0], pixel[0], pixel[0], last],
            Samples::Colour | Samples::Inks => [pixel[0], pixel[1], pixel[2], last],
        }
    })
}

/// Inks as sRGB where nothing says more: each takes away its own colour, black takes all.
fn without_profile([cyan, magenta, yellow, black]: &[u16; 4]) -> Deep {
    let left = |ink: u16| u64::from(u16::MAX - ink);
    let seen = |ink: u16| {
        let product = left(ink) * left(*black);
        u16::try_from((product + 32_767) / 65_535).unwrap_or(u16::MAX)
    };
    [seen(*cyan), seen(*magenta), seen(*yellow), u16::MAX]
}
