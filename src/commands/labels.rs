//! Labels for garments: a tag in large type and as two codes, as a file or straight to the label printer.

use std::io::{IsTerminal, Write};
use std::path::{Path, PathBuf};
use std::process::{Command, Stdio};

use clap::{Args, ValueEnum};

use super::{Failure, Places, output, read};
use crate::label::{self, Drawing, Paper, Words, pdf, png, svg};
use crate::shell::new_file::{NewFile, Readers};
use crate::shop::Shop;
use crate::shop::facts::ids::{OrderNo, Tag};
use crate::shop::facts::words::{clean, counted};
use crate::shop::floor::garment::Garment;

/// Whose labels, on what.
#[derive(Debug, Args)]
pub struct Options {
    /// Orders by their number, such as 3, and garments by their tag, such as A3-04
    #[arg(required = true, value_name = "ORDER|TAG")]
    of: Vec<String>,
    /// PNG is what a label printer prints dot by dot, at 203 dots an inch; PNG and SVG are one file a label or sheet
    #[arg(long, default_value = "pdf")]
    format: Format,
    /// A label's size, "50 mm x 25 mm"; a4 is sheets of 3 x 8 labels, letter of 3 x 10 [default: the profile's]
    #[arg(long)]
    size: Option<Paper>,
    /// The file to write; where several are, their tags stand in the names. Without it: to a pipe
    #[arg(long, value_name = "FILE", conflicts_with = "send")]
    out: Option<PathBuf>,
    /// Give them to the program that the station's profile names under `labels`
    #[arg(long)]
    send: bool,
}

/// As what they are drawn.
#[derive(Debug, Clone, Copy, PartialEq, Eq, ValueEnum)]
enum Format {
    Pdf,
    Svg,
    Png,
}

/// Something that was drawn: what tells it from others of the same run, and its bytes.
struct Made {
    name: String,
    bytes: Vec<u8>,
}

/// Draws them, and writes or sends them.
pub fn run(places: &Places, options: &Options) -> Result<(), Failure> {
    let shop = read(&places.data()?)?.shop;
    let labels = labels(&shop, &options.of)?;
    let station = places.profiles()?.station;
    let paper = options.size.or_else(|| Some(station.labels.as_ref()?.size)).unwrap_or_default();
    let pages = label::pages(&labels, paper).map_err(|wrong| Failure::Input(wrong.to_string()))?;
    let made = made(options.format, &labels, &pages, paper)?;
    if options.send {
        let printer = station.labels.as_ref().map(|labels| &labels.program).ok_or_else(|| {
            let text = "the station's profile names no program that prints labels: expected labels: Some((program: \
                        [\"lp\", \"-d\", \"labels\"])) in station.ron";
            Failure::Input(text.to_owned())
        })?;
        made.iter().try_for_each(|file| send(printer, file))?;
        let given = counted(u64::try_from(labels.len()).unwrap_or(u64::MAX), "label");
        return output::lines([format!("{given} given to {}", clean(&printer[0], 80))]);
    }
    match &options.out {
        Some(path) => write(path, &made),
        None => to_a_pipe(&made),
    }
}

/// What stands on each label, in the order that was asked for.
fn labels(shop: &Shop, of: &[String]) -> Result<Vec<Words>, Failure> {
    let mut labels = Vec::new();
    for one in of {
        let found: Vec<&Garment> = match (one.parse::<Tag>(), one.parse::<u32>()) {
            (Ok(tag), _) => shop.garment(tag).into_iter().collect(),
            (_, Ok(order)) => shop.garments_of(OrderNo(order)).collect(),
            _ => {
                let found = clean(one, 40);
                let text = format!(
                    "found \"{found}\", expected an order's number such as 3, or a tag such as A3-04"
                );
                return Err(Failure::Input(text));
            }
        };
        if found.is_empty() {
            let asked = clean(one, 40);
            return Err(Failure::Input(format!(
                "{asked}: no such order or garment in the journal"
            )));
        }
        labels.extend(found.into_iter().map(|garment| words(shop, garment)));
    }
    Ok(labels)
}

/// Order, size mark and places stand below the tag.
fn words(shop: &Shop, garment: &Garment) -> Words {
    let form = shop.order(garment.order()).map(|order| &order.form);
    let line = form.and_then(|form| form.lines.get(garment.line));
    let told = line.map(|line| {
        let mark = Some(line.mark.clone()).filter(|mark| !mark.is_empty());
        mark.into_iter().chain([line.places.join(", ")]).collect::<Vec<_>>().join("  ")
    });
    let below = told.into_iter().chain(form.map(|form| form.name.clone())).collect();
    Words { tag: garment.tag.to_string(), below }
}

fn made(
    format: Format,
    labels: &[Words],
    pages: &[Drawing],
    paper: Paper,
) -> Result<Vec<Made>, Failure> {
    if format == Format::Pdf {
        return Ok(vec![Made { name: String::new(), bytes: pdf::pdf(pages) }]);
    }
    // One label a file has the tag's name, one sheet its number.
    let name = |n: usize| match paper.sheet() {
        None => labels.get(n).map_or_else(String::new, |words| words.tag.clone()),
        Some(_) => (n + 1).to_string(),
    };
    let draw = |(n, page): (usize, &Drawing)| {
        let bytes = match format {
            Format::Png => png::png(page).map_err(|wrong| Failure::Other(wrong.to_string()))?,
            Format::Svg | Format::Pdf => svg::svg(page).into_bytes(),
        };
        Ok(Made { name: name(n), bytes })
    };
    pages.iter().enumerate().map(draw).collect()
}

/// One file has the name that was asked for; of several each has its own word before the ending.
fn write(path: &Path, made: &[Made]) -> Result<(), Failure> {
    let nothing_read: [&Path; 0] = [];
    let mut written = Vec::new();
    for file in made {
        let path = if made.len() == 1 { path.to_owned() } else { named(path, &file.name) };
        output::whole(&path, nothing_read, &file.bytes)?;
        written.push(path.display().to_string());
    }
    output::lines(written)
}

fn named(path: &Path, word: &str) -> PathBuf {
    let stem = path.file_stem().map(|stem| stem.to_string_lossy()).unwrap_or_default();
    let ending = path.extension().map(|ending| format!(".{}", ending.to_string_lossy()));
    path.with_file_name(format!("{stem}-{word}{}", ending.unwrap_or_default()))
}

fn to_a_pipe(made: &[Made]) -> Result<(), Failure> {
    if std::io::stdout().is_terminal() {
        let text = "labels are no text for a terminal: name a file with --out, or --send them";
        return Err(Failure::Input(text.to_owned()));
    }
    match made {
        [one] => output::raw(&one.bytes),
        many => Err(Failure::Input(format!(
            "{} files do not go into one pipe: name them with --out, or use --format pdf",
            many.len()
        ))),
    }
}

/// Runs the program with the file's name as its last argument. The file goes afterwards.
fn send(program: &[String], made: &Made) -> Result<(), Failure> {
    let mut file = NewFile::beside(&std::env::temp_dir().join("labels"), Readers::Owner)?;
    file.write_all(&made.bytes)?;
    file.flush()?;
    let [name, arguments @ ..] = program else {
        return Err(Failure::Input("labels.program: expected a program".to_owned()));
    };
    let status = Command::new(name)
        .args(arguments)
        .arg(file.path())
        .stdin(Stdio::null())
        .stdout(Stdio::null())
        .status()
        .map_err(|reason| Failure::Other(format!("{name} does not run: {reason}")))?;
    match status.success() {
        true => Ok(()),
        false => Err(Failure::Other(format!("{name} ended with {status}: nothing may be printed"))),
    }
}
