//! The fields of `recipes/NAME.ron`.

use super::Absent::{Is, Refused};
use super::Takes::{Parts, Quantity, Words};
use super::{fields, within};
use crate::figures::artwork::Limits;
use crate::figures::units::bounds;
use crate::figures::units::{
    Grams, GramsPerSquareMetre, Rectangle, Share, Span, Temperature, Typed,
};
use crate::shop::facts::coat::CoatWindow;
use crate::shop::facts::recipe::{DryStage, Keep, Recipe, Stage};

const HEAT: super::Takes = Quantity(|example| within::<Temperature>(example, bounds::PLATE));
const WET: super::Takes = Quantity(|example| within::<Span>(example, bounds::WET));
const REST: super::Takes = Quantity(|example| within::<Span>(example, bounds::REST));
const WEIGHT: super::Takes =
    Quantity(|example| within::<GramsPerSquareMetre>(example, bounds::COAT));
const COVER: super::Takes = Words("PtfeSheet or ReleasePaper");
const SHAPE: super::Takes = Words("1s to 60s");
const PRESSURE: super::Takes = Words("Light, Medium or Firm");
const SHORTEST: super::Takes = Words("0s to target");
const TARGET: super::Takes = Words("a time over 0s");
const LONGEST: super::Takes = Words("target to 1h");

fields! { RECIPE of Recipe {
    title: "\"Dark cotton\"", Refused, Words("a text, at most 40 letters"),
        "What people call it.";
    underbase: "FromArtwork", Refused, Words("FromArtwork, Always or Never"),
        "What decides whether white goes down first.";
    fluid: "WithUnderbase", Is("WithUnderbase"), Words("WithUnderbase, Always or Never"),
        "What decides whether pretreatment fluid goes on.";
    set_point: "\"340 F\"", Refused, HEAT,
        "Heat of the platen.";
    pressure: "Medium", Is("Medium"), PRESSURE,
        "How hard the press presses.";
    prepress: "", Refused, Parts(STAGE),
        "The press before the spray: drives out damp, lays the fibres.";
    dry: "", Refused, Parts(DRY),
        "The press that boils the water off, under its cover.";
    wet_at_most: "\"10min\"", Refused, WET,
        "How long a sprayed garment may wait for the dryer where wet garments touch.";
    wet_apart_at_most: "\"60min\"", Is("\"1h\""), WET,
        "The same where they hang apart.";
    coat: "", Refused, Parts(COAT),
        "The window: between which weights a coat holds, under the print.";
    cloth: "Cotton", Is("None"), Words("Cotton, Blend, Polyester or Fleece; None: nothing is said"),
        "What its garments are made of. Dye is warned of where a press is over 320 F for a blend, over 300 F for polyester; from memory.";
    cloth_weight: "\"180 g/m2\"", Is("None"),
        Quantity(|example| within::<GramsPerSquareMetre>(example, bounds::CLOTH)),
        "What that cloth weighs, for the balance of the steam. None: cotton 180, blend 160, polyester 150, fleece 290 g/m2; from memory.";
    blank_weight: "\"155 g\"", Is("None"), Quantity(|example| within::<Typed<Grams>>(example, bounds::GARMENT)),
        "What one of size M weighs, dry: a garment that is weighed tells its cloth by it and by its size mark. None: cotton 155, blend 140, polyester 130, fleece 520 g; from memory.";
    fluid_kind: "Dark", Is("None"), Words("Dark, Light or Polyester; None: any"),
        "The fluid that the window is for. The board says so where the sprayer holds another one.";
    dilution: "\"1:1\"", Is("None"),
        Words("parts of fluid and of water, \"1:1\", or \"none\" as it comes; None: any"),
        "How that fluid is thinned. A coat of another one is judged as by an unconfirmed window.";
    keep: "", Refused, Parts(KEEP),
        "How long a treated garment keeps on the shelf, in calendar days.";
    again: "", Is("(shortest: \"3s\", target: \"5s\", longest: \"30s\")"), Parts(STAGE),
        "The short press of a garment from the shelf before it is printed.";
    again_damp: "", Is("(shortest: \"10s\", target: \"12s\", longest: \"30s\")"), Parts(STAGE),
        "The same where the room was said to be damp, above 60 %. From memory.";
    rest: "\"30s\"", Is("None"), REST,
        "How long a garment rests after its press before it is printed. None: it goes on at once.";
    print_wet_at_most: "\"30min\"", Is("\"30m\""), WET,
        "How long a print may wait, wet, for its cure.";
    cure: "", Refused, Parts(STAGE),
        "The press after the print.";
    print: "\"4min\"", Is("None"), Quantity(|example| within::<Span>(example, bounds::HAND)),
        "What the printer takes for one, until the board has learned it. None: as the station's `hands` say.";
    roll: "true", Is("true"), Words("true or false"),
        "Whether the fibres are laid down with a roller after the spray.";
    spray: "Hand", Is("Hand"),
        Words("Hand, Machine(\"20s\") with the time that it takes, or BoughtTreated"),
        "How the coat gets onto the garment.";
    area: "\"14 in x 16 in\"", Is("\"14 in x 16 in\""),
        Quantity(|example| within::<Rectangle>(example, bounds::SIDE)),
        "What is sprayed, and counted over where an order's line names no print; each side.";
    weigh_every: "10", Is("0"), Words("a whole number, 0 (never) to 1000"),
        "One in so many sprayed garments is to be weighed before and after.";
    artwork: "", Is("()"), Parts(ARTWORK),
        "What of an artwork asks for white.";
    basis: "\"common practice; confirm with the data sheets\"", Refused,
        Words("a text, at most 200 letters"),
        "Where the figures come from.";
    confirmed: "\"AB, 2 March\"", Is("None"), Words("a text, at most 60 letters"),
        "Who confirmed the figures from the data sheets, and when. None: the board says that nobody has.";
}}

fields! { STAGE of Stage {
    shortest: "\"12s\"", Refused, SHORTEST, "Opened before that, it was too short.";
    target: "\"15s\"", Refused, TARGET, "What is aimed for.";
    longest: "\"45s\"", Refused, LONGEST, "Opened after that, it was too long.";
    set_point: "\"330 F\"", Is("None"), HEAT, "Another heat. None: the recipe's.";
    pressure: "Firm", Is("None"), PRESSURE, "Another pressure. None: the recipe's.";
    cover: "ReleasePaper", Is("None"), COVER, "What lies under the platen. None: nothing.";
    hover: "\"5s\"", Is("None"), SHAPE,
        "So long the platen hovers before it closes; its key is struck as it begins. None: it is shut at once.";
    lift: "\"4s\"", Is("None"), SHAPE, "Half-way it is lifted for so long: two presses in one.";
}}

fields! { DRY of DryStage {
    shortest: "\"35s\"", Refused, SHORTEST, "Opened before that, it was too short.";
    target: "\"40s\"", Refused, TARGET, "What is aimed for.";
    longest: "\"75s\"", Refused, LONGEST, "Opened after that, it was too long.";
    steam_gone_by: "\"35s\"", Refused, Words("over 0s, to target"),
        "By then the steam must have stopped, until weighed coats have taught the press better.";
    cover: "PtfeSheet", Refused, COVER, "What lies under the platen.";
    set_point: "\"330 F\"", Is("None"), HEAT, "Another heat. None: the recipe's.";
    pressure: "Firm", Is("None"), PRESSURE, "Another pressure. None: the recipe's.";
    hover: "\"5s\"", Is("None"), SHAPE, "As of the others.";
    lift: "\"4s\"", Is("None"), SHAPE, "As of the others.";
}}

fields! { COAT of CoatWindow {
    low: "\"170 g/m2\"", Is("\"170 g/m2\""), WEIGHT,
        "The lightest coat that holds. Left out: 15 % under the target once the recipe is confirmed, 35 % before; from memory.";
    target: "\"200 g/m2\"", Refused, Words("between low and high"), "What is aimed for.";
    high: "\"230 g/m2\"", Is("\"230 g/m2\""), WEIGHT,
        "The heaviest coat that holds. Left out: 15 % over the target once the recipe is confirmed, 35 % before; from memory.";
}}

fields! { KEEP of Keep {
    good_for: "\"21days\"", Refused, Words("whole days, 1day to at_most"), "Until then it is good.";
    at_most: "\"30days\"", Refused, Words("whole days, at most 366days"),
        "After that it is to be treated again.";
}}

fields! { ARTWORK of Limits {
    decides: "Either", Is("Either"), Words("Either, Lighter or BrighterChannel"),
        "What asks for white: parts lighter than the garment, or with a channel that is brighter.";
    lighter_by: "1.0", Is("1.0"), Quantity(|example| within::<f64>(example, bounds::LIGHTER)),
        "A pixel is lighter when its L* exceeds the garment's by more than this.";
    brighter_by: "0.02", Is("0.02"), Words("a number, 0 to 1"),
        "A channel is brighter when it exceeds the garment's by more than this part of full light.";
    share: "\"0.05%\"", Is("\"0.05%\""), Quantity(|example| within::<Share>(example, bounds::DECIDING)),
        "White is needed when more than this share of the printed pixels says so.";
}}
