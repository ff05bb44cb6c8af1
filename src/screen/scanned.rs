//! What a scanner read, or a scale sent: it goes to the field that asks for it, chooses a garment, or is a weight.

use super::act::{Effect, by_card, nothing, settle};
use super::forms::Form;
use super::keymap::Deed;
use super::meaning::Sight;
use super::ui::{Pane, Standing, StoryAsked, Tone, Ui};
use crate::shop::books::coats::WeightWanted;
use crate::shop::facts::ids::Tag;
use crate::shop::floor::labelled::Labelled;
use crate::shop::rules::command::Command;

/// How the code of a command card begins.
pub const CARD: &str = "DO-";

/// Takes a scan: a command card acts, where the profile has them; in a form it goes to the field that asks for one, else a tag chooses its garment.
pub fn scan(ui: &mut Ui, sight: &Sight<'_>, text: &str) -> Vec<Effect> {
    if let Some(name) = card(sight, text) {
        return match ui.keys.named(name) {
            Some(deed) => by_card(ui, sight, deed, text),
            None => {
                let name = crate::shop::facts::words::clean(name, 24);
                nothing(
                    ui,
                    sight,
                    &format!("scanned a card for \"{name}\": nothing is called that"),
                )
            }
        };
    }
    if let Some(mut form) = ui.form.take() {
        let typed = form.scan(sight, text);
        return settle(ui, sight, form, typed);
    }
    if super::words::is_weight(text) {
        return weighed(ui, sight, text);
    } else if ui.pane == Pane::Past
        && let Ok(tag) = text.parse()
    {
        return vec![Effect::Trace(StoryAsked::Garment(tag))];
    } else {
        choose(ui, sight, text);
    }
    Vec::new()
}

/// What a command card names, where the profile has them act.
fn card<'a>(sight: &Sight<'_>, text: &'a str) -> Option<&'a str> {
    sight.shop.station().filter(|station| station.cards)?;
    let (word, name) = text.trim().split_at_checked(CARD.len())?;
    word.eq_ignore_ascii_case(CARD).then_some(name)
}

/// A scale that types has sent a weight: it is taken where one is wanted.
fn weighed(ui: &mut Ui, sight: &Sight<'_>, text: &str) -> Vec<Effect> {
    let chosen = ui.chosen();
    let wanted =
        if chosen.is_some() { sight.shop.to_weigh(chosen) } else { sight.shop.weight_wanted() };
    match (wanted, super::words::read_weight(text, super::words::weight_unit(sight.shop))) {
        _ if ui.standing != Standing::Writes => Vec::new(),
        (Some(WeightWanted { garment, .. }), Ok(grams)) => {
            vec![Effect::Do(Command::Weigh { garment, grams })]
        }
        (None, Ok(grams)) => {
            let key = ui.keys.key(Deed::Weigh);
            let text =
                format!("the scale sent {grams}, but no weight is wanted: {key} weighs one anyway");
            nothing(ui, sight, &text)
        }
        (_, Err(reason)) => nothing(ui, sight, &reason.to_string()),
    }
}

fn choose(ui: &mut Ui, sight: &Sight<'_>, text: &str) {
    let now = sight.now;
    let Ok(tag) = text.parse::<Tag>() else {
        let is_card = text.get(..CARD.len()).is_some_and(|word| word.eq_ignore_ascii_case(CARD));
        let why = if is_card { "cards do nothing without cards: true" } else { "not a tag" };
        let text = crate::shop::facts::words::clean(text, 20);
        ui.say(Tone::Refused, format!("scanned \"{text}\": {why}"), now);
        return;
    };
    if let order @ Labelled::Order(_) = Labelled::of(tag)
        && ui.standing == Standing::Writes
    {
        ui.form = Some(Form::labels(Some(order), sight));
        return;
    }
    match sight.shop.garment(tag) {
        Some(garment) if !garment.is_away() => {
            ui.choice.scanned = Some(tag);
            ui.choice.stepped = None;
            let place = super::words::place(sight.shop, garment.place);
            ui.say(Tone::Done, format!("scanned {tag}: {place}"), now);
        }
        known
            if ui.standing == Standing::Writes
                && (known.is_some() || !sight.shop.is_own(tag.order_id())) =>
        {
            ui.form = Some(Form::take_over(tag, sight, &ui.elsewhere));
        }
        Some(garment) => {
            let place = super::words::place(sight.shop, garment.place);
            ui.say(Tone::Done, format!("scanned {tag}: {place}"), now);
        }
        None => match sight.shop.whose(tag.order_id()) {
            Some(whose) => ui.say(Tone::Done, format!("scanned {tag}: {whose}"), now),
            None => {
                ui.say(Tone::Refused, format!("scanned {tag}: no such garment on the floor"), now);
            }
        },
    }
}
