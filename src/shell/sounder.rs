//! Making oneself heard: the station's own program, run without a shell, else the terminal's bell.

use std::collections::BTreeSet;
use std::sync::mpsc::{Receiver, Sender, channel};
use std::time::Duration;

use super::guard::Guarded;
use crate::shop::facts::moment::Up;
use crate::shop::rules::alarms::{Alarm, Level};

/// How long between two sounds for the same alarm.
const ALARM_EVERY: Duration = Duration::from_secs(2);
const PROMPT_EVERY: Duration = Duration::from_secs(6);
/// Never more often than this, whatever happens.
const LEAST: Duration = Duration::from_millis(500);
/// A sounder that runs longer than this hangs.
const HANGS: Duration = Duration::from_secs(5);

/// Which alarms have been heard and quieted, and when it last sounded.
#[derive(Debug, Default)]
pub struct HeardAlarms {
    quieted: BTreeSet<Alarm>,
    sounded: BTreeSet<Alarm>,
    last: Option<Up>,
}

impl HeardAlarms {
    /// Whether it should sound now, `alarms` being what is wrong.
    pub fn sounds(&mut self, alarms: &[Alarm], up: Up) -> bool {
        let there: BTreeSet<Alarm> = alarms.iter().copied().collect();
        self.quieted.retain(|alarm| there.contains(alarm));
        self.sounded.retain(|alarm| there.contains(alarm));
        let loud = || alarms.iter().filter(|alarm| !self.quieted.contains(alarm));
        let since = self.last.map_or(Duration::MAX, |last| up.since(last));
        let every = match loud().map(|alarm| alarm.level()).max() {
            None => return false,
            Some(Level::Alarm) => ALARM_EVERY,
            Some(Level::Prompt) => PROMPT_EVERY,
        };
        let new = loud().any(|alarm| !self.sounded.contains(alarm));
        if since < LEAST || !(new || since >= every) {
            return false;
        }
        self.sounded = there;
        self.last = Some(up);
        true
    }

    /// When it may want to sound again, if anything loud is there.
    pub fn next(&self, alarms: &[Alarm]) -> Option<Up> {
        let loud = alarms.iter().filter(|alarm| !self.quieted.contains(alarm));
        let every = match loud.map(|alarm| alarm.level()).max()? {
            Level::Alarm => ALARM_EVERY,
            Level::Prompt => PROMPT_EVERY,
        };
        self.last.map(|last| last.plus(every))
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
    asked: Option<Up>,
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
    ask: Sender<(Vec<String>, Up)>,
    answers: Receiver<Answer>,
}

impl Hand {
    fn start() -> std::io::Result<Self> {
        let (ask, asked) = channel::<(Vec<String>, Up)>();
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
    pub fn sound(&mut self, up: Up) -> bool {
        let Some(command) = &self.command else { return true };
        if let Some(since) = self.asked {
            return up.since(since) >= HANGS;
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
fn start(running: &mut Option<(Guarded, Up)>, command: &[String], up: Up) -> Answer {
    let mut bell = false;
    let Some((program, arguments)) = command.split_first() else { return Ok(true) };
    if let Some((guarded, since)) = running {
        match guarded.ended() {
            // One that still sounds is sound enough, unless it hangs.
            Ok(None) if up.since(*since) < HANGS => return Ok(false),
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

    fn at(seconds: i64) -> Up {
        Up(seconds * 1_000_000)
    }

    fn due(press: u8) -> Alarm {
        Alarm::Due { press: PressNo(press), seq: 1 }
    }

    #[test]
    fn a_prompt_sounds_at_once_then_now_and_then() {
        let mut ear = HeardAlarms::default();
        assert!(ear.sounds(&[due(1)], at(10)));
        assert!(!ear.sounds(&[due(1)], at(11)));
        assert!(ear.sounds(&[due(1)], at(16)));
        assert!(!ear.sounds(&[], at(30)));
    }

    #[test]
    fn quiet_lasts_until_something_new_is_wrong() {
        let mut ear = HeardAlarms::default();
        assert!(ear.sounds(&[due(1)], at(10)));
        ear.quiet(&[due(1)]);
        assert!(ear.is_quiet(&[due(1)]));
        assert!(!ear.sounds(&[due(1)], at(60)));
        assert!(ear.sounds(&[due(1), due(2)], at(61)));
    }

    #[test]
    fn many_at_once_are_one_sound_and_never_more_than_two_a_second() {
        let mut ear = HeardAlarms::default();
        assert!(ear.sounds(&[due(1), due(2), due(3)], at(10)));
        assert!(
            !ear.sounds(&[due(1), due(2), due(3), due(4)], at(10).plus(Duration::from_millis(300)))
        );
        assert!(ear.sounds(&[due(1), due(2), due(3), due(4)], at(10).plus(LEAST)));
    }
}
