//! A file of the folder that the board watches, read in a process of its own: nobody can be asked, so what needs an answer
//! waits and says where the answer goes. What is right is taken, what is not stays out and is said line by line.

use std::path::Path;

use super::before::Before;
use super::orders::{Found, NotTaken};
use super::{Options, cells, decide, kept_dates, lay, opened, orders, orders_of, usual_dates};
use crate::commands::{Failure, Places, output};
use crate::shell::new_file;
use crate::shell::order_folder::{Answer, Reasons, Stamp, stand_back};
use crate::shell::profiles::{self, Profiles};
use crate::shop::facts::order::OrderForm;
use crate::shop::facts::words::clean;

/// Reads the file as it is at its stamp, lays what is right in the inbox, and writes down what came of it.
pub fn run(
    places: &Places,
    options: &Options,
    (file, to): (&Path, &Path),
    stamp: Stamp,
) -> Result<(), Failure> {
    stand_back();
    let answer = answer(places, options, file, stamp).unwrap_or_else(|wrong| Answer {
        not_taken: with_name(file, &wrong.to_string()).into(),
        ..Answer::default()
    });
    let (folder, name) =
        (to.parent().unwrap_or(Path::new(".")), to.file_name().unwrap_or_default());
    new_file::lay(folder, &name.to_string_lossy(), &output::json_bytes(&answer)?)?;
    Ok(())
}

/// What is wrong, behind the name of the file: once, where it begins with the way to it already.
fn with_name(file: &Path, wrong: &str) -> String {
    let name = clean(&file.file_name().unwrap_or_default().to_string_lossy(), 40);
    let wrong = wrong.lines().next().unwrap_or_default();
    let way = file.display().to_string();
    match wrong.strip_prefix(&way) {
        Some(rest) => format!("{name}{rest}"),
        None => format!("{name}: {wrong}"),
    }
}

fn answer(
    places: &Places,
    options: &Options,
    file: &Path,
    stamp: Stamp,
) -> Result<Answer, Failure> {
    let changed = || Answer { changed: true, ..Answer::default() };
    // Another may have come in its place since it was seen to be whole.
    if Stamp::at(file)? != stamp {
        return Ok(changed());
    }
    let known = places.profiles()?;
    let data = places.data()?;
    let mut answer = Answer::default();
    let mut decided = Vec::new();
    for (form, place) in forms(&known, (file, &data), &mut answer.not_taken)? {
        match decide(options, (file, &known), form) {
            Ok(order) => decided.push((order, place)),
            Err(wrong) => {
                answer.not_taken.say(format!("{place}: {}", with_name(file, &wrong.to_string())))
            }
        }
    }
    // A table that was written while it was read may lack its end.
    if Stamp::at(file)? != stamp {
        return Ok(changed());
    }
    let before = Before::of(&data)?;
    for (n, (order, place)) in decided.into_iter().enumerate() {
        let name = order.form.name.clone();
        if before.has(&order.form)?.is_some() {
            answer.known.push(name);
        } else if let Some(open) = before.open_as(&name) {
            answer.not_taken.say(format!(
                "{place}: \"{name}\" is {open}, and reads otherwise here: change it there, or give this one another name"
            ));
        } else {
            lay(&data, &known.station, order, n)?;
            answer.laid.push(name);
        }
    }
    Ok(answer)
}

/// The orders that are right, each with the place at which it begins; what is wrong is said.
fn forms(
    known: &Profiles,
    (file, data): (&Path, &Path),
    not_taken: &mut Reasons,
) -> Result<Vec<(OrderForm, String)>, Failure> {
    let name = clean(&file.file_name().unwrap_or_default().to_string_lossy(), 40);
    if !cells::is_table(file) {
        let end = file.extension().unwrap_or_default().to_ascii_lowercase();
        if end != "ron" {
            let text = "no table of orders: expected .csv, .xlsx, .xls, .ods or .json, or an order in .ron";
            return Err(Failure::Input(text.to_owned()));
        }
        return Ok(vec![(profiles::read_order(file, &known.recipes)?, name)]);
    }
    let (rows, columns) = opened(known, file)?;
    let mut found = orders_of(known, (&rows, &columns), usual_dates(known));
    if found.doubtful_date().is_some()
        && let Some(first) = kept_dates(data)?
    {
        found = orders_of(known, (&rows, &columns), Some(first));
    }
    not_taken.doubtful = found.doubtful_date().map(|date| format!("{date} in {name}"));
    let Found { orders, said } = found;
    let wrong = said.iter().filter_map(|said| Some((said.line, said.what.as_ref().err()?)));
    for (line, why) in wrong {
        not_taken.say(format!("{name} line {line}: {}", in_words(why)));
    }
    let place = |form: &OrderForm| {
        let first = said.iter().find(|said| said.order == form.name && said.what.is_ok());
        first.map_or_else(|| name.clone(), |first| format!("{name} line {}", first.line))
    };
    Ok(orders.into_iter().map(|form| (form.clone(), place(&form))).collect())
}

/// Why a row is not taken, for whoever stands at the board.
fn in_words(why: &NotTaken) -> String {
    match why {
        NotTaken::Due(orders::NoDate::Either(date)) => {
            format!("due: {date} could be two dates: the board asks which stands first")
        }
        other => other.to_string(),
    }
}
