//! Forms: what was typed outlives a refusal, a field that is filled in is replaced by the first letter, drafts are
//! found again. Common practice, no source.

use crate::bench::Bench;
use crate::pty::Pty;

/// A board that has an order of so many garments.
fn board(bench: &Bench, garments: u32) -> Pty {
    bench.take(garments);
    let pty = Pty::board(bench);
    pty.wait_for(&format!("{garments} blanks"));
    pty
}

#[test]
fn what_the_shop_refuses_stays_in_the_form_with_the_whole_reason() {
    let bench = Bench::new(1, 60);
    let mut pty = board(&bench, 1);
    for (lot, contents) in [("W-31", "2"), ("F-118", "1")] {
        pty.key(b"j");
        pty.wait_for("A bottle's label");
        pty.burst(lot.as_bytes());
        pty.key(b"\t");
        pty.key(contents.as_bytes());
        pty.key(b"\t");
        pty.key(b"\t");
        pty.burst(b"cellar");
        pty.key(b"+");
        if lot == "W-31" {
            pty.wait_for("lot W-31: ink");
        }
    }
    let refused = pty.wait_for("fluid and the others go to different places");
    for kept in ["A bottle's label", "F-118", "pretreatment fluid", "cellar"] {
        assert!(refused.contains(kept), "{kept} is gone:\n{refused}");
    }
    // The cursor is on the place: a word takes the place of what stood there.
    pty.burst(b"booth");
    pty.key(b"+");
    pty.wait_for("lot F-118: pretreatment fluid, no date, in booth");
    // A stack on which nothing lies, a tag that nobody knows, initials that are none.
    pty.key(b"k");
    pty.wait_for("Shelf stack");
    pty.burst(b"North");
    pty.key(b"\r");
    pty.key(b"+");
    let refused = pty.wait_for("nothing lies on stack North");
    assert!(refused.contains("Shelf stack"), "{refused}");
    pty.key(b"\x1b");
    pty.key(b"b");
    pty.wait_for("Who is at the bench?");
    pty.burst(b"toolong");
    pty.key(b"\r");
    let refused = pty.wait_for("initials are one to four letters");
    assert!(refused.contains("toolong"), "{refused}");
    pty.burst(b"ak");
    pty.key(b"\r");
    pty.wait_for("AK opens the shift");
    assert_eq!(pty.leave(), 0);
    bench.assert_sound();
}

#[test]
fn the_first_letter_takes_the_place_of_what_a_field_was_filled_in_with() {
    let bench = Bench::new(1, 60);
    let mut pty = board(&bench, 1);
    pty.key(b"k");
    pty.wait_for("typing replaces it");
    pty.burst(b"2");
    pty.key(b"+");
    pty.wait_for("stack 2 is stored on now");
    pty.key(b"d");
    pty.wait_for("A press was set");
    pty.key(b"\r");
    pty.burst(b"hot");
    pty.wait_until("the old heat to go", |text| text.contains(" hot") && !text.contains("340F"));
    pty.key(b"+");
    // What cannot be read stays in its field, and is replaced as well.
    pty.wait_for("! ");
    // A bare number is in the degrees of the dial.
    pty.burst(b"330");
    pty.key(b"+");
    pty.wait_for("press 1 set to 330 F");
    // An editing key keeps what is there. The cursor is on the heat that the waiting garment wants.
    pty.key(b"d");
    pty.wait_for("A press was set");
    for key in [&b"\x7f"[..], b"\x7f", b"\x7f"] {
        pty.key(key);
    }
    pty.burst(b"5 F");
    pty.key(b"+");
    pty.wait_for("press 1 set to 345 F");
    assert_eq!(pty.leave(), 0);
}

#[test]
fn an_order_that_was_left_is_kept_says_so_and_can_be_thrown_away() {
    let bench = Bench::new(1, 60);
    let mut pty = Pty::board(&bench);
    pty.keys("+0");
    pty.wait_for("A new order");
    pty.key(b"3");
    pty.key(b"\r");
    pty.key(b"9");
    let refused = pty.wait_for("there is no recipe 9: 1 to 1");
    assert!(refused.contains("1 Quick"), "{refused}");
    pty.key(b"\x1b");
    pty.wait_for("kept for later: + 0 opens it again");
    // Opened again, the count is where the cursor is, and a figure replaces it.
    pty.keys("+0");
    pty.wait_for("kept from before");
    pty.key(b"5");
    pty.wait_for("garments     5 ");
    // A dash alone is no count yet: with it, and only so, the order is thrown away.
    pty.key(b"/");
    pty.key(b"-");
    pty.wait_for("+ throws all of this order away");
    pty.key(b"+");
    pty.wait_for("thrown away: a new order");
    pty.wait_until("no count", |text| !text.contains("garments     5 "));
    pty.key(b"2");
    pty.key(b"\r");
    pty.key(b"\r");
    pty.key(b"1");
    pty.key(b"+");
    pty.wait_for("2 blanks");
    pty.wait_saved();
    let taken = bench.past_of("order-taken");
    assert!(taken.len() == 1 && taken[0].to_string().contains("\"count\":2"), "{taken:?}");
    assert_eq!(pty.leave(), 0);
}

/// What stands without a unit is in the unit in which the profile has the recipe's area.
#[test]
fn a_print_without_a_unit_is_in_the_unit_of_the_recipes_area() {
    for (area, hint, typed, print) in [
        ("14 in x 16 in", "12 in x 14 in", "12x15", "12 in x 15 in"),
        ("35 cm x 40 cm", "30 cm x 36 cm", "30 X 36,5", "30 cm x 36.5 cm"),
        ("350 mm x 400 mm", "300 mm x 360 mm", "300x365", "300 mm x 365 mm"),
        ("14 in x 16 in", "12 in x 14 in", "30x36cm", "30 cm x 36 cm"),
    ] {
        let bench = Bench::new(1, 60);
        let recipe = std::fs::read_to_string(bench.recipe()).unwrap();
        let with_area = recipe.replacen("Recipe(", &format!("Recipe(\n    area: \"{area}\","), 1);
        std::fs::write(bench.recipe(), with_area.replace("FromArtwork", "Always")).unwrap();
        let mut pty = Pty::board(&bench);
        pty.keys("+0");
        pty.wait_for("A new order");
        pty.key(b"2");
        // Cloth, due, places, print.
        for _ in 0..4 {
            pty.key(b"\x1b[Z");
        }
        pty.wait_for(hint);
        pty.burst(typed.as_bytes());
        pty.wait_for(typed);
        pty.key(b"+");
        pty.wait_for("2 blanks");
        pty.wait_saved();
        assert_eq!(bench.past_of("order-taken")[0]["form"]["lines"][0]["print"], print, "{typed}");
    }
}

/// Five strokes for three sizes; the size is told wherever the garment is taken in the hand.
#[test]
fn sizes_are_typed_as_a_row_and_told_with_the_garment() {
    let bench = Bench::new(1, 60);
    let mut pty = Pty::board(&bench);
    pty.keys("+0");
    pty.wait_for("how many, or S-M-L");
    pty.keys("2-4-3");
    pty.wait_for("S 2, M 4, L 3");
    pty.keys("\r\r1");
    pty.wait_for("art lighter? 1 yes");
    pty.keys("+");
    pty.wait_for("9 blanks");
    pty.wait_for("A1-01 S: pre-press");
    pty.wait_saved();
    let taken = &bench.past_of("order-taken")[0]["form"]["lines"];
    let lines = taken
        .as_array()
        .unwrap()
        .iter()
        .map(|line| (line["mark"].as_str(), line["count"].as_u64()));
    let lines: Vec<_> = lines.collect();
    assert_eq!(lines, [(Some("S"), Some(2)), (Some("M"), Some(4)), (Some("L"), Some(3))]);
    pty.keys("1");
    pty.wait_for("shut press 1 on A1-01");
    assert_eq!(pty.leave(), 0);
    let traced = bench.run(&["trace", "A1-03"]);
    assert!(traced.out.contains("size M"), "{}", traced.out);
    let traced: serde_json::Value =
        serde_json::from_str(&bench.run(&["trace", "A1-09", "--json"]).out).unwrap();
    assert_eq!(traced["size"], "L");
}
