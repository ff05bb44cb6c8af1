//! What was done with a garment, in words.

use super::{named, telling};
use crate::shop::facts::fact::{
    CoatMended, CoatWeighed, Fault, HandworkDone, HeldShown, PressOpened, PressShut, Printed,
    Steam, SteamSaid, SteamStopped, TimeCorrected, Timing, TroubleNoted, Weighed, WeighingDeclined,
};
use crate::shop::facts::trouble::Outcome;

telling!(
    |fact: PressShut, _| shut(fact),
    |fact: PressOpened, _| opened(fact),
    |fact: SteamStopped, _| {
        let says = fact.estimate.map_or_else(String::new, |estimate| {
            format!(": about {:.0} g/m2, {}", estimate.coat.0, estimate.verdict.words())
        });
        format!("steam of press {} stopped at {:.0} s{says}", fact.press, fact.seconds)
    },
    |fact: SteamSaid, _| {
        let said = match fact.said {
            Steam::Gone => "steam was gone",
            Steam::StillSteaming => "still steaming when opened",
            Steam::NotSeen => "steam not seen",
        };
        format!("{}: {said}", fact.garment)
    },
    |fact: Weighed, _| format!("{} weighs {} dry", fact.garment, fact.grams),
    |fact: CoatWeighed, _| coat_weighed(fact),
    |fact: CoatMended, _| coat_mended(fact),
    |fact: WeighingDeclined, _| format!("{} is not weighed", fact.garment),
    |fact: HandworkDone, _| {
        let weight = if fact.unweighed { ", not weighed" } else { "" };
        let garment = named(fact.garment, fact.place.as_deref());
        format!("sprayed {garment}{}{weight}", implied(fact.implied))
    },
    |fact: Printed, _| {
        let garment = named(fact.garment, fact.place.as_deref());
        let mut text = format!("printed {garment}{}", implied(fact.implied));
        add_flags(&mut text, shelf_flags(fact.past_day, fact.out_of_turn, fact.disturbed));
        text
    },
    |fact: HeldShown, _| {
        let faults: Vec<String> = fact.faults.iter().map(Fault::to_string).collect();
        format!("{} printed anyway: {}", fact.garment, faults.join("; "))
    },
    |fact: TroubleNoted, _| {
        let outcome = match fact.outcome {
            Outcome::NotNoted => "what became of it is not noted",
            outcome => outcome.words(),
        };
        format!("{}: {}: {outcome}", fact.garment, fact.trouble)
    },
    |fact: TimeCorrected, _| match fact.ago {
        Some(ago) => {
            format!("{}: it was {ago:.0} s before you pressed the key", fact.garment)
        }
        None => format!("{}: not timed", fact.garment),
    },
);

fn implied(implied: bool) -> &'static str {
    if implied { " (implied by the next press)" } else { "" }
}

fn coat_weighed(fact: &CoatWeighed) -> String {
    let window = if fact.unconfirmed { " (unconfirmed window)" } else { "" };
    let hand = if fact.overcorrects {
        "; you correct back and forth: change one thing, by less"
    } else {
        ""
    };
    format!(
        "{} took {:.1} g: {:.0} g/m2, {}{window}{hand}",
        fact.garment,
        fact.after.0 - fact.before.0,
        fact.coat.0,
        fact.verdict.words()
    )
}

fn coat_mended(fact: &CoatMended) -> String {
    let what = if fact.added.0 < 0.0 { "taken off" } else { "put on" };
    format!(
        "{} mended: {:.1} g {what}; it was {:.0} g/m2, {}",
        fact.garment,
        fact.added.0.abs(),
        fact.was.0,
        fact.verdict.words()
    )
}

fn again(again: bool) -> &'static str {
    if again { " again" } else { "" }
}

fn shut(fact: &PressShut) -> String {
    let mut text = format!(
        "shut press {} on {}: {}{}",
        fact.press,
        named(fact.garment, fact.place.as_deref()),
        fact.step,
        again(fact.again)
    );
    let flags = [
        (fact.past_wipe, "sheet past its wipe"),
        (fact.waited_too_long, "waited too long"),
        (fact.set_otherwise, "press set otherwise"),
    ];
    add_flags(&mut text, flags);
    if fact.unsettled {
        text.push_str(", not soaked or settled");
    }
    add_flags(&mut text, shelf_flags(fact.past_day, fact.out_of_turn, fact.disturbed));
    text
}

fn shelf_flags(past_day: bool, out_of_turn: bool, disturbed: bool) -> [(bool, &'static str); 3] {
    [
        (past_day, "PAST ITS DAY"),
        (out_of_turn, "before an older one"),
        (disturbed, "from a shifted stack"),
    ]
}

fn add_flags(text: &mut String, flags: [(bool, &'static str); 3]) {
    for (_, words) in flags.into_iter().filter(|(flag, _)| *flag) {
        text.push_str(", ");
        text.push_str(words);
    }
}

fn opened(fact: &PressOpened) -> String {
    let after = match fact.seconds {
        Some(seconds) => format!(" after {seconds:.0} s"),
        None => String::new(),
    };
    let how = match fact.timing {
        Timing::NotTimed if fact.failed => ", the press failed: not done",
        Timing::Early => ", early",
        Timing::Late => ", late",
        Timing::NotTimed => ", not timed",
        Timing::InTime => "",
    };
    let sure = if fact.over_restart { ", over a restart" } else { "" };
    format!(
        "opened press {}: {} {}{}{after}{how}{sure}",
        fact.press,
        named(fact.garment, fact.place.as_deref()),
        fact.step,
        again(fact.again)
    )
}
