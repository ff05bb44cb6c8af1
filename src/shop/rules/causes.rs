//! Why a sheet clings: every cause with the evidence for it, the likeliest first. None is hidden.
//!
//! The rules are plain points, listed here and in the README (common practice, no source):
//!
//! | cause | points |
//! | --- | --- |
//! | too much fluid | weighed over the window 6, estimated over it 4, steam past its mark or still steaming 4; two or more of the recipe's last ten dried clung, on more than one press 2 |
//! | dirty sheet | presses since the wipe, of those allowed: all 5, from half 2; the same sheet clung before since its wipe 2 |
//! | opened too soon | opened before the shortest time 5; still steaming 2 |
//! | too much pressure | set firmer than the recipe 4; the strips held unevenly 3; clung on this press alone 2 |
//! | too hot or too cold | last probe outside its tolerance 3; never probed at that dial 1; that probe overdue 1 |
//!
//! A cause against which there is evidence says so with 0 points.

use crate::figures::coat::Verdict;
use crate::shop::Shop;
use crate::shop::facts::fact::{Steam, Timing};
use crate::shop::facts::ids::{PressNo, Tag};
use crate::shop::facts::moment::Moment;
use crate::shop::facts::recipe::Recipe;
use crate::shop::facts::step::Step;
use crate::shop::floor::garment::{Drying, Garment};
use crate::shop::floor::platens::ProbeDue;
use crate::shop::floor::press::Setting;

/// What can make a sheet cling.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Cause {
    TooMuchFluid,
    DirtySheet,
    OpenedTooSoon,
    TooMuchPressure,
    WrongHeat,
}

impl Cause {
    /// The name as the board says it.
    pub fn words(self) -> &'static str {
        match self {
            Cause::TooMuchFluid => "too much fluid",
            Cause::DirtySheet => "dirty sheet",
            Cause::OpenedTooSoon => "opened too soon",
            Cause::TooMuchPressure => "too much pressure",
            Cause::WrongHeat => "platen too hot or cold",
        }
    }

    /// What to do about it.
    pub fn advice(self) -> &'static str {
        match self {
            Cause::TooMuchFluid => "close the trigger a little or move faster; weigh the next one",
            Cause::DirtySheet => "swap or wipe the sheet: both sides, cold, away from the press",
            Cause::OpenedTooSoon => "leave it shut until the steam has stopped",
            Cause::TooMuchPressure => "ease the pressure; lay strips of paper under the corners",
            Cause::WrongHeat => "probe the platen and turn the dial by its correction",
        }
    }
}

/// A cause with its points and what speaks for it, or against it.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Suspect {
    pub cause: Cause,
    pub points: u32,
    pub evidence: String,
}

/// Evidence as it is gathered.
struct Case {
    cause: Cause,
    points: u32,
    said: Vec<String>,
}

impl Case {
    fn of(cause: Cause) -> Self {
        Self { cause, points: 0, said: Vec::new() }
    }

    fn note(&mut self, points: u32, text: impl Into<String>) {
        self.points += points;
        self.said.push(text.into());
    }

    fn closed(self) -> Suspect {
        let evidence =
            if self.said.is_empty() { "nothing known".to_owned() } else { self.said.join("; ") };
        Suspect { cause: self.cause, points: self.points, evidence }
    }
}

impl Shop {
    /// Why the sheet clings to a garment that was dried or is in a drying press; the likeliest first.
    /// Empty for a garment that has not been dried.
    pub fn suspects(&self, tag: Tag, now: Moment) -> Vec<Suspect> {
        let Some(garment) = self.garment(tag) else { return Vec::new() };
        let Some((_, recipe)) = self.recipe_of(garment) else { return Vec::new() };
        let Some(drying) = self.drying_of(garment) else { return Vec::new() };
        // What another station's press and sheet were like is not known here.
        let Some(at) = drying.press else { return Vec::new() };
        let shut = self.loads().any(|(_, load)| load.garment == tag);
        let mut found = vec![
            self.fluid(garment, recipe, &drying),
            self.dirt(&drying),
            too_soon(&drying, shut),
            self.pressure(garment, recipe, at),
            self.heat(at, now),
        ];
        // Stable: causes with the same points stay in the order of the trade's own list.
        found.sort_by_key(|suspect| std::cmp::Reverse(suspect.points));
        found
    }

    /// How a garment was dried, or is being dried.
    fn drying_of(&self, garment: &Garment) -> Option<Drying> {
        let in_press = self.loads().find(|(_, load)| load.garment == garment.tag);
        match in_press.filter(|(_, load)| load.step == Step::Dry) {
            Some((press, load)) => Some(Drying {
                press: Some((press, load.set)),
                sheet: load.sheet,
                sheet_presses: load.sheet_presses,
                steam: load.steam,
                estimate: load.estimate,
                seconds: None,
                timing: Timing::NotTimed,
                said: None,
                stored: false,
            }),
            None => garment.drying().cloned(),
        }
    }

    fn fluid(&self, garment: &Garment, recipe: &Recipe, drying: &Drying) -> Suspect {
        let mut case = Case::of(Cause::TooMuchFluid);
        let weighed = garment.coat_by_scale();
        let by_steam = drying.estimate.map(|estimate| (estimate.coat, "estimated", 4));
        let known = weighed.map(|coat| (coat, "weighed", 6)).or(by_steam);
        match known {
            Some((coat, how, points)) => {
                let over = recipe.verdict(coat) == Verdict::Over;
                let words = if over { "over" } else { "not over" };
                let text = format!("{how} {:.0} g/m2, {words} {}", coat.0, recipe.coat.high);
                case.note(if over { points } else { 0 }, text);
            }
            None => case.said.push("coat not weighed".into()),
        }
        let by = recipe.steam_gone_by().as_seconds();
        match (drying.steam, drying.said) {
            (Some(second), _) if second > by => {
                case.note(4, format!("steam until {second:.0} s, should stop by {by:.0} s"));
            }
            (Some(second), _) => case.note(0, format!("steam gone at {second:.0} s")),
            (None, Some(Steam::StillSteaming)) => case.note(4, "still steaming when opened"),
            (None, Some(Steam::Gone)) => case.note(0, "steam was gone"),
            _ => {}
        }
        let clung = self.clung_on(garment);
        if clung.len() >= 2 && clung.iter().any(|press| *press != clung[0]) {
            case.note(2, format!("{} of its recipe clung on several presses", clung.len()));
        }
        case.closed()
    }

    fn dirt(&self, drying: &Drying) -> Suspect {
        let mut case = Case::of(Cause::DirtySheet);
        let allowed = self.station().map_or(10, |station| station.sheet.wipe_at);
        // The press that it clung in counts, as on the press's own panel.
        let presses = drying.sheet_presses + 1;
        let points = match presses {
            n if n >= allowed => 5,
            n if n * 2 >= allowed => 2,
            _ => 0,
        };
        let number = drying.sheet.map_or_else(String::new, |sheet| format!("sheet {sheet}: "));
        case.note(points, format!("{number}{presses} of {allowed} presses since its wipe"));
        let clung =
            drying.sheet.and_then(|sheet| self.sheets().get(sheet)).map_or(0, |sheet| sheet.clung);
        if clung > 1 {
            case.note(2, format!("it clung {clung} times since"));
        }
        case.closed()
    }

    fn pressure(
        &self,
        garment: &Garment,
        recipe: &Recipe,
        (press, set): (PressNo, Setting),
    ) -> Suspect {
        let mut case = Case::of(Cause::TooMuchPressure);
        let wanted = recipe.pressing(Step::Dry, false).map(|pressing| pressing.pressure);
        let set = set.pressure;
        match wanted {
            Some(wanted) if set > wanted => {
                case.note(4, format!("was set {set}, the recipe says {wanted}"));
            }
            _ => case.note(0, format!("was set {set}")),
        }
        match self.strips(press) {
            Some((_, strips)) if strips.held.iter().all(|held| *held) => {
                case.note(0, "the strips held alike");
            }
            Some((_, strips)) => {
                let slipped = strips.held.iter().filter(|held| !**held).count();
                case.note(3, format!("{slipped} of 4 strips slipped"));
            }
            None => case.said.push("no strips laid yet".into()),
        }
        let clung = self.clung_on(garment);
        if clung.len() >= 2 && clung.iter().all(|other| *other == press) {
            case.note(2, format!("{} clung, all on press {press}", clung.len()));
        }
        case.closed()
    }

    fn heat(&self, (press, set): (PressNo, Setting), now: Moment) -> Suspect {
        let mut case = Case::of(Cause::WrongHeat);
        let dial = set.dial;
        match self.probe(press) {
            Some(probe) if probe.dial != dial => {
                case.note(1, format!("not probed at {dial}, only at {}", probe.dial));
            }
            Some(probe) if probe.within => {
                case.note(0, format!("probed within {}", probe.tolerance));
            }
            Some(probe) => {
                let off = dial.difference(-probe.correction_c);
                case.note(3, format!("probed {off} off its dial on average"));
            }
            None => case.note(1, "never probed"),
        }
        if let Some(ProbeDue::Old(_)) = self.probe_due(press, now) {
            case.note(1, "that probe is overdue");
        }
        case.closed()
    }

    /// The presses on which the last ten dried garments of the same recipe clung.
    fn clung_on(&self, garment: &Garment) -> Vec<PressNo> {
        const LAST: usize = 10;
        let book = self.recipe_name(garment).and_then(|name| self.coat_book(name));
        let dried = book.into_iter().flat_map(|book| book.dried.iter().rev().take(LAST));
        dried.filter(|dried| dried.clung).map(|dried| dried.press).collect()
    }
}

fn too_soon(drying: &Drying, still_shut: bool) -> Suspect {
    let mut case = Case::of(Cause::OpenedTooSoon);
    match (drying.timing, drying.seconds) {
        (Timing::Early, Some(seconds)) => case.note(5, format!("opened after {seconds:.0} s")),
        (_, Some(seconds)) => case.note(0, format!("shut for {seconds:.0} s")),
        (_, None) if still_shut => case.said.push("still shut".into()),
        (_, None) => case.said.push("not timed".into()),
    }
    if drying.said == Some(Steam::StillSteaming) {
        case.note(2, "still steaming when opened");
    }
    case.closed()
}
