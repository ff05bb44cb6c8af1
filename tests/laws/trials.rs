//! A trial's facts: stored and read they are the same, and undo takes them back one act after the other.

use std::sync::Arc;

use dwell::figures::units::{Grams, GramsPerSquareMetre, Span, Temperature};
use dwell::shop::facts::bottle::Contents;
use dwell::shop::facts::cloth::Cloth;
use dwell::shop::facts::fact::{Fact, LotRegistered, SprayerFilled};
use dwell::shop::facts::ids::RecipeHash;
use dwell::shop::facts::mixture::{FluidKind, Mixture};
use dwell::shop::facts::recipe::{Recipe, Spray};
use dwell::shop::rules::command::Command;
use dwell::shop::rules::notices::Notice;

use support::trial::next;

use super::world::{World, station};

/// Another lot, or the same lot thinned otherwise, is no garment of the trial: nothing is weighed with it.
#[test]
fn a_trial_is_of_one_filling() {
    let mut world = World::new(station(1));
    let fill = |world: &mut World, lot: &str, dilution: Option<&str>| {
        let dilution = dilution.map(|dilution| dilution.parse().unwrap());
        let fluid = Some(Mixture { dilution, ..Mixture::default() });
        let (lot, grams) = (lot.to_owned(), Grams(100.0));
        world.must(Command::FillSprayer(SprayerFilled {
            lot,
            grams,
            scanned: false,
            over: None,
            fluid,
        }));
    };
    for lot in ["F-1", "F-2"] {
        let (lot, place) = (lot.to_owned(), "booth".to_owned());
        let contents = Contents::PretreatmentFluid;
        let label = LotRegistered { lot, contents, best_before: None, place };
        world.must(Command::RegisterLot(label));
    }
    fill(&mut world, "F-1", Some("1:1"));
    let (recipe, limit) = ("dark-cotton".to_owned(), "4".parse().unwrap());
    world.must(Command::BeginTrial { recipe, limit, cycles: 5 });
    fill(&mut world, "F-1", Some("1:1"));
    next(&mut world).unwrap();
    for (lot, dilution, named) in [("F-1", "1:2", "1:2"), ("F-2", "1:1", "F-2")] {
        fill(&mut world, lot, Some(dilution));
        let refused = world.say(&Command::WeighTrial(Grams(180.0))).unwrap_err().to_string();
        assert!(refused.contains(named) && refused.contains("this trial is of F-1"), "{refused}");
        world.must(Command::Undo);
    }
    next(&mut world).unwrap();
}

#[test]
fn a_trial_is_stored_as_it_is_and_undone_act_by_act() {
    let mut world = World::new(station(1));
    let recipe = "dark-cotton".to_owned();
    let filed: RecipeHash = *world.shop.recipes().hash_of(&recipe).unwrap();
    let limit = "4".parse().unwrap();
    let mut before = vec![world.shop.clone()];
    let begin = Command::BeginTrial { recipe: recipe.clone(), limit, cycles: 5 };
    let mut events = world.must(begin.clone());
    assert!(world.say(&begin).is_err(), "one trial at a time");
    assert!(world.say(&Command::SignWindow("ak".into())).is_err(), "nothing is found yet");
    loop {
        let shop = world.shop.clone();
        let Some(more) = next(&mut world) else { break };
        before.push(shop);
        events.extend(more);
    }
    assert!(world.shop.window_found().is_some(), "{:?}", world.shop.trial());
    before.push(world.shop.clone());
    events.extend(world.must(Command::SignWindow("ak".into())));
    let signed = *world.shop.recipes().hash_of(&recipe).unwrap();
    let file = Arc::clone(world.shop.recipes().get(&filed).unwrap());
    assert!(signed != filed && world.shop.recipes().stands_for(&recipe, &file));
    assert!(world.shop.recipes().named(&recipe).unwrap().confirmed.is_some());
    for event in &events {
        let read = Fact::read(event.fact.kind(), &event.fact.body().unwrap()).unwrap();
        assert_eq!(read, event.fact);
    }
    let mut undone = 0;
    while let Some(was) = before.pop() {
        world.must(Command::Undo);
        assert!(world.shop == was, "act {} from the end is not undone", undone + 1);
        undone += 1;
    }
    assert!(undone > 20 && world.shop.trial().is_none());
    assert_eq!(world.shop.recipes().hash_of(&recipe), Some(&filed));
}

/// The recipe's file as it is written anew, put in force as the board does it.
fn file_says(world: &mut World, file: &Recipe) {
    let (name, file) = ("dark-cotton".to_owned(), Arc::new(file.clone()));
    if !world.shop.recipes().stands_for(&name, &file) {
        let recipe = world.shop.recipes().as_signed(&name, &file);
        world.must(Command::KeepRecipe { name: name.clone(), recipe });
    }
    assert!(world.shop.recipes().stands_for(&name, &file), "put in force once, it stays");
}

/// A world with a signed window of dark cotton, and the file that it was signed upon.
fn signed() -> (World, Recipe) {
    let mut world = World::new(station(1));
    let recipe = "dark-cotton".to_owned();
    let file = Recipe::clone(world.shop.recipes().named(&recipe).unwrap());
    sign(&mut world);
    (world, file)
}

fn sign(world: &mut World) {
    let (recipe, limit) = ("dark-cotton".to_owned(), "4".parse().unwrap());
    world.must(Command::BeginTrial { recipe, limit, cycles: 5 });
    while next(world).is_some() {}
    world.must(Command::SignWindow("ak".into()));
}

/// A change of a recipe's file, and its name or the words for it.
type Change = (&'static str, fn(&mut Recipe));

/// A change that moves no edge of the window leaves it in force, with what the file says beside it.
#[test]
fn a_signed_window_stays_while_nothing_that_it_stands_on_changes() {
    let (mut world, file) = signed();
    let window = world.shop.recipes().named("dark-cotton").unwrap().coat;
    assert_ne!(window, file.coat);
    let changes: [Change; 7] = [
        ("title", |file| file.title = "Dark cotton, new".into()),
        ("basis", |file| file.basis = "another note".into()),
        ("print", |file| file.print = Some(Span::seconds(200))),
        ("wet", |file| file.wet_at_most = Span::seconds(1500)),
        ("prepress", |file| file.prepress.target = Span::seconds(20)),
        ("longest", |file| file.cure.longest = Span::seconds(170)),
        ("unsaid before", |file| file.cloth_weight = Some(GramsPerSquareMetre(180.0))),
    ];
    let mut now = file.clone();
    for (what, change) in changes {
        change(&mut now);
        file_says(&mut world, &now);
        let in_force = world.shop.recipes().named("dark-cotton").unwrap();
        assert_eq!(in_force.coat, window, "{what}");
        assert!(in_force.confirmed.is_some(), "{what}");
        assert_eq!(in_force.as_ref(), &now.with_window_of(in_force), "{what}: the file's own");
        assert_eq!(world.shop.recipes().set_aside("dark-cotton"), None, "{what}");
    }
    // Taken back, the file as it is now is in force without it.
    world.must(Command::Undo);
    assert_eq!(world.shop.recipes().named("dark-cotton").unwrap().as_ref(), &now);
    assert!(world.shop.recipes().stands_for("dark-cotton", &Arc::new(now)));
}

/// A change of what the window was measured with puts it out of force, in words that name the change; put back, it stands.
#[test]
fn a_signed_window_that_stands_on_something_else_is_set_aside_in_words() {
    let (mut world, file) = signed();
    let window = world.shop.recipes().named("dark-cotton").unwrap().coat;
    let changes: [Change; 8] = [
        ("fluid polyester (was dark)", |file| file.fluid_kind = Some(FluidKind::Polyester)),
        ("cloth fleece (was cotton)", |file| file.cloth = Some(Cloth::Fleece)),
        ("sprayed by a machine (was by hand)", |file| {
            file.spray = Spray::Machine(Span::seconds(9))
        }),
        ("rolled no (was yes)", |file| file.roll = false),
        ("dry 45s (was 40s)", |file| file.dry.target = Span::seconds(45)),
        ("dry at 320 F (was 340 F)", |file| file.set_point = Temperature::fahrenheit(320.0)),
        ("cure 2m (was 1m 45s)", |file| file.cure.target = Span::seconds(120)),
        ("cure lift 4s (was 0s)", |file| file.cure.lift = Some(Span::seconds(4))),
    ];
    for (words, change) in changes {
        let mut now = file.clone();
        change(&mut now);
        file_says(&mut world, &now);
        assert_eq!(world.shop.recipes().named("dark-cotton").unwrap().as_ref(), &now, "{words}");
        let told = world.shop.recipes().set_aside("dark-cotton").unwrap().in_words();
        assert!(told.contains(words) && told.contains("Find it again with a trial"), "{told}");
        let notices = world.shop.notices(&[], world.now);
        assert_eq!(notices, [Notice::WindowSetAside], "{words}");
        let short = world.shop.notice_in_words(Notice::WindowSetAside, world.now);
        assert!(short.contains("Dark cotton") && short.len() < 78, "{short}");
        file_says(&mut world, &file);
        assert_eq!(
            world.shop.recipes().named("dark-cotton").unwrap().coat,
            window,
            "{words}: back"
        );
        assert_eq!(world.shop.recipes().set_aside("dark-cotton"), None);
        assert_eq!(world.shop.notices(&[], world.now), []);
    }
    // The file has a window of its own: that is gone by, and the signed one can be written into the file.
    let mut now = file.clone();
    now.coat.target = GramsPerSquareMetre(190.0);
    file_says(&mut world, &now);
    let told = world.shop.recipes().set_aside("dark-cotton").unwrap().in_words();
    assert!(told.contains(&format!("target: \"{}\"", window.target)), "{told}");
    assert!(told.contains("by a trial of"), "{told}");
}

/// A second trial is of the recipe with its signed window: that one stands in its place, over a start too.
#[test]
fn a_window_is_signed_a_second_time() {
    let (mut world, file) = signed();
    let first = *world.shop.recipes().hash_of("dark-cotton").unwrap();
    sign(&mut world);
    let second = *world.shop.recipes().hash_of("dark-cotton").unwrap();
    file_says(&mut world, &file);
    assert_eq!(
        world.shop.recipes().hash_of("dark-cotton"),
        Some(&second),
        "the file did not change"
    );
    world.must(Command::Undo);
    assert_eq!(world.shop.recipes().hash_of("dark-cotton"), Some(&first));
    file_says(&mut world, &file);
    assert_eq!(world.shop.recipes().hash_of("dark-cotton"), Some(&first));
}

/// The window is that of the fluid which was in the sprayer, whatever the file wants.
#[test]
fn a_signed_window_is_of_the_fluid_that_was_sprayed() {
    let mut world = World::new(station(1));
    let file = Recipe::clone(world.shop.recipes().named("dark-cotton").unwrap());
    let (lot, place) = ("F-1".to_owned(), "booth".to_owned());
    let contents = Contents::PretreatmentFluid;
    let label = LotRegistered { lot: lot.clone(), contents, best_before: None, place };
    world.must(Command::RegisterLot(label));
    let dilution = Some("1:1".parse().unwrap());
    let fluid = Some(Mixture { dilution, ..Mixture::default() });
    let (grams, scanned, over) = (Grams(900.0), false, None);
    world.must(Command::FillSprayer(SprayerFilled { lot, grams, scanned, over, fluid }));
    sign(&mut world);
    let in_force = world.shop.recipes().named("dark-cotton").unwrap();
    assert_eq!(in_force.dilution, dilution, "the board wants it so at the next fill");
    let mut now = file.clone();
    now.dilution = Some("1:2".parse().unwrap());
    file_says(&mut world, &now);
    let told = world.shop.recipes().set_aside("dark-cotton").unwrap().in_words();
    assert!(told.contains("thinned 1:2 (was 1:1)"), "{told}");
    now.dilution = dilution;
    file_says(&mut world, &now);
    assert_eq!(world.shop.recipes().set_aside("dark-cotton"), None);
}

/// A note in the recipe's file does not end the trial that runs; another cure does.
#[test]
fn a_trial_runs_on_over_a_note_in_the_file() {
    let mut world = World::new(station(1));
    let mut file = Recipe::clone(world.shop.recipes().named("dark-cotton").unwrap());
    let (recipe, limit) = ("dark-cotton".to_owned(), "4".parse().unwrap());
    world.must(Command::BeginTrial { recipe, limit, cycles: 5 });
    next(&mut world).unwrap();
    file.basis = "a note".into();
    file_says(&mut world, &file);
    next(&mut world).unwrap();
    file.cure.target = Span::seconds(120);
    file_says(&mut world, &file);
    let refused = world.say(&Command::WeighTrial(Grams(150.0))).unwrap_err().to_string();
    assert!(refused.contains("cure 2m (was 1m 45s)"), "{refused}");
}
