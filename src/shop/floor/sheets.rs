//! Cover sheets: where each lies, and what it has seen since it was clean.

use std::collections::BTreeMap;

use serde::{Deserialize, Serialize};

use crate::shop::facts::ids::{PressNo, SheetNo};
use crate::shop::facts::step::{Cover, Step};

/// A cover sheet: a thing of its own, with a number.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize)]
pub struct Sheet {
    pub no: SheetNo,
    pub kind: Cover,
    /// The step that it covers: dry or cure.
    pub covers: Step,
    /// The press it lies at; None: set aside.
    pub at: Option<PressNo>,
    /// Presses under fluid since it was last wiped, or changed. Other presses leave nothing on it.
    pub presses: u32,
    /// How often it has clung or stuck since.
    pub clung: u32,
    /// Presses of all kinds since it was new; None where nobody has said when that was: a sheet that lay there already, or
    /// of a journal that began before renewals were recorded, may be of any age.
    pub life: Option<u32>,
}

impl Sheet {
    /// One that lies at a press for a step, and of which nothing is known yet.
    pub fn found(no: SheetNo, kind: Cover, covers: Step, press: PressNo) -> Self {
        Self { no, kind, covers, at: Some(press), presses: 0, clung: 0, life: None }
    }
}

/// All sheets that are known, by number. None is forgotten: a worn one is renewed under its number.
#[derive(Debug, Clone, Default, PartialEq, Serialize, Deserialize)]
pub struct Sheets(BTreeMap<SheetNo, Sheet>);

impl Sheets {
    /// All of them, by number.
    pub fn all(&self) -> impl Iterator<Item = &Sheet> {
        self.0.values()
    }

    /// A sheet by its number.
    pub fn get(&self, no: SheetNo) -> Option<&Sheet> {
        self.0.get(&no)
    }

    /// The sheet of this kind and use that lies at a press.
    pub fn at(&self, press: PressNo, kind: Cover, covers: Step) -> Option<&Sheet> {
        self.all().find(|one| one.at == Some(press) && one.kind == kind && one.covers == covers)
    }

    /// The sheet of this kind and use that lies at a press, or the new one that must be lying there.
    pub(in crate::shop) fn at_or_new(&self, press: PressNo, kind: Cover, covers: Step) -> Sheet {
        let new = || Sheet::found(self.next_no(), kind, covers, press);
        self.at(press, kind, covers).copied().unwrap_or_else(new)
    }

    /// The number of the next sheet that comes.
    pub(in crate::shop) fn next_no(&self) -> SheetNo {
        SheetNo(self.0.last_key_value().map_or(1, |(no, _)| no.0 + 1))
    }

    /// Puts a sheet in, or in place of its earlier self.
    pub(in crate::shop) fn put(&mut self, sheet: Sheet) -> &mut Sheet {
        self.0.entry(sheet.no).insert_entry(sheet).into_mut()
    }

    pub(in crate::shop) fn get_mut(&mut self, no: SheetNo) -> Option<&mut Sheet> {
        self.0.get_mut(&no)
    }

    /// A sheet is as it was before; None: it was not there.
    pub(in crate::shop) fn put_back(&mut self, no: SheetNo, before: Option<Sheet>) {
        match before {
            Some(sheet) => drop(self.0.insert(no, sheet)),
            None => drop(self.0.remove(&no)),
        }
    }
}
