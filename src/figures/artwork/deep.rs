//! Pixels of 16 bits, or with a profile: looked at one by one, a run of equal ones once; and where white goes.

use super::{Asks, Corner, Judge, Kind, PRINTED, Rgba, Strip, border};
use crate::figures::colour::linear;
use crate::figures::light::{Deep, Light, spread};

/// The least opacity of 16 bits that is printed.
const DEEP_PRINTED: u16 = 0x8000;

impl Judge {
    pub(super) fn deep_row(&mut self, row: &[Deep], light: &Light, edge: bool) {
        let Some(first) = row.first().copied() else { return };
        let mut corner = self.corner.unwrap_or_else(|| Corner {
            pixel: first,
            kind: self.deep_kind(first, light),
            alike: 0,
        });
        let mut counts = self.counts;
        for run in row.chunk_by(|one, other| one == other) {
            let length = u64::try_from(run.len()).unwrap_or(0);
            match run[0] {
                pixel if pixel == corner.pixel => corner.alike += length,
                pixel => counts.add(self.deep_kind(pixel, light), length),
            }
        }
        self.counts = counts;
        self.border_alike &=
            border(row, edge).all(|pixel| *pixel == corner.pixel && pixel[3] == u16::MAX);
        self.corner = Some(corner);
    }

    /// What a pixel means. Ink covers the garment as far as it is opaque.
    fn deep_kind(&self, pixel: Deep, light: &Light) -> Kind {
        let opacity = pixel[3];
        if opacity == u16::MAX {
            return self.kind_of_light(light.of(pixel), true);
        }
        let share = f64::from(opacity) / 65_535.0;
        let own = light.encoded(pixel);
        let garment = [self.garment.red, self.garment.green, self.garment.blue];
        let mixed = [0, 1, 2]
            .map(|n| linear(own[n] * share + f64::from(garment[n]) / 255.0 * (1.0 - share)));
        self.kind_of_light(mixed, opacity >= DEEP_PRINTED)
    }

    /// Where white goes in a row: for each pixel whether what asks for white names it. What is `dropped` is not
    /// printed.
    pub fn white(&self, row: Strip<'_>, asks: Asks, dropped: Option<Deep>, to: &mut Vec<bool>) {
        let wanted = |kind: Kind, pixel: Deep| {
            let asked = (asks.lighter && kind.lighter) || (asks.brighter && kind.brighter);
            kind.printed && asked && Some(pixel) != dropped
        };
        match row {
            Strip::Plain(row) => {
                to.extend(row.iter().map(|pixel: &Rgba| wanted(self.kind(*pixel), spread(*pixel))));
            }
            Strip::Deep(row, light) => {
                for run in row.chunk_by(|one, other| one == other) {
                    let white = wanted(self.deep_kind(run[0], light), run[0]);
                    to.extend(std::iter::repeat_n(white, run.len()));
                }
            }
        }
    }
}

const _: () =
    assert!(DEEP_PRINTED > 257 * (PRINTED as u16 - 1) && DEEP_PRINTED <= 257 * PRINTED as u16);
