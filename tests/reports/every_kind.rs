//! A day at one bench in which each kind of event happens that the program can write.
//!
//! `tests/data/journals/version-5.sqlite` was made of it by the journal's own writer, and the `told-5-*` beside it is what
//! the program said of it then. When a kind comes, its sentence comes here, and a journal beside the older ones:
//! `cargo test --test reports -- --ignored makes_the_journal` makes it, of the version that the program writes.

use std::collections::BTreeSet;
use std::path::Path;

use dwell::shop::facts::fact::{
    Awaits, Comes, Complaint, DatesSaid, Fact, Leaves, PartOf, Returned, RowId, Steam,
};
use dwell::shop::facts::ids::{Neighbour, OrderNo, PressNo, SheetNo, Tag};
use dwell::shop::facts::morning::MorningCheck;
use dwell::shop::facts::order::{OrderForm, OrderLine};
use dwell::shop::facts::rank::Rank;
use dwell::shop::facts::station::{DateOrder, HubProfile, Station};
use dwell::shop::facts::step::{Cover, Step};
use dwell::shop::floor::shared::{Says, Word};
use dwell::shop::rules::command::BlankKind;
use dwell::shop::rules::command::{Command, Refusal};
use dwell::shop::rules::command::{Granted, HeardWord};
use dwell::shop::rules::command::{Handover, Heard, TakenOver};
use rusqlite::Connection;
use support::trial;

use crate::old_journals::{ASKED, lying};
use crate::sample::{bench, write};
use crate::world::{World, line, own, station};

/// The day until the trial, in the sentences of `tests/scenarios`; a mark stands where something is said that has none.
const MORNING: &str = "
heat on
heat light
morning PressesOn
morning NozzleCheck skipped
morning Humidity 54
sign AK
sign BM
fan
order 6 dark-cotton undecided
order 4 dark-cotton of Polyester marked L + 2 light-cotton marked XL
order-file the_second 2 light-cotton
blanks
weigh-every dark-cotton 1
rank 2 1
due 2 2026-03-02T16:00
more 2 2 1
underbase 1 1 yes
lot F1 pretreatment-fluid booth 2026-04-01
lot W1 ink cellar
fill F1 400 g light 1:1
turn 3 310 F light
heat used-now
shut 1 A1-01
wait 15
open 1
weigh A1-01 150 g
sprayed A1-01
weigh A1-01 162 g
weigh A1-01 176 g
shut 1 A1-01
wait 30
steam 1
wait 10
open 1
printed A1-01
sample A1-01
shut 1 A1-01
wait 90
open 1
approve A1-01 yes
shut 1 A1-02
wait 15
open 1
decline A1-02
sprayed A1-02
shut 1 A1-02
wait 80
open 1
ago 3
steam-said A1-02
printed A1-02
shut 1 A1-03
wait 5
trouble A1-03 scorched out
replace 1
shut 1 A1-04
wait 5
trouble A1-04 scorched out
give-up 1
shut 2 A2-01
wait 15
open 2
sprayed A2-01
shut 2 A2-01
wait 40
open 2
stack North_wall
store A2-01
shift-stack North_wall
renew A2-01
shut 2 A2-02
cancel 2 shelf
wait 15
open 2
swap 1
clean 1
renew-sheet 1
out 3 broken
back 3
dial 2 320 F firm
undo
probe 1 340 F
probe 2 330 338 335 341 344 340 335 339 329 F
strips 1 held held slipped held
flush
fill F1 300 g
";

/// The rest of it.
const AFTERNOON: &str = "
order 3 light-cotton
shut 1 A4-01
wait 15
open 1
alter light-cotton-fluid dry.cover ReleasePaper
order 1 light-cotton-fluid
shut 2 A5-01
wait 15
open 2
sprayed A5-01
shut 2 A5-01
wait 40
open 2
paper 2
store A5-01
washed A1-01 5 4-5 1.2
sign BM
days 1
sign CD
close-shift
";

fn neighbour() -> Neighbour {
    Neighbour { station: "b".parse().unwrap(), name: "South bench".into() }
}

fn tag(text: &str) -> Tag {
    text.parse().unwrap()
}

/// What is said by a word that the scenarios do not have; None of any other.
fn said_otherwise(world: &World, sentence: &str) -> Option<Command> {
    let words: Vec<&str> = sentence.split_whitespace().collect();
    Some(match words[..] {
        ["fan"] => Command::SayFan(Some(true)),
        ["blanks"] => {
            let wanted = world.shop.blanks_wanted();
            let fewer = |kind: BlankKind| (kind.clone(), kind.wanted - 1);
            Command::CountBlanks(wanted.into_iter().map(fewer).collect())
        }
        ["decline", garment] => Command::DeclineWeighing { garment: tag(garment) },
        ["steam-said", garment] => {
            Command::SaySteam { garment: tag(garment), said: Steam::NotSeen }
        }
        ["replace", order] => Command::AddBlank { order: own(order.parse().unwrap()), line: 0 },
        ["give-up", order] => Command::GiveUpBlank { order: own(order.parse().unwrap()), line: 0 },
        ["paper", press] => {
            let press = PressNo(press.parse().unwrap());
            Command::CleanSheet(world.shop.sheets().at(press, Cover::ReleasePaper, Step::Dry)?.no)
        }
        ["renew-sheet", sheet] => Command::RenewSheet(SheetNo(sheet.parse().unwrap())),
        _ => return None,
    })
}

/// Says all of a text; what cannot be said then ends the test with its line.
fn say_all(world: &mut World, text: &str) {
    for sentence in text.lines().filter(|line| !line.is_empty()) {
        world.wait(2.0);
        let command = match said_otherwise(world, sentence) {
            Some(command) => Some(command),
            None => support::say::say(world, sentence)
                .unwrap_or_else(|wrong| panic!("{sentence}: {wrong}")),
        };
        let came = command.map(|command| world.say(&command));
        if let Some(Err(refusal)) = came {
            panic!("{sentence}: {refusal}");
        }
    }
}

/// A window is looked for, found and signed; another trial is given up.
fn try_garments(world: &mut World) -> Result<(), Refusal> {
    let begin = Command::BeginTrial {
        recipe: "dark-cotton".into(),
        limit: "4".parse().unwrap(),
        cycles: 5,
    };
    world.say(&begin)?;
    while trial::next(world).is_some() {}
    world.say(&Command::SignWindow("ak".into()))?;
    world.say(&begin)?;
    world.say(&Command::EndTrial)?;
    Ok(())
}

/// Garments come from another bench, go there, and are said to be at both.
fn pass_garments(world: &mut World) -> Result<(), Refusal> {
    let south = neighbour();
    let row = |seq| RowId { station: south.station, life: 1, seq };
    let hash = *world.shop.recipes().hash_of("light-cotton").expect("a shipped recipe");
    let comes =
        Comes { lots: vec!["S-7".into()], ..Comes::waiting(Awaits::Print, "light-cotton", hash) };
    let handed = Handover { after: row(40), from: south.clone(), comes };
    world.say(&Command::TakeOver(Box::new(TakenOver::handed(tag("B3-02"), handed, false))))?;
    let heard = |garment, seq, after| {
        let bench = south.name.clone();
        Command::Hear(Heard::Received { garment, row: row(seq), after, bench })
    };
    world.say(&heard(tag("A4-02"), 51, None))?;
    world.say(&heard(tag("A4-03"), 52, None))?;
    // Both say of the same garment that it is theirs.
    let said = Comes::waiting(Awaits::PrePress, "light-cotton", hash);
    world.say(&Command::TakeOver(Box::new(TakenOver::said(tag("A4-03"), said))))?;
    world.say(&heard(tag("A4-03"), 53, Some(row(52))))?;
    let at = world.shop.id();
    world.say(&Command::SettleWhere { garment: tag("A4-03"), at })?;
    Ok(())
}

/// An order for all stations, the part of it that is made here, and what is heard of it.
fn share(world: &mut World) -> Result<(), Refusal> {
    let form = OrderForm {
        name: "Lantern walk".into(),
        due: None,
        rank: Rank::USUAL,
        shared: true,
        lines: vec![OrderLine { margin: Some("2 cm".parse().unwrap()), ..line(8, "dark-cotton") }],
    };
    world.say(&Command::TakeOrder { form: form.clone(), file: None })?;
    let of = own(world.shop.next_order() - 1);
    let part = PartOf { of, line: 0, count: 3, grant: "asking-1".into() };
    world.say(&Command::TakePart(Box::new(Granted { part, form, words: Vec::new() })))?;
    let south = neighbour();
    let word = Word { no: 1, station: south.station, seq: 60, says: Says::Rank(Rank::RUSH) };
    let heard = HeardWord { order: of, life: 1, word, bench: south.name };
    world.say(&Command::HearWord(Box::new(heard)))?;
    world.say(&Command::CancelOrder { order: of, fewer: None, leaves: Leaves::Finish })?;
    Ok(())
}

/// What the program itself says, and a garment that was brought back.
fn by_the_system(world: &mut World) -> Result<(), Refusal> {
    let upto = world.shop.seq() + 3;
    world.say(&Command::NoteLost { upto })?;
    world.say(&Command::NoteNumbers { upto: OrderNo(20) })?;
    let mut returned = Returned::of(OrderNo(1), Some(tag("A1-01")), Complaint::WashedOut);
    (returned.size, returned.cycles) = ("M".into(), Some(3));
    (returned.recipe, returned.file) = (Some("dark-cotton".into()), Some("return-1".into()));
    world.say(&Command::NoteReturn(returned))?;
    Ok(())
}

/// The whole day.
fn day() -> World {
    let hub = HubProfile {
        address: "postgres://127.0.0.1/dwell".into(),
        role: "dwell_a".into(),
        password_file: "/etc/dwell/hub-password".into(),
        ca: None,
    };
    let profile = Station { hub: Some(hub), morning: MorningCheck::ALL.to_vec(), ..station(3) };
    let mut world = World::new(profile);
    world.must(Command::ReadCaution);
    say_all(&mut world, MORNING);
    try_garments(&mut world).unwrap();
    say_all(&mut world, AFTERNOON.split_once("washed").unwrap().0);
    pass_garments(&mut world).unwrap();
    share(&mut world).unwrap();
    by_the_system(&mut world).unwrap();
    say_all(&mut world, &AFTERNOON[AFTERNOON.find("washed").unwrap()..]);
    world.must(Command::SayDates(DatesSaid { first: DateOrder::DayFirst, file: None }));
    world
}

fn kinds_of(journal: &Path) -> BTreeSet<String> {
    let journal = Connection::open(journal).unwrap();
    let mut kinds = journal.prepare("SELECT DISTINCT kind FROM events").unwrap();
    kinds.query_map([], |row| row.get(0)).unwrap().map(Result::unwrap).collect()
}

/// Those of which no journal has an event.
fn in_none(kinds: &BTreeSet<String>) -> Vec<&'static str> {
    Fact::KINDS.iter().copied().filter(|kind| !kinds.contains(*kind)).collect()
}

#[test]
fn the_day_has_an_event_of_each_kind() {
    let kinds = day().events.iter().map(|event| event.fact.kind().to_owned()).collect();
    assert_eq!(in_none(&kinds), Vec::<&str>::new());
}

/// A kind that comes is written into journals from then on: one that has it must be among those that are opened for ever.
#[test]
fn a_journal_that_is_kept_has_an_event_of_each_kind() {
    let files = std::fs::read_dir(lying()).unwrap().map(|entry| entry.unwrap().path());
    let journals = files.filter(|path| path.extension().is_some_and(|end| end == "sqlite"));
    let kinds = journals.flat_map(|journal| kinds_of(&journal)).collect();
    assert_eq!(in_none(&kinds), Vec::<&str>::new());
}

#[test]
#[ignore = "makes a journal of the present version in the tree, and what is told of it"]
fn makes_the_journal() {
    let bench = bench();
    write(&bench, day().events);
    let journal = bench.data().join("journal.sqlite");
    let connection = Connection::open(&journal).unwrap();
    let version: i64 =
        connection.pragma_query_value(None, "user_version", |row| row.get(0)).unwrap();
    let in_one_file = "PRAGMA wal_checkpoint(TRUNCATE); PRAGMA journal_mode = DELETE; VACUUM;";
    connection.execute_batch(in_one_file).unwrap();
    drop(connection);
    std::fs::copy(journal, lying().join(format!("version-{version}.sqlite"))).unwrap();
    for (arguments, file) in ASKED {
        let ran = bench.run(arguments);
        assert_eq!((ran.code, ran.err.as_str()), (0, ""), "{arguments:?}");
        std::fs::write(lying().join(format!("told-{version}-{file}")), ran.out).unwrap();
    }
}
