//! A bench of its own for each test: a data directory, profiles with quick recipes, and the program with an
//! environment that knows of nothing else.

use std::path::{Path, PathBuf};

use serde_json::Value;
use tempfile::TempDir;

use crate::program::{program, zone};

/// A directory that goes with the test, and what lies in it.
pub struct Bench {
    pub root: TempDir,
    data: PathBuf,
}

impl Bench {
    /// A bench with so many presses, whose recipe runs `target` seconds at every press.
    pub fn new(presses: usize, target: u32) -> Self {
        Self::with_data_in(presses, target, "data")
    }

    /// The same with its data elsewhere under its directory.
    pub fn with_data_in(presses: usize, target: u32, data: &str) -> Self {
        let root = tempfile::tempdir().unwrap();
        let data = root.path().join(data);
        let bench = Self { root, data };
        std::fs::create_dir_all(bench.profiles().join("recipes")).unwrap();
        std::fs::create_dir_all(bench.home()).unwrap();
        std::fs::write(bench.station(), station("Test bench", presses)).unwrap();
        std::fs::write(bench.recipe(), recipe(target)).unwrap();
        bench
    }

    pub fn home(&self) -> PathBuf {
        self.root.path().join("home")
    }

    pub fn data(&self) -> PathBuf {
        self.data.clone()
    }

    pub fn profiles(&self) -> PathBuf {
        self.root.path().join("profiles")
    }

    pub fn station(&self) -> PathBuf {
        self.profiles().join("station.ron")
    }

    /// Puts fields before the others of the station's profile: "breaks: [],".
    pub fn station_says(&self, fields: &str) {
        let station = std::fs::read_to_string(self.station()).unwrap();
        let says = station.replacen("Station(\n", &format!("Station(\n    {fields}\n"), 1);
        assert_ne!(says, station, "the profile begins as it did");
        std::fs::write(self.station(), says).unwrap();
    }

    pub fn recipe(&self) -> PathBuf {
        self.profiles().join("recipes/quick.ron")
    }

    /// Runs a command of the program outside a terminal.
    pub fn run(&self, arguments: &[&str]) -> Ran {
        run(&self.home(), &self.profiles(), &self.data(), arguments)
    }

    /// Lays an order of so many garments in the inbox.
    pub fn take(&self, garments: u32) {
        let path = self.root.path().join("order.ron");
        std::fs::write(&path, order(garments)).unwrap();
        let ran = self.run(&["take", path.to_str().unwrap()]);
        assert_eq!(ran.code, 0, "{}", ran.err);
    }

    /// The journal, one JSON object an event.
    pub fn past(&self) -> Vec<Value> {
        let ran = self.run(&["past", "--json"]);
        assert_eq!(ran.code, 0, "{}", ran.err);
        ran.out.lines().map(|line| serde_json::from_str(line).unwrap()).collect()
    }

    /// The journal's events of one kind.
    pub fn past_of(&self, kind: &str) -> Vec<Value> {
        self.past().into_iter().filter(|event| event["kind"] == kind).collect()
    }

    /// Checks the journal as the program itself does.
    pub fn assert_sound(&self) {
        let ran = self.run(&["check"]);
        assert_eq!((ran.code, ran.err.as_str()), (0, ""), "{}", ran.out);
    }
}

/// What a command answered.
#[derive(Debug)]
pub struct Ran {
    pub code: i32,
    pub out: String,
    pub err: String,
}

/// Runs the program outside a terminal with nothing in its environment but these places.
pub fn run(home: &Path, profiles: &Path, data: &Path, arguments: &[&str]) -> Ran {
    let output = program()
        .env("HOME", home)
        .env("DWELL_PROFILES", profiles)
        .env("DWELL_DATA", data)
        .args(arguments)
        .output()
        .unwrap();
    let text = |bytes: Vec<u8>| String::from_utf8(bytes).unwrap();
    Ran { code: output.status.code().unwrap(), out: text(output.stdout), err: text(output.stderr) }
}

/// A station's profile, in the zone of these tests.
pub fn station(name: &str, presses: usize) -> String {
    let zone = zone();
    let presses: String =
        (1..=presses).map(|n| format!("(name: \"Press {n}\", dial: \"340 F\"), ")).collect();
    format!(
        "Station(\n    name: \"{name}\",\n    presses: [{presses}],\n    \
         sheet: (wipe_at: 10, wipe_by: 12),\n    time_zone: \"{zone}\",\n)\n"
    )
}

/// A recipe as quick as a test needs it; a real one takes longer.
pub fn recipe(target: u32) -> String {
    let press = format!("shortest: \"1s\", target: \"{target}s\", longest: \"120s\"");
    format!(
        "Recipe(\n    title: \"Quick\",\n    underbase: FromArtwork,\n    set_point: \"340 F\",\n    \
         prepress: ({press}),\n    dry: ({press}, steam_gone_by: \"1s\", cover: PtfeSheet),\n    \
         wet_at_most: \"10min\",\n    \
         coat: (low: \"138 g/m2\", target: \"200 g/m2\", high: \"270 g/m2\"),\n    \
         keep: (good_for: \"21days\", at_most: \"30days\"),\n    cure: ({press}),\n    \
         basis: \"made for a test\",\n)\n"
    )
}

/// An order of so many garments that want fluid.
pub fn order(garments: u32) -> String {
    format!(
        "Order(\n    name: \"Harbour choir\",\n    lines: [\n        \
         (count: {garments}, recipe: \"quick\", garment: \"#16181d\", underbase: true),\n    ],\n)\n"
    )
}
