//! A trial's facts: stored and read they are the same, and undo takes them back one act after the other.

use dwell::figures::units::Grams;
use dwell::shop::facts::bottle::Contents;
use dwell::shop::facts::fact::{Fact, LotRegistered, SprayerFilled};
use dwell::shop::facts::ids::RecipeHash;
use dwell::shop::facts::mixture::Mixture;
use dwell::shop::rules::command::Command;

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
    let filed: RecipeHash = *world.shop.named(&recipe).unwrap();
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
    let signed = *world.shop.named(&recipe).unwrap();
    assert!(signed != filed && world.shop.stands_for(&recipe, filed));
    assert!(world.shop.recipe_named(&recipe).unwrap().confirmed.is_some());
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
    assert_eq!(world.shop.named(&recipe), Some(&filed));
}
