//! The owner's questions over all stations: the hub's rows of each become a journal that goes with the question, which the
//! very same code reads that reads a station's own.

use std::collections::BTreeMap;
use std::path::PathBuf;

use clap::Args;
use serde_json::Value;

use super::hub::WhichHub;
use super::output::Form;
use super::{Failure, Places, output};
use crate::shell::hub::reading::{Stations, read_all};
use crate::shell::hub::{Destination, block_on};
use crate::shell::journal::from_rows::FromRows;
use crate::shell::journal::row::Stored;
use crate::shell::journal::{JournalError, Reader};
use crate::shell::new_file::{PassingFolder, passing_folder};
use crate::shop::facts::ids::StationId;

/// Whether a question goes over all stations.
#[derive(Debug, Args)]
pub struct Over {
    /// Over all stations, as the shop's hub knows them, instead of this one's journal
    #[arg(long)]
    hub: bool,
    #[command(flatten)]
    which: WhichHub,
}

/// The journals of all stations, as the hub has them. They are gone with this.
pub struct Everywhere {
    /// Those that have written anything.
    pub stations: Vec<OneStation>,
    faults: Vec<String>,
    _directory: PassingFolder,
}

/// One of them.
pub struct OneStation {
    pub id: StationId,
    name: String,
    /// The data directory that its journal lies in.
    pub data: PathBuf,
}

impl OneStation {
    /// "North bench (A)", or "station A" where it has no name.
    pub fn called(&self) -> String {
        let letters = self.id.to_string().to_ascii_uppercase();
        match self.name.as_str() {
            "" => format!("station {letters}"),
            name => format!("{name} ({letters})"),
        }
    }

    /// Its name alone.
    pub fn name(&self) -> &str {
        &self.name
    }

    /// Its journal.
    ///
    /// # Errors
    /// None in practice: it was written just now.
    pub fn reader(&self) -> Result<Reader, JournalError> {
        Reader::of(&self.data)
    }
}

impl Over {
    /// The journals of all stations, where the question goes over them; None: it is one of this station.
    ///
    /// # Errors
    /// No hub, or one that does not answer, and a disk without room for its rows.
    pub fn everywhere(&self, places: &Places) -> Result<Option<Everywhere>, Failure> {
        if !self.hub {
            return match self.which.is_named() {
                true => Err(Failure::Input("--address goes with --hub".to_owned())),
                false => Ok(None),
            };
        }
        Everywhere::read(&self.which.destination(places)?).map(Some)
    }
}

impl Everywhere {
    fn read(from: &Destination) -> Result<Self, Failure> {
        let directory = passing_folder()?;
        let mut files: BTreeMap<String, FromRows> = BTreeMap::new();
        let mut trouble: Option<JournalError> = None;
        let mut add = |row: &Stored| -> Result<(), JournalError> {
            let file = match files.entry(row.station.clone()) {
                std::collections::btree_map::Entry::Occupied(file) => file.into_mut(),
                std::collections::btree_map::Entry::Vacant(place) => {
                    let data = directory.path().join(&row.station);
                    let unusable = |reason| JournalError::Directory { path: data.clone(), reason };
                    crate::shell::private::directory(&data).map_err(unusable)?;
                    place.insert(FromRows::begin(&data)?)
                }
            };
            file.add(row)
        };
        let stations = block_on(read_all(from, |row, _| {
            if trouble.is_none() {
                trouble = add(row).err();
            }
        }))?;
        if let Some(trouble) = trouble {
            return Err(trouble.into());
        }
        for (_, file) in files {
            file.end()?;
        }
        Self::of(&stations, directory)
    }

    fn of(stations: &Stations, directory: PassingFolder) -> Result<Self, Failure> {
        let written = stations.all().filter(|one| one.mirror.seq() > 0);
        let all: Vec<OneStation> = written
            .map(|one| OneStation {
                id: one.mirror.station(),
                name: one.name().to_owned(),
                data: directory.path().join(one.mirror.station().to_string()),
            })
            .collect();
        if all.is_empty() {
            return Err(Failure::NoJournal("the hub holds nothing of any station yet".to_owned()));
        }
        let mut faults: Vec<String> = stations.faults().map(ToString::to_string).collect();
        let unread = stations.all().filter(|one| one.mirror.wanted().is_some());
        faults.extend(unread.map(|one| {
            let (station, seq) = (one.mirror.station(), one.mirror.seq());
            format!("station \"{station}\": the hub gave no row behind its row {seq}")
        }));
        Ok(Self { stations: all, faults, _directory: directory })
    }

    /// Said after the answer: whether it rests on all that the stations have written.
    ///
    /// # Errors
    /// What is wrong with a station's history: the answer rests on what it wrote before that.
    pub fn is_whole(&self) -> Result<(), Failure> {
        match self.faults.as_slice() {
            [] => Ok(()),
            faults => {
                let faults = faults.join("; ");
                Err(Failure::Other(format!("this answer lacks what came after: {faults}")))
            }
        }
    }
}

impl OneStation {
    /// An object with the station before its own fields.
    pub fn named(&self, value: Value) -> Value {
        let mut object = serde_json::Map::new();
        object.insert("station".to_owned(), self.id.to_string().into());
        object.insert("name".to_owned(), self.name.clone().into());
        match value {
            Value::Object(fields) => {
                let own = |name: &str| matches!(name, "station" | "name");
                object.extend(fields.into_iter().filter(|(name, _)| !own(name)));
                object.into()
            }
            rows => {
                object.insert("rows".to_owned(), rows);
                object.into()
            }
        }
    }

    /// Why there is no answer of this station, by its name instead of where its rows lie for the moment.
    fn why_not(&self, wrong: &Failure) -> String {
        wrong.to_string().replace(&self.data.display().to_string(), &self.called())
    }
}

/// What each station answered, or why it has no answer.
pub type Answers<'a, T> = Vec<(&'a OneStation, Result<T, String>)>;

impl Everywhere {
    /// Asks each station. One that has no answer, since nobody worked there then, does not silence the others.
    ///
    /// # Errors
    /// No station has an answer, or one could not be asked.
    pub fn each<T>(
        &self,
        mut ask: impl FnMut(&OneStation) -> Result<T, Failure>,
    ) -> Result<Answers<'_, T>, Failure> {
        let mut answers: Answers<'_, T> = Vec::new();
        let mut refused = None;
        for station in &self.stations {
            match ask(station) {
                Ok(answer) => answers.push((station, Ok(answer))),
                Err(wrong @ (Failure::Input(_) | Failure::NoJournal(_))) => {
                    let why = station.why_not(&wrong);
                    answers.push((station, Err(why.clone())));
                    refused.get_or_insert(why);
                }
                Err(wrong) => return Err(wrong),
            }
        }
        match refused.filter(|_| answers.iter().all(|(_, answer)| answer.is_err())) {
            Some(why) => Err(Failure::Input(why)),
            None => Ok(answers),
        }
    }

    /// Answers as objects, each with its station; one without an answer says why.
    pub fn named(&self, answers: &Answers<'_, Value>) -> Vec<Value> {
        let named = |(station, answer): &(&OneStation, Result<Value, String>)| match answer {
            Ok(answer) => station.named(answer.clone()),
            Err(why) => station.named(serde_json::json!({ "none": why })),
        };
        answers.iter().map(named).collect()
    }

    /// Lines under each station's name.
    ///
    /// # Errors
    /// As for `each`.
    pub fn headed(
        &self,
        ask: impl FnMut(&OneStation) -> Result<Vec<String>, Failure>,
    ) -> Result<Vec<String>, Failure> {
        Ok(under_names(self.each(ask)?))
    }

    /// What each station's own answer is in a form, put together in that form.
    ///
    /// # Errors
    /// As for `each`; and a page, which is of one station.
    pub fn joined(
        &self,
        form: Form,
        mut ask: impl FnMut(&OneStation) -> Result<Vec<u8>, Failure>,
    ) -> Result<Vec<u8>, Failure> {
        self.added_up(form, |one| Ok((ask(one)?, ())), |_| Ok(None))
    }

    /// The same, and behind it what all of them come to, in that form too.
    ///
    /// # Errors
    /// As for `joined`.
    pub fn added_up<T>(
        &self,
        form: Form,
        ask: impl FnMut(&OneStation) -> Result<(Vec<u8>, T), Failure>,
        add_up: impl FnOnce(Vec<T>) -> Result<Option<Vec<u8>>, Failure>,
    ) -> Result<Vec<u8>, Failure> {
        if form == Form::Html {
            return Err(Failure::Input(
                "a page is of one station: leave --hub out, or ask for another --format".to_owned(),
            ));
        }
        let (mut answers, mut figures): (Answers<'_, Vec<u8>>, Vec<T>) = Default::default();
        for (station, answer) in self.each(ask)? {
            let answer = answer.map(|(bytes, of_it)| {
                figures.push(of_it);
                bytes
            });
            answers.push((station, answer));
        }
        let all = add_up(figures)?;
        let of = |bytes: &[u8]| {
            let value = serde_json::from_slice::<Value>(bytes);
            value.map_err(|wrong| Failure::Other(wrong.to_string()))
        };
        let lines = |bytes: &[u8]| -> Vec<String> {
            String::from_utf8_lossy(bytes).lines().map(str::to_owned).collect()
        };
        match form {
            Form::Text | Form::Html => {
                let told =
                    answers.into_iter().map(|(one, answer)| (one, answer.map(|a| lines(&a))));
                let mut text = under_names(told.collect());
                if let Some(all) = all {
                    text.extend([String::new(), "all stations".to_owned()]);
                    text.extend(lines(&all));
                }
                Ok(output::line_bytes(text))
            }
            Form::Json => {
                let mut values: Answers<'_, Value> = Vec::new();
                for (one, answer) in answers {
                    let value = match answer {
                        Ok(bytes) => Ok(of(&bytes)?),
                        Err(why) => Err(why),
                    };
                    values.push((one, value));
                }
                let mut whole = serde_json::Map::new();
                whole.insert("stations".to_owned(), self.named(&values).into());
                if let Some(all) = all {
                    whole.insert("all".to_owned(), of(&all)?);
                }
                output::json_bytes(&whole)
            }
            Form::Csv => {
                let tables = answers
                    .into_iter()
                    .filter_map(|(one, answer)| Some((one.id.to_string(), answer.ok()?)));
                beside_station(tables.chain(all.map(|all| ("every station".to_owned(), all))))
            }
        }
    }
}

/// Lines under each station's name; of one without an answer, why.
fn under_names(answers: Answers<'_, Vec<String>>) -> Vec<String> {
    let mut lines = Vec::new();
    for (n, (station, answer)) in answers.into_iter().enumerate() {
        if n > 0 {
            lines.push(String::new());
        }
        lines.push(station.called());
        lines.extend(answer.unwrap_or_else(|why| vec![why]));
    }
    lines
}

/// Tables with the same head as one, with the station as the first column. What has another head begins anew.
fn beside_station(tables: impl Iterator<Item = (String, Vec<u8>)>) -> Result<Vec<u8>, Failure> {
    let wrong = |wrong: csv::Error| Failure::Other(wrong.to_string());
    let mut rows: Vec<Vec<String>> = Vec::new();
    let mut head: Option<Vec<String>> = None;
    for (station, bytes) in tables {
        let mut reader =
            csv::ReaderBuilder::new().has_headers(false).flexible(true).from_reader(&*bytes);
        for (n, record) in reader.records().enumerate() {
            let record: Vec<String> = record.map_err(wrong)?.iter().map(str::to_owned).collect();
            if n == 0 && head.as_ref() == Some(&record) {
                continue;
            }
            let first = if n == 0 { "station".to_owned() } else { station.clone() };
            if n == 0 {
                head = Some(record.clone());
            }
            rows.push(std::iter::once(first).chain(record).collect());
        }
    }
    output::table_bytes(|table| rows.iter().try_for_each(|row| table.write_record(row)))
}

/// The histories of all stations as one.
pub struct Merged {
    histories: Vec<History>,
    /// Rows that are passed over before the first that is told.
    skip: u64,
}

/// One station's history, a few rows at a time.
pub struct History {
    reader: Reader,
    pub zone: jiff::tz::TimeZone,
    waiting: std::collections::VecDeque<Stored>,
    /// The last row that was read from the file.
    read: i64,
    /// The latest moment so far: a clock that was set back holds up no later row of its station.
    latest: i64,
}

impl History {
    /// The row that comes next, and the moment at which it takes its turn.
    fn turn(&mut self) -> Result<Option<i64>, Failure> {
        const BATCH: usize = 2000;
        if self.waiting.is_empty() {
            self.waiting = self.reader.some_after(self.read, BATCH)?.into();
            self.read = self.waiting.back().map_or(self.read, |row| row.seq);
        }
        Ok(self.waiting.front().map(|row| row.at.max(self.latest)))
    }
}

impl Merged {
    /// All histories from the beginning, or only the last so many rows of all.
    ///
    /// # Errors
    /// None in practice: the journals were written just now.
    pub fn of(all: &Everywhere, last: Option<usize>) -> Result<Self, Failure> {
        let (mut histories, mut rows) = (Vec::new(), 0u64);
        let last = last.and_then(|last| u64::try_from(last).ok());
        for station in &all.stations {
            let zone = super::read(&station.data)?.zone;
            let reader = station.reader()?;
            let upto = reader.last()?.0;
            // The last of all are among the last of each.
            let after = last.map_or(0, |last| upto.saturating_sub(last));
            rows += upto - after;
            let read = i64::try_from(after).unwrap_or(i64::MAX);
            let waiting = std::collections::VecDeque::new();
            histories.push(History { reader, zone, waiting, read, latest: i64::MIN });
        }
        Ok(Self { histories, skip: last.map_or(0, |last| rows.saturating_sub(last)) })
    }

    /// The row that comes next, with the history that it is of.
    ///
    /// # Errors
    /// A row that does not read.
    pub fn next_row(&mut self) -> Result<Option<(&History, Stored)>, Failure> {
        loop {
            let mut first: Option<(i64, usize)> = None;
            for (n, history) in self.histories.iter_mut().enumerate() {
                if let Some(turn) = history.turn()? {
                    first = Some(first.map_or((turn, n), |first| first.min((turn, n))));
                }
            }
            let Some((turn, n)) = first else { return Ok(None) };
            let history = &mut self.histories[n];
            let Some(row) = history.waiting.pop_front() else { return Ok(None) };
            history.latest = turn;
            if self.skip == 0 {
                return Ok(Some((&self.histories[n], row)));
            }
            self.skip -= 1;
        }
    }
}
