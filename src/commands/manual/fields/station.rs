//! The fields of `station.ron`.

use super::Absent::{Is, Refused};
use super::Takes::{List, Parts, Quantity, Words};
use super::{fields, within};
use crate::figures::units::bounds;
use crate::figures::units::{Centimetres, Grams, GramsPerSecond, HeatSpan, Share, Span};
use crate::figures::units::{Rectangle, Temperature, Typed};
use crate::shop::facts::station::{
    Break, Costs, HandTimes, HubProfile, Instrument, LabelPrinter, PlatenRule, PressProfile,
    SheetRule, Sprayer, Station, Tables,
};

const HAND: super::Takes = Quantity(|example| within::<Span>(example, bounds::HAND));
const ALTITUDE: super::Takes =
    Quantity(|example| within::<Typed<Centimetres>>(example, bounds::ALTITUDE));
const FLOW: super::Takes =
    Quantity(|example| within::<Typed<GramsPerSecond>>(example, bounds::FLOW));
const FAN: super::Takes = Quantity(|example| within::<Typed<Centimetres>>(example, bounds::FAN));
const PAST: super::Takes = Quantity(|example| within::<Typed<Centimetres>>(example, bounds::PAST));
const FILL: super::Takes = Quantity(|example| within::<Typed<Grams>>(example, bounds::FILL));

fields! { STATION of Station {
    id: "\"a\"", Is("\"a\""), Words("one to three letters"),
        "Short name of the station, the first part of every tag.";
    name: "\"North bench\"", Refused, Words("a text, at most 40 letters"),
        "What people call the station.";
    presses: "", Refused, List(PRESS),
        "The heat presses, 1 to 9, in the order of their digit keys.";
    printers: "1", Is("1"), Words("a whole number, 1 to 9"),
        "How many printers there are, for plans.";
    sheet: "", Refused, Parts(SHEET),
        "When a cover sheet wants its wipe. Ten to twelve presses are common practice, no source.";
    sounder: "[\"/usr/bin/aplay\", \"-q\", \"/usr/local/share/bell.wav\"]", Is("None"),
        Words("a program and its arguments, run without a shell; None: the terminal's bell"),
        "What makes a sound.";
    told: "[\"/usr/local/bin/tell-the-owner\"]", Is("None"),
        Words("a program and its arguments, run without a shell; None: nobody is told. After a change `dwell setup` again: it gives the unit its network"),
        "What tells somebody who is not at the board. Behind its own arguments it is given a word (order-late, press-stopped, shift-closed) and a sentence, for a closed shift also the file of its report, which goes once the program has ended. It may take a minute, ends with the board, and whatever it does stops no key. A view and a rehearsal run none.";
    tables: "", Is("None"), Parts(TABLES),
        "How `dwell take` and the board read tables of orders. None: by the usual words.";
    labels: "", Is("None"), Parts(LABELS),
        "What prints labels. None: they are drawn into files alone.";
    cards: "true", Is("false"), Words("true or false"),
        "Whether a scanned card with the code DO-NAME does what NAME says in `dwell help keys`. `dwell labels --cards` makes the cards. No other scan does anything but choose or fill in.";
    scale: "", Is("None"), Parts(SCALE),
        "The scale, where it has a cable: what it shows goes into the open field for a weight, and is taken once it is steady. None: a weight is typed, by hands or by the scale.";
    probe: "", Is("None"), Parts(PROBE),
        "The probe for platens, where it has a cable: what it shows goes into the open field for a reading, once it is steady. None: it is typed.";
    colours: "{\"navy\": \"#1b2440\", \"sand\": \"#d9ccb2\"}",
        Is("{\"black\": \"#16181d\", \"white\": \"#ffffff\", \"navy\": \"#1b2440\", \"grey\": \"#8f9398\", \"charcoal\": \"#3c4045\", \"red\": \"#b31f2a\", \"maroon\": \"#5c1e2c\", \"royal\": \"#1f4aa0\", \"light blue\": \"#a9c5e2\", \"forest\": \"#1e3c2b\", \"sand\": \"#d9ccb2\", \"pink\": \"#e9b6c6\", \"purple\": \"#482d69\", \"yellow\": \"#f1c440\"}"),
        Words("names, each with its colour \"#rrggbb\""),
        "Colours of garments by the names that hands type.";
    tender: "{\"sand\": Scorches}", Is("{}"), Words("names of colours, each with Scorches, Marks or Migrates"),
        "Colours that heat harms: said, with what helps, when the first of a line is laid in.";
    sizes: "[\"XS\", \"S\", \"M\", \"L\", \"XL\"]",
        Is("[\"S\", \"M\", \"L\", \"XL\", \"XXL\", \"XXXL\"]"), Words("1 to 20 different size marks"),
        "The sizes of a row of counts, each at its place: 2-4-3 is 2 S, 4 M and 3 L.";
    keys: "{\"undo\": [\"-\", \"F9\"]}", Is("{}"),
        Words("names of deeds, each with its keys; see `dwell help keys`"),
        "Keys that differ from the usual ones. A foot switch is a keyboard too.";
    wet_garments: "HungApart", Is("Touching"), Words("Touching or HungApart"),
        "How sprayed garments wait for the dryer: touching ones spoil sooner.";
    scanner_prefix: "'~'", Is("None"),
        Words("one ASCII character that is no key; None: scans are told by their speed"),
        "What the barcode scanner sends before a tag.";
    time_zone: "\"Europe/Lisbon\"", Is("None"),
        Words("a name of the IANA database; None: the machine's"),
        "The shop's time zone, in which its days are counted.";
    altitude: "\"0 m\"", Is("\"0 cm\""), ALTITUDE,
        "Height above the sea: water boils earlier up there.";
    sprayer: "", Is("None"), Parts(SPRAYER),
        "The hand sprayer, for the pacing screen and the account of fluid. None: no pace is shown.";
    platen: "", Is("(tolerance: \"5 C\", check_every: \"7days\")"), Parts(PLATEN),
        "How far a platen may be off its dial, and how often it is probed. Common practice, no source.";
    hands: "", Is("()"), Parts(HANDS),
        "What hands and printer take, for plans, until the board has learned it. From memory.";
    breaks: "", Is("[]"), List(BREAK),
        "When nobody works, every day, for plans.";
    morning: "[PressesOn, Probed, WhiteAgitated, NozzleCheck, Humidity, FirstSample]", Is("[]"),
        Words("some of PressesOn, Probed, WhiteAgitated, NozzleCheck, Humidity, FirstSample"),
        "What is looked at before a shift's first garment, on a list of its own. Empty: nothing is asked.";
    soak: "\"20min\"", Is("\"20min\""), Quantity(|example| within::<Span>(example, bounds::SOAK)),
        "How long a press that was switched on soaks after its light. Until then it is not offered. From memory.";
    hours: "[\"mon-fri 08:00-12:00 12:30-17:00\", \"sat 08:00-12:00\", \"2026-12-25 closed\"]", Is("[]"),
        Words("days and times, each line a text; a date goes before the days of the week; [] is always"),
        "When somebody works, for plans and promises, by the station's clock.";
    costs: "", Is("()"), Parts(COSTS),
        "What things cost, for `dwell report`: what held the work back is told in money too. Counted when it is read, by the prices of that day.";
    money: "\"EUR\"", Is("\"\""), Words("a text, at most 8 letters"),
        "What the shop's money is called; it stands behind each amount.";
    hub: "", Is("None"), Parts(HUB),
        "Where the shop's stations meet: `dwell hub add-station` prints it. None: this station is by itself. The board never waits for it: what is saved here is sent when it can be. After a change `dwell setup` again: it gives the unit its network.";
}}

fields! { HUB of HubProfile {
    address: "\"postgres://127.0.0.1:5432/dwell\"", Refused,
        Words("postgres://HOST:PORT/DATABASE, several hosts with commas between; ?host=/run/postgresql in place of a host for a local socket; never a password"),
        "The PostgreSQL server, and its database.";
    role: "\"dwell_b\"", Refused, Words("a role of that server"),
        "Whose rights the station has there: to add to its own history, and to read.";
    password_file: "\"/etc/dwell/hub-password\"", Refused, Words("a file's whole path"),
        "The file with that role's password, of mode 0600 and of the board's user: others who may read it are refused.";
    ca: "Some(\"/etc/dwell/ca.pem\")", Is("None"),
        Words("a PEM file's whole path; None only for a local socket and for 127.0.0.1"),
        "The authority of the server's certificate, the shop's own. The certificate must be for the host that the address names.";
}}

fields! { PRESS of PressProfile {
    name: "\"Left\"", Refused, Words("a text, at most 16 letters"),
        "What people call the press.";
    dial: "\"340 F\"", Refused, Quantity(|example| within::<Temperature>(example, bounds::PLATE)),
        "What its dial shows. The platen itself may differ: probe it.";
    pressure: "Medium", Is("Medium"), Words("Light, Medium or Firm"),
        "What it is set to.";
    size: "\"16 in x 20 in\"", Is("None"),
        Quantity(|example| within::<Rectangle>(example, bounds::SIDE)),
        "Its platen, each side. None: everything fits.";
    uses: "[\"pre-press\", \"dry\", \"cure\"]", Is("[\"pre-press\", \"dry\", \"cure\"]"),
        Words("some of \"pre-press\", \"dry\", \"cure\""),
        "The steps that it is used for.";
    opens_itself: "true", Is("false"), Words("true or false"),
        "Whether it opens by itself when its time is up.";
}}

fields! { SHEET of SheetRule {
    wipe_at: "10", Refused, Words("a whole number, 1 or more"),
        "Presses under fluid after which a sheet is to be wiped.";
    wipe_by: "12", Refused, Words("a whole number, wipe_at to 1000"),
        "Presses under fluid by which it must be wiped.";
    spare: "1", Is("1"), Words("a whole number"),
        "Clean PTFE sheets that lie ready beside the presses' own.";
    life: "250", Is("300"), Words("a whole number, 1 or more"),
        "Presses of all kinds, from the new sheet that F8 recorded on, after which a PTFE sheet is worn. From memory.";
}}

fields! { SPRAYER of Sprayer {
    flow: "\"1.9 g/s\"", Refused, FLOW,
        "What comes out: catch it for ten seconds and weigh it.";
    fan: "\"6 in\"", Refused, FAN,
        "Width of the fan on the garment, from the usual distance.";
    overlap: "\"30%\"", Is("\"30%\""), Quantity(|example| within::<Share>(example, bounds::OVERLAP)),
        "How much of a fan's width the next stroke covers again.";
    kept: "\"85%\"", Is("\"85%\""), Quantity(|example| within::<Share>(example, bounds::KEPT)),
        "How much of what is aimed at the garment stays on it. From memory: weigh a garment to know.";
    past: "\"2 in\"", Is("\"2 in\""), PAST,
        "How far each stroke runs on past the edge.";
    onto: "Garment", Is("Garment"), Words("Garment, Mask or Board"),
        "What lies past the edge. What runs onto a mask or the board is not on the scale.";
    profile: "Tapered", Is("Tapered"), Words("Tapered or Even"),
        "How the fan's fluid lies across a stroke.";
    holds: "\"600 g\"", Is("None"), FILL,
        "How much fluid it holds. None: nobody has said.";
    flush_every: "\"1day\"", Is("\"1day\""), Quantity(|example| within::<Span>(example, bounds::FLUSHED)),
        "How long fluid may stay in it before it is flushed. From memory: the data sheets say.";
}}

fields! { PLATEN of PlatenRule {
    tolerance: "\"5 C\"", Refused, Quantity(|example| within::<HeatSpan>(example, bounds::TOLERANCE)),
        "How far a platen may be off its dial.";
    check_every: "\"7days\"", Refused, Quantity(|example| within::<Span>(example, bounds::PROBING)),
        "How often it is probed.";
}}

fields! { HANDS of HandTimes {
    load: "\"6s\"", Is("\"6s\""), HAND, "Lay a garment into a press and shut it.";
    unload: "\"6s\"", Is("\"6s\""), HAND, "Open a press and take the garment out.";
    spray: "\"25s\"", Is("\"25s\""), HAND, "Spray a garment.";
    roll: "\"8s\"", Is("\"8s\""), HAND, "Roll the fibres down.";
    print_load: "\"14s\"", Is("\"14s\""), HAND, "Lay a garment into the printer.";
    print: "\"190s\"", Is("\"190s\""), HAND, "The printer prints one.";
    print_unload: "\"10s\"", Is("\"10s\""), HAND, "Take a garment out of the printer.";
    wipe: "\"45s\"", Is("\"45s\""), HAND, "Wipe a sheet.";
    weigh: "\"5s\"", Is("\"5s\""), HAND, "Weigh a garment once.";
    fill: "\"2m\"", Is("\"2m\""), HAND, "Fill the sprayer.";
}}

fields! { BREAK of Break {
    at: "\"12:00\"", Refused, Words("a time of day by the shop's clock"),
        "When the break begins.";
    lasts: "\"30m\"", Refused, Quantity(|example| within::<Span>(example, bounds::BREAK)),
        "How long it is.";
}}

fields! { LABELS of LabelPrinter {
    program: "[\"lp\", \"-d\", \"labels\"]", Refused,
        Words("a program and its arguments, run without a shell; the file's name comes last"),
        "What labels are given to.";
    size: "\"50 mm x 25 mm\"", Is("\"50 mm x 25 mm\""),
        Words("a label's size, 1 cm to 30 cm each way; a4: sheets of 3 x 8 labels, letter: 3 x 10"),
        "The labels that lie in it.";
} }

fields! { TABLES of Tables {
    columns: "{\"Besteller\": \"order\"}", Is("{}"),
        Words("heads, each with one of order, count, size, colour, recipe, art, print, place, due, time, rank"),
        "What the shop writes at the head of a column, and which column that is.";
    recipe: "\"dark-cotton\"", Is("None"), Words("a recipe by its file's name; None: each row names its own"),
        "The recipe of rows that name none.";
    dates: "DayFirst", Is("None"), Words("DayFirst or MonthFirst; None: asked once, where it matters, and kept"),
        "Which stands first in a date such as 12/03/2026.";
    folder: "\"/srv/orders\"", Is("None"), Words("a directory from the root, in which the board's user may write; None: none is watched. After a change `dwell setup` again: it lets the unit reach it"),
        "A folder whose files the board takes by itself, a few seconds after they are whole: tables as `dwell take` reads them (CSV, spreadsheets, JSON) and orders in RON. A file that was taken is moved to the folder taken in it. One of which a row is wrong stays where it is: its other orders are taken, and the board says what is not taken and why until the file is mended or gone. An order that was taken is not taken again; another one under the name of an open order is not taken.";
} }

const PRICE: super::Takes =
    Words("a price with a point, at most 4 digits behind it; None: no price");

fields! { COSTS of Costs {
    blank: "\"3.20\"", Is("None"), PRICE, "An unprinted garment.";
    fluid_kg: "\"24\"", Is("None"), PRICE, "A kilogram of pretreatment fluid as it is sprayed.";
    sheet: "\"4\"", Is("None"), PRICE, "A cover sheet.";
    hour: "\"22\"", Is("None"), PRICE, "An hour of somebody's work.";
    print: "\"0.90\"", Is("None"), PRICE, "The ink of a print.";
    refund: "\"25\"", Is("None"), PRICE, "A garment that a customer brings back.";
    press_hour: "\"1.50\"", Is("None"), PRICE, "An hour of a heat press at work. None: not counted.";
    printer_hour: "\"6\"", Is("None"), PRICE, "An hour of a printer at work. None: not counted.";
    sale: "\"18\"", Is("None"), PRICE,
        "What a finished garment brings. None: an hour that was lost is told in garments alone.";
} }

const LINE: super::Takes =
    Words("a device's file; one below /dev/serial/by-id keeps its name in any socket");
const SPEED: super::Takes = Words(
    "bits a second, as the instrument is set: 300, 600, 1200, 2400, 4800, 9600, 19200, 38400, 57600, 115200 or 230400",
);
const FRAME: super::Takes =
    Words("data bits, parity (N, E, O) and stop bits, as the instrument is set");
const READS: super::Takes = Words(
    "a regular expression for a whole line, with the groups number, unit and, where the line says it, stable",
);
const USUAL: super::Absent =
    Is("\"[^0-9+-]*(?<number>[+-]? *[0-9]+(?:[.,][0-9]+)?) *(?<unit>[A-Za-z°]+)[^0-9]*\"");

fields! { SCALE of Instrument {
    line: "\"/dev/ttyUSB0\"", Refused, LINE, "The serial line that its cable goes into.";
    speed: "9600", Is("9600"), SPEED, "How fast it sends.";
    frame: "\"8N1\"", Is("\"8N1\""), FRAME, "How each character stands on the line.";
    reads: "\"(?:(?<stable>ST)|US),GS,(?<number>[+-] *[0-9.]+)(?<unit>g)\"", USUAL, READS,
        "What its lines of text look like. Without a group named stable a weight is steady once it has stood still for a second.";
    unit: "\"g\"", Is("None"), Words("g, kg, oz or lb; None: each line names its own"),
        "The unit of a number whose line names none.";
} }

fields! { PROBE of Instrument {
    line: "\"/dev/ttyUSB1\"", Refused, LINE, "The serial line that its cable goes into.";
    speed: "9600", Is("9600"), SPEED, "How fast it sends.";
    frame: "\"8N1\"", Is("\"8N1\""), FRAME, "How each character stands on the line.";
    reads: "\"T1: *(?<number>[0-9.]+) *(?<unit>[CF])\"", USUAL, READS,
        "What its lines of text look like. Without a group named stable a reading is steady once it has moved by less than half a degree Celsius for three seconds.";
    unit: "\"F\"", Is("None"), Words("F or C; None: each line names its own"),
        "The unit of a number whose line names none.";
} }
