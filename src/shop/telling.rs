//! Facts in words, as the board, the history and undo say them.

use super::fact::{Fact, PressOpened, PressShut, Steam, Timing};
use super::ids::Tag;
use super::trouble::Outcome;

impl Fact {
    /// The garment that the fact is about, if it is about one.
    pub fn garment(&self) -> Option<Tag> {
        Some(match self {
            Fact::BlankAdded(fact) => fact.garment,
            Fact::PressShut(fact) => fact.garment,
            Fact::PressOpened(fact) => fact.garment,
            Fact::SteamStopped(fact) => fact.garment,
            Fact::SteamSaid(fact) => fact.garment,
            Fact::HandworkDone(fact) => fact.garment,
            Fact::Printed(fact) => fact.garment,
            Fact::Stored(fact) => fact.garment,
            Fact::TroubleNoted(fact) => fact.garment,
            Fact::TimeCorrected(fact) => fact.garment,
            _ => return None,
        })
    }

    /// One line that says what happened.
    pub fn in_words(&self) -> String {
        match self {
            Fact::StationSet(fact) => format!("station \"{}\" set up", fact.profile.name),
            Fact::RecipeKept(fact) => format!("recipe {} is {} now", fact.recipe, fact.hash),
            Fact::OrderTaken(fact) => {
                format!(
                    "order {} \"{}\" taken in: {}",
                    fact.order,
                    fact.form.name,
                    counted(fact.form.count())
                )
            }
            Fact::UnderbaseDecided(fact) => {
                let whether = if fact.underbase { "an" } else { "no" };
                format!("order {} line {} needs {whether} underbase", fact.order, fact.line + 1)
            }
            Fact::BlankAdded(fact) => format!("{} taken in to replace a lost one", fact.garment),
            Fact::BlankGivenUp(fact) => format!("order {} stays one short", fact.order),
            Fact::PressShut(fact) => shut(fact),
            Fact::PressOpened(fact) => opened(fact),
            Fact::SteamStopped(fact) => {
                format!("steam of press {} stopped at {:.0} s", fact.press, fact.seconds)
            }
            Fact::SteamSaid(fact) => {
                let said = match fact.said {
                    Steam::Gone => "steam was gone",
                    Steam::StillSteaming => "still steaming when opened",
                    Steam::NotSeen => "steam not seen",
                };
                format!("{}: {said}", fact.garment)
            }
            Fact::HandworkDone(fact) => {
                format!("sprayed {}{}", fact.garment, implied(fact.implied))
            }
            Fact::Printed(fact) => format!("printed {}{}", fact.garment, implied(fact.implied)),
            Fact::Stored(fact) => format!("stored {}", fact.garment),
            Fact::SheetWiped(fact) => {
                format!("sheet {} wiped, both sides, after {} presses", fact.sheet, fact.presses)
            }
            Fact::SheetChanged(fact) => {
                format!("release paper {} changed after {} presses", fact.sheet, fact.presses)
            }
            Fact::SheetSwapped(fact) => format!(
                "press {}: sheet {} set aside after {} presses, sheet {} laid in",
                fact.press, fact.aside, fact.presses, fact.sheet
            ),
            Fact::PressOutOfUse(fact) => {
                format!("press {} out of use: {}", fact.press, fact.reason.words())
            }
            Fact::PressInUse(fact) => format!("press {} back in use", fact.press),
            Fact::DialSet(fact) => {
                format!("press {} set to {}, {}", fact.press, fact.dial, fact.pressure)
            }
            Fact::TroubleNoted(fact) => {
                let outcome = match fact.outcome {
                    Outcome::NotNoted => "what became of it is not noted",
                    outcome => outcome.words(),
                };
                format!("{}: {}: {outcome}", fact.garment, fact.trouble)
            }
            Fact::TimeCorrected(fact) => match fact.ago {
                Some(ago) => format!("{}: it was {ago:.0} s before the key", fact.garment),
                None => format!("{}: not timed", fact.garment),
            },
            Fact::CautionRead(_) => "read: the board is no safety device".to_owned(),
            Fact::Undone(fact) => format!("undid: {}", fact.what),
        }
    }
}

/// "1 garment", "12 garments".
pub fn counted(garments: u64) -> String {
    let plural = if garments == 1 { "" } else { "s" };
    format!("{garments} garment{plural}")
}

fn implied(implied: bool) -> &'static str {
    if implied { " (implied by the next press)" } else { "" }
}

fn again(again: bool) -> &'static str {
    if again { " again" } else { "" }
}

fn shut(fact: &PressShut) -> String {
    let mut text = format!(
        "shut press {} on {}: {}{}",
        fact.press,
        fact.garment,
        fact.step,
        again(fact.again)
    );
    for (flag, words) in [
        (fact.past_wipe, "sheet past its wipe"),
        (fact.waited_too_long, "waited too long"),
        (fact.set_otherwise, "press set otherwise"),
    ] {
        if flag {
            text.push_str(", ");
            text.push_str(words);
        }
    }
    text
}

fn opened(fact: &PressOpened) -> String {
    let after = match fact.seconds {
        Some(seconds) => format!(" after {seconds:.0} s"),
        None => String::new(),
    };
    let how = match fact.timing {
        Timing::Early => ", early",
        Timing::Late => ", late",
        Timing::NotTimed => ", not timed",
        Timing::InTime => "",
    };
    let sure = if fact.over_restart { ", over a restart" } else { "" };
    format!(
        "opened press {}: {} {}{}{after}{how}{sure}",
        fact.press,
        fact.garment,
        fact.step,
        again(fact.again)
    )
}
