//! The page of a day: how it goes at the station, told in the order of its hours.

use super::page::Page;

/// How a day goes, and what to do when it goes otherwise.
pub fn page() -> Page {
    let mut page = Page::new("shop", 7, "how a day goes at the station");
    page.text(
        "The board is no safety device: keep each press's own timer and buzzer on. The data sheets of fluid, ink and alcohol, \
         local codes and whoever is licensed to judge come before anything that stands here.",
    );
    page.told(DAY);
    page
}

type Told = (&'static str, &'static str);

/// Whatever a key does stands by its words; the page of keys has the keys in force.
const DAY: &[(&str, &[Told])] = &[
    (
        "Who is new",
        &[
            (
                "the first day",
                "On the board `+ . 0`, then `1`: one garment is led through step by step with real keys, on a board of practice. \
                 Nothing that is done there counts; leaving it brings the own board back. It is not shown while a press is shut or a \
                 garment waits wet.",
            ),
            (
                "a hand for the sprayer",
                "`dwell learn` goes through it line by line: water into a cup, water on cardboard, a rag shirt, then fluid; one change \
                 at a time. It shows how far the tries lie apart, and no score.",
            ),
            (
                "a shift without harm",
                "`dwell rehearse --me` makes a shop up whose keys are yours. What was opened early or late, and what was pressed under \
                 a sheet past its wipe, is said at the end.",
            ),
        ],
    ),
    (
        "In the morning",
        &[
            (
                "initials",
                "`+ . 6`: who is at the bench. A shift begins with the first initials; it is what a report counts from. Initials that \
                 come late hide nothing: what was done before belongs to the shift too.",
            ),
            (
                "the morning's list",
                "`+ . 5`, with the checks that the profile's `morning` lists: presses on and soaked, a platen probed, white ink stirred, nozzles looked \
                 at, how damp the room is. A point is one key, the damp two figures and Enter; none is a must, and NEXT says how many are left.",
            ),
            (
                "the fan and the sprayer",
                "The board asks once a shift whether the fan at the booth runs; while somebody has said no, NEXT says FAN ON and not \
                 SPRAY. `+ . 1` is the list for filling the sprayer: the lot, its label read, the bottle shaken, grams.",
            ),
        ],
    ),
    (
        "All day",
        &[
            (
                "the act that is next",
                "The big words below the presses name one act: LOAD 1, SPRAY A3-04, PRINT A3-02, WIPE 5. Do it, then strike its key. \
                 What has waited wet for over half of what it may goes first; then it goes by rank, by when the order is due, by what is \
                 wet, and by what waits longest.",
            ),
            (
                "a press",
                "Its own figure shuts it and opens it: strike it as the press shuts, and as it opens. Green counts down, white on blue \
                 is to be opened, white on red between marks is over its longest time.",
            ),
            (
                "steam",
                "`*` when a drying press stops steaming. Where somebody weighs now and then, the board learns what that second says of \
                 the coat.",
            ),
            (
                "the scale",
                "`+ 9` before the spray and after it, where NEXT asks for it. What the scale shows is judged under the print: inside, heavy \
                 or light, and what mends it.",
            ),
            (
                "the sheet",
                "After so many presses under fluid its wipe is called for. Both sides, cold, away from the press, the can shut: wiping \
                 alcohol and its vapour burn. `/` when it is done; `+ 6` lays in a clean one at once.",
            ),
            (
                "something is wrong",
                "`.` with the last garment, or with the one that was looked up: stained, holed, scorched, sprayed badly, misprinted, missing. \
                 A trouble has the same figure at every step, and is followed by what becomes of the garment.",
            ),
            (
                "it was struck wrongly",
                "`-` takes the last act back, one by one up to 64. `. -` says that the last act was so many seconds earlier than its key. \
                 An act further back is chosen on the Past screen and corrected there.",
            ),
            (
                "an order",
                "`+ 0` takes one in by hand; others come as files by `dwell take`, from a spreadsheet too, or \
                 are laid in the folder that the profile names under `tables`. `+ . +` changes when it is due, its \
                 rank and its count, or cancels it: it asks what becomes of garments that are under way.",
            ),
            (
                "the shelf",
                "`+ 4` stores dry garments; the Shelf screen has each with its last day. One that was stored is pressed once more before it \
                 is printed, and the oldest goes first.",
            ),
        ],
    ),
    (
        "In the evening",
        &[
            (
                "the sprayer is flushed",
                "`+ . 2` when it was emptied and flushed; NEXT asks for it where fluid has stood for long.",
            ),
            (
                "the shift is closed",
                "`+ . 6`, then `+`: it names what must not be left, such as wet garments, prints without their cure, a press that is \
                 shut; `9` closes it. `dwell report` tells what the shift came to, and what held it back; `--format html --out FILE` makes a page to print.",
            ),
        ],
    ),
    (
        "When it goes otherwise",
        &[
            (
                "the power was gone",
                "What was shown as saved is there. Start the board again, or wait: where `dwell setup` has set it up it comes by itself. A \
                 press that was shut says CHECK, since nobody knows how long it was hot: look at its garment, open it, strike its figure.",
            ),
            (
                "NOT SAVED",
                "The disk does not take what is struck. The timers go on, and so can the work: what waits is kept and written as soon as it \
                 can be. Do not switch the machine off; `dwell help \"NOT SAVED\"` has the rest.",
            ),
            (
                "a key does nothing",
                "The line above the last two says why; where a form is open, the form does. The keypad's NUM LOCK may be off: the bar says so. A form that is open takes the \
                 figures: `*` and a figure works a press from there, `* .` leaves it.",
            ),
            (
                "a garment came back from a customer",
                "Look its tag up, or its order and size: what is known of its coat, its steam, its press, its lot and its sheet, and which \
                 others are at risk. `dwell trace --lot LOT --csv` is the list for whoever calls the customers.",
            ),
        ],
    ),
];
