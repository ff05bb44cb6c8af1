//! Making oneself heard: the station's own program, run without a shell, else the terminal's bell.

use std::collections::BTreeSet;
use std::sync::mpsc::{Receiver, Sender, channel};

use super::guard::Guarded;
use crate::shop::rules::alarms::{Alarm, Level};

/// How long between two sounds for the same alarm, in microseconds of the boot clock.
const ALARM_EVERY_US: i64 = 2_000_000;
const PROMPT_EVERY_US: i64 = 6_000_000;
/// Never more often than this, whatever happens.
const LEAST_US: i64 = 500_000;
/// A sounder that runs longer than this hangs.
const HANGS_US: i64 = 5_000_000;

/// Which alarms have been heard and quieted, and when it last sounded.
#[derive(Debug, Default)]
pub struct Ear {
    quieted: BTreeSet<Alarm>,
    sounded: BTreeSet<Alarm>,
    last: Option<i64>,
}

impl Ear {
    /// Whether it should sound now, `alarms` being what is wrong.
    pub fn sounds(&mut self, alarms: &[Alarm], up: i64) -> bool {
        let there: BTreeSet<Alarm> = alarms.iter().copied().collect();
        self.quieted.retain(|alarm| there.contains(alarm));
        self.sounded.retain(|alarm| there.contains(alarm));
        let loud = || alarms.iter().filter(|alarm| !self.quieted.contains(alarm));
        let since = self.last.map_or(i64::MAX, |last| up.saturating_sub(last));
        let every = match loud().map(|alarm| alarm.level()).max() {
            None => return false,
            Some(Level::Alarm) => ALARM_EVERY_US,
            Some(Level::Prompt) => PROMPT_EVERY_US,
        };
        let new = loud().any(|alarm| !self.sounded.contains(alarm));
        if since < LEAST_US || !(new || since >= every) {
            return false;
        }
        self.sounded = there;
        self.last = Some(up);
        true
    }

    /// When it may want to sound again, if anything loud is there.
    pub fn next(&self, alarms: &[Alarm]) -> Option<i64> {
        let loud = alarms.iter().filter(|alarm| !self.quieted.contains(alarm));
        let every = match loud.map(|alarm| alarm.level()).max()? {
            Level::Alarm => ALARM_EVERY_US,
            Level::Prompt => PROMPT_EVERY_US,
        };
        self.last.map(|last| last + every)
    }

    /// Quiets what is wrong now; something new sounds again.
    pub fn quiet(&mut self, alarms: &[Alarm]) {
        self.quieted.extend(alarms.iter().copied());
    }

    /// Whether everything that is wrong has been quieted.
    pub fn is_quiet(&self, alarms: &[Alarm]) -> bool {
        !alarms.is_empty() && alarms.iter().all(|alarm| self.quieted.contains(alarm))
    }
}

/// What makes the sound. Its program is started on a thread of its own: one that lies on a disk that hangs stops no key.
#[derive(Debug, Default)]
pub struct Sounder {
    command: Option<Vec<String>>,
    hand: Option<Hand>,
    /// Since when an answer is waited for.
    asked: Option<i64>,
}

/// The sounder's program could not be run.
#[derive(Debug, thiserror::Error)]
#[error("the sounder \"{program}\" does not run: {reason}; the bell rings instead")]
pub struct NoSound {
    program: String,
    reason: std::io::Error,
}

/// Whether the bell is to ring besides.
type Answer = Result<bool, NoSound>;

/// The thread that starts the program.
#[derive(Debug)]
struct Hand {
    ask: Sender<(Vec<String>, i64)>,
    answers: Receiver<Answer>,
}

impl Hand {
    fn start() -> std::io::Result<Self> {
        let (ask, asked) = channel::<(Vec<String>, i64)>();
        let (answer, answers) = channel();
        std::thread::Builder::new().name("sounder".into()).spawn(move || {
            let mut running = None;
            for (command, up) in asked {
                // The board may have ended.
                drop(answer.send(start(&mut running, &command, up)));
            }
        })?;
        Ok(Self { ask, answers })
    }
}

impl Sounder {
    /// Takes the program from the station's profile.
    pub fn set(&mut self, command: Option<&[String]>) {
        self.command = command.map(<[String]>::to_vec);
    }

    /// Has the sound made at a moment of the boot clock; true where the bell is to ring.
    pub fn sound(&mut self, up: i64) -> bool {
        let Some(command) = &self.command else { return true };
        if let Some(since) = self.asked {
            return up.saturating_sub(since) >= HANGS_US;
        }
        if self.hand.is_none() {
            self.hand = Hand::start().ok();
        }
        let asked = self.hand.as_ref().is_some_and(|h| h.ask.send((command.clone(), up)).is_ok());
        self.asked = asked.then_some(up);
        !asked
    }

    /// What has become of the last sound, once.
    pub fn answer(&mut self) -> Option<Answer> {
        let answer = self.hand.as_ref()?.answers.try_recv().ok()?;
        self.asked = None;
        Some(answer)
    }
}

/// Starts the program unless it still runs.
fn start(running: &mut Option<(Guarded, i64)>, command: &[String], up: i64) -> Answer {
    let mut bell = false;
    let Some((program, arguments)) = command.split_first() else { return Ok(true) };
    if let Some((guarded, since)) = running {
        match guarded.ended() {
            // One that still sounds is sound enough, unless it hangs.
            Ok(None) if up.saturating_sub(*since) < HANGS_US => return Ok(false),
            Ok(None) => {
                *running = None;
                return Ok(true);
            }
            // It failed the last time: the bell as well, in case it fails again.
            Ok(Some(status)) if !status.success() => bell = true,
            _ => {}
        }
    }
    match Guarded::start(program, arguments) {
        Ok(guarded) => {
            *running = Some((guarded, up));
            Ok(bell)
        }
        Err(reason) => Err(NoSound { program: program.clone(), reason }),
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::shop::facts::ids::PressNo;

    const S: i64 = 1_000_000;

    fn due(press: u8) -> Alarm {
        Alarm::Due { press: PressNo(press), seq: 1 }
    }

    #[test]
    fn a_prompt_sounds_at_once_then_now_and_then() {
        let mut ear = Ear::default();
        assert!(ear.sounds(&[due(1)], 10 * S));
        assert!(!ear.sounds(&[due(1)], 11 * S));
        assert!(ear.sounds(&[due(1)], 16 * S));
        assert!(!ear.sounds(&[], 30 * S));
    }

    #[test]
    fn quiet_lasts_until_something_new_is_wrong() {
        let mut ear = Ear::default();
        assert!(ear.sounds(&[due(1)], 10 * S));
        ear.quiet(&[due(1)]);
        assert!(ear.is_quiet(&[due(1)]));
        assert!(!ear.sounds(&[due(1)], 60 * S));
        assert!(ear.sounds(&[due(1), due(2)], 61 * S));
    }

    #[test]
    fn many_at_once_are_one_sound_and_never_more_than_two_a_second() {
        let mut ear = Ear::default();
        assert!(ear.sounds(&[due(1), due(2), due(3)], 10 * S));
        assert!(!ear.sounds(&[due(1), due(2), due(3), due(4)], 10 * S + 300_000));
        assert!(ear.sounds(&[due(1), due(2), due(3), due(4)], 10 * S + 500_000));
    }
}
