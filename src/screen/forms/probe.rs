//! A platen was probed at nine places, and strips of paper were pulled from under its corners.
//!
//! ```text
//! press         1 Left  at 340 F    The platen burns: reach in only with the probe.
//!              left     middle   right       strips  left     right
//! back         338      340      337         back    held     held
//! middle       341      343      340         front   -        -
//! front        336      340      335
//! ```

use crate::screen::input::{Key, KeyCode, Mode, Takes};

use super::cabled::Cabled;
use super::entry::{At, Draft, Entry};
use super::text::Text;
use super::{Typed, field};
use crate::figures::units::{Temperature, bounds};
use crate::screen::View;
use crate::screen::act::Effect;
use crate::screen::instrument::Readings;
use crate::screen::meaning::Sight;
use crate::screen::paint::Line;
use crate::screen::theme::Role;
use crate::screen::ui::Tone;
use crate::shop::facts::ids::PressNo;
use crate::shop::floor::platens::CORNERS;
use crate::shop::rules::command::Command;

const ROWS: [&str; 3] = ["back", "middle", "front"];
const COLUMNS: [&str; 3] = ["left", "middle", "right"];
const READINGS: usize = ROWS.len() * COLUMNS.len();
/// Beside which row of readings the strips at the back and at the front stand.
const STRIPS: [(usize, &str); 2] = [(0, "back"), (1, "front")];
/// The press, its readings, its strips.
const FIELDS: usize = 1 + READINGS + CORNERS.len();

/// The form as it is filled in.
pub struct ProbeEntry {
    press: PressNo,
    dial: Temperature,
    readings: [Text; READINGS],
    held: [Option<bool>; CORNERS.len()],
    field: usize,
    /// Left half filled in, and open again.
    kept: bool,
    cabled: Cabled,
}

impl ProbeEntry {
    /// For the press that has waited longest for its probe; None where there is no press.
    pub fn new(sight: &Sight<'_>) -> Option<Self> {
        let presses = sight.shop.press_numbers();
        let due = presses.iter().find(|press| sight.shop.probe_due(**press, sight.now).is_some());
        let press = *due.or(presses.first())?;
        Some(Self {
            press,
            dial: sight.shop.setting(press)?.dial,
            readings: std::array::from_fn(|_| Text::default()),
            held: [None; CORNERS.len()],
            field: 0,
            kept: false,
            cabled: Cabled::probe(),
        })
    }

    /// Which reading or strip the chosen field is, counted from 0.
    fn reading(&self) -> Option<usize> {
        self.field.checked_sub(1).filter(|n| *n < READINGS)
    }

    fn strip(&self) -> Option<usize> {
        self.field.checked_sub(1 + READINGS)
    }

    fn say_strip(&mut self, n: usize, held: bool) {
        self.held[n] = Some(held);
        self.go_to((self.field + 1) % FIELDS);
    }

    fn type_reading(&mut self, key: &Key) {
        if let Some(text) = self.text() {
            text.key(key);
        }
    }

    fn submit(&mut self) -> Typed {
        let press = self.press;
        let readings = match self.grid() {
            Ok(readings) => readings.unwrap_or_default(),
            Err((n, reason)) => {
                self.go_to(1 + n);
                return Typed::Said(Tone::Refused, reason);
            }
        };
        let said: Vec<bool> = self.held.iter().copied().flatten().collect();
        let held = <[bool; CORNERS.len()]>::try_from(said.as_slice()).ok();
        if held.is_none() && !said.is_empty() {
            let first = self.held.iter().position(Option::is_none).unwrap_or(0);
            self.go_to(1 + READINGS + first);
            let text = format!("{}: did the strip hold? 1 held 2 slipped", CORNERS[first]);
            return Typed::Said(Tone::Refused, text);
        }
        Typed::Closed(vec![Effect::Do(Command::CheckPress { press, readings, held })])
    }

    /// The readings, row by row; None where none is filled in.
    fn grid(&self) -> Result<Option<Vec<Vec<Temperature>>>, (usize, String)> {
        if self.readings.iter().all(|input| input.value().trim().is_empty()) {
            return Ok(None);
        }
        let mut grid = vec![Vec::new(); ROWS.len()];
        for (n, input) in self.readings.iter().enumerate() {
            let reading = self.reading_of(input.value()).map_err(|wrong| {
                let (row, column) = (ROWS[n / COLUMNS.len()], COLUMNS[n % COLUMNS.len()]);
                (n, format!("{row} {column}: {wrong}"))
            })?;
            grid[n / COLUMNS.len()].push(reading);
        }
        Ok(Some(grid))
    }

    /// A bare number is in the scale of the dial.
    fn reading_of(&self, text: &str) -> Result<Temperature, String> {
        let text = text.trim();
        if text.is_empty() {
            return Err("not filled in".into());
        }
        let heat = self.dial.read_alike(text);
        let heat = heat.and_then(|heat| bounds::PROBED.check(heat).map(|()| heat));
        heat.map_err(|wrong| wrong.to_string())
    }
}

impl Entry for ProbeEntry {
    fn mode(&self) -> Mode {
        Mode::Field(if self.reading().is_some() { Takes::Text } else { Takes::Figures })
    }

    fn fields(&self) -> usize {
        FIELDS
    }

    fn here(&self) -> usize {
        self.field
    }

    fn choose_field(&mut self, field: usize) {
        self.field = field;
        self.cabled.moved();
    }

    fn text(&mut self) -> Option<&mut Text> {
        self.reading().and_then(|n| self.readings.get_mut(n))
    }

    fn reads(&mut self, _: &Sight<'_>, readings: &Readings) -> Typed {
        let input = self.reading().and_then(|n| self.readings.get_mut(n));
        // Where no reading is wanted, what is shown is still known.
        self.cabled.heats(readings.heat.as_ref(), input.unwrap_or(&mut Text::default()));
        Typed::Open
    }

    fn draft(&self) -> Option<Draft> {
        Some(Draft::Probe)
    }

    /// Opens again what was left half filled in, where it was left: the probe goes on to the next place.
    fn reopen(&mut self) {
        self.go_to(self.field);
        self.kept = true;
    }

    fn key(&mut self, at: &At<'_>, key: &Key) -> Typed {
        let (sight, shop) = (at.sight, at.sight.shop);
        match key.code {
            KeyCode::Char('+') => return self.submit(),
            KeyCode::Char('-') if self.kept && self.field == 0 => {
                if let Some(fresh) = Self::new(sight) {
                    *self = fresh;
                }
                return Typed::Said(Tone::Note, "thrown away: a new one".into());
            }
            KeyCode::Char(digit) if self.field == 0 => {
                let press = digit.to_digit(10).and_then(|n| u8::try_from(n).ok()).map(PressNo);
                match press.and_then(|p| Some((p, shop.setting(p)?))) {
                    Some((press, set)) => (self.press, self.dial) = (press, set.dial),
                    None => {
                        let text = format!("this station has no press {digit}");
                        return Typed::Said(Tone::Refused, text);
                    }
                }
            }
            KeyCode::Char(answer) => match (self.strip(), answer) {
                (Some(n), '1' | 'y') => self.say_strip(n, true),
                (Some(n), '2' | 'x') => self.say_strip(n, false),
                (Some(_), _) => {}
                (None, _) => self.type_reading(key),
            },
            _ => self.type_reading(key),
        }
        Typed::Open
    }

    fn lines(&self, view: &View<'_>) -> (String, Vec<Line>) {
        let press = format!("{} {} at {}", self.press, view.shop.press_name(self.press), self.dial);
        let mut lines = Vec::new();
        if self.kept {
            lines.push(super::entry::kept_line("- at press"));
        }
        let burns = "  The platen burns: reach in only with the probe.";
        lines.push(field("press", &press, self.field == 0, "").and(Role::Abnormal, burns));
        lines.push(Line::of(
            Role::Plain,
            format!(
                "{:<12} {:<9} {:<9} {:<10} {:<7} {:<9} {}",
                "", COLUMNS[0], COLUMNS[1], COLUMNS[2], "strips", "left", "right"
            ),
        ));
        lines.extend((0..ROWS.len()).map(|row| self.row(row)));
        lines.push(Line::of(Role::Plain, self.says(view)));
        lines
            .push(Line::of(Role::Strong, "+ record it   Enter next field   * . keep it for later"));
        ("A platen was checked".into(), lines)
    }
}

impl ProbeEntry {
    /// A row of readings, and beside it a pair of strips.
    fn row(&self, row: usize) -> Line {
        let add = |line: &mut Line, chosen: bool, value: &str| {
            let role = if chosen { Role::Chosen } else { Role::Plain };
            line.add(role, format!(" {value:<8}")).add(Role::Plain, " ");
        };
        let mut line = Line::of(Role::Plain, format!("{:<12}", ROWS[row]));
        for n in row * COLUMNS.len()..(row + 1) * COLUMNS.len() {
            let value = self.readings[n].value();
            let value = if value.is_empty() { "-" } else { value };
            add(&mut line, self.reading() == Some(n), value);
        }
        let Some(pair) = STRIPS.iter().position(|(beside, _)| *beside == row) else { return line };
        line.add(Role::Plain, format!("  {:<7}", STRIPS[pair].1));
        for n in 2 * pair..2 * pair + 2 {
            let said = match self.held[n] {
                None => "-",
                Some(true) => "held",
                Some(false) => "SLIPPED",
            };
            add(&mut line, self.strip() == Some(n), said);
        }
        line
    }

    /// What the chosen field wants.
    fn says(&self, view: &View<'_>) -> String {
        match (self.reading(), self.strip()) {
            (Some(_), _) => self.cabled.probe_says(view.shop).unwrap_or_else(|| {
                let scale = self.dial.letter();
                format!("degrees {scale}, as the probe shows them once it has settled")
            }),
            (_, Some(_)) => {
                "a strip of paper under the corner, shut, pulled: 1 held 2 slipped".into()
            }
            _ => "the press by its number; readings, strips, or both".into(),
        }
    }
}
