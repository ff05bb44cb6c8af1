//! The subcommands: thin, each one question answered in text or JSON.

mod ahead;
mod art;
mod backup;
mod board;
mod check;
mod compare;
mod everywhere;
mod figures;
mod history;
mod hub;
mod labels;
mod learn;
mod manual;
mod nightly;
mod numbers;
mod output;
mod period;
mod plan;
mod practice;
mod profiles;
mod promise;
mod prompt;
mod rehearse;
mod report;
mod screens;
mod setup;
mod take;
mod trace;
mod typed;
mod wash;
mod week;

use std::path::{Path, PathBuf};
use std::process::ExitCode;

use clap::{CommandFactory, FromArgMatches, Parser, Subcommand};

use crate::shell::journal::{JournalError, Reader};
use crate::shell::picture::NoPicture;
use crate::shell::profiles::{FileError, Profiles, zone_of};
use crate::shell::replay::Replay;
use crate::shell::{guard, handles, paths};
use crate::shop::Shop;
use crate::shop::books::ledger::Ledger;
use crate::shop::books::{Book, Books};
use crate::shop::facts::moment::{Boot, Moment, Wall};

/// The board beside the heat press.
///
/// Without a command it opens the board in this terminal. The board is no safety device: keep each press's own
/// timer and buzzer on.
#[derive(Debug, Parser)]
#[command(name = "dwell", version, max_term_width = 100, disable_help_subcommand = true)]
pub struct Cli {
    /// Where the journal lies [env: DWELL_DATA] [default: the user's data directory]
    #[arg(long, global = true, value_name = "DIR", help_heading = "Places")]
    data: Option<PathBuf>,
    /// Where station.ron and recipes/ lie [env: DWELL_PROFILES] [default: the user's, else /etc/dwell, else built in]
    #[arg(long, global = true, value_name = "DIR", help_heading = "Places")]
    profiles: Option<PathBuf>,
    #[command(subcommand)]
    command: Option<Command>,
}

#[derive(Debug, Subcommand)]
enum Command {
    /// Look at a board that another process runs; changes nothing
    Watch,
    /// A made-up shift on a journal of its own: look around, or run it to its end without a screen
    Rehearse(rehearse::Options),
    /// Check an order's file and lay it in the inbox for the board
    Take(take::Options),
    /// What happened, in order
    Past(history::PastOptions),
    /// One garment's whole story, or the garments of a lot or a press
    Trace(trace::Options),
    /// The result of a wash test, laid in the inbox for the board
    Wash(wash::Options),
    /// Labels with a tag in large type and as codes, to a file or to the label printer
    Labels(labels::Options),
    /// A beginner's hand: water, cardboard, a rag shirt, then fluid, one change at a time
    Learn(learn::Options),
    /// What lies on the shelf
    Shelf(numbers::Options),
    /// How many, how fast, what waits where
    Pace(numbers::PaceOptions),
    /// What a shift came to, as text, a table, JSON or a page to print
    Report(report::Options),
    /// Shifts, weeks, presses, people or recipes side by side, and what of it is only chance
    Compare(compare::Options),
    /// When it will be done, what holds it back, what would help
    Plan(plan::Options),
    /// When garments that nobody has ordered yet could be ready, and what they would push back
    Promise(promise::Options),
    /// Open orders by the day on which they are due, against what can be made on each day
    Week(week::Options),
    /// Whether the journal is whole
    Check(check::Options),
    /// Copy the journal to a file, also while a board writes it
    Backup(backup::BackupOptions),
    /// Check the journal, copy it to a directory, and note for the board what came of it: what a setup runs each night
    Nightly(nightly::Options),
    /// Put a backup in the journal's place; what was there is kept
    Restore(backup::RestoreOptions),
    /// Where the profiles are, whether they read, and how to get a copy to change
    Profiles(profiles::Options),
    /// Whether an artwork needs an underbase on a garment
    Art(art::Options),
    /// How heavy a coat was, from two weights
    Coat(figures::CoatOptions),
    /// How fast to move the hand with the sprayer
    Spray(figures::SprayOptions),
    /// What the second at which steam stops says of the coat
    Steam(figures::SteamOptions),
    /// A control chart of individual values
    Chart(figures::ChartOptions),
    /// Whether a platen is what its dial says
    Platen(figures::PlatenOptions),
    /// Which coats hold on a garment: a trial of a few, and what to spray next
    Trial(figures::TrialOptions),
    /// The hub, where several stations meet
    Hub(hub::Options),
    /// Make this machine the board's own: it comes up on the first console by itself
    ///
    /// A package that was built on Debian 12 is for that and for later ones; `dpkg --info FILE.deb` names the C library that it
    /// asks for.
    Setup(setup::Options),
    /// What the manual says of a word, key, field or command
    Help(manual::Options),
    /// Completions for a shell
    Completions { shell: clap_complete::Shell },
}

/// Why a command did not do what it was asked.
#[derive(Debug, thiserror::Error)]
pub enum Failure {
    /// Bad input: exit code 2.
    #[error("{0}")]
    Input(String),
    /// Nothing to be asked about: exit code 2.
    #[error("{0}")]
    NoJournal(String),
    /// Anything else: exit code 1.
    #[error("{0}")]
    Other(String),
    /// Whoever read our output has gone: nothing to say.
    #[error("the output was closed")]
    Closed,
}

impl From<FileError> for Failure {
    fn from(wrong: FileError) -> Self {
        Failure::Input(wrong.to_string())
    }
}

impl From<JournalError> for Failure {
    fn from(wrong: JournalError) -> Self {
        match wrong {
            JournalError::Sqlite(_) => Failure::Other(wrong.to_string()),
            JournalError::Nothing(_) => Failure::NoJournal(wrong.to_string()),
            _ => Failure::Input(wrong.to_string()),
        }
    }
}

impl From<NoPicture> for Failure {
    fn from(wrong: NoPicture) -> Self {
        Failure::Input(wrong.to_string())
    }
}

impl From<handles::TooFew> for Failure {
    fn from(wrong: handles::TooFew) -> Self {
        Failure::Other(wrong.to_string())
    }
}

impl From<paths::NoHome> for Failure {
    fn from(wrong: paths::NoHome) -> Self {
        Failure::Input(wrong.to_string())
    }
}

impl From<std::io::Error> for Failure {
    fn from(wrong: std::io::Error) -> Self {
        match wrong.kind() {
            std::io::ErrorKind::BrokenPipe => Failure::Closed,
            _ => Failure::Other(wrong.to_string()),
        }
    }
}

/// Where data and profiles are to be found, as the command line and the environment say.
#[derive(Debug, Clone)]
pub struct Places {
    /// As given on the command line; the environment is left out.
    data_given: Option<PathBuf>,
    data: Option<PathBuf>,
    profiles: Option<PathBuf>,
}

impl Places {
    fn of(cli: &Cli) -> Self {
        let env =
            |name: &str| std::env::var_os(name).filter(|path| !path.is_empty()).map(PathBuf::from);
        Self {
            data_given: cli.data.clone(),
            data: cli.data.clone().or_else(|| env("DWELL_DATA")),
            profiles: cli.profiles.clone().or_else(|| env("DWELL_PROFILES")),
        }
    }

    /// The same with another data directory.
    fn with_data(&self, data: &Path) -> Self {
        Self { data: Some(data.to_owned()), ..self.clone() }
    }

    /// The data directory.
    fn data(&self) -> Result<PathBuf, Failure> {
        Ok(paths::data(self.data.clone())?)
    }

    /// The profiles.
    fn profiles(&self) -> Result<Profiles, Failure> {
        Ok(self.read_profiles()?)
    }

    /// The profiles, for whoever goes on where they do not read.
    fn read_profiles(&self) -> Result<Profiles, FileError> {
        crate::shell::profiles::load(self.profiles.as_deref())
    }
}

/// Runs what the command line asks for.
pub fn main() -> ExitCode {
    if let Some(code) = guard::stand(std::env::args_os().skip(1)) {
        return code;
    }
    let cli = match typed::command::<Cli>()
        .try_get_matches()
        .and_then(|matches| Cli::from_arg_matches(&matches))
    {
        Ok(cli) => cli,
        Err(wrong) => {
            if let Some(text) = typed::in_our_words(&wrong) {
                output::complain(&text);
                return ExitCode::from(2);
            }
            if wrong.use_stderr() {
                // It repeats what was typed, which may be a file's name with an escape sequence in it.
                output::complain_as_told(&wrong.render().to_string());
                return ExitCode::from(2);
            }
            // Help and version are no mistakes, and a closed output is nobody's fault.
            let _ = wrong.print();
            return ExitCode::SUCCESS;
        }
    };
    let places = Places::of(&cli);
    let answer = match cli.command {
        None => board::run(&places),
        Some(Command::Watch) => board::watch(&places),
        Some(Command::Rehearse(options)) => rehearse::run(&places, &options),
        Some(Command::Take(options)) => take::run(&places, &options),
        Some(Command::Past(options)) => history::past(&places, &options),
        Some(Command::Trace(options)) => trace::run(&places, &options),
        Some(Command::Wash(options)) => wash::run(&places, &options),
        Some(Command::Labels(options)) => labels::run(&places, &options),
        Some(Command::Learn(options)) => learn::run(&places, &options),
        Some(Command::Shelf(options)) => numbers::shelf(&places, &options),
        Some(Command::Pace(options)) => numbers::pace(&places, &options),
        Some(Command::Report(options)) => report::run(&places, &options),
        Some(Command::Compare(options)) => compare::run(&places, &options),
        Some(Command::Plan(options)) => plan::run(&places, &options),
        Some(Command::Promise(options)) => promise::run(&places, &options),
        Some(Command::Week(options)) => week::run(&places, &options),
        Some(Command::Check(options)) => check::run(&places, &options),
        Some(Command::Backup(options)) => backup::backup(&places, &options),
        Some(Command::Nightly(options)) => nightly::run(&places, &options),
        Some(Command::Restore(options)) => backup::restore(&places, &options),
        Some(Command::Profiles(options)) => profiles::run(&places, &options),
        Some(Command::Art(options)) => art::run(&options),
        Some(Command::Coat(options)) => figures::coat(&places, &options),
        Some(Command::Spray(options)) => figures::spray(&options),
        Some(Command::Steam(options)) => figures::steam(&options),
        Some(Command::Chart(options)) => figures::chart(&places, &options),
        Some(Command::Platen(options)) => figures::platen(&places, &options),
        Some(Command::Trial(options)) => figures::trial(&places, &options),
        Some(Command::Hub(options)) => hub::run(&places, &options),
        Some(Command::Setup(options)) => setup::run(&options),
        Some(Command::Help(options)) => manual::run(&places, &options, Cli::command()),
        Some(Command::Completions { shell }) => {
            let mut script = Vec::new();
            clap_complete::generate(shell, &mut Cli::command(), "dwell", &mut script);
            output::raw(&script)
        }
    };
    match answer {
        Ok(()) | Err(Failure::Closed) => ExitCode::SUCCESS,
        Err(wrong) => {
            output::complain(&wrong.to_string());
            ExitCode::from(if matches!(wrong, Failure::Input(_) | Failure::NoJournal(_)) {
                2
            } else {
                1
            })
        }
    }
}

/// A shop read from a journal, with the moment as of which questions about it are answered.
struct Read {
    shop: Shop,
    now: Moment,
    zone: jiff::tz::TimeZone,
}

/// The shop of a data directory.
fn read(data: &Path) -> Result<Read, Failure> {
    Ok(read_since(data, Wall::LAST, |_| ())?.0)
}

/// The shop as it stands, and a book of at least every event of the wall clock's `from` or later, in microseconds; it
/// begins with the standing books as they were before.
fn read_since<B: Book + Clone + Send + Sync>(
    data: &Path,
    from: Wall,
    book: impl Fn(&Books) -> B,
) -> Result<(Read, B), Failure> {
    let reader = Reader::of(data)?;
    let mut replay = Replay::begin(data, &reader, from)?;
    let mut ledger = Ledger::settled(book(replay.shop().books()));
    replay.go_on_for(&reader, &mut ledger)?;
    Ok((Read::of(replay.into_shop()), ledger.into_now()))
}

impl Read {
    fn of(mut shop: Shop) -> Self {
        // A made-up shift is read as of its last event: its clock stopped there.
        let now = match shop.newest() {
            Some(newest) if newest.boot == Boot::MADE_UP => newest,
            _ => crate::shell::clock::Clock::machine().now(),
        };
        let zone = zone_of(&shop, now.boot);
        shop.set_zone(zone.clone());
        Read { shop, now, zone }
    }
}

/// What is said where no recipe is called so.
fn no_recipe<'a>(name: &str, known: impl Iterator<Item = &'a str>) -> String {
    let (name, known) = (crate::shop::facts::words::clean(name, 40), known.collect::<Vec<_>>());
    format!("there is no recipe \"{name}\"; there are: {}", known.join(", "))
}
