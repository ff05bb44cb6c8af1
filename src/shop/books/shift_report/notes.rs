//! What of a report is unsure, and why.

use jiff::tz::TimeZone;
use serde::{Serialize, Serializer};

use super::At;
use crate::figures::units::spans;

/// Something that the figures do not know for sure.
#[derive(Debug, Clone, PartialEq)]
pub enum Note {
    /// The wall clock was set by so many seconds.
    ClockSet {
        at: At,
        seconds: f64,
    },
    /// An act was taken back or its time corrected in another shift than its own: `later` where that was after this one, of
    /// an act in it; else in this one, of an act before it.
    Amended {
        at: At,
        what: String,
        later: bool,
        undone: bool,
    },
    /// The wall clock was plainly wrong: before any honest machine's.
    ClockWrong {
        at: At,
    },
    Restarted {
        at: At,
    },
    /// The fan at the booth was said not to run; None: nobody has said since that it does.
    FanOff {
        from: At,
        until: Option<At>,
    },
    /// Presses whose span reaches over a restart.
    OverRestart {
        presses: usize,
    },
    /// Presses of which somebody said that they were not timed.
    NotTimed {
        presses: usize,
    },
    /// Sprays and prints that nobody recorded: they follow from the next press.
    Implied {
        steps: usize,
    },
    /// Coats were judged by a window that nobody has confirmed.
    UnconfirmedWindow,
    /// Garments whose losses are counted with the station's hand times.
    HandTimes,
}

impl Note {
    /// The note as a sentence; times in the shop's zone.
    pub fn words(&self, zone: &TimeZone) -> String {
        let clock = |at: At| {
            let time = at.0.timestamp().unwrap_or_default();
            time.to_zoned_datetime(zone.clone()).strftime("%H:%M").to_string()
        };
        match self {
            Note::ClockSet { at, seconds } => {
                let way = if *seconds < 0.0 { "back" } else { "forward" };
                format!(
                    "The wall clock was set {way} by {} at about {}: times of day before \
                     that are told by the clock as it was after. Spans hold.",
                    spans::minutes(seconds.abs()),
                    clock(*at)
                )
            }
            Note::Amended { at, what, later, undone } => {
                let day = at.0.timestamp().unwrap_or_default().to_zoned_datetime(zone.clone());
                let (day, time) = (day.strftime("%Y-%m-%d"), clock(*at));
                let done = if *undone { "taken back" } else { "corrected" };
                match later {
                    true => format!(
                        "After this had ended, on {day} at {time}, \"{what}\" was {done}: these figures \
                         have it so. A report made before has it as it was."
                    ),
                    false => format!(
                        "At {time} \"{what}\", of an earlier shift, was {done}: that shift's figures have \
                         it so, these do not count it."
                    ),
                }
            }
            Note::ClockWrong { at } => format!(
                "The wall clock was plainly wrong at about {}: do not trust days and times of day.",
                clock(*at)
            ),
            Note::Restarted { at } => format!(
                "The machine was restarted at about {}: the pause is by the wall clock.",
                clock(*at)
            ),
            Note::FanOff { from, until } => {
                let until = until.map_or_else(
                    || "nobody has said since that it runs".to_owned(),
                    |until| format!("until {}", clock(until)),
                );
                format!("THE FAN DID NOT RUN, as was said at {}: {until}.", clock(*from))
            }
            Note::OverRestart { presses } => {
                format!("{presses} of the presses reach over a restart: their seconds are unsure.")
            }
            Note::NotTimed { presses } => {
                format!(
                    "{presses} of the presses were not timed: the standard figures leave them out."
                )
            }
            Note::Implied { steps } => format!(
                "{steps} of the sprays and prints were not recorded: they follow from the next press."
            ),
            Note::UnconfirmedWindow => {
                "Coats were judged by a window that nobody has confirmed from a data sheet.".into()
            }
            Note::HandTimes => {
                "Hand minutes of losses, and the minutes of changing a garment, are what \
                 the station's profile says, not measured."
                    .into()
            }
        }
    }
}

impl Serialize for Note {
    fn serialize<S: Serializer>(&self, serializer: S) -> Result<S::Ok, S::Error> {
        serializer.collect_str(&self.words(&TimeZone::UTC))
    }
}
