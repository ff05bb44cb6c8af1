//! Whether an artwork needs white beneath it on a garment, pixel by pixel, row by row.
//!
//! White is needed where some part of the art is lighter than the garment; and where a channel is brighter,
//! since inks only take light away: red on sky blue goes muddy though it is darker (common practice, no source).
//! A pixel that is more transparent than not is not printed; a semi-transparent one is what it looks like over
//! the garment, mixed as screens mix it, in encoded sRGB.

use serde::{Deserialize, Serialize};

use super::colour::{lightness, linear, luminance, luminance_at};
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
    /// Whether so large a lighter share and so large a brighter one ask for white.
    fn ask(&self, lighter: f64, brighter: f64) -> bool {
        let (lighter, brighter) = (lighter > self.share.0, brighter > self.share.0);
        match self.decides {
            Decides::Either => lighter || brighter,
            Decides::Lighter => lighter,
            Decides::BrighterChannel => brighter,
        }
    }
}

/// One pixel: red, green, blue, opacity.
pub type Rgba = [u8; 4];

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

/// Looks at a picture as its rows come.
pub struct Judge {
    garment: Colour,
    limits: Limits,
    linear: [f64; 256],
    lighter_above: f64,
    brighter_above: [f64; 3],
    /// The last pixel and what it means: artwork repeats itself.
    last: (Rgba, Kind),
    counts: Counts,
    /// The picture's first pixel, and how many are like it: perhaps a backdrop.
    corner: Option<(Rgba, Kind, u64)>,
    border_alike: bool,
    pixels: u64,
}

/// What was found.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Finding {
    pub underbase: bool,
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
        let mut table = [0.0; 256];
        for (code, value) in (0u16..).zip(table.iter_mut()) {
            *value = linear(f64::from(code) / 255.0);
        }
        let of_garment = garment.linear();
        let mut judge = Self {
            garment,
            limits,
            linear: table,
            lighter_above: luminance_at(lightness(luminance(of_garment)) + limits.lighter_by),
            brighter_above: of_garment.map(|channel| channel + limits.brighter_by),
            last: (
                [0; 4],
                Kind { printed: false, lighter: false, brighter: false, luminance: 0.0 },
            ),
            counts: Counts::default(),
            corner: None,
            border_alike: true,
            pixels: 0,
        };
        judge.last.1 = judge.kind([0; 4]);
        judge
    }

    /// Takes one row; `edge` says that it is the first or the last.
    pub fn row(&mut self, row: &[Rgba], edge: bool) {
        let Some(first) = row.first().copied() else { return };
        let kind = self.kind(first);
        let (corner, corner_kind, mut alike) = self.corner.unwrap_or((first, kind, 0));
        for pixel in row {
            if *pixel == corner {
                alike += 1;
                continue;
            }
            if *pixel != self.last.0 {
                self.last = (*pixel, self.kind(*pixel));
            }
            self.counts.add(self.last.1, 1);
        }
        self.corner = Some((corner, corner_kind, alike));
        self.pixels += u64::try_from(row.len()).unwrap_or(0);
        let ends = [row.first(), row.last()];
        let border = if edge { row } else { &[] };
        let mut seen = border.iter().chain(ends.into_iter().flatten());
        self.border_alike &= seen.all(|pixel| *pixel == corner && pixel[3] == 255);
    }

    /// Whether white goes onto a pixel because it is lighter than the garment.
    pub fn wants_white(&mut self, pixel: Rgba) -> bool {
        if pixel != self.last.0 {
            self.last = (pixel, self.kind(pixel));
        }
        self.last.1.lighter
    }

    /// The pixel that a backdrop would be made of, where the border is of one colour.
    pub fn backdrop(&self) -> Option<Rgba> {
        self.corner.filter(|_| self.border_alike).map(|(corner, ..)| corner)
    }

    /// Sums up. With `drop_backdrop` the colour of the border is not printed.
    pub fn finish(&self, drop_backdrop: bool) -> Finding {
        let mut counts = self.counts;
        let suspected = self.backdrop().is_some();
        if let Some((_, kind, alike)) = self.corner
            && !(drop_backdrop && suspected)
        {
            counts.add(kind, alike);
        }
        let share = |part: u64, of: u64| if of == 0 { 0.0 } else { part as f64 / of as f64 };
        let lighter = share(counts.lighter, counts.printed);
        let brighter = share(counts.brighter, counts.printed);
        Finding {
            underbase: self.limits.ask(lighter, brighter),
            garment_lightness: lightness(luminance(self.garment.linear())),
            lightest: (counts.printed > 0).then(|| lightness(counts.lightest.min(1.0))),
            lighter_share: lighter,
            brighter_channel_share: brighter,
            printed_share: share(counts.printed, self.pixels),
            backdrop_suspected: suspected,
            pixels: self.pixels,
        }
    }

    fn kind(&self, [red, green, blue, opacity]: Rgba) -> Kind {
        let over = |channel: u8, garment: u8| {
            let (channel, garment) = (u32::from(channel), u32::from(garment));
            let opacity = u32::from(opacity);
            let mixed = (channel * opacity + garment * (255 - opacity) + 127) / 255;
            u8::try_from(mixed).unwrap_or(u8::MAX)
        };
        let seen = [
            over(red, self.garment.red),
            over(green, self.garment.green),
            over(blue, self.garment.blue),
        ];
        let channels = seen.map(|channel| self.linear[usize::from(channel)]);
        let light = luminance(channels);
        let brighter = channels.iter().zip(self.brighter_above).any(|(c, above)| *c > above);
        Kind {
            printed: opacity >= 128,
            lighter: light > self.lighter_above,
            brighter,
            luminance: light,
        }
    }
}

impl Finding {
    /// Why, in a sentence.
    pub fn reason(&self, limits: Limits) -> String {
        let percent = |share: f64| format!("{:.2} %", share * 100.0);
        if self.lightest.is_none() {
            return "nothing is printed: every pixel is transparent".into();
        }
        let (lighter, brighter) =
            (self.lighter_share > limits.share.0, self.brighter_channel_share > limits.share.0);
        if lighter && limits.decides != Decides::BrighterChannel {
            return format!(
                "{} of the print is lighter than the garment",
                percent(self.lighter_share)
            );
        }
        if brighter && limits.decides != Decides::Lighter {
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
