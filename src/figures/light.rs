//! What the codes of a picture's pixels are in light: linear red, green and blue of sRGB.
//!
//! A picture's curves take a code to light in its own primaries, a matrix takes that to sRGB's (ICC.1:2022, annex
//! F.3). Light that sRGB's primaries cannot make is cut to what they can.

use std::sync::{Arc, LazyLock};

use super::colour::{encoded, linear};

/// One pixel of 16 bits a channel: red, green, blue, opacity, in the picture's own codes.
pub type Deep = [u16; 4];

/// A 3 x 3 matrix, row by row.
pub type Matrix = [[f64; 3]; 3];

/// The light of each sRGB code of 16 bits.
static SRGB: LazyLock<Arc<[f64]>> =
    LazyLock::new(|| (0..=u16::MAX).map(|code| linear(f64::from(code) / 65_535.0)).collect());

/// How codes of 16 bits become light.
#[derive(Debug, Clone)]
pub struct Light {
    /// For red, green and blue the light of each code, in the picture's own primaries.
    curves: [Arc<[f64]>; 3],
    /// A code is shifted so far to the right to find its place: 8 where it was spread from 8 bits, else 0.
    shift: u32,
    /// From the picture's primaries to sRGB's; None where they are the same.
    matrix: Option<Matrix>,
    /// Whether the codes are sRGB's.
    plain: bool,
}

impl Light {
    /// The codes are sRGB's.
    pub fn srgb() -> Self {
        let curve = Arc::clone(&SRGB);
        let curves = [Arc::clone(&curve), Arc::clone(&curve), curve];
        Self { curves, shift: 0, matrix: None, plain: true }
    }

    /// By these curves, each of 256 or of 65,536 codes, and a matrix from the picture's primaries to sRGB's.
    pub fn new(curves: [Arc<[f64]>; 3], matrix: Option<Matrix>) -> Self {
        let shift = if curves[0].len() > 256 { 0 } else { 8 };
        Self { curves, shift, matrix, plain: false }
    }

    /// The light of a pixel, each channel 0 to 1.
    pub fn of(&self, pixel: Deep) -> [f64; 3] {
        let own = [0, 1, 2].map(|n| self.curves[n][usize::from(pixel[n] >> self.shift)]);
        let Some(matrix) = &self.matrix else { return own };
        matrix.map(|row| (row[0] * own[0] + row[1] * own[1] + row[2] * own[2]).clamp(0.0, 1.0))
    }

    /// The pixel as sRGB encodes it, each channel 0 to 1.
    pub fn encoded(&self, pixel: Deep) -> [f64; 3] {
        if self.plain {
            return [0, 1, 2].map(|n| f64::from(pixel[n]) / 65_535.0);
        }
        self.of(pixel).map(encoded)
    }

    /// The pixel in sRGB of 8 bits, for a look.
    #[expect(clippy::cast_possible_truncation, clippy::cast_sign_loss, reason = "it is 0 to 255")]
    pub fn shown(&self, pixel: Deep) -> [u8; 4] {
        let [red, green, blue] = self.encoded(pixel).map(|code| (code * 255.0).round() as u8);
        [red, green, blue, pixel[3].to_be_bytes()[0]]
    }
}

/// A pixel of 8 bits in 16: 0xff becomes 0xffff.
pub fn spread(pixel: [u8; 4]) -> Deep {
    pixel.map(|code| u16::from(code) * 257)
}
