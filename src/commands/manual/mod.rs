//! The manual, from the program's own definitions: on a terminal, or as pages for `man`.

mod day;
mod fields;
mod hub;
mod keys;
mod many_shops;
mod page;
mod words;

use std::path::{Path, PathBuf};

use clap::{Args, Command};
use clap_mangen::Man;

use super::{Failure, Places, output};
use crate::screen::keymap::Keymap;
use page::{Entry, Page};

/// What to look up.
#[derive(Debug, Args)]
pub struct Options {
    /// A word, key, field, option or command; `shop` for how a day goes, `keys`, `files` or `words` for all of them
    #[arg(value_name = "WORD", allow_hyphen_values = true, trailing_var_arg = true)]
    words: Vec<String>,
    /// Write the manual's pages into a directory
    #[arg(long, value_name = "DIR", hide = true)]
    pages: Option<PathBuf>,
}

/// Prints what the manual says of a word, or writes all of it.
pub fn run(places: &Places, options: &Options, program: Command) -> Result<(), Failure> {
    if let Some(directory) = &options.pages {
        return write(directory, program);
    }
    let mut program = built(program);
    if options.words.is_empty() {
        return output::lines(program.render_long_help().to_string().lines());
    }
    let asked = options.words.join(" ");
    let pages = pages(&keymap(places));
    let found = look_up(&asked, &pages, &mut program);
    match found.is_empty() {
        true => Err(Failure::Input(unknown(&asked, &pages, &program))),
        false => output::lines(found),
    }
}

/// The program with the options that each command takes over from it.
fn built(mut program: Command) -> Command {
    program.build();
    program
}

/// The keys in force; the usual ones where the profile does not read, for help is wanted then too.
fn keymap(places: &Places) -> Keymap {
    let profiles = places.profiles().ok();
    profiles.and_then(|read| Keymap::with(&read.station.keys).ok()).unwrap_or_default()
}

fn pages(keys: &Keymap) -> [Page; 5] {
    [day::page(), keys::page(keys), fields::page(), words::page(), hub::page()]
}

/// Columns of a page: those of the terminal, at most a hundred.
fn width() -> usize {
    const USUAL: u16 = 80;
    let columns =
        rustix::termios::tcgetwinsize(rustix::stdio::stdout()).map_or(USUAL, |size| size.ws_col);
    usize::from(if columns == 0 { USUAL } else { columns.clamp(40, 100) })
}

/// All that the manual says of what was asked for: a command, entries, options, a page; nothing where it is unknown.
fn look_up(asked: &str, pages: &[Page], program: &mut Command) -> Vec<String> {
    let width = width();
    let mut parts: Vec<Vec<String>> = Vec::new();
    if let Some(command) = command_of(asked, program) {
        let told = command.render_long_help().to_string();
        parts.push(told.trim_end().lines().map(str::to_owned).collect());
    }
    // A key is one letter, small or large; a word may be written either way.
    let is_meant = |name: &str| match asked.chars().count() {
        1 => name == asked,
        _ => name.eq_ignore_ascii_case(asked),
    };
    for page in pages {
        let entries = page.entries().filter(|entry| entry.names().any(is_meant));
        parts.extend(entries.map(|entry| entry.lines(width)));
    }
    parts.extend(
        options(program).filter(|entry| entry.names().any(is_meant)).map(|e| e.lines(width)),
    );
    parts.extend(pages.iter().filter(|page| page.name == asked).map(|page| page.lines(width)));
    parts.join(&[String::new()][..])
}

/// A command by its name, one of another's by both: "hub prepare".
fn command_of<'a>(asked: &str, program: &'a mut Command) -> Option<&'a mut Command> {
    let is_one = !asked.trim().is_empty();
    let found = asked
        .split_whitespace()
        .try_fold(program, |command, name| command.find_subcommand_mut(name));
    found.filter(|_| is_one)
}

/// Every command, and those of others behind them.
fn commands(program: &Command) -> Vec<&Command> {
    let all = program.get_subcommands();
    all.flat_map(|command| std::iter::once(command).chain(command.get_subcommands())).collect()
}

/// What is typed to run a command: its own name behind that of the one that it is of.
fn typed(command: &Command) -> String {
    command.get_bin_name().unwrap_or_else(|| command.get_name()).to_owned()
}

/// Every option of every command.
fn options(program: &Command) -> impl Iterator<Item = Entry> {
    commands(program).into_iter().flat_map(|command| {
        let options = command.get_arguments().filter(|option| !option.is_hide_set());
        options.filter_map(|option| {
            let long = option.get_long()?;
            let help = option.get_long_help().or(option.get_help()).map(ToString::to_string);
            let term = format!("{} --{long}", typed(command));
            let entry = Entry::new(&term, &help.unwrap_or_default());
            Some(entry.also(&format!("--{long}")).also(long))
        })
    })
}

/// Says that a word is unknown, and which ones are near.
fn unknown(asked: &str, pages: &[Page], program: &Command) -> String {
    const MOST: usize = 5;
    let small = asked.to_lowercase();
    let options: Vec<Entry> = options(program).collect();
    let entries = pages.iter().flat_map(Page::entries).chain(&options);
    let commands = program.get_subcommands().map(Command::get_name);
    let pages = pages.iter().map(|page| page.name);
    let mut near: Vec<(f64, &str)> = entries
        .flat_map(Entry::names)
        .chain(commands)
        .chain(pages)
        .map(|name| (similarity(&small, name), name))
        .filter(|(similarity, _)| *similarity > 0.8)
        .collect();
    near.sort_by(|one, other| other.0.total_cmp(&one.0).then(one.1.cmp(other.1)));
    near.dedup_by(|one, other| one.1 == other.1);
    let near: Vec<String> =
        near.into_iter().take(MOST).map(|(_, name)| format!("`{name}`")).collect();
    let nearest = match near.is_empty() {
        true => String::new(),
        false => format!(" Nearest: {}.", near.join(", ")),
    };
    format!(
        "help: \"{asked}\" is no command, key, field or word of the manual.{nearest} `dwell help` lists the commands, \
         `dwell help words` the words, `dwell help keys` the keys, `dwell help files` the fields"
    )
}

/// How like a name is to what was typed, 0 to 1: for what begins alike more.
fn similarity(typed: &str, name: &str) -> f64 {
    strsim::jaro_winkler(typed, &name.to_lowercase())
}

/// Writes each page into a directory under the name that `man` finds it by.
fn write(directory: &Path, program: Command) -> Result<(), Failure> {
    std::fs::create_dir_all(directory)?;
    let program = built(program);
    let mut pages: Vec<(String, Vec<u8>)> = Vec::new();
    for command in commands(&program).into_iter().chain([&program]).cloned() {
        let man = Man::new(command);
        let mut page = Vec::new();
        man.render(&mut page)?;
        pages.push((man.get_filename(), page));
    }
    for page in self::pages(&Keymap::default()) {
        pages.push((page.file_name(), page.roff().into_bytes()));
    }
    for (name, page) in pages {
        output::whole::<&Path>(&directory.join(name), [], &page)?;
    }
    Ok(())
}
