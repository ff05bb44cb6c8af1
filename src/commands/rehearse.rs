//! A made-up shift in a scenario of our own: the first thing that a visitor runs.

pub(super) mod journal;

use std::path::Path;
use std::sync::Arc;
use std::time::Duration;

use clap::Args;

use self::journal::fresh;
use super::screens::{self, theme};
use super::{Failure, Places, output, practice};
use crate::figures::artwork::Limits;
use crate::figures::units::{Colour, bounds, spans, whole_reader};
use crate::forecast::made_up::MadeUp;
use crate::forecast::operator::Operator;
use crate::forecast::shift::{self, BEGINS, Plan, Summary};
use crate::forecast::weeks;
use crate::screen::keymap::Keymap;
use crate::shell::board::{Board, Source};
use crate::shell::clock::Clock;
use crate::shell::handles;
use crate::shell::journal::Writer;
use crate::shell::picture;
use crate::shell::profiles::{DEMO_ART, Profiles};
use crate::shell::rehearsed::Teller;
use crate::shell::run::run as show;
use crate::shop::Shop;
use crate::shop::facts::order::Artwork;
use crate::shop::facts::station::{MOST_PRESSES, Station};
use crate::shop::facts::words::counted;
use crate::shop::rules::command::Command;

/// How the shift is to be.
#[derive(Debug, Args)]
pub struct Options {
    /// Run to the end without a screen and print a summary
    #[arg(long)]
    headless: bool,
    /// The same seed gives the same shift, or the same weeks, event for event; weeks with seed 1 take the usual times
    #[arg(long, default_value_t = 1, value_parser = whole_reader::<u64>("a seed", 0, u64::MAX))]
    seed: u64,
    /// How many garments; with --weeks, how many a day
    #[arg(long, default_value_t = 24, value_parser = whole_reader::<u32>("garments", 1, 5000))]
    garments: u32,
    /// How many presses
    #[arg(long, default_value_t = 2, value_parser = whole_reader::<u8>("presses", 1, 9))]
    presses: u8,
    /// A made-up shop of another kind, by its number: what holds it back, how many and how quick it is, what its profile has wrong
    #[arg(long, conflicts_with_all = ["garments", "presses", "weeks"], value_parser = whole_reader::<u64>("the number of a shop", 1, u64::MAX))]
    shop: Option<u64>,
    /// Stop once so many are finished, in the midst of it
    #[arg(long, requires = "headless", conflicts_with = "weeks", value_parser = whole_reader::<usize>("garments", 1, 5000))]
    until: Option<usize>,
    /// How many times as fast as life, on the screen
    #[arg(long, default_value_t = 10.0, value_parser = bounds::SPEED.reader::<f64>())]
    speed: f64,
    /// Run so many weeks instead: two lots of fluid, one of them bad, and a shelf
    #[arg(long, requires = "headless", value_parser = whole_reader::<u32>("weeks", 1, 52))]
    weeks: Option<u32>,
    /// The keys are yours: the shop is made up, the shift is not, and what was early, late or unwiped is said at the end
    #[arg(long, conflicts_with_all = ["headless", "weeks", "json", "until", "speed"])]
    me: bool,
    /// The summary as JSON
    #[arg(long)]
    json: bool,
}

/// Runs the shift, on the screen or without.
pub fn run(places: &Places, options: &Options) -> Result<(), Failure> {
    let profiles = places.profiles()?;
    let shift = Shift::of(&profiles, options);
    if options.me {
        return practice::shift(&shift.station, shift.opening, places.data_given.as_deref());
    }
    // A rehearsal never goes where a real shift might be: only where it is told to by hand.
    let writer = match &places.data_given {
        Some(data) => Some(fresh(data)?),
        None => None,
    };
    if let Some(count) = options.weeks {
        let asked = (count, options.garments, options.seed);
        return weeks(&profiles, &shift.station, asked, writer, options.json);
    }
    if options.headless {
        return without_screen(shift, writer, options.json);
    }
    let teller = places.data_given.as_deref().map(Teller::start).transpose()?;
    on_screen(shift, (writer, teller), options.speed)
}

/// A shift that is about to begin.
struct Shift {
    station: Station,
    plan: Plan,
    opening: Vec<Command>,
    operator: Operator,
}

impl Shift {
    fn of(profiles: &Profiles, options: &Options) -> Self {
        let recipes = profiles.recipes.iter();
        let recipes = recipes.map(|(name, recipe)| (name.clone(), Arc::clone(recipe)));
        if let Some(no) = options.shop {
            let shop = MadeUp::of(no);
            let station = shop.station(&profiles.station);
            let plan = shop.plan(options.seed, options.until);
            let opening = shop.opening(&station, recipes, plan, look);
            return Self { station, plan, opening, operator: shop.operator(options.seed) };
        }
        let presses = usize::from(options.presses).min(MOST_PRESSES);
        let station = shift::station(&profiles.station, presses);
        let plan =
            Plan { seed: options.seed, garments: options.garments, presses, until: options.until };
        let opening = shift::opening(&station, recipes, plan, look);
        Self { station, plan, opening, operator: Operator::new(plan.seed) }
    }
}

/// Looks at the scenario's artwork, which is built into the program, on a garment.
fn look(garment: Colour, limits: Limits) -> Option<Artwork> {
    let look = picture::look_at_bytes(Path::new(shift::ART), DEMO_ART.1, garment, limits);
    look.ok()?.says(None)
}

fn without_screen(shift: Shift, writer: Option<Writer>, json: bool) -> Result<(), Failure> {
    let Shift { station, plan, opening, operator } = shift;
    let summary = shift::run(operator, &station, opening, plan, |events| {
        if let Some(writer) = &writer {
            writer.write(events.to_vec());
        }
    });
    finish(writer, summary.events)?;
    if json {
        output::json(&summary)?;
    } else {
        output::lines(lines(&summary))?;
    }
    if summary.stuck > 0 {
        return Err(Failure::Other(no_end(&summary)));
    }
    Ok(())
}

/// Why a shift was left that came to no end.
fn no_end(summary: &shift::Summary) -> String {
    let why = match summary.endless {
        true => "hands act without end".to_owned(),
        false => format!("nothing was finished for {} h", shift::STUCK.as_secs() / 3600),
    };
    let under_way = match summary.stuck {
        1 => "1 garment is".to_owned(),
        stuck => format!("{stuck} garments are"),
    };
    format!("{why} while {under_way} under way: the rehearsal ends there")
}

/// Runs the weeks and tells what came of the bad lot.
fn weeks(
    profiles: &Profiles,
    station: &Station,
    asked: (u32, u32, u64),
    writer: Option<Writer>,
    json: bool,
) -> Result<(), Failure> {
    let recipes = profiles.recipes.iter().map(|(name, recipe)| (name.clone(), Arc::clone(recipe)));
    let found = weeks::run(station, recipes, asked, &mut |events| {
        if let Some(writer) = &writer {
            writer.write(events.to_vec());
        }
    });
    finish(writer, found.events)?;
    if json {
        return output::json(&found);
    }
    output::lines([
        format!("{} made-up weeks, two lots of fluid: {} is bad", found.weeks, weeks::LOTS[1]),
        format!("  finished              {:>5}", found.finished),
        format!("  on the shelf          {:>5}", found.on_shelf),
        format!("  treated again         {:>5}", found.renewed),
        format!("  printed past its day  {:>5}   (said before, flagged after)", found.printed_past),
        format!("  ink bottles stopped   {:>5} of {}", found.ink_stopped, found.ink_tried),
        format!(
            "  sprayed from {}    {:>5}   dwell trace --lot {} lists them",
            weeks::LOTS[1],
            found.bad.len(),
            weeks::LOTS[1]
        ),
    ])
}

/// Ends the writing; everything must have come through.
fn finish(writer: Option<Writer>, events: u64) -> Result<(), Failure> {
    let Some(writer) = writer else { return Ok(()) };
    let upto = writer.close(Duration::from_secs(60)).upto;
    match events.saturating_sub(upto) {
        0 => Ok(()),
        lost => Err(Failure::Other(format!("{lost} events could not be written"))),
    }
}

fn lines(summary: &Summary) -> Vec<String> {
    let hours = summary.seconds / 3600.0;
    let rate = summary.finished as f64 / hours.max(f64::MIN_POSITIVE);
    vec![
        format!(
            "a made-up shift: {}, {}, seed {}",
            counted(summary.garments, "garment"),
            counted(summary.presses, "press"),
            summary.seed
        ),
        format!("  finished       {:>6}   ({})", summary.finished, spans::an_hour(rate)),
        format!("  out            {:>6}", summary.out),
        format!("  wipes          {:>6}", summary.wipes),
        format!("  opened early   {:>6}", summary.early),
        format!("  opened late    {:>6}", summary.late),
        format!("  took           {hours:>6.2} h"),
    ]
}

fn on_screen(
    shift: Shift,
    (writer, teller): (Option<Writer>, Option<Teller>),
    speed: f64,
) -> Result<(), Failure> {
    handles::try_out()?;
    let Shift { station, opening, mut operator, .. } = shift;
    let mut shop = Shop::default();
    let mut past = std::collections::VecDeque::new();
    for command in opening {
        let events = shift::state(&mut shop, station.id, &command, BEGINS);
        past.extend(events.iter().cloned());
        if let Some(writer) = &writer {
            writer.write(events);
        }
    }
    let operator = Box::new(move |shop: &Shop, now| operator.turn(shop, now));
    let clock = Clock::made_up(BEGINS, speed);
    let source = Source::Rehearses { writer, operator, until: Some(BEGINS), teller };
    let keys = Keymap::with(&station.keys).map_err(|wrong| Failure::Input(wrong.to_string()))?;
    let mut board = Board::new(shop, clock, source, Arc::new(keys), theme());
    board.ui.zone = jiff::tz::TimeZone::UTC;
    board.ui.past = past;
    board.rehearse_at(speed);
    screens::finish(show(board, None)).map(drop)
}
