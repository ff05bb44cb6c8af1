//! What can go wrong with a garment, and what becomes of it then: one table, that the compiler completes.
//!
//! A digit means the same trouble at every step. Where two share one, no garment can have both at once. Causes and what
//! to do about them: common practice, no source.

use std::fmt;

use serde::{Deserialize, Serialize};

use super::step::Step;

/// Where a garment is when something is seen of it.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub struct Seen {
    /// The step in the press that is shut on it, else the last that was done.
    pub step: Option<Step>,
    pub in_press: bool,
    /// It waits for the printer, or has left it unrecorded.
    pub at_printer: bool,
}

/// What is known of a trouble.
#[derive(Debug, Clone, Copy)]
pub struct Row {
    /// The name as the board says it.
    pub words: &'static str,
    /// On the second list, behind "more".
    pub more: bool,
    pub digit: char,
    /// After which steps it can be seen; none: at any time.
    pub after: &'static [Step],
    pub causes: &'static str,
    pub remedy: &'static str,
    /// What can become of the garment, the usual first.
    pub becomes: &'static [Outcome],
}

/// Every trouble with its row.
macro_rules! troubles {
    ($($(#[$doc:meta])* $kind:ident = $list:ident $digit:literal $after:ident $becomes:ident, $words:literal,
        $causes:literal, $remedy:literal;)*) => {
        /// What went wrong.
        #[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash, Serialize, Deserialize)]
        #[serde(rename_all = "kebab-case")]
        pub enum Trouble {
            $($(#[$doc])* $kind),*
        }

        impl Trouble {
            /// Every trouble, in the order of its list.
            pub const ALL: &[Trouble] = &[$(Trouble::$kind),*];

            /// What is known of it.
            pub const fn row(self) -> Row {
                match self {
                    $(Trouble::$kind => Row {
                        words: $words,
                        more: $list,
                        digit: $digit,
                        after: $after,
                        causes: $causes,
                        remedy: $remedy,
                        becomes: $becomes,
                    }),*
                }
            }
        }
    };
}

const USUAL: bool = false;
const MORE: bool = true;

const ANY: &[Step] = &[];
const FLUID: &[Step] = &[Step::Spray, Step::Dry];
const DRIED: &[Step] = &[Step::Dry];
const COVERED: &[Step] = &[Step::Dry, Step::Cure];
const COATED: &[Step] = &[Step::Dry, Step::Print, Step::Cure];
const PRESSED: &[Step] = &[Step::PrePress, Step::Dry, Step::Cure];
const INKED: &[Step] = &[Step::Print, Step::Cure];
const CURED: &[Step] = &[Step::Cure];

const EACH: &[Outcome] = &[Outcome::GoOn, Outcome::StepAgain, Outcome::SecondQuality, Outcome::Out];
/// What cannot be done again.
const DONE: &[Outcome] = &[Outcome::Out, Outcome::SecondQuality, Outcome::GoOn];
const GONE: &[Outcome] = &[Outcome::Out];
const REPEAT: &[Outcome] = &[Outcome::StepAgain, Outcome::Out];

troubles! {
    Scorched = USUAL '1' ANY DONE, "scorched",
        "platen too hot, shut too long, a colour that scorches",
        "probe the platen; press cooler or shorter, with a silicone pad";
    Stained = USUAL '2' ANY EACH, "stained",
        "dirty sheet, platen or hands; a drip of fluid or ink",
        "wipe sheet and platen, cold; clean hands; move the bottle away";
    SheetStuck = USUAL '3' COVERED EACH, "sheet stuck",
        "too much fluid or ink, too much pressure, a dirty sheet, opened too soon",
        "let it cool, lift the sheet slowly; swap the sheet";
    SheetClung = USUAL '4' DRIED EACH, "sheet clung",
        "too much fluid, too much pressure, a dirty sheet, opened too soon",
        "swap or wipe the sheet; weigh the next one";
    Undercured = USUAL '4' CURED EACH, "undercured",
        "too short, too cold, too light a pressure, a damp day",
        "cure it again; probe the platen";
    StillSteaming = USUAL '6' DRIED EACH, "still steaming",
        "opened too soon, too much fluid, platen too cold",
        "dry it again; weigh the next one; probe the platen";
    Banding = USUAL '6' INKED EACH, "banding",
        "clogged nozzles, heads out of line, a wrong feed",
        "check and clean the nozzles; align the heads";
    Smear = USUAL '7' INKED EACH, "smear",
        "platen too high, a fold, a wet print that was touched",
        "set the printer platen's height; carry prints flat, hang them apart";
    Crooked = USUAL '8' INKED DONE, "crooked",
        "laid crooked on the printer platen",
        "line up by collar and seam before it is loaded";
    Misprint = USUAL '9' INKED DONE, "misprint",
        "wrong artwork, size or place; stopped halfway",
        "take a new blank; check file and ticket first";
    WrongBlank = USUAL '+' ANY DONE, "wrong blank",
        "from the wrong box, a wrong size or colour",
        "take the right one; check the box against the ticket";
    Missing = MORE '1' ANY GONE, "missing",
        "left at another step, taken for another, put away",
        "look on the shelf, in the presses and under the table first";
    Dropped = MORE '2' ANY EACH, "dropped",
        "wet hands, a full table",
        "shake it out; look for lint and dirt before it goes on";
    Holed = MORE '3' ANY DONE, "a hole",
        "a knife at the box, a snag, a worn blank",
        "take another blank; tell whoever sells them";
    PressFailed = MORE '4' ANY REPEAT, "press failed",
        "power, fuse, timer or hinge",
        "open it, keep clear of the hot platen; do the step in another press";
    SeamDent = MORE '4' INKED EACH, "seam's dent",
        "a seam, zip or pocket under the platen",
        "lay a pad under the print, of the seam's thickness";
    DroppedNozzle = MORE '0' INKED EACH, "dropped nozzle",
        "a dried nozzle, air in the line, low humidity",
        "check and clean the nozzles; watch the humidity";
    Runs = MORE '6' FLUID EACH, "runs",
        "too close, too slow, trigger too far open",
        "blot it now, let it hang; move faster, farther away";
    NotOpaque = MORE '6' INKED DONE, "white not opaque",
        "too little fluid, too little white, white ink not agitated",
        "weigh the coat; agitate the white; check the nozzles";
    MissedSpot = MORE '7' FLUID EACH, "missed spot",
        "strokes too far apart, a clogged tip, a fold",
        "one light pass over it while it is wet; clean the tip";
    Migration = MORE '7' CURED DONE, "dye migrated",
        "dye of polyester wanders in the heat",
        "cure cooler and longer; use a blocker";
    Halo = MORE '8' COATED DONE, "halo of fluid",
        "fluid beyond the print on light cloth, too heavy an edge",
        "less margin, or a mask; fluid for light cloth";
    PressMark = MORE '9' PRESSED EACH, "press mark or shine",
        "too much pressure or heat for the cloth, an edge of the platen",
        "steam and brush it; press lighter, with a pad or a cover";
    Fibrillation = MORE '+' CURED DONE, "fibres stand up",
        "fibres not laid down, too light a pressure, a worn cloth",
        "roll after the spray; press firmer before the print";
    Cancelled = MORE ' ' ANY GONE, "cancelled",
        "its order was cancelled",
        "nothing is wrong with it: use it again if you can";
}

impl Trouble {
    /// What can be seen of a garment, on one list or on the other.
    pub fn seen(seen: Seen, more: bool) -> impl Iterator<Item = Trouble> {
        Self::ALL.iter().copied().filter(move |one| one.row().more == more && one.can_be(seen))
    }

    fn can_be(self, seen: Seen) -> bool {
        let row = self.row();
        let after = |step: Step| row.after.is_empty() || row.after.contains(&step);
        match self {
            Trouble::PressFailed => seen.in_press,
            Trouble::Cancelled => false,
            Trouble::SeamDent if seen.in_press => false,
            // Under a digit that the printer's troubles need.
            Trouble::StillSteaming if seen.at_printer => false,
            _ if self.is_the_printers() && seen.at_printer => true,
            _ => seen.step.map_or(row.after.is_empty(), after),
        }
    }

    /// Whether it was done to the garment by whoever sprayed it: doing that again means to spray again.
    pub fn is_of_spray(self) -> bool {
        matches!(self, Trouble::Runs | Trouble::MissedSpot)
    }

    /// Whether only a print can have it.
    pub fn is_the_printers(self) -> bool {
        matches!(self, Trouble::Banding | Trouble::Smear | Trouble::Crooked | Trouble::Misprint)
    }

    /// Whether the cover sheet would not come off as it should.
    pub fn is_of_sheet(self) -> bool {
        matches!(self, Trouble::SheetClung | Trouble::SheetStuck)
    }

    /// The name as the board says it.
    pub fn words(self) -> &'static str {
        self.row().words
    }
}

impl fmt::Display for Trouble {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.pad(self.words())
    }
}

/// What becomes of the garment.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize)]
#[serde(rename_all = "kebab-case")]
pub enum Outcome {
    GoOn,
    StepAgain,
    SecondQuality,
    Out,
    /// Nobody said. Never taken for good.
    NotNoted,
}

impl Outcome {
    /// What can be chosen, in the order of the list.
    pub const CHOICES: [Outcome; 4] =
        [Outcome::GoOn, Outcome::StepAgain, Outcome::SecondQuality, Outcome::Out];

    /// The name as the board says it.
    pub fn words(self) -> &'static str {
        match self {
            Outcome::GoOn => "go on",
            Outcome::StepAgain => "do the step again",
            Outcome::SecondQuality => "second quality",
            Outcome::Out => "a reject",
            Outcome::NotNoted => "not noted",
        }
    }
}
