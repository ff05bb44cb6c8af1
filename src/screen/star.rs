//! The key `*`: with the digit after it a press is worked from wherever the digits mean something else.
//!
//! Within three seconds `* 3` works press 3, `* Enter` says that the steam stopped when the `*` was struck, `* -`
//! undoes, `* .` leaves the form or the list. Any other key cancels it, and that is said.
//!
//! Where no form is open the digits are the presses by themselves, so there `*` alone is the steam, at once, as long
//! as a press is drying; an Enter right behind it, out of habit, sprays nothing.

use std::time::Duration;

use super::act::{self, Effect, nothing};
use super::forms::Form;
use super::input::{Key, KeyCode};
use super::keymap::Deed;
use super::meaning::Sight;
use super::ui::{Standing, Tone, Ui};
use crate::shop::facts::ids::PressNo;
use crate::shop::facts::moment::Moment;
use crate::shop::rules::command::Command;

/// The key itself. Like Esc it is the same in every form, whatever the profile binds.
pub const STAR: Key = Key::letter('*');
/// So long the key after it is waited for.
pub const WAITS: Duration = Duration::from_secs(3);
/// What comes sooner after it comes from a scanner, or from something on the keyboard.
const AT_ONCE: Duration = Duration::from_millis(60);

/// A `*` that waits for the key after it.
#[derive(Debug, Clone, Copy)]
pub struct Star {
    pub at: Moment,
    /// The press whose steam it was about when it was struck.
    steaming: Option<PressNo>,
    /// The steam was noted at once, for nothing was open.
    noted: bool,
}

impl Star {
    /// Whether it still waits for a press to be named.
    pub fn asks(&self) -> bool {
        !self.noted
    }

    /// How long it goes on waiting, where the shop's clock runs `speed` times as fast as life.
    pub fn time_left(&self, now: Moment, speed: f64) -> Duration {
        WAITS.mul_f64(speed).saturating_sub(now.since(self.at).span)
    }
}

/// Takes a key that is a `*`, or the one after it; None where it is neither.
pub fn key(ui: &mut Ui, sight: &Sight<'_>, key: &Key) -> Option<Vec<Effect>> {
    let star = ui.star.take().filter(|star| !star.time_left(sight.now, ui.speed()).is_zero());
    match star {
        Some(star) if *key != STAR => after(ui, sight, star, key),
        _ => begin(ui, sight, key),
    }
}

/// Takes a `*`.
fn begin(ui: &mut Ui, sight: &Sight<'_>, key: &Key) -> Option<Vec<Effect>> {
    let deed = ui.keys.deed(key);
    let begins = match &ui.form {
        Some(_) => *key == STAR,
        None => deed == Some(Deed::SteamStopped) || (*key == STAR && deed.is_none()),
    };
    if !begins {
        return None;
    }
    let steaming = sight.shop.steaming();
    let writes = ui.standing == Standing::Writes;
    let noted = steaming.filter(|_| {
        writes && ui.form.is_none() && deed.is_some() && !ui.has_just_closed(sight.now)
    });
    ui.star = Some(Star { at: sight.now, steaming, noted: noted.is_some() });
    if let Some(press) = noted {
        return Some(vec![Effect::Do(Command::SteamStopped { press })]);
    }
    let leaves = if ui.form.is_some() { ", . leaves this" } else { "" };
    let text =
        format!("* press? 1 to 9 shuts or opens it; Enter: the steam stopped, - undo{leaves}");
    touch(ui, sight, key);
    Some(nothing(ui, sight, &text))
}

/// Takes the key after it.
fn after(ui: &mut Ui, sight: &Sight<'_>, star: Star, key: &Key) -> Option<Vec<Effect>> {
    let figure = key.with_figures();
    if star.noted {
        return after_steam(ui, sight, &figure);
    }
    touch(ui, sight, key);
    ui.message = None;
    if sight.now.since(star.at).span < AT_ONCE {
        return Some(nothing(
            ui,
            sight,
            &format!("* and {key} at once: ignored, press them one after the other"),
        ));
    }
    Some(match figure.code {
        KeyCode::Char(digit @ '1'..='9') => {
            let press = digit.to_digit(10).and_then(|n| u8::try_from(n).ok()).map_or(0, |n| n);
            act::do_deed(ui, sight, Deed::Press(PressNo(press)))
        }
        KeyCode::Char('-') => act::do_deed(ui, sight, Deed::Undo),
        KeyCode::Char('.') => leave(ui, sight),
        KeyCode::Enter => match star.steaming {
            Some(press) if ui.standing == Standing::Writes => {
                vec![Effect::DoAt(Command::SteamStopped { press }, star.at)]
            }
            _ => act::do_deed(ui, sight, Deed::SteamStopped),
        },
        _ => nothing(ui, sight, &format!("* then {key}: cancelled, no press was named")),
    })
}

/// On the Bench itself the steam is noted, and the keys are what they are there; but an Enter would say that a garment
/// was sprayed, and whoever works from a form confirms the steam by it.
fn after_steam(ui: &mut Ui, sight: &Sight<'_>, figure: &Key) -> Option<Vec<Effect>> {
    match figure.code {
        KeyCode::Enter if ui.form.is_none() => {
            Some(nothing(ui, sight, "the steam is noted already: Enter did nothing"))
        }
        KeyCode::Char('.') if ui.pacing.is_some() => Some(leave(ui, sight)),
        _ => None,
    }
}

/// Leaves what is open; an order and a probe are kept.
fn leave(ui: &mut Ui, sight: &Sight<'_>) -> Vec<Effect> {
    match ui.form.take() {
        Some(form) => ui.leaves(form, sight.now),
        None if ui.pacing.take().is_some() => nothing(ui, sight, "the pace is closed"),
        None => nothing(ui, sight, "nothing is open that could be left"),
    }
}

/// The form that is open is not idle meanwhile.
fn touch(ui: &mut Ui, sight: &Sight<'_>, key: &Key) {
    if let Some(form) = &mut ui.form {
        form.touch(sight.now, key);
    }
}

impl Ui {
    /// Lets go of a `*` that nothing has followed.
    pub fn expire_star(&mut self, now: Moment) {
        let speed = self.speed();
        let lapsed = self.star.take_if(|star| star.time_left(now, speed).is_zero());
        if lapsed.is_some_and(|star| star.asks()) {
            self.say(Tone::Note, "* ended after 3 s: no press was named", now);
        }
    }
}

/// What a form that takes the digits says of how to reach a press.
pub fn how(form: Option<&Form>, press: PressNo) -> Option<String> {
    form.filter(|form| form.owns_digits()).map(|_| format!("* {press}"))
}
