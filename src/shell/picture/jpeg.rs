//! JPEG: its segments (ITU-T T.81, annex B), its profile, and its inks where it has four.

use std::io::{BufRead, Read, Seek};
use std::path::Path;

use zune_jpeg::JpegDecoder;
use zune_jpeg::zune_core::bytestream::ZCursor;
use zune_jpeg::zune_core::colorspace::ColorSpace;
use zune_jpeg::zune_core::options::DecoderOptions;

use super::strips::{ColoursFound, Layout, Source, Strips, channels, first_that_reads};
use super::{MOST_BYTES, NoPicture, Row, check_size, too_many_bytes, upright};
use crate::figures::profile::{self, Depth, Samples};

/// What a JPEG says of itself before its pixels.
#[derive(Default)]
struct Said {
    /// Whether it goes on to its end mark. The decoder fills what is missing with grey and says nothing.
    whole: bool,
    progressive: bool,
    /// The parts of its profile: number, of how many, bytes.
    profile: Vec<(u8, u8, Vec<u8>)>,
    exif: Option<Vec<u8>>,
    /// Whether the segment is there that says inks are stored inverted (ITU-T T.872, 6.5.3).
    inverted: bool,
}

impl Said {
    fn read(file: &mut impl BufRead) -> std::io::Result<Self> {
        const END: u8 = 0xD9;
        let mut said = Self::default();
        loop {
            let mut mark = [0xFF];
            file.skip_until(0xFF)?;
            // Any number of 0xFF may fill the space before a mark.
            while mark == [0xFF] {
                if file.read(&mut mark)? == 0 {
                    return Ok(said);
                }
            }
            match mark[0] {
                END => {
                    said.whole = true;
                    return Ok(said);
                }
                // Marks that stand alone: a stuffed 0, a restart, the start.
                0x00 | 0x01 | 0xD0..=0xD8 => {}
                mark => {
                    let mut length = [0; 2];
                    if file.read_exact(&mut length).is_err() {
                        return Ok(said);
                    }
                    let length = u64::from(u16::from_be_bytes(length).saturating_sub(2));
                    let mut data = Vec::new();
                    file.take(length).read_to_end(&mut data)?;
                    said.take(mark, &data);
                }
            }
        }
    }

    fn take(&mut self, mark: u8, data: &[u8]) {
        match mark {
            0xE1 => {
                if let Some(exif) = data.strip_prefix(b"Exif\0\0") {
                    self.exif.get_or_insert(exif.to_vec());
                }
            }
            // ICC.1, annex B.4: a profile in segments.
            0xE2 => {
                if let Some([number, of, part @ ..]) = data.strip_prefix(b"ICC_PROFILE\0") {
                    self.profile.push((*number, *of, part.to_vec()));
                }
            }
            0xEE => self.inverted |= data.starts_with(b"Adobe"),
            0xC2 | 0xC6 | 0xCA | 0xCE => self.progressive = true,
            _ => {}
        }
    }

    /// The profile put together; None where there is none.
    fn whole_profile(&mut self) -> Option<Result<Vec<u8>, String>> {
        let (_, of, _) = *self.profile.first()?;
        self.profile.sort_by_key(|(number, ..)| *number);
        let numbers = self.profile.iter().map(|(number, ..)| *number);
        let alike = self.profile.iter().all(|(_, each, _)| *each == of);
        if !alike || !numbers.eq(1..=of) {
            let found = self.profile.len();
            return Some(Err(format!("found {found} of its {of} segments, or not each once")));
        }
        let mut bytes = Vec::new();
        for (.., part) in self.profile.drain(..) {
            bytes.extend(part);
        }
        Some(Ok(bytes))
    }
}

/// Hands each row to `take`.
pub fn rows(
    path: &Path,
    file: &mut (impl BufRead + Seek),
    take: &mut impl FnMut(&Row<'_>),
) -> Result<ColoursFound, NoPicture> {
    let unread = |reason: std::io::Error| NoPicture::new(path, reason);
    let mut said = Said::read(file).map_err(unread)?;
    if !said.whole {
        return Err(NoPicture::new(path, "the file ends within the picture: it was cut off"));
    }
    file.rewind().map_err(unread)?;
    let mut bytes = Vec::new();
    let most = u64::try_from(MOST_BYTES).unwrap_or(u64::MAX);
    file.take(most).read_to_end(&mut bytes).map_err(unread)?;

    let wrong = |reason: zune_jpeg::errors::DecodeErrors| NoPicture::new(path, reason);
    let options = DecoderOptions::default()
        .set_strict_mode(false)
        .set_max_width(usize::MAX)
        .set_max_height(usize::MAX);
    let mut decoder = JpegDecoder::new_with_options(ZCursor::new(&bytes), options);
    decoder.decode_headers().map_err(wrong)?;
    let (width, height) = decoder.dimensions().unwrap_or_default();
    let (width, height) = (u32::try_from(width).unwrap_or(0), u32::try_from(height).unwrap_or(0));
    check_size(path, width, height)?;
    let stored = decoder.input_colorspace().unwrap_or(ColorSpace::RGB);
    let (samples, given) = match stored {
        ColorSpace::Luma => (Samples::Grey, ColorSpace::Luma),
        ColorSpace::CMYK | ColorSpace::YCCK => (Samples::Inks, stored),
        _ => (Samples::Colour, ColorSpace::RGB),
    };
    let line = usize::try_from(width).unwrap_or(usize::MAX) * channels(samples);
    let size = line.saturating_mul(usize::try_from(height).unwrap_or(usize::MAX));
    // What comes in several scans is kept as coefficients of two bytes until the last of them.
    if size.saturating_mul(if said.progressive { 3 } else { 1 }) > MOST_BYTES {
        return Err(too_many_bytes(path, width, height, size));
    }
    decoder.set_options(options.jpeg_set_out_colorspace(given));
    let mut pixels = decoder.decode().map_err(wrong)?;
    drop(decoder);
    drop(bytes);
    if pixels.len() < size {
        return Err(NoPicture::new(path, "the picture has fewer pixels than it says"));
    }
    if samples == Samples::Inks {
        inks(&mut pixels, stored == ColorSpace::YCCK, said.inverted);
    }

    let read = |bytes: Vec<u8>| {
        profile::read(&bytes, samples, Depth::Eight).map_err(|reason| reason.to_string())
    };
    let source: Option<Source> =
        said.whole_profile().map(|bytes| ("ICC profile", bytes.and_then(read)));
    let (reading, told) = first_that_reads(source, samples);
    let layout = Layout { samples, opacity: false, depth: Depth::Eight };
    let mut strips = Strips::new(layout, reading);
    let of = upright(width, height, said.exif.as_deref());
    for (number, row) in (0..height).zip(pixels.chunks_exact(line)) {
        take(&Row { pixels: strips.strip(path, row)?, number, of });
    }
    Ok(told)
}

/// Makes what is stored into amounts of ink. Luminance and chrominance are those of what the inks leave (ITU-T
/// T.871 for the formula, T.872 for its use).
fn inks(pixels: &mut [u8], by_chrominance: bool, inverted: bool) {
    for pixel in pixels.as_chunks_mut::<4>().0 {
        if by_chrominance {
            let [y, cb, cr, _] = pixel.map(f64::from);
            let (blue, red) = (cb - 128.0, cr - 128.0);
            let left = [y + 1.402 * red, y - 0.344_136 * blue - 0.714_136 * red, y + 1.772 * blue];
            for (stored, left) in pixel.iter_mut().zip(left) {
                *stored = 255 - nearest(left);
            }
        }
        if inverted {
            *pixel = pixel.map(|stored| 255 - stored);
        }
    }
}

#[expect(clippy::cast_possible_truncation, clippy::cast_sign_loss, reason = "it is 0 to 255")]
fn nearest(code: f64) -> u8 {
    code.round().clamp(0.0, 255.0) as u8
}
