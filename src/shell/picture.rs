//! Pictures of artwork as files: read row by row, and looked at on their garment.
//!
//! A PNG is read row by row, so a picture of any size takes little memory; the other formats are read whole,
//! within a limit.

use std::fs::File;
use std::io::{BufRead, BufReader, Cursor, Seek};
use std::path::{Path, PathBuf};

use image::{DynamicImage, ImageDecoder};

use crate::figures::artwork::{Finding, Judge, Limits, Rgba};
use crate::figures::sketch::{Pencil, Sketch};
use crate::figures::units::Colour;
use crate::shop::order::{Artwork, Backdrop};
use crate::shop::words::clean;

/// More pixels than any print has: a small file that claims to be larger is refused.
const MOST_PIXELS: u64 = 400_000_000;
/// The most bytes that a picture read whole may unpack to.
const MOST_BYTES: u64 = 1 << 30;

/// A picture that cannot be looked at: which, and why.
#[derive(Debug, thiserror::Error)]
#[error("{}: {reason}", path.display())]
pub struct NoPicture {
    path: PathBuf,
    reason: String,
}

impl NoPicture {
    fn new(path: &Path, reason: impl std::fmt::Display) -> Self {
        Self { path: path.to_owned(), reason: clean(&reason.to_string(), 200) }
    }

    /// The error without the way to the file, for a message line.
    pub fn in_one_line(&self) -> String {
        let name = self.path.file_name().unwrap_or(self.path.as_os_str());
        format!("{}: {}", clean(&name.to_string_lossy(), 40), self.reason)
    }
}

/// A row of a picture with its place in it.
pub struct Row<'a> {
    pub pixels: &'a [Rgba],
    /// Counted from 0.
    pub number: u32,
    /// Rows in all.
    pub of: u32,
}

impl Row<'_> {
    /// Whether it is the first or the last.
    pub fn is_edge(&self) -> bool {
        self.number == 0 || self.number + 1 == self.of
    }
}

/// An artwork that was looked at, with its backdrop and without.
pub struct Look {
    kept: Artwork,
    dropped: Artwork,
    suspected: bool,
}

impl Look {
    /// What the artwork says. None where that hangs on whether the backdrop is printed, and nobody has said.
    pub fn says(self, backdrop: Option<Backdrop>) -> Option<Artwork> {
        match backdrop {
            _ if !self.suspected => Some(self.kept),
            Some(Backdrop::Keep) => Some(Artwork { backdrop, ..self.kept }),
            Some(Backdrop::Drop) => Some(Artwork { backdrop, ..self.dropped }),
            None if self.kept.underbase == self.dropped.underbase => Some(self.kept),
            None => None,
        }
    }
}

/// Looks at an artwork on a garment of this colour.
///
/// # Errors
/// No picture, or one of which nothing would be printed.
pub fn look_at(path: &Path, garment: Colour, limits: Limits) -> Result<Look, NoPicture> {
    look_through(path, open(path)?, garment, limits)
}

/// The same for a picture that lies in memory; `name` is what errors call it.
///
/// # Errors
/// No picture, or one of which nothing would be printed.
pub fn look_at_bytes(
    name: &Path,
    bytes: &[u8],
    garment: Colour,
    limits: Limits,
) -> Result<Look, NoPicture> {
    look_through(name, Cursor::new(bytes), garment, limits)
}

fn look_through(
    path: &Path,
    file: impl BufRead + Seek,
    garment: Colour,
    limits: Limits,
) -> Result<Look, NoPicture> {
    let mut judge = Judge::new(garment, limits);
    let mut pencil: Option<Pencil> = None;
    rows_of(path, file, |row| {
        judge.row(row.pixels, row.is_edge());
        pencil.get_or_insert_with(|| Pencil::new(garment, row.of)).row(row.pixels);
    })?;
    let pencil = pencil.unwrap_or_else(|| Pencil::new(garment, 1));
    let kept = judge.finish(false);
    if kept.lightest.is_none() {
        return Err(NoPicture::new(path, "no pixel is printed: the picture is transparent"));
    }
    let artwork = |finding: &Finding, sketch: Sketch| Artwork {
        underbase: finding.underbase,
        lighter_share: finding.lighter_share,
        brighter_channel_share: finding.brighter_channel_share,
        backdrop: None,
        reason: finding.reason(limits),
        sketch,
    };
    let dropped = judge.finish(true);
    Ok(Look {
        // Without its backdrop nothing would be left of a picture of one colour: then it is the print.
        suspected: kept.backdrop_suspected && dropped.lightest.is_some(),
        dropped: artwork(&dropped, pencil.finish(true)),
        kept: artwork(&kept, pencil.finish(false)),
    })
}

fn open(path: &Path) -> Result<BufReader<File>, NoPicture> {
    let file = File::open(path).map_err(|reason| NoPicture::new(path, reason))?;
    Ok(BufReader::with_capacity(1 << 16, file))
}

/// Hands each row of a picture to `take`.
///
/// # Errors
/// No picture of a known kind, a truncated one, one beyond the limits.
pub fn each_row(path: &Path, take: impl FnMut(&Row<'_>)) -> Result<(), NoPicture> {
    rows_of(path, open(path)?, take)
}

fn rows_of(
    path: &Path,
    mut file: impl BufRead + Seek,
    mut take: impl FnMut(&Row<'_>),
) -> Result<(), NoPicture> {
    let wrong = |reason: std::io::Error| NoPicture::new(path, reason);
    let mut magic = [0u8; 8];
    let is_png = file.read_exact(&mut magic).is_ok() && magic == *b"\x89PNG\r\n\x1a\n";
    file.rewind().map_err(wrong)?;
    if is_png && png_rows(path, &mut file, &mut take)? {
        return Ok(());
    }
    file.rewind().map_err(wrong)?;
    if magic.starts_with(b"\xff\xd8\xff") {
        if !jpeg_is_whole(&mut file).map_err(wrong)? {
            return Err(NoPicture::new(path, "the file ends within the picture: it was cut off"));
        }
        file.rewind().map_err(wrong)?;
    }
    let picture = whole(path, file)?.into_rgba8();
    let (width, of) = picture.dimensions();
    let width = usize::try_from(width).unwrap_or(1).max(1);
    let (rows, _) = picture.as_raw().as_chunks::<4>();
    for (number, pixels) in (0u32..).zip(rows.chunks(width)) {
        take(&Row { pixels, number, of });
    }
    Ok(())
}

/// Reads a picture whole, within the limits.
fn whole(path: &Path, file: impl BufRead + Seek) -> Result<DynamicImage, NoPicture> {
    let no_picture = |reason: image::ImageError| NoPicture::new(path, reason);
    let reader = image::ImageReader::new(file).with_guessed_format();
    let mut reader = reader.map_err(|reason| NoPicture::new(path, reason))?;
    let mut limits = image::Limits::default();
    limits.max_alloc = Some(MOST_BYTES);
    reader.limits(limits);
    let decoder = reader.into_decoder().map_err(no_picture)?;
    let (width, height) = decoder.dimensions();
    check_size(path, width, height)?;
    let bytes = decoder.total_bytes();
    if bytes > MOST_BYTES {
        let reason = format!(
            "{width} x {height} pixels unpack to {bytes} bytes: expected at most {MOST_BYTES} where rows do not \
             come in order; save it as a PNG that is not interlaced"
        );
        return Err(NoPicture::new(path, reason));
    }
    DynamicImage::from_decoder(decoder).map_err(no_picture)
}

/// Whether a JPEG goes on to its end mark. The decoder fills what is missing with grey and says nothing.
///
/// By ITU-T T.81, annex B: segments with their lengths; in coded data 0xFF is followed by 0, or a restart mark.
fn jpeg_is_whole(file: &mut (impl BufRead + Seek)) -> std::io::Result<bool> {
    const END: u8 = 0xD9;
    let mut next_mark = || -> std::io::Result<Option<u8>> {
        let mut mark = [0xFF];
        file.skip_until(0xFF)?;
        // Any number of 0xFF may fill the space before a mark.
        while mark == [0xFF] {
            if file.read(&mut mark)? == 0 {
                return Ok(None);
            }
        }
        // Marks that stand alone: a stuffed 0, a restart, the start and the end.
        if !matches!(mark[0], 0x00 | 0x01 | 0xD0..=0xD9) {
            let mut length = [0; 2];
            for part in &mut length {
                if file.read(std::slice::from_mut(part))? == 0 {
                    return Ok(None);
                }
            }
            file.seek_relative(i64::from(u16::from_be_bytes(length).max(2)) - 2)?;
        }
        Ok(Some(mark[0]))
    };
    loop {
        match next_mark()? {
            None => return Ok(false),
            Some(END) => return Ok(true),
            Some(_) => {}
        }
    }
}

fn check_size(path: &Path, width: u32, height: u32) -> Result<(), NoPicture> {
    let pixels = u64::from(width) * u64::from(height);
    if pixels == 0 || pixels > MOST_PIXELS {
        let reason = format!("{width} x {height} pixels: expected 1 to {MOST_PIXELS} in all");
        return Err(NoPicture::new(path, reason));
    }
    Ok(())
}

/// Streams a PNG; false for an interlaced one, whose rows do not come in order.
fn png_rows(
    path: &Path,
    file: impl BufRead + Seek,
    take: &mut impl FnMut(&Row<'_>),
) -> Result<bool, NoPicture> {
    let wrong = |reason: png::DecodingError| NoPicture::new(path, reason);
    let mut decoder = png::Decoder::new(file);
    decoder.set_transformations(
        png::Transformations::normalize_to_color8() | png::Transformations::ALPHA,
    );
    let mut reader = decoder.read_info().map_err(wrong)?;
    let info = reader.info();
    let (width, of) = (info.width, info.height);
    check_size(path, width, of)?;
    if info.interlaced {
        return Ok(false);
    }
    let grey = reader.output_color_type().0 == png::ColorType::GrayscaleAlpha;
    let mut spread: Vec<Rgba> = Vec::new();
    for number in 0..of {
        let row = reader.next_row().map_err(wrong)?;
        let Some(row) = row else {
            let reason = format!("the picture ends after {number} of {of} rows");
            return Err(NoPicture::new(path, reason));
        };
        let pixels = if grey {
            let (pairs, _) = row.data().as_chunks::<2>();
            spread.clear();
            spread.extend(pairs.iter().map(|[light, opacity]| [*light, *light, *light, *opacity]));
            spread.as_slice()
        } else {
            row.data().as_chunks::<4>().0
        };
        take(&Row { pixels, number, of });
    }
    Ok(true)
}
