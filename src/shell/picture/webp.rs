//! WebP, and with it every format of which nothing is known but that it is none of the others.

use std::io::{BufRead, Seek};
use std::path::Path;

use image::{ColorType, ImageDecoder};

use super::strips::{ColoursFound, Layout, Source, Strips, first_that_reads};
use super::{MOST_BYTES, NoPicture, Row, check_size, too_many_bytes, upright};
use crate::figures::profile::{self, Depth, Samples};

/// Hands each row to `take`.
pub fn rows(
    path: &Path,
    file: &mut (impl BufRead + Seek),
    take: &mut impl FnMut(&Row<'_>),
) -> Result<ColoursFound, NoPicture> {
    let wrong = |reason: image::ImageError| NoPicture::new(path, reason);
    let reader = image::ImageReader::new(file).with_guessed_format();
    let mut reader = reader.map_err(|reason| NoPicture::new(path, reason))?;
    let mut limits = image::Limits::default();
    limits.max_alloc = u64::try_from(MOST_BYTES).ok();
    reader.limits(limits);
    let mut decoder = reader.into_decoder().map_err(wrong)?;
    let (width, height) = decoder.dimensions();
    check_size(path, width, height)?;
    let bytes = usize::try_from(decoder.total_bytes()).unwrap_or(usize::MAX);
    if bytes > MOST_BYTES {
        return Err(too_many_bytes(path, width, height, bytes));
    }
    let opacity = match decoder.color_type() {
        ColorType::Rgb8 => false,
        ColorType::Rgba8 => true,
        other => return Err(NoPicture::new(path, format!("found {other:?}, expected RGB"))),
    };
    let layout = Layout { samples: Samples::Colour, opacity, depth: Depth::Eight };
    let read = |bytes: Vec<u8>| {
        let reading = profile::read(&bytes, layout.samples, layout.depth);
        reading.map_err(|reason| reason.to_string())
    };
    let profile = decoder.icc_profile().map_err(|reason| reason.to_string()).transpose();
    let source: Option<Source> = profile.map(|bytes| ("ICCP", bytes.and_then(read)));
    let (reading, told) = first_that_reads(source, layout.samples);
    let of = upright(width, height, decoder.exif_metadata().ok().flatten().as_deref());
    let mut pixels = vec![0; bytes];
    decoder.read_image(&mut pixels).map_err(wrong)?;
    let mut strips = Strips::new(layout, reading);
    let line = of.of_file()[0] * if opacity { 4 } else { 3 };
    for (number, row) in (0..height).zip(pixels.chunks_exact(line)) {
        take(&Row { pixels: strips.strip(path, row)?, number, of });
    }
    Ok(told)
}
