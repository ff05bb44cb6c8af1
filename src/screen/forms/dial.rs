//! One act records that a press was set, and that its platen has settled.

use crate::screen::input::{Key, KeyCode, Mode, Takes};

use super::entry::{At, Entry};
use super::text::Text;
use super::{Typed, field, place, press};
use crate::figures::units::{Temperature, bounds};
use crate::screen::View;
use crate::screen::act::Effect;
use crate::screen::meaning::Sight;
use crate::screen::paint::Line;
use crate::screen::theme::Role;
use crate::screen::ui::Tone;
use crate::screen::words;
use crate::shop::Shop;
use crate::shop::facts::ids::PressNo;
use crate::shop::facts::step::Pressure;
use crate::shop::floor::press::Setting;
use crate::shop::rules::command::Command;
use crate::shop::rules::offer::{Idle, OfferedAct};

const PRESSURE_HINT: &str = "1 light 2 medium 3 firm";
const PRESSURES: [Pressure; 3] = [Pressure::Light, Pressure::Medium, Pressure::Firm];

/// Press, dial and pressure; filled in with what the waiting garments want.
pub struct DialEntry {
    press: PressNo,
    dial: Text,
    /// What stands on it now: a bare number is on its scale.
    scale: Temperature,
    pressure: Pressure,
    field: usize,
    /// What each press was proposed to be set to.
    wanted: Vec<(PressNo, Setting)>,
}

impl DialEntry {
    pub fn new(sight: &Sight<'_>) -> Self {
        let wanted: Vec<(PressNo, Setting)> = sight
            .meant
            .offers
            .iter()
            .filter_map(|offer| match offer.act {
                OfferedAct::None(Idle::SetOtherwise { wanted, .. }) => Some((offer.press, wanted)),
                _ => None,
            })
            .collect();
        let press = wanted.first().map_or(PressNo(1), |(press, _)| *press);
        let mut entry = Self {
            press,
            dial: Text::default(),
            scale: Temperature::fahrenheit(0.0),
            pressure: Pressure::Medium,
            field: usize::from(!wanted.is_empty()),
            wanted,
        };
        entry.fill_in(sight.shop);
        entry
    }

    fn fill_in(&mut self, shop: &Shop) {
        let wanted =
            self.wanted.iter().find(|(press, _)| *press == self.press).map(|(_, set)| *set);
        if let Some(set) = wanted.or(shop.setting(self.press)) {
            self.dial = Text::given(set.dial.to_string());
            self.scale = shop.setting(self.press).map_or(set.dial, |now| now.dial);
            self.pressure = set.pressure;
        }
    }

    /// Set and settled, or only turned: then the board counts down.
    fn submit(&mut self, settled: bool) -> Typed {
        let read = self.heat();
        match read {
            Ok(dial) => {
                let (press, pressure) = (self.press, self.pressure);
                let command = if settled {
                    Command::SetDial { press, dial, pressure }
                } else {
                    Command::TurnDial { press, dial, pressure }
                };
                Typed::Closed(vec![Effect::Do(command)])
            }
            Err(reason) => {
                self.go_to(1);
                Typed::Said(Tone::Refused, reason)
            }
        }
    }

    fn heat(&self) -> Result<Temperature, String> {
        let dial = self.scale.read_alike(self.dial.value());
        let dial = dial.and_then(|dial| bounds::PLATE.check(dial).map(|()| dial));
        dial.map_err(|wrong| format!("dial: {wrong}"))
    }
}

impl Entry for DialEntry {
    fn mode(&self) -> Mode {
        Mode::Field(if self.field == 1 { Takes::Text } else { Takes::Figures })
    }

    fn fields(&self) -> usize {
        3
    }

    fn here(&self) -> usize {
        self.field
    }

    fn go_to(&mut self, field: usize) {
        self.field = field;
        self.dial.enter();
    }

    fn text(&mut self) -> Option<&mut Text> {
        (self.field == 1).then_some(&mut self.dial)
    }

    fn key(&mut self, at: &At<'_>, key: &Key) -> Typed {
        let shop = at.sight.shop;
        match key.code {
            KeyCode::Char('+') => return self.submit(true),
            KeyCode::Char('-') => return self.submit(false),
            KeyCode::Char(digit @ '0'..='9') if self.field == 0 => match press(shop, digit) {
                Some(press) => {
                    self.press = press;
                    self.fill_in(shop);
                }
                None => {
                    let text = format!("this station has no press {digit}");
                    return Typed::Said(Tone::Refused, text);
                }
            },
            KeyCode::Char(digit @ '0'..='9') if self.field == 2 => {
                match place(digit).and_then(|place| PRESSURES.get(place)) {
                    Some(pressure) => self.pressure = *pressure,
                    None => return Typed::Said(Tone::Refused, PRESSURE_HINT.into()),
                }
            }
            _ if self.field == 1 => self.dial.key(key),
            _ => {}
        }
        Typed::Open
    }

    fn lines(&self, view: &View<'_>) -> (String, Vec<Line>) {
        let press = format!("{} {}", self.press, view.shop.press_name(self.press));
        let settles = self.heat().ok().and_then(|dial| view.shop.settling(self.press, dial));
        let settles = settles.filter(|settles| !settles.is_zero());
        let settles =
            settles.map_or_else(String::new, |span| format!(", about {}", words::lasting(span)));
        let lines = vec![
            field("press", &press, self.field == 0, "its number"),
            self.dial.line("dial", self.field == 1, "such as 340 F"),
            field("pressure", &self.pressure.to_string(), self.field == 2, PRESSURE_HINT),
            Line::of(Role::Strong, "+ when it is set and the platen has settled"),
            Line::of(Role::Strong, format!("- when it is turned: counted down{settles}")),
            Line::of(Role::Plain, "The dial is not the platen: probe it."),
        ];
        ("A press was set".into(), lines)
    }
}
