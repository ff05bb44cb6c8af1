//! The shipped profiles against the trade. All figures here: common practice, no source.

use std::path::Path;
use std::time::Duration;

use dwell::figures::units::{Days, Span, Temperature};
use dwell::shell::profiles::{Profiles, load};
use dwell::shop::facts::recipe::{Fluid, Recipe, Underbase};
use dwell::shop::facts::step::{Cover, Pressure, Step};

fn shipped() -> Profiles {
    let directory = Path::new(env!("CARGO_MANIFEST_DIR")).join("profiles");
    load(Some(&directory)).unwrap_or_else(|wrong| panic!("{wrong}"))
}

fn recipe(profiles: &Profiles, name: &str) -> Recipe {
    Recipe::clone(profiles.recipes.get(name).unwrap_or_else(|| panic!("no recipe {name}")))
}

#[test]
fn dark_cotton_is_pressed_as_is_common() {
    let profiles = shipped();
    let dark = recipe(&profiles, "dark-cotton");
    let prepress = dark.pressing(Step::PrePress, false).unwrap();
    assert_eq!(prepress.target, Span::seconds(15));
    let dry = dark.pressing(Step::Dry, false).unwrap();
    // 35 to 40 s, set to 40; the steam has stopped by 35 s.
    assert_eq!((dry.shortest, dry.target), (Span::seconds(35), Span::seconds(40)));
    assert_eq!(dry.steam_gone_by, Some(Span::seconds(35)));
    for pressing in [prepress, dry] {
        assert_eq!(pressing.set_point, Temperature::fahrenheit(340.0));
        assert_eq!(pressing.pressure, Pressure::Medium);
    }
    // A sheet or release paper, never kitchen parchment: the type holds no third.
    assert!(matches!(dry.cover, Some(Cover::PtfeSheet | Cover::ReleasePaper)));
    assert_eq!(dark.pressing(Step::Spray, false), None);
    assert_eq!(dark.pressing(Step::Print, false), None);
}

#[test]
fn a_sheet_is_wiped_every_ten_to_twelve_presses() {
    let rule = shipped().station.sheet;
    assert_eq!((rule.wipe_at, rule.wipe_by), (10, 12));
}

#[test]
fn a_treated_garment_keeps_three_weeks_and_at_most_a_month() {
    for (name, recipe) in shipped().recipes {
        let kept = (recipe.keep.good_for, recipe.keep.at_most);
        assert_eq!(kept, (Days(21), Days(30)), "{name}");
    }
}

#[test]
fn a_garment_without_underbase_gets_no_fluid() {
    let profiles = shipped();
    let light = recipe(&profiles, "light-cotton");
    assert_eq!((light.underbase, light.fluid), (Underbase::Never, Fluid::Never));
    let dark = recipe(&profiles, "dark-cotton");
    assert_eq!(dark.wants_fluid(None), None, "nobody has looked at the artwork");
    for artwork in [true, false] {
        assert_eq!(dark.wants_fluid(Some(artwork)), Some(artwork));
        assert_eq!(light.wants_fluid(Some(artwork)), Some(false));
    }
}

/// The figures that were in doubt, as the trade has them (from memory).
#[test]
fn doubtful_values_are_as_the_trade_has_them() {
    let profiles = shipped();
    let of = |name: &str| recipe(&profiles, name);
    let (dark, light) = (of("dark-cotton"), of("light-cotton"));
    let within = |span: Span, from: u64, to: u64| (from..=to).contains(&span.0.as_secs());
    assert!(within(dark.cure.shortest, 90, 90) && within(dark.cure.target, 90, 120));
    assert!(within(dark.print.unwrap(), 180, 300) && within(light.print.unwrap(), 70, 100));
    for (name, recipe) in &profiles.recipes {
        let cure = recipe.pressing(Step::Cure, false).unwrap();
        assert_eq!(cure.pressure, Pressure::Light, "{name}");
        // Touching wet garments lose evenness after 20 to 30 minutes.
        assert!(within(recipe.wet_at_most, 1200, 1800), "{name}");
        assert_eq!(recipe.again.target, Span::seconds(5), "{name}");
    }
    let heat = of("high-polyester").set_point.as_celsius();
    let between =
        Temperature::fahrenheit(280.0).as_celsius()..=Temperature::fahrenheit(300.0).as_celsius();
    assert!(between.contains(&heat) && of("high-polyester").basis.contains("blocker"));
    let fleece = of("fleece").coat.target.0;
    assert!((200.0..=290.0).contains(&fleece) && fleece > dark.coat.target.0);
}

/// Only the target is written: 15 % to either side of one that somebody has confirmed, 35 % before (from memory).
#[test]
fn a_window_without_edges_is_narrow_once_somebody_has_confirmed_its_target() {
    let there = tempfile::tempdir().unwrap();
    dwell::shell::profiles::write_out(there.path()).unwrap();
    let path = there.path().join("recipes/dark-cotton.ron");
    let coat = |confirmed: &str| {
        let text = std::fs::read_to_string(&path).unwrap();
        let (before, after) = text.split_once("confirmed: ").unwrap();
        let after = after.split_once(',').unwrap().1;
        std::fs::write(&path, format!("{before}confirmed: {confirmed},{after}")).unwrap();
        let coat = recipe(&load(Some(there.path())).unwrap(), "dark-cotton").coat;
        (coat.low.0, coat.target.0, coat.high.0)
    };
    assert_eq!(coat("None"), (130.0, 200.0, 270.0));
    assert_eq!(coat("Some(\"AB, 2 March\")"), (170.0, 200.0, 230.0));
}

/// What is from memory or common practice says so, and no shipped recipe claims that somebody confirmed it.
#[test]
fn no_shipped_recipe_is_called_confirmed() {
    let profiles = shipped();
    assert!(profiles.recipes.len() >= 9, "{:?}", profiles.recipes.keys());
    for (name, recipe) in &profiles.recipes {
        assert_eq!(recipe.confirmed, None, "{name}");
        let honest = ["common practice", "from memory"].iter().any(|w| recipe.basis.contains(w));
        assert!(honest, "{name}: {}", recipe.basis);
        recipe.check().unwrap_or_else(|wrong| panic!("{name}: {wrong}"));
    }
    let blend = recipe(&profiles, "blend").set_point.as_celsius();
    assert!(blend < recipe(&profiles, "dark-cotton").set_point.as_celsius(), "a blend goes cooler");
}

/// The files and what is built into the program are the same.
#[test]
fn what_is_written_out_is_what_lies_in_the_folder() {
    let there = tempfile::tempdir().unwrap();
    let written = dwell::shell::profiles::write_out(there.path()).unwrap();
    assert!(written.len() >= 6);
    let read = load(Some(there.path())).unwrap_or_else(|wrong| panic!("{wrong}"));
    let shipped = shipped();
    assert_eq!(read.station, shipped.station);
    assert_eq!(read.recipes, shipped.recipes);
    let touching = read.recipes["dark-cotton"].wet_at_most;
    assert!(touching.0 >= Duration::from_secs(60), "a wet garment may wait at all");
}
