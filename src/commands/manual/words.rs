//! The page of words: what the program says, and what is stored.

use super::page::{Entry, Page};
use crate::shop::facts::fact::Fact;
use crate::shop::facts::trouble::Trouble;

/// Every word that has a sense of its own here.
pub fn page() -> Page {
    let mut page = Page::new("words", 7, "what the words of the board mean");
    page.heading("At the bench");
    for (word, says) in WORDS {
        page.entry(Entry::new(word, says));
    }
    page.heading("Troubles");
    page.text("Their keys, likely causes and remedies; common practice, no source.");
    for trouble in Trouble::ALL {
        let row = trouble.row();
        let becomes: Vec<&str> = row.becomes.iter().map(|outcome| outcome.words()).collect();
        let text = format!(
            "Key . {}{}. Causes: {}. What to do: {}. The garment: {}.",
            if row.more { "+ " } else { "" },
            row.digit,
            row.causes,
            row.remedy,
            becomes.join(", ")
        );
        page.entry(Entry::new(row.words, &text));
    }
    page.heading("What stands in red above the panes");
    for (words, says) in BANNERS {
        page.entry(Entry::new(words, says));
    }
    page.heading("Kinds of events");
    page.text(
        "What `dwell past --json` and the table events of the journal call what happened. A stored name never changes its \
         sense.",
    );
    for (kind, says) in EVENTS {
        page.entry(Entry::new(kind, says));
    }
    page
}

const WORDS: &[(&str, &str)] = &[
    ("pre-press", "The press before the spray: it drives out damp and lays the fibres."),
    ("spray", "Pretreatment fluid goes onto the garment, by hand or machine; then it is rolled."),
    ("dry", "The press that boils the water of the fluid off, under a cover sheet."),
    ("print", "The printer lays the ink on. Before it somebody looks at the garment."),
    ("cure", "The press that sets the ink."),
    ("tag", "What a garment is called: station and order, then its number in the order, as A1-04."),
    (
        "act",
        "What one key records. Undo takes back a whole act; the last 64 can be taken back, the last first.",
    ),
    ("coat", "Pretreatment fluid on the cloth, in grams on an area, counted under the print."),
    (
        "window",
        "Between which weights a coat holds: the recipe's `coat`. It is unconfirmed until the recipe says who confirmed it.",
    ),
    (
        "trial",
        "Eight to twenty-four garments of one kind, sprayed with coats across the window, graded after the cure and after the wash: it finds the window's edges. It is of one garment, fluid, dilution, cure and eye, and says nothing of others.",
    ),
    (
        "underbase",
        "White beneath the colours, where some of the artwork is lighter than the garment or has a brighter channel.",
    ),
    ("cover", "What lies between platen and garment: a PTFE sheet, or release paper."),
    (
        "wipe",
        "Both sides of a sheet, cold, away from the press. Wiping alcohol burns, and its vapour is heavier than air.",
    ),
    ("swap", "A clean, cold sheet is laid in; the used one waits for its wipe."),
    ("dial", "What a press shows of its heat. The platen may differ: probe it."),
    ("probe", "To measure a platen at nine places."),
    ("steam", "Its last second tells of the coat: heavy coats steam longer. `*` notes it."),
    (
        "held",
        "A garment with a measured fault: its dry was too short or too long, or its last weight lies outside the window. It is named before it is printed; nothing stops.",
    ),
    (
        "mend",
        "To bring a coat inside its window before it is dried: one light pass more, or blotting and hanging.",
    ),
    ("past target", "Longer in the press than is aimed for, not yet over the longest time."),
    ("late", "Opened after the recipe's longest time."),
    ("early", "Opened before the recipe's shortest time."),
    ("reject", "A garment that is lost to its order."),
    ("second quality", "A print that is sold cheaper."),
    ("redo", "A step that is done again."),
    (
        "first pass",
        "Came out in first quality without a trouble, a redo or a measured fault that was not mended.",
    ),
    ("blank", "A garment on which nothing has been done."),
    ("shelf", "Where dry garments are stored, each with the day it is good for and its last day."),
    (
        "stack",
        "Garments on the shelf one on another: treated side up, paper, the next one treated side down.",
    ),
    ("lot", "What stands on a bottle's label, registered once."),
    ("fill", "The sprayer is filled, by a checklist."),
    ("flush", "The sprayer is emptied and rinsed."),
    ("strip", "Paper pulled from under a corner of the platen tells how evenly it presses."),
    ("pacing", "The screen that shows how fast to move the hand, stroke by stroke."),
    ("plain rule", "What a press is offered where no plan is better: see `dwell plan`."),
    (
        "plan",
        "The order of the next garments that ends sooner than the plain rule. Nobody is bound to it.",
    ),
    ("binds", "What the work waits for: printer, operator or presses."),
    ("out of use", "A press that heats up, is cleaned or is broken."),
    (
        "wash test",
        "A sample is washed and compared: a grade of the grey scale, 1 to 5 in halves. No conformity is claimed.",
    ),
    (
        "shift",
        "From the first initials to its closing; where nobody signs in, until a pause of five hours.",
    ),
    ("Bench", "The pane of presses, queues and the act that comes next."),
    ("Pace", "The pane of how many, how fast, and when orders will be ready."),
    ("Shelf", "The pane of what is stored, until when."),
    ("Coat", "The pane of weights, steam and platens."),
    ("Past", "The pane of what happened."),
];

const BANNERS: &[(&str, &str)] = &[
    (
        "NOT SAVED",
        "Go on working: events are kept in memory and written, in their order, once the disk takes them again. Leaving then asks, writes them to a rescue file, and `e` puts them on a stick besides; the next start takes that in.",
    ),
    (
        "EVENTS ARE GONE",
        "The journal is shorter than it was. Compare presses, queues and shelf with what lies there. What was found is kept as journal-short-*; `dwell restore` puts a backup in place.",
    ),
    (
        "RESCUE FILE NOT TAKEN IN",
        "It is kept under the name that is said: have somebody look at it.",
    ),
    ("PROFILE NOT READ, the last good one stays", "Mend the file at the line that is named."),
    ("THE CLOCK IS WRONG", "Set the machine's clock: timers are right, days are not."),
    ("OTHERS MAY WRITE IN", "Close the data directory with the command that is named."),
    (
        "NOT TAKEN",
        "A file in the folder of orders, or some of its rows: the file's name, the line and the reason are said. Mend it where it lies, and what was missing is taken a few seconds after it is saved; or take the file away. `dwell take FILE --preview` shows all its lines.",
    ),
    (
        "NIGHTLY COPY FAILED",
        "The journal goes on, and last night's copy was not made, for the reason that is said. Where nothing is mounted put the stick or the second disk in, then `systemctl start dwell-nightly`.",
    ),
    ("NO BOARD WRITES HERE", "In a view: what it shows is as of the moment that is said."),
    ("THE JOURNAL IS GONE", "In a view: what it shows is as of the moment that is said."),
];

const EVENTS: &[(&str, &str)] = &[
    ("station-set", "The station's profile came into force."),
    ("recipe-kept", "A recipe came into force under its name; its text is stored once."),
    ("order-taken", "An order was taken in."),
    ("underbase-decided", "Somebody said whether a line's artwork needs an underbase."),
    ("blank-added", "A blank was taken in to replace a lost garment."),
    ("blank-given-up", "There is no blank to replace a lost garment."),
    ("blanks-counted", "A box of blanks for an order's line was counted."),
    ("order-changed", "An order's rank, due time or count was changed."),
    ("change-heard", "Another station's word on a shared order counts from now on."),
    ("order-cancelled", "An order was cancelled, or fewer garments are wanted of a line."),
    ("blank-returned", "A garment of a cancelled order went back to the blanks."),
    (
        "received",
        "A garment that another station kept was taken over here, with what is known of it; nobody takes that back.",
    ),
    ("left", "Another station took a garment over, as was heard from the hub."),
    (
        "settled",
        "A garment was said to be at several stations: somebody looked, and said where it is.",
    ),
    ("press-shut", "A press was shut on a garment."),
    ("press-opened", "A press was opened and its garment taken out."),
    ("steam-stopped", "The steam of a drying press stopped."),
    ("steam-said", "Somebody said whether it still steamed."),
    ("handwork-done", "A garment was sprayed and rolled."),
    ("printed", "A garment was printed."),
    ("held-shown", "A garment was printed although a measured fault of it was shown."),
    ("stored", "A garment was laid on the shelf."),
    ("stack-named", "Another stack is stored on."),
    ("stack-disturbed", "A stack on the shelf was shifted."),
    ("renewed", "A garment is to be treated again."),
    ("lot-registered", "A bottle's lot was registered from its label."),
    ("sprayer-filled", "The sprayer was filled."),
    ("sprayer-flushed", "The sprayer was emptied and flushed."),
    ("fan-said", "Somebody said whether the extraction fan runs."),
    (
        "dates-said",
        "Somebody said which stands first in the dates of the shop's tables: day or month.",
    ),
    ("signed-in", "Somebody came to the bench."),
    ("signed-out", "Somebody left the bench."),
    ("shift-closed", "The shift was closed."),
    ("wash-sampled", "A garment was kept as a sample for a wash test."),
    ("washed", "The result of a wash test came in."),
    ("returned", "A customer brought a garment back: its order, its size or tag, what is wrong."),
    ("weighed", "A garment was weighed before its spray."),
    ("coat-weighed", "A garment was weighed with its coat on."),
    ("coat-mended", "The weight before was after mending the coat."),
    ("weighing-declined", "A garment that was to be weighed was not."),
    (
        "trial-begun",
        "A trial of a recipe's window began: the limit grade, the washes, the lots in the sprayer.",
    ),
    ("trial-weighed", "A garment of the trial was weighed, dry."),
    ("trial-sampled", "A garment of the trial was sprayed and weighed: aim, weights, coat."),
    (
        "trial-graded",
        "A garment of the trial was graded by eye, after the cure or after the wash; null where it was lost.",
    ),
    ("trial-answered", "What the trial knew when a round was graded, and what it aims at next."),
    ("trial-ended", "A trial was ended without a window."),
    (
        "window-signed",
        "Somebody signed the window that a trial found: it is the recipe's until its file changes the window, or what \
         it stands on: fluid, dilution, cloth, how it is sprayed, dry, cure.",
    ),
    ("sheet-wiped", "A sheet was wiped, both sides."),
    ("sheet-changed", "A sheet of release paper was changed for a new one."),
    ("sheet-renewed", "A worn, curled or creased PTFE sheet was replaced by a new one."),
    ("sheet-swapped", "A press's sheet was set aside and a clean one laid in."),
    ("press-out-of-use", "A press was taken out of use."),
    ("press-in-use", "A press is in use again."),
    ("dial-set", "A press was set to another heat or pressure, and settled."),
    (
        "heat-said",
        "Somebody said of a press that it is on, turned to another heat, hot by its light, or used as it is.",
    ),
    ("morning-said", "Something of the morning's list was done, or skipped."),
    ("sample-said", "Somebody looked at the first garment of an order: approved or not."),
    ("platen-checked", "A platen was probed."),
    ("pressure-checked", "Strips of paper were pulled from under a platen's corners."),
    ("trouble", "Something was wrong with a garment, and what became of it."),
    ("time-corrected", "The last act was earlier than its key, or is not timed."),
    ("caution-read", "Somebody read a caution."),
    ("undone", "An act was taken back."),
    ("events-lost", "The journal was found shorter than it was."),
    (
        "numbers-taken",
        "The hub has orders of this station with higher numbers, which are no part of its history any more: the next order comes behind them.",
    ),
];

/// A kind of event that is not told of does not compile.
const _: () = {
    let mut n = 0;
    while n < Fact::KINDS.len() {
        assert!(
            n < EVENTS.len() && is_same(EVENTS[n].0, Fact::KINDS[n]),
            "EVENTS lacks a kind, or has another order"
        );
        n += 1;
    }
    assert!(n == EVENTS.len(), "EVENTS has more kinds than there are");
};

const fn is_same(one: &str, other: &str) -> bool {
    let (one, other) = (one.as_bytes(), other.as_bytes());
    let mut n = 0;
    while n < one.len() && n < other.len() && one[n] == other[n] {
        n += 1;
    }
    n == one.len() && n == other.len()
}
