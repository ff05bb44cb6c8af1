//! Whether an artwork needs white, and with it fluid, on a garment of a given colour.
//!
//! A PNG is read row by row, so a picture of any size takes little memory; the other formats are read whole,
//! within a limit.

use std::fs::File;
use std::io::{BufReader, BufWriter};
use std::path::{Path, PathBuf};

use clap::{Args, ValueEnum};
use serde_json::{Value, json};

use super::{Failure, output};
use crate::figures::artwork::{Finding, Judge, Limits, Rgba};
use crate::figures::units::{Colour, Rectangle};

/// More pixels than any print has: a small file that claims to be larger is refused.
const MOST_PIXELS: u64 = 400_000_000;
/// The most bytes that a picture read whole may unpack to.
const MOST_BYTES: u64 = 1 << 30;

/// The pictures and the garment.
#[derive(Debug, Args)]
pub struct Options {
    /// PNG, JPEG or WebP
    #[arg(required = true)]
    files: Vec<PathBuf>,
    /// The garment's colour, "#101820"
    #[arg(long)]
    garment: Colour,
    /// How large it is printed, "12 in x 14 in"
    #[arg(long)]
    print: Option<Rectangle>,
    /// Whether a border of one colour is printed
    #[arg(long)]
    backdrop: Option<Backdrop>,
    /// Write a picture that is white where white goes
    #[arg(long, value_name = "OUT.png")]
    mask: Option<PathBuf>,
    /// A pixel is lighter when its L* exceeds the garment's by more than this
    #[arg(long, default_value_t = 1.0)]
    lighter_by: f64,
    /// White is needed when more than this share of the print says so, in per cent
    #[arg(long, default_value_t = 0.05)]
    share: f64,
    /// One JSON object a file
    #[arg(long)]
    json: bool,
}

#[derive(Debug, Clone, Copy, PartialEq, Eq, ValueEnum)]
enum Backdrop {
    Keep,
    Drop,
}

/// Looks at each picture.
pub fn run(options: &Options) -> Result<(), Failure> {
    if options.mask.is_some() && options.files.len() > 1 {
        return Err(Failure::Input("--mask takes one picture at a time".into()));
    }
    let limits = Limits {
        lighter_by: options.lighter_by,
        share: options.share / 100.0,
        ..Limits::default()
    };
    if !(0.0..=100.0).contains(&options.share) || !(0.0..=100.0).contains(&options.lighter_by) {
        return Err(Failure::Input("--share and --lighter-by: expected 0 to 100".into()));
    }
    for (path, finding) in options.files.iter().zip(judge_all(options, limits)) {
        let finding = finding?;
        if finding.lightest.is_none() {
            return Err(wrong(
                path,
                "no pixel is printed: the picture is transparent, or all backdrop",
            ));
        }
        if options.json {
            output::json(&answer(path, &finding, options, limits))?;
        } else {
            output::lines(told(path, &finding, options, limits))?;
        }
    }
    if let (Some(mask), [path]) = (&options.mask, options.files.as_slice()) {
        write_mask(path, mask, options, limits)?;
    }
    Ok(())
}

/// Judges the pictures on both cores, in the order in which they were given.
fn judge_all(options: &Options, limits: Limits) -> Vec<Result<Finding, Failure>> {
    let drop = options.backdrop == Some(Backdrop::Drop);
    let judge = |path: &PathBuf| {
        let mut judge = Judge::new(options.garment, limits);
        each_row(path, |row, edge| judge.row(row, edge))?;
        Ok(judge.finish(drop))
    };
    let (left, right) = options.files.split_at(options.files.len() / 2);
    std::thread::scope(|scope| {
        let first = scope.spawn(|| left.iter().map(judge).collect::<Vec<_>>());
        let second: Vec<_> = right.iter().map(judge).collect();
        let broken = |_| vec![Err(Failure::Other("a picture could not be looked at".into()))];
        first.join().unwrap_or_else(broken).into_iter().chain(second).collect()
    })
}

/// What one picture says on a garment of this colour, by the usual limits.
pub fn look_at(path: &Path, garment: Colour) -> Result<(Finding, String), Failure> {
    let limits = Limits::default();
    let mut judge = Judge::new(garment, limits);
    each_row(path, |row, edge| judge.row(row, edge))?;
    let finding = judge.finish(false);
    Ok((finding, finding.reason(limits)))
}

fn wrong(path: &Path, reason: impl std::fmt::Display) -> Failure {
    let reason = crate::shop::words::clean(&reason.to_string(), 200);
    Failure::Input(format!("{}: {reason}", path.display()))
}

fn answer(path: &Path, finding: &Finding, options: &Options, limits: Limits) -> Value {
    let area = options.print.map(|print| print.area().0 * finding.printed_share);
    json!({
        "file": path.display().to_string(), "underbase": finding.underbase,
        "garment_lightness": finding.garment_lightness, "lightest": finding.lightest,
        "lighter_share": finding.lighter_share,
        "brighter_channel_share": finding.brighter_channel_share,
        "printed_share": finding.printed_share, "printed_area_cm2": area,
        "backdrop_suspected": finding.backdrop_suspected,
        "reason": finding.reason(limits),
    })
}

fn told(path: &Path, finding: &Finding, options: &Options, limits: Limits) -> Vec<String> {
    let verdict = if finding.underbase { "needs an underbase" } else { "needs no underbase" };
    let mut lines = vec![format!("{}: {verdict}: {}", path.display(), finding.reason(limits))];
    lines.push(format!(
        "  garment L* {:.1}, lightest {:.1}, printed {:.1} % of the picture",
        finding.garment_lightness,
        finding.lightest.unwrap_or(0.0),
        finding.printed_share * 100.0
    ));
    if finding.backdrop_suspected && options.backdrop.is_none() {
        lines.push(
            "  its border is of one colour: is the backdrop printed? --backdrop keep or drop"
                .into(),
        );
    }
    lines
}

/// Hands each row of a picture to `take`, with whether it is the first or the last.
fn each_row(path: &Path, mut take: impl FnMut(&[Rgba], bool)) -> Result<(), Failure> {
    let open = || File::open(path).map_err(|reason| wrong(path, reason));
    let mut magic = [0u8; 8];
    let is_png = std::io::Read::read_exact(&mut open()?, &mut magic).is_ok()
        && magic == *b"\x89PNG\r\n\x1a\n";
    if is_png && png_rows(path, open()?, &mut take)? {
        return Ok(());
    }
    let mut reader = image::ImageReader::new(BufReader::new(open()?))
        .with_guessed_format()
        .map_err(|reason| wrong(path, reason))?;
    let mut limits = image::Limits::default();
    limits.max_alloc = Some(MOST_BYTES);
    reader.limits(limits);
    let picture = reader.decode().map_err(|reason| wrong(path, reason))?.into_rgba8();
    let (width, height) = picture.dimensions();
    check_size(path, width, height)?;
    let width = usize::try_from(width).unwrap_or(1).max(1);
    let (rows, _) = picture.as_raw().as_chunks::<4>();
    for (n, row) in (0u32..).zip(rows.chunks(width)) {
        take(row, n == 0 || n + 1 == height);
    }
    Ok(())
}

fn check_size(path: &Path, width: u32, height: u32) -> Result<(), Failure> {
    let pixels = u64::from(width) * u64::from(height);
    if pixels == 0 || pixels > MOST_PIXELS {
        return Err(wrong(
            path,
            format!("{width} x {height} pixels: expected 1 to {MOST_PIXELS} in all"),
        ));
    }
    Ok(())
}

/// Streams a PNG; false for an interlaced one, whose rows do not come in order.
fn png_rows(
    path: &Path,
    file: File,
    take: &mut impl FnMut(&[Rgba], bool),
) -> Result<bool, Failure> {
    let mut decoder = png::Decoder::new(BufReader::with_capacity(1 << 16, file));
    decoder.set_transformations(
        png::Transformations::normalize_to_color8() | png::Transformations::ALPHA,
    );
    let mut reader = decoder.read_info().map_err(|reason| wrong(path, reason))?;
    let info = reader.info();
    if info.interlaced {
        return Ok(false);
    }
    let (width, height) = (info.width, info.height);
    check_size(path, width, height)?;
    let grey = reader.output_color_type().0 == png::ColorType::GrayscaleAlpha;
    let mut spread: Vec<Rgba> = Vec::new();
    for n in 0..height {
        let row = reader.next_row().map_err(|reason| wrong(path, reason))?;
        let Some(row) = row else {
            return Err(wrong(path, format!("the picture ends after {n} of {height} rows")));
        };
        let edge = n == 0 || n + 1 == height;
        if grey {
            let (pairs, _) = row.data().as_chunks::<2>();
            spread.clear();
            spread.extend(pairs.iter().map(|[light, opacity]| [*light, *light, *light, *opacity]));
            take(&spread, edge);
        } else {
            take(row.data().as_chunks::<4>().0, edge);
        }
    }
    Ok(true)
}

/// Writes a picture of the same size, white where the art is lighter than the garment.
fn write_mask(path: &Path, mask: &Path, options: &Options, limits: Limits) -> Result<(), Failure> {
    let mut judge = Judge::new(options.garment, limits);
    let (mut width, mut height) = (0, 0);
    each_row(path, |row, edge| {
        judge.row(row, edge);
        width = row.len();
        height += 1;
    })?;
    let dropped = judge.backdrop().filter(|_| options.backdrop == Some(Backdrop::Drop));
    let failed = |reason: std::io::Error| wrong(mask, reason);
    let file = BufWriter::new(File::create(mask).map_err(failed)?);
    let mut encoder = png::Encoder::new(file, u32::try_from(width).unwrap_or(0), height);
    encoder.set_color(png::ColorType::Grayscale);
    encoder.set_depth(png::BitDepth::Eight);
    let mut writer = encoder.write_header().map_err(|reason| wrong(mask, reason))?;
    let mut stream = writer.stream_writer().map_err(|reason| wrong(mask, reason))?;
    let mut line = Vec::new();
    let mut trouble = None;
    each_row(path, |row, _| {
        let white = |pixel: &Rgba| {
            let printed = pixel[3] >= 128 && Some(*pixel) != dropped;
            if printed && judge.wants_white(*pixel) { 255 } else { 0 }
        };
        line.clear();
        line.extend(row.iter().map(white));
        let written = std::io::Write::write_all(&mut stream, &line);
        trouble = trouble.take().or(written.err());
    })?;
    stream.finish().map_err(|reason| wrong(mask, reason))?;
    trouble.map_or(Ok(()), |reason| Err(failed(reason)))
}
