//! Which light the codes of a picture stand for: by an ICC profile (ICC.1), by code points (ITU-T H.273) or by a
//! gamma and chromaticities (PNG, third edition).
//!
//! Curves and a matrix are worked out here in double precision from what `moxcms` read; a profile of tables is
//! `moxcms`'s own work. Colours are taken relative to the medium's white, since a print is judged so.

use std::sync::Arc;

use moxcms::{
    Chromaticity, CicpColorPrimaries, CicpProfile, CmsError, ColorPrimaries, ColorProfile,
    DataColorSpace, InterpolationMethod, Layout, MatrixCoefficients, ParsingOptions,
    RenderingIntent, ToneCurveEvaluator, ToneReprCurve, TransferCharacteristics,
    Transform16BitExecutor, TransformOptions,
};

use super::colour::{linear, luminance_at};
use super::light::{Light, Matrix};

/// The most bytes of a profile: the largest for print have about 3 MB.
pub const MOST_BYTES: usize = 10 << 20;

/// What a picture's samples are.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Samples {
    Grey,
    Colour,
    /// Cyan, magenta, yellow and black.
    Inks,
}

/// How fine a picture's codes are.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Depth {
    Eight,
    Sixteen,
}

/// How a picture's codes are read.
pub enum Reading {
    /// They are sRGB's.
    Srgb,
    /// By curves and a matrix.
    Light(Light),
    /// By tables, which give sRGB of 16 bits.
    Table(Table),
}

/// Why a profile does not read.
#[derive(Debug, thiserror::Error)]
pub enum NoProfile {
    #[error("found a profile for {found}, expected one for {wanted}")]
    Other { found: &'static str, wanted: &'static str },
    #[error("found a profile without curves and without tables")]
    Empty,
    #[error("found {found} bytes, expected at most {MOST_BYTES}")]
    TooLarge { found: usize },
    #[error(
        "found code points {0:?}, expected primaries and a transfer of a picture that is not HDR"
    )]
    CodePoints([u8; 4]),
    #[error("found a gamma of 0, expected more")]
    NoGamma,
    #[error("found chromaticities that span no colours")]
    NoColours,
    #[error("it is damaged: {0}")]
    Damaged(CmsError),
}

/// Tables that take samples to sRGB.
pub struct Table {
    transform: Arc<Transform16BitExecutor>,
}

impl Table {
    /// Takes a row of samples of 16 bits, one, three or four a pixel, to sRGB of 16 bits, three a pixel.
    ///
    /// # Errors
    /// Slices of unlike numbers of pixels.
    pub fn convert(&self, from: &[u16], to: &mut [u16]) -> Result<(), NoProfile> {
        self.transform.transform(from, to).map_err(NoProfile::Damaged)
    }
}

/// Reads an ICC profile for such samples.
///
/// # Errors
/// It is damaged, too large, or for other samples.
pub fn read(bytes: &[u8], samples: Samples, depth: Depth) -> Result<Reading, NoProfile> {
    if bytes.len() >= MOST_BYTES {
        return Err(NoProfile::TooLarge { found: bytes.len() });
    }
    let options = ParsingOptions {
        max_profile_size: MOST_BYTES,
        max_allowed_clut_size: MOST_BYTES,
        max_allowed_trc_size: 1 << 16,
    };
    let profile =
        ColorProfile::new_from_slice_with_options(bytes, options).map_err(NoProfile::Damaged)?;
    let found = match profile.color_space {
        DataColorSpace::Gray => "grey",
        DataColorSpace::Rgb => "RGB",
        DataColorSpace::Cmyk => "CMYK",
        _ => "another kind of colours",
    };
    let wanted = match samples {
        Samples::Grey => "grey",
        Samples::Colour => "RGB",
        Samples::Inks => "CMYK",
    };
    if found != wanted {
        return Err(NoProfile::Other { found, wanted });
    }
    if let Some(intent) = intent_of(&profile) {
        return table(&profile, samples, intent);
    }
    match samples {
        Samples::Grey => grey(&profile, depth),
        Samples::Colour => shaped(&profile, depth),
        Samples::Inks => Err(NoProfile::Empty),
    }
}

/// The intent whose tables are taken: the colorimetric ones, else those that are there (ICC.1, 9.2).
fn intent_of(profile: &ColorProfile) -> Option<RenderingIntent> {
    [
        (&profile.lut_a_to_b_colorimetric, RenderingIntent::RelativeColorimetric),
        (&profile.lut_a_to_b_perceptual, RenderingIntent::Perceptual),
        (&profile.lut_a_to_b_saturation, RenderingIntent::Saturation),
    ]
    .into_iter()
    .find_map(|(tables, intent)| tables.as_ref().map(|_| intent))
}

fn table(
    profile: &ColorProfile,
    samples: Samples,
    intent: RenderingIntent,
) -> Result<Reading, NoProfile> {
    let layout = match samples {
        Samples::Grey => Layout::Gray,
        Samples::Colour => Layout::Rgb,
        Samples::Inks => Layout::Rgba,
    };
    let options = TransformOptions {
        rendering_intent: intent,
        allow_use_cicp_transfer: false,
        prefer_fixed_point: false,
        interpolation_method: InterpolationMethod::Tetrahedral,
        ..TransformOptions::default()
    };
    let transform = profile
        .create_transform_16bit(layout, &ColorProfile::new_srgb(), Layout::Rgb, options)
        .map_err(NoProfile::Damaged)?;
    Ok(Reading::Table(Table { transform }))
}

/// Grey by its one curve. In a profile that connects by CIELAB the curve gives lightness.
fn grey(profile: &ColorProfile, depth: Depth) -> Result<Reading, NoProfile> {
    let curve = profile.gray_trc.as_ref().ok_or(NoProfile::Empty)?;
    let curve = evaluated(curve)?;
    let by_lightness = profile.pcs == DataColorSpace::Lab;
    let light = |code| match curve(code) {
        lightness if by_lightness => luminance_at(100.0 * lightness),
        light => light,
    };
    let curve = sampled(light, depth);
    Ok(reading([Arc::clone(&curve), Arc::clone(&curve), curve], None))
}

/// RGB by three curves and the colorants' matrix.
fn shaped(profile: &ColorProfile, depth: Depth) -> Result<Reading, NoProfile> {
    let (Some(red), Some(green), Some(blue)) =
        (&profile.red_trc, &profile.green_trc, &profile.blue_trc)
    else {
        return Err(NoProfile::Empty);
    };
    if !profile.is_matrix_shaper() || profile.pcs != DataColorSpace::Xyz {
        return Err(NoProfile::Empty);
    }
    let first = sampled(evaluated(red)?, depth);
    let other = |curve: &ToneReprCurve| match curve == red {
        true => Ok(Arc::clone(&first)),
        false => evaluated(curve).map(|curve| sampled(curve, depth)),
    };
    let curves = [Arc::clone(&first), other(green)?, other(blue)?];
    Ok(reading(curves, to_srgb(profile)?))
}

/// Reads the code points of PNG's cICP: primaries, transfer, matrix and range.
///
/// # Errors
/// Reserved or unspecified ones, a transfer for high dynamic range, and what is not RGB.
pub fn coded(points: [u8; 4], samples: Samples, depth: Depth) -> Result<Reading, NoProfile> {
    let none = || NoProfile::CodePoints(points);
    let [primaries, transfer, matrix, range] = points;
    let transfer = TransferCharacteristics::try_from(transfer).map_err(NoProfile::Damaged)?;
    // Light beyond white has no place in a print, and what is white in it nobody says.
    let for_displays = matches!(
        transfer,
        TransferCharacteristics::Smpte2084
            | TransferCharacteristics::Hlg
            | TransferCharacteristics::Smpte428
    );
    if matrix != 0 || range > 1 || for_displays {
        return Err(none());
    }
    let cicp = CicpProfile {
        color_primaries: CicpColorPrimaries::try_from(primaries).map_err(NoProfile::Damaged)?,
        transfer_characteristics: transfer,
        matrix_coefficients: MatrixCoefficients::Identity,
        full_range: range == 1,
    };
    let mut profile = ColorProfile::new_srgb();
    profile.cicp = None;
    profile.update_rgb_colorimetry_from_cicp(cicp);
    // It is set where primaries and transfer are known.
    if profile.cicp.is_none() {
        return Err(none());
    }
    let curve = ToneReprCurve::make_cicp_linear_evaluator(transfer).map_err(|_| none())?;
    let [black, white] = NARROW;
    let whole = |code: f64| match range {
        1 => code,
        _ => ((code * scale(depth) - black) / (white - black)).clamp(0.0, 1.0),
    };
    let curve = sampled(|code| single(curve.as_ref(), whole(code)), depth);
    let curves = [Arc::clone(&curve), Arc::clone(&curve), curve];
    let matrix = if samples == Samples::Grey { None } else { to_srgb(&profile)? };
    Ok(reading(curves, matrix))
}

/// Black and white of a narrow range, in codes of 8 bits (ITU-T H.273, 8.3).
const NARROW: [f64; 2] = [16.0, 235.0];

/// So many codes of 8 bits are the whole range: H.273 shifts codes to more bits, it does not stretch them.
fn scale(depth: Depth) -> f64 {
    match depth {
        Depth::Eight => 255.0,
        Depth::Sixteen => 65_535.0 / 256.0,
    }
}

/// Reads PNG's gAMA and cHRM, both in hundred thousandths: white, red, green and blue, each x and y. Without the
/// one it is sRGB's curve, without the other sRGB's primaries.
///
/// # Errors
/// A gamma of 0, chromaticities that span no colours.
pub fn stated(
    gamma: Option<u32>,
    chromaticities: Option<[u32; 8]>,
    samples: Samples,
    depth: Depth,
) -> Result<Reading, NoProfile> {
    let curve = match gamma {
        Some(0) => return Err(NoProfile::NoGamma),
        Some(gamma) => sampled(|code| code.powf(100_000.0 / f64::from(gamma)), depth),
        None => sampled(linear, depth),
    };
    let curves = [Arc::clone(&curve), Arc::clone(&curve), curve];
    let Some(chromaticities) = chromaticities.filter(|_| samples != Samples::Grey) else {
        return Ok(reading(curves, None));
    };
    #[expect(clippy::cast_possible_truncation, reason = "the library's chromaticities are single")]
    let at = |n: usize| Chromaticity {
        x: (f64::from(chromaticities[n]) / 100_000.0) as f32,
        y: (f64::from(chromaticities[n + 1]) / 100_000.0) as f32,
    };
    let [red, green, blue] = [2, 4, 6].map(|n| [n, n + 1].map(|n| f64::from(chromaticities[n])));
    // Twice the triangle between them; a hundredth of a thousandth of sRGB's is a line.
    let area = (green[0] - red[0]) * (blue[1] - red[1]) - (blue[0] - red[0]) * (green[1] - red[1]);
    let below = chromaticities.iter().skip(1).step_by(2).any(|y| *y == 0);
    if below || area.abs() < 1e-5 * 2.2e9 {
        return Err(NoProfile::NoColours);
    }
    let mut profile = ColorProfile::new_srgb();
    let primaries = ColorPrimaries { red: at(2), green: at(4), blue: at(6) };
    profile.update_rgb_colorimetry(at(0).to_xyyb(), primaries);
    Ok(reading(curves, to_srgb(&profile)?))
}

/// A curve as a function of a code, 0 to 1.
fn evaluated(curve: &ToneReprCurve) -> Result<impl Fn(f64) -> f64 + use<>, NoProfile> {
    let curve = curve.make_linear_evaluator().map_err(NoProfile::Damaged)?;
    Ok(move |code| single(curve.as_ref(), code))
}

/// The library's curves are of single precision: 2^-24 of the whole, a hundredth of a step of 16 bits.
#[expect(clippy::cast_possible_truncation, reason = "it is told above")]
fn single(curve: &(dyn ToneCurveEvaluator + Send + Sync), code: f64) -> f64 {
    f64::from(curve.evaluate_value(code as f32))
}

/// The light of each code. A power of what is below nothing is no number: then there is no light.
fn sampled(light: impl Fn(f64) -> f64, depth: Depth) -> Arc<[f64]> {
    let most: u16 = if depth == Depth::Eight { 255 } else { u16::MAX };
    let at = |code: u16| light(f64::from(code) / f64::from(most));
    (0..=most).map(at).map(|l| if l.is_nan() { 0.0 } else { l.clamp(0.0, 1.0) }).collect()
}

/// The matrix from a profile's primaries to sRGB's; None where they are the same.
fn to_srgb(profile: &ColorProfile) -> Result<Option<Matrix>, NoProfile> {
    /// Profiles of sRGB differ so much by the rounding of their colorants.
    const ROUNDING: f64 = 1e-3;
    let matrix = profile.transform_matrix(&ColorProfile::new_srgb()).v;
    let flat = profile.colorant_matrix().determinant().is_none_or(|volume| volume.abs() < 1e-6);
    if flat || matrix.as_flattened().iter().any(|part| !part.is_finite() || part.abs() > 1e3) {
        return Err(NoProfile::NoColours);
    }
    let unit = |row: usize, column: usize| if row == column { 1.0 } else { 0.0 };
    let is_unit = (0..3)
        .all(|row| (0..3).all(|column| (matrix[row][column] - unit(row, column)).abs() < ROUNDING));
    Ok((!is_unit).then_some(matrix))
}

/// The reading of these curves and this matrix, told where it is sRGB's.
fn reading(curves: [Arc<[f64]>; 3], matrix: Option<Matrix>) -> Reading {
    /// sRGB's curve as a table of 1,024 places is so near to it; half a step of 8 bits in the dark is five times it.
    const ROUNDING: f64 = 3e-5;
    let is_srgb = |curve: &Arc<[f64]>| {
        let most = (curve.len() - 1) as f64;
        let mut codes = curve.iter().enumerate();
        codes.all(|(code, light)| (light - linear(code as f64 / most)).abs() < ROUNDING)
    };
    if matrix.is_none() && curves.iter().all(is_srgb) {
        return Reading::Srgb;
    }
    Reading::Light(Light::new(curves, matrix))
}
