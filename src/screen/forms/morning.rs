//! What is looked at before a shift's first garment, one line each: done, read or skipped, and once a shift.
//!
//! ```text
//! ══ Before the first garment ════════════ presses: * then 1 to 9 ══
//!  1 presses on                    soaking, 12 min
//!  2 their lights show             starts the soaking
//!  3 platens probed at the centre  done
//!  4 white ink agitated            -
//!  5 nozzle check                  skipped
//!  6 room humidity                 [54] %, then Enter
//!  - then a line: skip it    9 use the presses as they are    Enter closes
//! ```

use super::Typed;
use super::entry::{At, Entry};
use super::text::Text;
use crate::screen::View;
use crate::screen::act::Effect;
use crate::screen::input::{Key, KeyCode, Mode, Takes};
use crate::screen::paint::Line;
use crate::screen::theme::Role;
use crate::screen::ui::Tone;
use crate::screen::words;
use crate::shop::facts::fact::MorningSaid;
use crate::shop::facts::morning::{HeatWord, MorningCheck};
use crate::shop::rules::command::{Command, Refusal};

/// Each line's key; they never move, whichever of them a station has.
const KEYS: [(char, MorningCheck); 5] = [
    ('1', MorningCheck::PressesOn),
    ('3', MorningCheck::Probed),
    ('4', MorningCheck::WhiteAgitated),
    ('5', MorningCheck::NozzleCheck),
    ('6', MorningCheck::Humidity),
];
const LIGHTS: char = '2';
const USED_NOW: char = '9';

/// The list; the humidity while it is typed.
#[derive(Default)]
pub struct MorningList {
    humidity: Option<Text>,
    /// The next line's key passes it over.
    skips: bool,
}

impl MorningList {
    fn line_key(&mut self, at: &At<'_>, digit: char) -> Typed {
        let skipped = std::mem::take(&mut self.skips);
        let asked = KEYS.iter().find(|(key, _)| *key == digit).map(|(_, check)| *check);
        let asked = asked.filter(|check| at.sight.shop.asks_for(*check));
        let heat = |said| Command::SayHeat { press: None, said };
        match (digit, asked) {
            (_, Some(check)) if skipped => say(check, None, true),
            (_, Some(MorningCheck::Humidity)) => {
                self.humidity = Some(Text::default());
                Typed::Open
            }
            (_, Some(MorningCheck::PressesOn)) => Typed::Effects(vec![
                Effect::Do(heat(HeatWord::On)),
                Effect::Do(Command::SayMorning {
                    check: MorningCheck::PressesOn,
                    percent: None,
                    skipped: false,
                }),
            ]),
            (_, Some(check)) => say(check, None, false),
            (LIGHTS, None) => Typed::Effects(vec![Effect::Do(heat(HeatWord::Light))]),
            (USED_NOW, None) => Typed::Effects(vec![Effect::Do(heat(HeatWord::UsedNow))]),
            _ => Typed::Said(Tone::Note, format!("{digit} is no line of this list")),
        }
    }

    /// The humidity as it was typed.
    fn read(&mut self) -> Typed {
        let typed = self.humidity.as_ref().map(|text| text.trimmed().parse::<u8>());
        match typed {
            Some(Ok(percent)) if percent <= 100 => {
                self.humidity = None;
                say(MorningCheck::Humidity, Some(percent), false)
            }
            _ => {
                self.humidity.iter_mut().for_each(Text::enter);
                Typed::Said(Tone::Refused, "the room's humidity: expected 0 to 100 %".into())
            }
        }
    }
}

fn say(check: MorningCheck, percent: Option<u8>, skipped: bool) -> Typed {
    Typed::Effects(vec![Effect::Do(Command::SayMorning { check, percent, skipped })])
}

impl Entry for MorningList {
    fn mode(&self) -> Mode {
        if self.humidity.is_some() { Mode::Field(Takes::Figures) } else { Mode::Lists }
    }

    fn text(&mut self) -> Option<&mut Text> {
        self.humidity.as_mut()
    }

    /// `/` in an empty humidity goes back to the list.
    fn erase(&mut self, _: &At<'_>) -> Typed {
        if !self.text().is_some_and(Text::erase) {
            self.humidity = None;
        }
        Typed::Open
    }

    fn key(&mut self, at: &At<'_>, key: &Key) -> Typed {
        if self.humidity.is_some() {
            return match key.code {
                KeyCode::Enter | KeyCode::Char('+') => self.read(),
                KeyCode::Char(letter) if !letter.is_ascii_digit() => Typed::Open,
                _ => {
                    self.humidity.iter_mut().for_each(|text| text.key(key));
                    Typed::Open
                }
            };
        }
        match key.code {
            KeyCode::Char('-') => {
                self.skips = true;
                Typed::Said(Tone::Note, "skip which line? Its digit".into())
            }
            KeyCode::Char(digit @ '0'..='9') => self.line_key(at, digit),
            KeyCode::Enter | KeyCode::Char('/' | '+') => Typed::Left,
            _ => Typed::Said(Tone::Note, "its lines have digits; Enter closes it".into()),
        }
    }

    fn refused(&mut self, _: &Refusal) {}

    fn lines(&self, view: &View<'_>) -> (String, Vec<Line>) {
        let listed = view.shop.morning(view.now);
        let mut lines: Vec<Line> = Vec::new();
        for (key, check) in KEYS {
            let Some((_, said)) = listed.iter().find(|(one, _)| *one == check) else { continue };
            lines.push(match (&self.humidity, check) {
                (Some(text), MorningCheck::Humidity) => {
                    text.line("humidity", true, "per cent, then Enter")
                }
                _ => line(key, check.words(), &state(*said)),
            });
            if check == MorningCheck::PressesOn {
                lines.push(line(LIGHTS, "their lights show", &heats(view)));
            }
        }
        if listed.is_empty() {
            let text = "No list here: write one under `morning` in station.ron.";
            lines.push(Line::of(Role::Plain, text));
        } else {
            let keys = "- then a line: skip it   9 use the presses as they are   Enter closes";
            lines.push(Line::of(Role::Strong, keys));
        }
        ("Before the first garment".into(), lines)
    }
}

fn line(key: char, name: &str, state: &str) -> Line {
    Line::of(Role::Strong, format!(" {key} ")).and(Role::Plain, format!("{name:<30}{state}"))
}

fn state(said: Option<&MorningSaid>) -> String {
    match said {
        None => "-".to_owned(),
        Some(said) if said.skipped => "skipped".to_owned(),
        Some(MorningSaid { percent: Some(percent), .. }) => format!("{percent} %"),
        Some(_) => "done".to_owned(),
    }
}

/// What the presses do that were switched on.
fn heats(view: &View<'_>) -> String {
    let waits = view.shop.press_numbers().into_iter().filter_map(|press| {
        let (why, left) = view.shop.unready(press, view.now)?;
        Some(format!("{press} {}, {}", why.words(), words::lasting(left)))
    });
    let waits: Vec<String> = waits.collect();
    if waits.is_empty() { "-".to_owned() } else { waits.join("; ") }
}
