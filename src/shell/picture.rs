//! Pictures of artwork as files: read row by row, and looked at on their garment.
//!
//! A PNG is read row by row, so a picture of any size takes little memory; the other formats are read whole,
//! within a limit. Pixels come with the light that the picture's own profile gives them.

mod jpeg;
mod mask;
mod png;
mod strips;
mod webp;

use std::fs::File;
use std::io::{BufRead, BufReader, Cursor, Seek};
use std::path::{Path, PathBuf};

use image::metadata::Orientation;

pub use mask::Mask;
pub use strips::ColoursFound;

use crate::figures::artwork::{Finding, Judge, Limits, Strip};
use crate::figures::sketch::{Pencil, Sketch};
use crate::figures::units::Colour;
use crate::figures::upright::Upright;
use crate::shop::facts::order::{Artwork, Backdrop};
use crate::shop::facts::words::clean;

/// More pixels than any print has: a small file that claims to be larger is refused.
const MOST_PIXELS: u64 = 400_000_000;
/// The most bytes that a picture read whole may unpack to.
const MOST_BYTES: usize = 1 << 30;

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
    pub pixels: Strip<'a>,
    /// Counted from 0, as the file has it.
    pub number: u32,
    /// The picture's size, and how it is set upright.
    pub of: Upright,
}

impl Row<'_> {
    /// Whether it is the first or the last.
    pub fn is_edge(&self) -> bool {
        let [_, rows] = self.of.of_file();
        self.number == 0 || usize::try_from(self.number).is_ok_and(|number| number + 1 == rows)
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
    let told = rows_of(path, file, |row| {
        judge.row(row.pixels, row.is_edge());
        pencil.get_or_insert_with(|| Pencil::new(garment, row.of)).row(row.pixels);
    })?;
    let pencil = pencil.unwrap_or_else(|| Pencil::new(garment, Upright::new([1, 1], 1)));
    let kept = judge.finish(false);
    if kept.lightest.is_none() {
        return Err(NoPicture::new(path, "no pixel is printed: the picture is transparent"));
    }
    let artwork = |finding: &Finding, sketch: Sketch| Artwork {
        underbase: finding.underbase,
        lighter_share: finding.lighter_share,
        brighter_channel_share: finding.brighter_channel_share,
        backdrop: None,
        reason: match told.in_short() {
            Some(trouble) => format!("{}; {trouble}", finding.reason(limits)),
            None => finding.reason(limits),
        },
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

/// Hands each row of a picture to `take`, and tells by what its colours were taken.
///
/// # Errors
/// No picture of a known kind, a truncated one, one beyond the limits.
pub fn each_row(path: &Path, take: impl FnMut(&Row<'_>)) -> Result<ColoursFound, NoPicture> {
    rows_of(path, open(path)?, take)
}

fn rows_of(
    path: &Path,
    mut file: impl BufRead + Seek,
    mut take: impl FnMut(&Row<'_>),
) -> Result<ColoursFound, NoPicture> {
    let mut magic = [0u8; 8];
    // A shorter file is no picture, as its decoder tells.
    let is_png = file.read_exact(&mut magic).is_ok() && magic == *b"\x89PNG\r\n\x1a\n";
    file.rewind().map_err(|reason| NoPicture::new(path, reason))?;
    if is_png {
        png::rows(path, &mut file, &mut take)
    } else if magic.starts_with(b"\xff\xd8\xff") {
        jpeg::rows(path, &mut file, &mut take)
    } else {
        webp::rows(path, &mut file, &mut take)
    }
}

/// How a picture of this size stands, by the orientation in its Exif data, if it has any.
fn upright(width: u32, height: u32, exif: Option<&[u8]>) -> Upright {
    let orientation = exif.and_then(Orientation::from_exif_chunk).map_or(1, Orientation::to_exif);
    Upright::new([width, height].map(|side| usize::try_from(side).unwrap_or(1)), orientation)
}

fn check_size(path: &Path, width: u32, height: u32) -> Result<(), NoPicture> {
    let pixels = u64::from(width) * u64::from(height);
    if pixels == 0 || pixels > MOST_PIXELS {
        let reason = format!("{width} x {height} pixels: expected 1 to {MOST_PIXELS} in all");
        return Err(NoPicture::new(path, reason));
    }
    Ok(())
}

/// The error for a picture that would take too much memory read whole.
fn too_many_bytes(path: &Path, width: u32, height: u32, bytes: usize) -> NoPicture {
    let reason = format!(
        "{width} x {height} pixels unpack to {bytes} bytes: expected at most {MOST_BYTES} where rows do not come \
         in order; save it as a PNG that is not interlaced"
    );
    NoPicture::new(path, reason)
}
