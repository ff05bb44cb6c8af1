//! The fields of an order's file.

use super::Absent::{Is, Refused};
use super::Takes::{List, Quantity, Words};
use super::{fields, within};
use crate::figures::units::{Rectangle, bounds};
use crate::shop::facts::order::{OrderForm, OrderLine};

fields! { ORDER of OrderForm {
    name: "\"Harbour choir\"", Refused, Words("a text, at most 40 letters"),
        "What people call the order.";
    due: "\"2026-03-02 16:00\"", Is("None"),
        Words("a date and time by the shop's clock, or with an offset"),
        "When it must be ready. None: it has no due time.";
    rank: "1", Is("2"), Words("1 a rush, 2 the usual, or 3 can wait"),
        "How it stands among the others: a rush goes ahead at every step.";
    shared: "false", Is("false"), Words("true or false; true needs a hub"),
        "Whether every station of the shop may take garments of it to make. The station that takes it in only lays it.";
    lines: "", Refused, List(LINE),
        "Garments of one kind each; at most 5000 garments in all.";
}}

fields! { LINE of OrderLine {
    count: "12", Refused, Words("a whole number, 1 to 5000"),
        "How many garments. With `sizes` it is their sum and may be left out.";
    sizes: "", Is("{}"), Words("sizes, each with its count, such as {\"S\": 2, \"M\": 4, \"L\": 3}"),
        "How many of each size, in place of `count` and `mark`.";
    recipe: "\"dark-cotton\"", Refused, Words("the name of a recipe's file"),
        "How they are treated.";
    garment: "\"#101820\"", Refused, Words("a colour, \"#rrggbb\""),
        "The colour of the garment.";
    art: "\"lantern.png\"", Is("None"), Words("a file's name, beside the order's file"),
        "The artwork: PNG, JPEG or WebP. It decides whether white goes down first.";
    print: "\"12 in x 14 in\"", Is("None"),
        Quantity(|example| within::<Rectangle>(example, bounds::SIDE)),
        "The size of the print, each side. None: the recipe's area counts.";
    prints: "{\"front\": \"10 in x 12 in\"}", Is("{}"), Words("places, each with its size"),
        "Prints of another size than `print`, by their place.";
    margin: "\"0.5 in\"", Is("None"), Words("0 to 20 cm; None: half an inch"),
        "How far around a print is sprayed.";
    mark: "\"M\"", Is("\"\""), Words("a text, at most 8 letters"),
        "The size mark in the neck.";
    cloth: "Polyester", Is("None"), Words("Cotton, Blend, Polyester or Fleece; None: as its recipe says"),
        "What it is made of. Of another cloth than its recipe's, its coat is judged as by an unconfirmed window.";
    pad: "\"zip\"", Is("None"),
        Words("zip, hood, pocket or seam, and a thickness where it is not the usual one: \"zip 8 mm\""),
        "What keeps the platen off the print; the pad is said when the first of a line is laid in.";
    places: "[\"front\"]", Is("[\"front\"]"), Words("1 to 6 different texts"),
        "Where it is printed; the garment goes round once for each.";
    underbase: "true", Is("None"),
        Words("true or false; None: the artwork says it, or somebody is asked"),
        "Whether some part of the artwork is lighter than the garment.";
    remakes: "\"A3-04\"", Is("None"), Words("a garment's tag, or an order such as \"A3\""),
        "What is made again. Trace, report and a return's cost name it; on the board a look-up and a return order it.";
    seen: "", Is("None"), Words("what the program itself writes: leave it out"),
        "What was seen when the artwork was looked at.";
}}
