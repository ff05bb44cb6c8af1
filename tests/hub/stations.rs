//! Stations with histories of their own, for whoever reads the hub: made-up shifts, pushed as each station would.

use std::fs;

use dwell::shell::hub::{Connection, Destination, block_on};
use dwell::shell::journal::Reader;
use dwell::shell::journal::row::{FIRST_SUM, Stored};
use serde_json::Value;
use support::bench::Bench;
use tokio_postgres::types::Type;

use crate::shop::Shop;

/// A station with a made-up shift behind it, ended before its last garments, and pushed to the hub.
pub struct Rehearsed {
    pub id: &'static str,
    pub bench: Bench,
}

impl Rehearsed {
    /// A station of this id and name, with another shift for each seed.
    pub fn at(shop: &Shop, id: &'static str, name: &str, seed: u32) -> Self {
        let station = Self::alone(id, name, seed);
        shop.add(id);
        push(&shop.destination(id), 1, (0, FIRST_SUM), &station.rows());
        station
    }

    /// A station with made-up weeks behind it: a shelf, and two lots of fluid.
    pub fn weeks_at(shop: &Shop, id: &'static str, name: &str, seed: u32) -> Self {
        let station = Self::after(id, name, seed, &["--weeks", "1", "--garments", "6"]);
        shop.add(id);
        push(&shop.destination(id), 1, (0, FIRST_SUM), &station.rows());
        station
    }

    /// The same, of which the hub knows nothing yet.
    pub fn alone(id: &'static str, name: &str, seed: u32) -> Self {
        Self::after(id, name, seed, &["--garments", "18", "--until", "11"])
    }

    fn after(id: &'static str, name: &str, seed: u32, shift: &[&str]) -> Self {
        let bench = Bench::new(2, 20);
        fs::remove_dir_all(bench.profiles()).unwrap();
        let profiles = bench.profiles();
        let written = bench.run(&["profiles", "--write", profiles.to_str().unwrap()]);
        assert_eq!(written.code, 0, "{}", written.err);
        let text = fs::read_to_string(bench.station()).unwrap();
        let text = text.replacen("id: \"a\"", &format!("id: \"{id}\""), 1);
        fs::write(bench.station(), text.replacen("North bench", name, 1)).unwrap();
        let (seed, data) = (seed.to_string(), bench.data());
        let data = data.to_str().unwrap();
        let ran = bench.run(
            &[&["rehearse", "--headless", "--seed", &seed], shift, &["--data", data]].concat(),
        );
        assert_eq!(ran.code, 0, "{}", ran.err);
        Self { id, bench }
    }

    /// Its journal's rows.
    pub fn rows(&self) -> Vec<Stored> {
        let mut rows = Vec::new();
        let reader = Reader::of(&self.bench.data()).unwrap();
        reader
            .rows_after(0, |row| {
                rows.push(row);
                Ok(())
            })
            .unwrap();
        rows
    }

    /// What a command answers at the station, as JSON.
    pub fn json(&self, arguments: &[&str]) -> Value {
        let ran = self.bench.run(&[arguments, &["--json"]].concat());
        assert_eq!((ran.code, ran.err.as_str()), (0, ""), "{arguments:?}");
        serde_json::from_str(&ran.out).unwrap()
    }
}

/// Pushes rows behind a head, as the station's own role.
pub fn push(to: &Destination, life: i32, (after, after_sum): (i64, i64), rows: &[Stored]) {
    const SQL: &str = "SELECT answer FROM hub.push($1, $2, $3, $4, $5, $6, $7, $8, $9, $10, $11)";
    let answers = block_on(async {
        let hub = Connection::to(to).await?;
        let (mut after, mut sum, mut answers) = (after, after_sum, Vec::new());
        for part in rows.chunks(1500) {
            let numbers = |of: fn(&Stored) -> i64| part.iter().map(of).collect::<Vec<i64>>();
            let texts = |of: fn(&Stored) -> &String| part.iter().map(of).collect::<Vec<&String>>();
            let versions: Vec<i32> =
                part.iter().map(|row| i32::try_from(row.version).unwrap()).collect();
            let (act, at, up) = (numbers(|r| r.act), numbers(|r| r.at), numbers(|r| r.up));
            let (boot, kind) = (texts(|r| &r.boot), texts(|r| &r.kind));
            let (body, sums) = (texts(|r| &r.body), numbers(|r| r.sum));
            let with: [(&(dyn tokio_postgres::types::ToSql + Sync), Type); 11] = [
                (&life, Type::INT4),
                (&after, Type::INT8),
                (&sum, Type::INT8),
                (&act, Type::INT8_ARRAY),
                (&at, Type::INT8_ARRAY),
                (&boot, Type::TEXT_ARRAY),
                (&up, Type::INT8_ARRAY),
                (&versions, Type::INT4_ARRAY),
                (&kind, Type::TEXT_ARRAY),
                (&body, Type::TEXT_ARRAY),
                (&sums, Type::INT8_ARRAY),
            ];
            let rows = hub.ask(SQL, &with).await?;
            answers.push(rows[0].get::<_, String>(0));
            let last = part.last().unwrap();
            (after, sum) = (last.seq, last.sum);
        }
        Ok(answers)
    });
    let answers = answers.unwrap();
    assert!(answers.iter().all(|answer| answer == "ok"), "{answers:?}");
}
