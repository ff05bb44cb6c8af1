//! An order's file is checked and laid in the inbox; the running board, or the next to start, takes it in. So are the
//! orders of a table, as a shop has them.

mod before;
mod cells;
mod dates;
mod for_board;
mod heads;
mod orders;

use std::io::IsTerminal;
use std::path::{Path, PathBuf};

use clap::{Args, ValueEnum};
use serde_json::json;

use self::before::Before;
use self::cells::Row;
use self::heads::Columns;
use self::orders::Found;
use super::art::Backdrop;
use super::{Failure, Places, output, prompt};
use crate::figures::artwork::Limits;
use crate::shell::clock::Clock;
use crate::shell::inbox::{self, Brought};
use crate::shell::journal::JournalError;
use crate::shell::order_folder::Stamp;
use crate::shell::picture::{self, NoPicture};
use crate::shell::profiles::Profiles;
use crate::shell::{private, profiles};
use crate::shop::facts::fact::DatesSaid;
use crate::shop::facts::order::{Artwork, OrderForm, OrderLine};
use crate::shop::facts::station::{DateOrder, Station};
use crate::shop::facts::words::counted;

/// Which order, and what is known of its artwork.
#[derive(Debug, Args)]
pub struct Options {
    /// The order, in RON; or a table of orders: .csv, .xlsx, .xls, .ods, .json
    #[arg(required_unless_present = "template")]
    file: Option<PathBuf>,
    /// Print a table to fill in, as CSV
    #[arg(long, conflicts_with = "file")]
    template: bool,
    /// Of a table: say what would be taken, line by line, and take nothing
    #[arg(long)]
    preview: bool,
    /// Of a table: take the orders that are right, and leave those out of which a line is wrong
    #[arg(long)]
    partly: bool,
    /// Of a table: which stands first in 12/03/2026; asked where it matters and nobody has said [default: the profile's]
    #[arg(long)]
    dates: Option<Dates>,
    /// Whether some part of the artwork is lighter than the garment, for lines that do not say
    #[arg(long)]
    underbase: Option<Said>,
    /// Whether a border of one colour is printed, for artwork that has one
    #[arg(long)]
    backdrop: Option<Backdrop>,
    /// The answer as JSON
    #[arg(long)]
    json: bool,
    /// What the board runs for each file of the folder that its profile names: the answer goes to this file
    #[arg(long, hide = true, value_name = "FILE", requires = "stamp")]
    for_board: Option<PathBuf>,
    /// As what the board saw that file: as another it is not taken
    #[arg(long, hide = true, requires = "for_board")]
    stamp: Option<Stamp>,
}

#[derive(Debug, Clone, Copy, PartialEq, Eq, ValueEnum)]
enum Said {
    Yes,
    No,
}

/// Which stands first in a date.
#[derive(Debug, Clone, Copy, PartialEq, Eq, ValueEnum)]
enum Dates {
    DayFirst,
    MonthFirst,
}

/// Lays the order, or those of a table, in the inbox.
pub fn run(places: &Places, options: &Options) -> Result<(), Failure> {
    if let (Some(file), Some(to), Some(stamp)) = (&options.file, &options.for_board, options.stamp)
    {
        return for_board::run(places, options, (file, to), stamp);
    }
    match &options.file {
        None => output::raw(TEMPLATE.as_bytes()),
        Some(file) if cells::is_table(file) => table(places, options, file),
        Some(file) => {
            let known = places.profiles()?;
            let form = profiles::read_order(file, &known.recipes)?;
            let order = decide(options, (file, &known), form)?;
            let laid = lay(&places.data()?, &known.station, order, 0)?;
            match options.json {
                true => output::json(&laid.as_json()),
                false => output::lines(laid.lines()),
            }
        }
    }
}

/// A table to fill in: an order of two rows, with sizes as columns.
const TEMPLATE: &str = "\
order,colour,recipe,cloth,S,M,L,XL,art,print,place,due,time,rank
Harbour choir,black,dark-cotton,,2,4,3,1,,12 in x 14 in,front,2026-12-04,16:00,rush
,navy,dark-cotton,blend,,2,2,,,,\"front, back\",,,
";

/// Lays the orders of a table. All or nothing, unless it is asked for otherwise.
fn table(places: &Places, options: &Options, file: &Path) -> Result<(), Failure> {
    let known = places.profiles()?;
    let (rows, columns) = opened(&known, file)?;
    let dates = match options.dates {
        Some(Dates::DayFirst) => Some(DateOrder::DayFirst),
        Some(Dates::MonthFirst) => Some(DateOrder::MonthFirst),
        None => usual_dates(&known),
    };
    let mut found = orders_of(&known, (&rows, &columns), dates);
    let mut answered = None;
    if dates.is_none()
        && let Some(date) = found.doubtful_date()
    {
        let kept = kept_dates(&places.data()?)?;
        if kept.is_none() {
            answered = ask_for_dates(date, !options.preview)?;
        }
        if let Some(first) = answered.filter(|_| !options.preview) {
            keep_dates(&places.data()?, first)?;
        }
        if let Some(first) = kept.or(answered) {
            found = orders_of(&known, (&rows, &columns), Some(first));
        }
    }
    let mut told: Vec<String> = found.said.iter().map(|said| said.text(file)).collect();
    if !columns.unknown.is_empty() {
        told.push(format!("columns that say nothing here: {}", columns.unknown.join(", ")));
    }
    let takes = !options.preview && (found.is_whole() || options.partly);
    let mut laid = Vec::new();
    if takes {
        let data = places.data()?;
        let before = Before::of(&data)?;
        // What one order's artwork says may be an error: nothing is laid before all are looked at.
        let forms = found.orders.iter().cloned();
        let decided: Vec<Decided> =
            forms.map(|form| decide(options, (file, &known), form)).collect::<Result<_, _>>()?;
        for (n, order) in decided.into_iter().enumerate() {
            laid.push(match before.has(&order.form)? {
                Some(there) => Laid { order, lies: Lies::Already(there) },
                None => lay(&data, &known.station, order, n)?,
            });
        }
    }
    if options.json {
        output::json(&json!({
            "rows": found.said, "unknown": columns.unknown,
            "orders": found.orders.iter().map(|order| &order.name).collect::<Vec<_>>(),
            "laid": laid.iter().map(Laid::as_json).collect::<Vec<_>>(),
        }))?;
    } else {
        told.extend(laid.iter().flat_map(Laid::lines));
        output::lines(told)?;
    }
    if takes || options.preview {
        return Ok(());
    }
    let text = "nothing was taken: a line is wrong. Mend it, or take the orders that are right with --partly";
    Err(Failure::Input(text.to_owned()))
}

/// The rows of a table, and what its columns hold.
fn opened(known: &Profiles, file: &Path) -> Result<(Vec<Row>, Columns), Failure> {
    let rows = cells::read(file)?;
    let tables = known.station.tables.clone().unwrap_or_default();
    let columns = heads::find(&rows, &tables)?;
    Ok((rows, columns))
}

/// Which stands first in a date, as the profile says.
fn usual_dates(known: &Profiles) -> Option<DateOrder> {
    known.station.tables.as_ref().and_then(|tables| tables.dates)
}

/// The orders of a table.
fn orders_of(
    known: &Profiles,
    (rows, columns): (&[Row], &Columns),
    dates: Option<DateOrder>,
) -> Found {
    let zone = profiles::zone(&known.station).unwrap_or(jiff::tz::TimeZone::UTC);
    let (station, recipes, now) = (&known.station, &known.recipes, Clock::machine().now());
    orders::read(rows, columns, &orders::Known { station, recipes, dates, now, zone })
}

/// An order whose artwork has been looked at.
struct Decided {
    form: OrderForm,
    /// What was found, and of how many lines the board will ask.
    artwork: Vec<String>,
    asked_later: u32,
}

/// An order that was laid in the inbox, or would have been for the second time.
struct Laid {
    order: Decided,
    lies: Lies,
}

enum Lies {
    /// Under this id.
    Now(String),
    /// In words.
    Already(String),
}

impl Laid {
    fn as_json(&self) -> serde_json::Value {
        let Decided { form, artwork, asked_later } = &self.order;
        let (id, there) = match &self.lies {
            Lies::Now(id) => (Some(id), None),
            Lies::Already(there) => (None, Some(there)),
        };
        json!({
            "name": form.name, "garments": form.count(), "lines": form.lines.len(),
            "id": id, "asked_later": asked_later, "artwork": artwork, "there": there,
        })
    }

    fn lines(&self) -> Vec<String> {
        let Decided { form, artwork, asked_later } = &self.order;
        let (name, count) = (&form.name, counted(form.count(), "garment"));
        if let Lies::Already(there) = &self.lies {
            return vec![format!("order \"{name}\", {count}: {there}")];
        }
        let mut lines = vec![format!("order \"{name}\" is queued for the board: {count}.")];
        lines.extend(artwork.iter().cloned());
        if *asked_later > 0 {
            lines.push(format!(
                "the board will ask about the underbase of {asked_later} of its lines"
            ));
        }
        lines
    }
}

/// Lays an order in the inbox, behind the `nth` of the same call.
fn lay(data: &Path, station: &Station, order: Decided, nth: usize) -> Result<Laid, Failure> {
    let fault = |reason| JournalError::Directory { path: data.to_owned(), reason };
    private::directory(data).map_err(fault)?;
    let clock = Clock::machine();
    let id = inbox::lay(data, &moment(nth), &order.form).map_err(fault)?;
    if past_due(&order.form, &clock, station) {
        let name = &order.form.name;
        output::complain(&format!("warning: the due time of \"{name}\" is in the past"));
    }
    Ok(Laid { order, lies: Lies::Now(id) })
}

/// What tells the `nth` laying of this call from every other.
fn moment(nth: usize) -> String {
    let at = Clock::machine().now().at.0.max(0);
    format!("{at:020}-{}-{nth:04}", std::process::id())
}

/// What the artwork of its lines decides.
fn decide(
    options: &Options,
    (file, known): (&Path, &Profiles),
    mut form: OrderForm,
) -> Result<Decided, Failure> {
    let mut artwork = Vec::new();
    let mut asked_later = 0;
    for n in 0..form.lines.len() {
        let Some(recipe) = known.recipes.get(&form.lines[n].recipe) else { continue };
        let asks = recipe.wants_underbase(None).is_none();
        let said = form.lines[n].underbase.or(options.underbase.map(|said| said == Said::Yes));
        let decides = asks && said.is_none();
        match look(options, file, &form.lines[n], recipe.artwork) {
            None => {}
            Some(Ok(Some(seen))) => {
                artwork.push(format!("line {}: {}", n + 1, seen.reason));
                form.lines[n].seen = Some(Box::new(seen));
            }
            Some(Ok(None)) => artwork.push(format!(
                "line {}: its art has a border of one colour: is it printed? --backdrop keep or drop",
                n + 1
            )),
            Some(Err(wrong)) if decides => return Err(wrong.into()),
            Some(Err(wrong)) => output::complain(&format!("warning: {wrong}")),
        }
        if !asks {
            continue;
        }
        let seen = form.lines[n].seen.as_ref().map(|seen| seen.underbase);
        form.lines[n].underbase = match said.or(seen) {
            Some(underbase) => Some(underbase),
            None => ask(&form, n)?,
        };
        asked_later += u32::from(form.lines[n].underbase.is_none());
    }
    Ok(Decided { form, artwork, asked_later })
}

/// Which stands first in a date, as somebody has said at the board or at a terminal before.
fn kept_dates(data: &Path) -> Result<Option<DateOrder>, Failure> {
    let waits = inbox::waiting(data, usize::MAX, |_| false).into_iter().rev();
    let mut said = waits.filter_map(|waiting| match waiting.brought {
        Ok(Brought::Dates(said)) => Some(said.first),
        _ => None,
    });
    if let Some(first) = said.next() {
        return Ok(Some(first));
    }
    if !crate::shell::journal::path(data).exists() {
        return Ok(None);
    }
    Ok(super::read(data)?.shop.date_order())
}

/// Lays what was said for the board, which keeps it.
fn keep_dates(data: &Path, first: DateOrder) -> Result<(), Failure> {
    let fault = |reason| JournalError::Directory { path: data.to_owned(), reason };
    private::directory(data).map_err(fault)?;
    inbox::lay_dates(data, &moment(0), &DatesSaid { first, file: None }).map_err(fault)?;
    Ok(())
}

/// Asks a person at a terminal which stands first in a date, by one of the file's own, and whether that is
/// kept; nobody is there: None.
fn ask_for_dates(date: &str, is_kept: bool) -> Result<Option<DateOrder>, Failure> {
    if !is_somebody_there() {
        return Ok(None);
    }
    let kept = if is_kept { " It is kept." } else { "" };
    let question = format!("{date} could be two dates: does the day stand first?{kept} yes or no:");
    Ok(match prompt::ask_yes_or_no(std::io::stderr(), &question)? {
        Some(true) => Some(DateOrder::DayFirst),
        Some(false) => Some(DateOrder::MonthFirst),
        None => None,
    })
}

fn is_somebody_there() -> bool {
    std::io::stdin().is_terminal() && std::io::stderr().is_terminal()
}

/// What the line's artwork says, if it has one; its file lies beside the order.
fn look(
    options: &Options,
    file: &Path,
    line: &OrderLine,
    limits: Limits,
) -> Option<Result<Option<Artwork>, NoPicture>> {
    let art = line.art.as_ref()?;
    let beside = file.parent().unwrap_or(Path::new("")).join(art);
    let look = picture::look_at(&beside, line.garment, limits);
    Some(look.map(|look| look.says(options.backdrop.map(Into::into))))
}

/// Asks a person at a terminal; leaves it to the board where there is none.
fn ask(form: &OrderForm, n: usize) -> Result<Option<bool>, Failure> {
    if !is_somebody_there() {
        return Ok(None);
    }
    let line = &form.lines[n];
    let question = format!(
        "line {}: {} of {} in {}: is some part of the artwork lighter than the garment? yes, no, or Enter to \
         be asked at the board:",
        n + 1,
        line.count,
        line.recipe,
        line.garment
    );
    prompt::ask_yes_or_no(std::io::stderr(), &question)
}

fn past_due(form: &OrderForm, clock: &Clock, station: &Station) -> bool {
    let zone = profiles::zone(station).unwrap_or(jiff::tz::TimeZone::UTC);
    form.due_at(&zone).is_some_and(|due| due < clock.now().at)
}
