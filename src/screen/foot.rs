//! The foot switch: does what the big words of the next act say, and nothing else.
//!
//! What is done is read off the words themselves, so that they cannot say one thing while another is done. Where they
//! name something that has to be filled in, its form is opened; a form is never submitted, a question never answered,
//! nothing ever undone by foot.

use std::time::Duration;

use super::View;
use super::act::{self, Effect, nothing};
use super::keymap::Deed;
use super::meaning::Sight;
use super::next;
use super::ui::{Standing, Ui};
use crate::shop::facts::ids::{PressNo, SheetNo, Tag};
use crate::shop::facts::moment::Up;
use crate::shop::rules::command::{Command, Which};
use crate::shop::rules::offer::{Offer, OfferedAct};

/// What the big words said on a frame.
#[derive(Debug, Clone, Default, PartialEq, Eq)]
pub struct Words {
    pub act: String,
    /// They have stood there for less than a moment: whoever struck the switch may have meant those before.
    pub are_new: bool,
    /// Since when they have stood on the screen.
    since: Option<Up>,
}

/// Who means what stood there before needs so long to see that it has changed.
const TO_SEE: Duration = Duration::from_millis(700);

impl Words {
    /// What they say on a frame.
    pub fn of(view: &View<'_>) -> Self {
        Self { act: next::shown(view).0.act.clone(), are_new: false, since: None }
    }

    /// Their frame stands on the screen, after one that said the words `before`.
    pub fn seen(&mut self, before: Option<&Words>, up: Up) {
        let since = before.filter(|before| before.act == self.act).and_then(|same| same.since);
        self.since = since.or(Some(up));
    }

    /// Whether a key at a moment may have been struck for the words before.
    pub fn judge(&mut self, up: Up) {
        self.are_new = self.since.is_some_and(|since| up.since(since) < TO_SEE);
    }
}

/// What a pair of words asks for.
#[derive(Debug, Clone, PartialEq, Eq)]
enum Does {
    /// As by its own key; where that opens a form, the form.
    Deed(Deed),
    Sprayed(Tag),
    Printed(Tag),
    Cleaned(SheetNo),
    /// A garment waits to be shut into a press.
    Pressed(Tag),
    /// Nothing that a switch could do: it is looked at, or waited for.
    Nothing,
}

/// Reads the big words; None where they are of no act known here.
fn read(words: &str) -> Option<Does> {
    let (verb, object) = words.rsplit_once(' ').unwrap_or((words, ""));
    let tag = || object.parse::<Tag>().ok();
    let sheet = || object.parse().ok().map(SheetNo);
    Some(match verb {
        "OPEN" | "UNLOAD" | "CHECK" | "LOAD" => {
            Does::Deed(Deed::Press(PressNo(object.parse().ok()?)))
        }
        "SPRAY" => Does::Sprayed(tag()?),
        "PRINT" => Does::Printed(tag()?),
        "DRY" | "CURE" => Does::Pressed(tag()?),
        "WIPE" | "PAPER" => Does::Cleaned(sheet()?),
        "WEIGH" | "MEND" => Does::Deed(Deed::Weigh),
        "REDO" => Does::Deed(Deed::LookUp),
        "SET" => Does::Deed(Deed::SetDial),
        "FILL" => Does::Deed(Deed::Fill),
        "TAKE" => Does::Deed(Deed::TakePart),
        "FLUSH" => Does::Deed(Deed::Flushed),
        // Whether the fan runs, or a blank is replaced, is a question: nobody answers one by foot.
        "LIFT" | "CLOSE" | "WAIT" | "LOOK" | "FAN" | "REPLACE" | "nothing" => Does::Nothing,
        _ if object == "ORDER" => Does::Deed(Deed::TakeOrder),
        _ => return None,
    })
}

/// The deed whose key does what the big words say.
pub fn deed(words: &str) -> Option<Deed> {
    match read(words)? {
        Does::Deed(deed) => Some(deed),
        Does::Sprayed(_) => Some(Deed::Sprayed),
        Does::Printed(_) => Some(Deed::Printed),
        Does::Cleaned(_) => Some(Deed::CleanSheet),
        Does::Pressed(_) | Does::Nothing => None,
    }
}

/// The switch was struck.
pub fn act_on_next(ui: &mut Ui, sight: &Sight<'_>) -> Vec<Effect> {
    let words = &sight.meant.words;
    if ui.standing != Standing::Writes {
        return nothing(ui, sight, "nothing can be changed here");
    }
    if words.are_new {
        return nothing(ui, sight, "NEXT changed: once more");
    }
    let tagged = |tag| Which::Tagged(tag);
    match read(&words.act) {
        Some(Does::Deed(deed)) => act::do_deed(ui, sight, deed),
        Some(Does::Sprayed(tag)) => vec![Effect::Do(Command::HandworkDone(tagged(tag)))],
        Some(Does::Printed(tag)) => vec![Effect::Do(Command::Printed(tagged(tag)))],
        Some(Does::Cleaned(sheet)) => vec![Effect::Do(Command::CleanSheet(sheet))],
        Some(Does::Pressed(tag)) => match press_for(sight, tag) {
            Some(press) => act::do_deed(ui, sight, Deed::Press(press)),
            None => nothing(ui, sight, &format!("no open press is offered {tag}")),
        },
        Some(Does::Nothing) | None => {
            let text = format!("NEXT says {}: nothing that the foot switch does", words.act);
            nothing(ui, sight, &text)
        }
    }
}

/// The open press whose key would shut it on a garment.
fn press_for(sight: &Sight<'_>, tag: Tag) -> Option<PressNo> {
    let offers = |offer: &&Offer| match offer.act {
        OfferedAct::Shut { garment, .. } => garment == tag,
        _ => false,
    };
    sight.meant.offers.iter().find(offers).map(|offer| offer.press)
}
