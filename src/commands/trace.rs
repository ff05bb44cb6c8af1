//! One garment's story; the garments of a lot; those that a press has seen.

mod garment;
mod lot;
mod press;
pub mod records;

use clap::Args;

use super::everywhere::Over;
use super::{Failure, Places};
use crate::figures::units::whole_reader;
use crate::screen::words;
use crate::shell::journal::Reader;
use crate::shop::Shop;
use crate::shop::facts::day::Day;
use crate::shop::facts::ids::{PressNo, Tag};

/// Which garment, or which of them.
#[derive(Debug, Args)]
#[command(group = clap::ArgGroup::new("whom").required(true).args(["tag", "lot", "press"]))]
pub struct Options {
    /// The garment's tag, such as A3-04
    tag: Option<String>,
    /// Every garment that was sprayed with fluid of this lot, and where it is now
    #[arg(long)]
    lot: Option<String>,
    /// Every garment that this press was shut on
    #[arg(long, value_name = "N", value_parser = whole_reader::<u8>("the number of a press", 1, 9))]
    press: Option<u8>,
    /// With --press: from this day on, 2026-12-04
    #[arg(long, value_name = "DAY")]
    from: Option<Day>,
    /// With --press: up to the end of this day
    #[arg(long, value_name = "DAY")]
    to: Option<Day>,
    /// With --lot: a table for whoever calls the customers, one row a garment
    #[arg(long, requires = "lot", conflicts_with = "json")]
    csv: bool,
    /// As JSON
    #[arg(long)]
    json: bool,
    #[command(flatten)]
    over: Over,
}

/// Prints what was asked for.
pub fn run(places: &Places, options: &Options) -> Result<(), Failure> {
    let days = (options.from, options.to);
    if options.press.is_none() && days != (None, None) {
        let text = "--from and --to go with --press: a garment's or a lot's story is told whole";
        return Err(Failure::Input(text.to_owned()));
    }
    if let (Some(from), Some(to)) = days
        && from > to
    {
        return Err(Failure::Input(format!(
            "--from {from} is after --to {to}: expected it before"
        )));
    }
    if let Some(all) = options.over.everywhere(places)? {
        match (&options.tag, &options.lot, options.press) {
            (Some(tag), ..) => garment::tell_everywhere(&all, tag, options.json)?,
            (_, Some(lot), _) => lot::tell_everywhere(&all, lot, (options.json, options.csv))?,
            (.., press) => {
                let press = PressNo(press.unwrap_or_default());
                press::tell_everywhere(&all, press, days, options.json)?;
            }
        }
        return all.is_whole();
    }
    let data = places.data()?;
    let reader = Reader::of(&data).and_then(Reader::mapped).map_err(Failure::from);
    match (&options.tag, &options.lot, options.press) {
        (Some(tag), ..) => garment::tell(reader, tag, options.json),
        (_, Some(lot), _) => lot::tell(reader, lot, (options.json, options.csv)),
        (.., Some(press)) => press::tell(reader, PressNo(press), days, options.json),
        _ => Err(Failure::Input("a tag, --lot or --press: see --help".into())),
    }
}

/// Where a garment is, as far as is known. Its place in a stack hangs on what else lies there, which is not read here.
fn place(shop: &Shop, tag: Tag) -> String {
    let Some(garment) = shop.garment(tag) else { return "long done".to_owned() };
    let place = words::place(shop, garment.place);
    let on_shelf = garment.place == crate::shop::floor::garment::Place::Shelf;
    match garment.shelved.as_deref().filter(|_| on_shelf) {
        Some(shelved) => format!("{place}, stack {}", shelved.stack),
        None => place,
    }
}
