//! Whether an artwork needs white, and with it fluid, on a garment of a given colour.

use std::io::BufWriter;
use std::num::NonZero;
use std::path::{Path, PathBuf};
use std::sync::atomic::{AtomicUsize, Ordering};

use clap::{Args, ValueEnum};
use serde_json::{Value, json};

use super::{Failure, output};
use crate::figures::artwork::{Decides, Finding, Judge, Limits};
use crate::figures::units::{Colour, Rectangle, Share, bounds};
use crate::shell::picture::{ColoursFound, Mask, each_row};
use crate::shop::facts::order;

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
    #[arg(long, value_parser = bounds::SIDE.reader::<Rectangle>())]
    print: Option<Rectangle>,
    /// Whether a border of one colour is printed
    #[arg(long)]
    backdrop: Option<Backdrop>,
    /// Write a picture that is white where white goes
    #[arg(long, value_name = "OUT.png")]
    mask: Option<PathBuf>,
    /// A pixel is lighter when its L* exceeds the garment's by more than this
    #[arg(long, default_value_t = 1.0, value_parser = bounds::LIGHTER.reader::<f64>())]
    lighter_by: f64,
    /// White is needed when more than this share of the print says so
    #[arg(long, default_value = "0.05%", value_parser = bounds::DECIDING.reader::<Share>())]
    share: Share,
    /// What asks for white
    #[arg(long, default_value = "either")]
    decides: What,
    /// One JSON object a file
    #[arg(long)]
    json: bool,
}

/// Whether a border of one colour is printed.
#[derive(Debug, Clone, Copy, PartialEq, Eq, ValueEnum)]
pub enum Backdrop {
    Keep,
    Drop,
}

impl From<Backdrop> for order::Backdrop {
    fn from(said: Backdrop) -> Self {
        match said {
            Backdrop::Keep => order::Backdrop::Keep,
            Backdrop::Drop => order::Backdrop::Drop,
        }
    }
}

#[derive(Debug, Clone, Copy, PartialEq, Eq, ValueEnum)]
enum What {
    Either,
    Lighter,
    BrighterChannel,
}

/// Looks at each picture.
pub fn run(options: &Options) -> Result<(), Failure> {
    if options.mask.is_some() && options.files.len() > 1 {
        return Err(Failure::Input("--mask takes one picture at a time".into()));
    }
    let limits = Limits {
        lighter_by: options.lighter_by,
        share: options.share,
        decides: match options.decides {
            What::Either => Decides::Either,
            What::Lighter => Decides::Lighter,
            What::BrighterChannel => Decides::BrighterChannel,
        },
        ..Limits::default()
    };
    let mut failed = Vec::new();
    for (path, finding) in options.files.iter().zip(judge_all(options, limits)) {
        match finding.and_then(|(finding, told)| Ok((printed(path, finding)?, told))) {
            Ok((finding, told)) if options.json => {
                output::json(&answer(path, &finding, &told, (options, limits)))?;
            }
            Ok((finding, told)) => output::lines(said(path, &finding, &told, (options, limits)))?,
            Err(reason) => failed.push(reason),
        }
    }
    all_looked_at(failed, options.files.len())?;
    if let (Some(mask), [path]) = (&options.mask, options.files.as_slice()) {
        write_mask(path, mask, options, limits)?;
    }
    Ok(())
}

/// A finding of which something is printed.
fn printed(path: &Path, finding: Finding) -> Result<Finding, Failure> {
    match finding.lightest {
        Some(_) => Ok(finding),
        None => {
            Err(wrong(path, "no pixel is printed: the picture is transparent, or all backdrop"))
        }
    }
}

/// One bad picture does not keep the others from their answers; all bad ones are told.
fn all_looked_at(mut failed: Vec<Failure>, of: usize) -> Result<(), Failure> {
    let Some(last) = failed.pop() else { return Ok(()) };
    if of == 1 {
        return Err(last);
    }
    let count = failed.len() + 1;
    for reason in failed.into_iter().chain([last]) {
        output::complain(&reason.to_string());
    }
    Err(Failure::Input(format!("{count} of {of} pictures could not be looked at")))
}

/// The most pictures that are looked at side by side: each may be one that must be read whole.
const MOST_AT_ONCE: usize = 8;

/// What was found of a picture, and by what its colours were taken.
type Looked = (Finding, ColoursFound);

/// Judges the pictures on all cores: each takes the next picture as soon as it is done with one. The answers
/// are in the order in which the pictures were given.
fn judge_all(options: &Options, limits: Limits) -> Vec<Result<Looked, Failure>> {
    let drop = options.backdrop == Some(Backdrop::Drop);
    let judge = |path: &PathBuf| {
        let mut judge = Judge::new(options.garment, limits);
        let told = each_row(path, |row| judge.row(row.pixels, row.is_edge()))?;
        Ok((judge.finish(drop), told))
    };
    let next = AtomicUsize::new(0);
    let work = || {
        let mut answers = Vec::new();
        loop {
            let number = next.fetch_add(1, Ordering::Relaxed);
            let Some(path) = options.files.get(number) else { return answers };
            answers.push((number, judge(path)));
        }
    };
    let cores = std::thread::available_parallelism().map_or(1, NonZero::get);
    let others = cores.min(MOST_AT_ONCE).min(options.files.len()).saturating_sub(1);
    let mut answers: Vec<Option<Result<Looked, Failure>>> = Vec::new();
    answers.resize_with(options.files.len(), || None);
    std::thread::scope(|scope| {
        let others: Vec<_> = (0..others).map(|_| scope.spawn(work)).collect();
        let mine = work();
        let theirs = others.into_iter().filter_map(|other| other.join().ok()).flatten();
        for (number, answer) in mine.into_iter().chain(theirs) {
            answers[number] = Some(answer);
        }
    });
    let broken = || Err(Failure::Other("a picture could not be looked at".into()));
    answers.into_iter().map(|answer| answer.unwrap_or_else(broken)).collect()
}

fn wrong(path: &Path, reason: impl std::fmt::Display) -> Failure {
    let reason = crate::shop::facts::words::clean(&reason.to_string(), 200);
    Failure::Input(format!("{}: {reason}", path.display()))
}

fn answer(
    path: &Path,
    finding: &Finding,
    told: &ColoursFound,
    (options, limits): (&Options, Limits),
) -> Value {
    let area = options.print.map(|print| print.area().0 * finding.printed_share);
    json!({
        "file": path.display().to_string(), "underbase": finding.underbase,
        "garment_lightness": finding.garment_lightness, "lightest": finding.lightest,
        "lighter_share": finding.lighter_share,
        "brighter_channel_share": finding.brighter_channel_share,
        "printed_share": finding.printed_share, "printed_area_cm2": area,
        "backdrop_suspected": finding.backdrop_suspected,
        "profile": told.profile, "assumed": told.assumed, "profile_unread": told.unread,
        "reason": finding.reason(limits),
    })
}

fn said(
    path: &Path,
    finding: &Finding,
    told: &ColoursFound,
    (options, limits): (&Options, Limits),
) -> Vec<String> {
    let verdict = if finding.underbase { "needs an underbase" } else { "needs no underbase" };
    let mut lines = vec![format!("{}: {verdict}: {}", path.display(), finding.reason(limits))];
    lines.push(format!(
        "  garment L* {:.1}, lightest {:.1}, printed {:.1} % of the picture",
        finding.garment_lightness,
        finding.lightest.unwrap_or(0.0),
        finding.printed_share * 100.0
    ));
    if let Some(reason) = &told.unread {
        let reason = crate::shop::facts::words::clean(reason, 200);
        lines.push(format!("  its colour profile does not read: {reason}"));
    }
    match (told.profile, told.assumed) {
        (Some(name), _) => lines.push(format!("  colours by its {name}")),
        (None, Some(assumed)) => {
            lines.push(format!("  colours without a profile, taken as {assumed}"))
        }
        (None, None) => {}
    }
    if finding.backdrop_suspected && options.backdrop.is_none() {
        lines.push(
            "  its border is of one colour: is the backdrop printed? --backdrop keep or drop"
                .into(),
        );
    }
    lines
}

/// Writes a picture of the same size, upright, white where white goes.
fn write_mask(path: &Path, mask: &Path, options: &Options, limits: Limits) -> Result<(), Failure> {
    let target = output::Target::begin(mask, [path])?;
    let drop_backdrop = options.backdrop == Some(Backdrop::Drop);
    let white = Mask::of(path, options.garment, limits, drop_backdrop)?;
    let [width, height] = white.size().map(|side| u32::try_from(side).unwrap_or(0));
    let mut file = BufWriter::new(target);
    let mut encoder = png::Encoder::new(&mut file, width, height);
    encoder.set_color(png::ColorType::Grayscale);
    encoder.set_depth(png::BitDepth::Eight);
    let mut writer = encoder.write_header().map_err(|reason| wrong(mask, reason))?;
    let mut stream = writer.stream_writer().map_err(|reason| wrong(mask, reason))?;
    let mut trouble = None;
    white.rows(|line| {
        let written = std::io::Write::write_all(&mut stream, line);
        trouble = trouble.take().or(written.err());
    })?;
    stream.finish().map_err(|reason| wrong(mask, reason))?;
    if let Some(reason) = trouble {
        return Err(wrong(mask, reason));
    }
    writer.finish().map_err(|reason| wrong(mask, reason))?;
    let target = file.into_inner().map_err(|reason| wrong(mask, reason.into_error()))?;
    target.end()
}
