//! Labels for garments: a tag in large type and as two codes, as a file or straight to the label printer.

use std::io::IsTerminal;
use std::path::{Path, PathBuf};

use clap::{Args, ValueEnum};

use super::{Failure, Places, output, read};
use crate::label::{self, Drawing, Paper, Words, pdf, png, svg};
use crate::screen::act::CARD;
use crate::screen::keymap::{Deed, Entry, Keymap};
use crate::shell::label_printer::{self, NotSent};
use crate::shop::Shop;
use crate::shop::facts::station::Station;
use crate::shop::facts::words::{clean, counted};
use crate::shop::floor::labelled::Labelled;

/// Whose labels, on what.
#[derive(Debug, Args)]
pub struct Options {
    /// Orders by their number, such as 3, and garments by their tag, such as A3-04; with --cards the names of acts
    #[arg(required_unless_present = "cards", value_name = "ORDER|TAG")]
    of: Vec<String>,
    /// Cards that act when they are scanned, where the station's profile says `cards: true`: those of the acts that are
    /// named as in `dwell help keys`, else all; on a4 unless --size says else
    #[arg(long)]
    cards: bool,
    /// Before the labels of each order one of the order itself: its scan at the board asks for its labels
    #[arg(long, conflicts_with = "cards")]
    ticket: bool,
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
    let station = places.profiles()?.station;
    let labels = match options.cards {
        true => cards(&station, &options.of)?,
        false => labels(&read(&places.data()?)?.shop, options)?,
    };
    let of_station = station.labels.as_ref().map(|labels| labels.size);
    // The code of a card is longer than a garment's, and one sheet holds many.
    let usual = if options.cards { Some(Paper::a4()) } else { of_station };
    let paper = options.size.or(usual).unwrap_or_default();
    let pages = label::pages(&labels, paper).map_err(|wrong| Failure::Input(wrong.to_string()))?;
    let made = made(options.format, &labels, &pages, paper)?;
    if options.send {
        let printer = station.labels.as_ref().map(|labels| &labels.program).ok_or_else(|| {
            let text = "the station's profile names no program that prints labels: expected labels: Some((program: \
                        [\"lp\", \"-d\", \"labels\"])) in station.ron";
            Failure::Input(text.to_owned())
        })?;
        made.iter().try_for_each(|file| label_printer::send(printer, &file.bytes)).map_err(sent)?;
        let given = counted(u64::try_from(labels.len()).unwrap_or(u64::MAX), "label");
        return output::lines([format!("{given} given to {}", clean(&printer[0], 80))]);
    }
    match &options.out {
        Some(path) => write(path, &made),
        None => to_a_pipe(&made),
    }
}

/// What stands on each label, in the order that was asked for.
fn labels(shop: &Shop, options: &Options) -> Result<Vec<Words>, Failure> {
    let mut labels = Vec::new();
    for one in &options.of {
        let asked = clean(one, 40);
        let Some(of) = Labelled::read(one, shop.id()) else {
            let text = format!(
                "found \"{asked}\", expected an order's number such as 3, or a tag such as A3-04"
            );
            return Err(Failure::Input(text));
        };
        let found = shop.labels_of(of);
        if found.is_empty() {
            let unknown = || format!("{asked}: no such order or garment in the journal");
            let whose = shop.whose(of.order()).map(|whose| format!("{whose}: print them there"));
            return Err(Failure::Input(whose.unwrap_or_else(unknown)));
        }
        if let (Labelled::Order(order), true) = (of, options.ticket) {
            labels.extend(shop.ticket_of(order));
        }
        labels.extend(found);
    }
    Ok(labels)
}

/// Command cards: those that are named, else one for each act and each press of the station.
fn cards(station: &Station, names: &[String]) -> Result<Vec<Words>, Failure> {
    let keys = Keymap::with(&station.keys).map_err(|wrong| Failure::Input(wrong.to_string()))?;
    let has = |deed: Deed| match deed {
        Deed::Press(press) => station.press(press).is_some(),
        _ => true,
    };
    let entries: Vec<&Entry> =
        keys.entries().map(|(entry, _)| entry).filter(|entry| has(entry.deed)).collect();
    let named = |name: &String| {
        let found = entries.iter().find(|entry| entry.name.eq_ignore_ascii_case(name)).copied();
        found.ok_or_else(|| {
            let (found, all) = (clean(name, 40), entries.iter().map(|entry| entry.name.as_str()));
            let all: Vec<&str> = all.collect();
            Failure::Input(format!(
                "found \"{found}\", expected what a key does, one of: {}",
                all.join(", ")
            ))
        })
    };
    let wanted = match names {
        [] => entries.clone(),
        names => names.iter().map(named).collect::<Result<_, _>>()?,
    };
    Ok(wanted.into_iter().map(card).collect())
}

fn card(entry: &Entry) -> Words {
    let code = format!("{CARD}{}", entry.name.to_ascii_uppercase());
    let large = match entry.deed {
        Deed::Press(press) => format!("press {press}"),
        _ => entry.word.to_owned(),
    };
    Words { code, large, below: vec![entry.says.to_owned()] }
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
        None => labels.get(n).map_or_else(String::new, |words| words.code.clone()),
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

fn sent(wrong: NotSent) -> Failure {
    match wrong {
        NotSent::NoProgram => Failure::Input(wrong.to_string()),
        wrong => Failure::Other(wrong.to_string()),
    }
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
