//! How light a colour is, and how far it lies from another.
//!
//! sRGB to XYZ by the matrix that follows from the primaries and the white point (IEC 61966-2-1; CSS Color 4
//! works it out the same way); CIELAB by ISO/CIE 11664-4, white D65 (0.3127, 0.3290).

use super::units::Colour;

/// Rows of the matrix from linear sRGB to XYZ.
const TO_XYZ: [[f64; 3]; 3] = [
    [0.412_390_80, 0.357_584_34, 0.180_480_79],
    [0.212_639_01, 0.715_168_68, 0.072_192_32],
    [0.019_330_82, 0.119_194_78, 0.950_532_15],
];

/// A colour in CIELAB.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Lab {
    /// Lightness L*, 0 to 100.
    pub lightness: f64,
    pub a: f64,
    pub b: f64,
}

/// Decodes one sRGB channel, 0 to 1, to linear light (IEC 61966-2-1).
pub fn linear(encoded: f64) -> f64 {
    if encoded <= 0.040_45 { encoded / 12.92 } else { ((encoded + 0.055) / 1.055).powf(2.4) }
}

/// Encodes linear light, 0 to 1, as an sRGB channel: the inverse of `linear`.
pub fn encoded(linear: f64) -> f64 {
    if linear <= 0.040_45 / 12.92 { linear * 12.92 } else { 1.055 * linear.powf(1.0 / 2.4) - 0.055 }
}

/// Relative luminance Y, 0 to 1, of linear channels.
pub fn luminance([red, green, blue]: [f64; 3]) -> f64 {
    let [r, g, b] = TO_XYZ[1];
    r * red + g * green + b * blue
}

/// L* of a relative luminance: 116 f(Y) - 16 (ISO/CIE 11664-4).
pub fn lightness(luminance: f64) -> f64 {
    116.0 * compressed(luminance) - 16.0
}

/// The relative luminance at which L* has a value: the inverse of `lightness`.
pub fn luminance_at(lightness: f64) -> f64 {
    const DELTA: f64 = 6.0 / 29.0;
    let f = (lightness + 16.0) / 116.0;
    if f > DELTA { f.powi(3) } else { 3.0 * DELTA * DELTA * (f - 4.0 / 29.0) }
}

/// f(t) of CIELAB: t^(1/3) above (6/29)^3, a straight line below.
fn compressed(t: f64) -> f64 {
    const DELTA: f64 = 6.0 / 29.0;
    if t > DELTA.powi(3) { t.cbrt() } else { t / (3.0 * DELTA * DELTA) + 4.0 / 29.0 }
}

impl Colour {
    /// The linear channels, each 0 to 1.
    pub fn linear(self) -> [f64; 3] {
        [self.red, self.green, self.blue].map(|channel| linear(f64::from(channel) / 255.0))
    }

    /// The colour in CIELAB, white D65.
    pub fn lab(self) -> Lab {
        let rgb = self.linear();
        let xyz = TO_XYZ.map(|row| row[0] * rgb[0] + row[1] * rgb[1] + row[2] * rgb[2]);
        // The white that the matrix itself gives, so that #ffffff is exactly 100, 0, 0.
        let white = TO_XYZ.map(|row| row.iter().sum::<f64>());
        let [x, y, z] = [0, 1, 2].map(|n| compressed(xyz[n] / white[n]));
        Lab { lightness: 116.0 * y - 16.0, a: 500.0 * (x - y), b: 200.0 * (y - z) }
    }
}
