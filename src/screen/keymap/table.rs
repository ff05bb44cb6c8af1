//! What keys are for: every deed once, with its keys, its place in the lists of the keypad and its words.

use crate::shop::facts::ids::PressNo;

/// What a key is for.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum Deed {
    Press(PressNo),
    Sprayed,
    Printed,
    SteamStopped,
    CleanSheet,
    SwapSheet,
    NewSheet,
    Acts,
    TakeOrder,
    ChangeOrder,
    CountBlanks,
    TakePart,
    Undo,
    Trouble,
    Store,
    Count,
    Pick,
    NextCandidate,
    NextPress,
    CorrectTime,
    SetDial,
    OutOfUse,
    Weigh,
    Trial,
    Probe,
    Pacing,
    Reasons,
    Stack,
    LookUp,
    Labels,
    Lot,
    Fill,
    Flushed,
    Morning,
    People,
    Quiet,
    Yes,
    No,
    NotSeen,
    NextScreen,
    Bench,
    Pace,
    Shelf,
    Coat,
    Past,
    Help,
    Repaint,
    Leave,
    Next,
}

/// A list of the keypad: where a deed stands that none of the sixteen keys does by itself.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum List {
    /// What `+` opens.
    Acts,
    /// What `.` opens from there.
    More,
    /// What `.` opens on the Bench, beside what is wrong.
    Trouble,
    /// What `+` opens from `More`, beside the orders.
    Change,
}

/// A deed with the name that the station's profile calls it by, its default keys, a short word for the footer and a
/// sentence for the help.
pub struct Entry {
    pub deed: Deed,
    pub name: String,
    pub keys: &'static [&'static str],
    /// The list of the keypad that it stands on, and its key there.
    pub listed: Option<(List, &'static str)>,
    pub word: &'static str,
    pub says: &'static str,
}

type Row = (
    Deed,
    &'static str,
    &'static [&'static str],
    Option<(List, &'static str)>,
    &'static str,
    &'static str,
);

const PRESS_KEYS: [&[&str]; 9] = [
    &["1", "End"],
    &["2", "Down"],
    &["3", "PageDown"],
    &["4", "Left"],
    &["5", "g"],
    &["6", "Right"],
    &["7", "Home"],
    &["8", "Up"],
    &["9", "PageUp"],
];

const fn acts(key: &'static str) -> Option<(List, &'static str)> {
    Some((List::Acts, key))
}

const fn more(key: &'static str) -> Option<(List, &'static str)> {
    Some((List::More, key))
}

const fn change(key: &'static str) -> Option<(List, &'static str)> {
    Some((List::Change, key))
}

const fn trouble(key: &'static str) -> Option<(List, &'static str)> {
    Some((List::Trouble, key))
}

#[rustfmt::skip]
const ROWS: &[Row] = &[
    (Deed::Sprayed, "sprayed", &["Enter"], None, "sprayed",
        "The longest waiting garment is sprayed and rolled"),
    (Deed::Printed, "printed", &["0", "Insert"], None, "printed",
        "The longest waiting garment is printed"),
    (Deed::SteamStopped, "steam-stopped", &["*"], None, "steam",
        "The steam of the drying press has stopped. In a form or list: * and a digit works a press, * Enter is the steam, * - undoes, * . leaves"),
    (Deed::CleanSheet, "clean-sheet", &["/"], None, "wiped",
        "The most used sheet is wiped: both sides, cold, away from the press"),
    (Deed::Undo, "undo", &["-"], None, "undo",
        "Take back the last act"),
    (Deed::Trouble, "trouble", &[".", "Delete"], None, "trouble",
        "Something is wrong with the last garment, or the picked one"),
    (Deed::Acts, "acts", &["+"], None, "list",
        "All other acts, as the keys of a keypad lie"),
    (Deed::TakeOrder, "take-order", &["F6"], acts("0"), "new order",
        "Take in an order"),
    (Deed::ChangeOrder, "change-order", &["e"], more("+"), "change an order",
        "Change an order's rank, due time or count, or cancel it"),
    (Deed::SwapSheet, "swap-sheet", &["w"], acts("6"), "swap",
        "A clean, cold sheet is laid in; the used one waits for its wipe"),
    (Deed::Store, "store", &["s"], acts("4"), "store",
        "Dry garments go to the shelf instead of the printer"),
    (Deed::Count, "count", &["n"], acts("8"), "how many",
        "A number, then Enter sprayed, . printed or - to the shelf, takes that many"),
    (Deed::Pick, "pick", &[], acts("7"), "pick a garment",
        "Pick a garment for an open press from all that wait"),
    (Deed::NextCandidate, "next-candidate", &["c"], acts("7"), "choose",
        "Step through the garments for an open press"),
    (Deed::NextPress, "next-press", &["v"], acts("7"), "for press",
        "Choose for the next open press"),
    (Deed::Weigh, "weigh", &["m"], acts("9"), "weigh",
        "A garment is on the scale: before its spray, or after"),
    (Deed::Trial, "trial", &["f"], change("."), "trial",
        "A trial finds a recipe's window of coats: begin it, weigh, grade, sign"),
    (Deed::Yes, "yes", &["y"], acts("1"), "yes",
        "Answer the question on its line"),
    (Deed::No, "no", &["x"], acts("2"), "no",
        "Answer the question on its line"),
    (Deed::NotSeen, "not-seen", &["u"], acts("3"), "not seen",
        "Answer the question on its line"),
    (Deed::Quiet, "quiet", &["z"], acts("-"), "quiet",
        "Quiet the sounder until something new is wrong"),
    (Deed::NextScreen, "next-screen", &["Tab"], acts("Enter"), "next screen",
        "The next pane"),
    (Deed::SetDial, "set-dial", &["d"], more("7"), "dial",
        "A press was set to another heat or pressure, and settled"),
    (Deed::OutOfUse, "out-of-use", &["o"], more("8"), "out of use",
        "Take a press out of use, or back"),
    (Deed::Probe, "probe", &["h"], more("9"), "probed",
        "A platen was probed, or strips of paper were laid under it"),
    (Deed::Stack, "stack", &["k"], more("4"), "stack",
        "The stack that is stored on, or one that was shifted"),
    (Deed::People, "people", &["b"], more("6"), "initials, shift",
        "Initials: who is at the bench; closing the shift"),
    (Deed::Morning, "morning", &["F7"], more("5"), "morning",
        "The morning's list: presses on, probed, white ink, nozzles, humidity"),
    (Deed::Fill, "fill", &["i"], more("1"), "fill",
        "The sprayer is filled: a checklist"),
    (Deed::Flushed, "flushed", &["a"], more("2"), "flushed",
        "The sprayer was emptied and flushed"),
    (Deed::Lot, "lot", &["j"], more("3"), "lot",
        "A bottle's lot is registered from its label"),
    (Deed::Pacing, "pacing", &["p"], more("Enter"), "pacing",
        "Show how fast to move the hand, stroke by stroke"),
    (Deed::Reasons, "reasons", &["r"], trouble("0"), "why it clings",
        "Why a sheet clings: the causes with their evidence"),
    (Deed::CorrectTime, "correct-time", &["t"], trouble("-"), "it was earlier",
        "Correct the last time: the act was before its key, or nobody timed it"),
    (Deed::LookUp, "look-up", &["l"], trouble("Enter"), "look up",
        "A garment by its tag: its story, treat again, wash sample, brought back"),
    (Deed::Labels, "labels", &["F10"], change("0"), "labels",
        "Print the labels of an order, or of one garment"),
    (Deed::CountBlanks, "count-blanks", &["F11"], change("-"), "blanks",
        "A box of blanks was counted: what came of each colour and size"),
    (Deed::TakePart, "take-part", &[], change("Enter"), "of a shared order",
        "Take garments of an order that all stations share, to make them here"),
    (Deed::NewSheet, "new-sheet", &["F8"], more("."), "new sheet",
        "A worn, curled or creased PTFE sheet is thrown away for a new one: asks which, + records it"),
    (Deed::Bench, "bench", &["F1"], None, "bench",
        "The presses, the queues, the next act"),
    (Deed::Pace, "pace", &["F2"], None, "pace",
        "How many, how fast"),
    (Deed::Shelf, "shelf", &["F3"], None, "shelf",
        "What is stored"),
    (Deed::Coat, "coat", &["F4"], None, "coat",
        "How heavy the coats are, and how even the platens"),
    (Deed::Past, "past", &["F5"], None, "past",
        "What happened"),
    (Deed::Help, "help", &["?"], more("0"), "help",
        "This page"),
    (Deed::Repaint, "repaint", &["ctrl-l"], acts("+"), "redraw",
        "Redraw the whole screen"),
    (Deed::Next, "next", &["F12"], acts("5"), "next act",
        "The foot switch: does what NEXT says in big words; never submits, answers or undoes"),
    (Deed::Leave, "leave", &["q", "ctrl-c"], more("-"), "leave",
        "Leave the board; asks first"),
];

/// Every deed, in the order of the help.
pub fn table() -> impl Iterator<Item = Entry> {
    let presses = (1u8..=9).zip(PRESS_KEYS).map(|(n, keys)| Entry {
        deed: Deed::Press(PressNo(n)),
        name: format!("shut-or-open-{n}"),
        keys,
        listed: None,
        word: "press",
        says: "Shut that press on the garment named under it, or open it",
    });
    let rest = ROWS.iter().map(|(deed, name, keys, listed, word, says)| Entry {
        deed: *deed,
        name: (*name).to_owned(),
        keys,
        listed: *listed,
        word,
        says,
    });
    presses.chain(rest)
}
