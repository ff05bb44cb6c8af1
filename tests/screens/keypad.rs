//! The sixteen keys of a numeric keypad: every act by them alone, and a press from anywhere, without a figure typed into
//! the wrong place.

use std::sync::Arc;

use dwell::screen::act::Effect;
use dwell::screen::input::{Key, KeyCode};
use dwell::screen::keymap::{Deed, Keymap, List, is_of_keypad};
use dwell::shop::facts::ids::PressNo;
use dwell::shop::facts::station::{HubProfile, Station};
use dwell::shop::rules::command::{By, Command};

use super::stage::Stage;
use super::world::{line, order};

/// Strikes keys as a hand does, a fifth of a second apart; returns what they wanted.
pub fn strike(stage: &mut Stage, keys: &[Key]) -> Vec<Effect> {
    let mut effects = Vec::new();
    for key in keys {
        stage.world.wait(0.2);
        effects.extend(stage.key(*key));
    }
    effects
}

/// The keys that a text names: a letter each, and words between blanks.
pub fn keys(text: &str) -> Vec<Key> {
    let word = |word: &str| match Key::read(word) {
        Some(key) => vec![key],
        None => word.chars().map(Key::letter).collect(),
    };
    text.split(' ').filter(|part| !part.is_empty()).flat_map(word).collect()
}

pub fn on_keypad(stage: &mut Stage, text: &str) -> Vec<Effect> {
    let keys = keys(text);
    assert!(keys.iter().all(|key| is_of_keypad(*key)), "{text} is not of the keypad");
    strike(stage, &keys)
}

/// Two presses: one dries a garment, the other is open with blanks waiting for it; one garment waits for its spray, one
/// for the printer.
pub fn shop() -> Stage {
    let mut stage = Stage::empty(2);
    stage.world.must(order(vec![line(6, "dark-cotton")]));
    let mut press = |press: u8, tag: &str, seconds: f64, opens: bool| {
        let (press, garment) = (PressNo(press), tag.parse().unwrap());
        stage.world.must(Command::Shut { press, garment, by: By::Scan });
        stage.world.wait(seconds);
        if opens {
            stage.world.must(Command::Open { press });
        }
    };
    for (tag, seconds) in [("A1-01", 15.0), ("A1-02", 15.0), ("A1-03", 15.0), ("A1-03", 45.0)] {
        press(2, tag, seconds, true);
    }
    press(1, "A1-01", 20.0, false);
    stage
}

/// Without a hub no order is shared.
fn join_a_hub(stage: &mut Stage) {
    let mut station = Station::clone(stage.world.shop.station().unwrap());
    station.hub = Some(HubProfile {
        address: "postgres://127.0.0.1/dwell".into(),
        role: "dwell_a".into(),
        password_file: "/etc/dwell/hub-password".into(),
        ca: None,
    });
    stage.world.must(Command::SetStation(Arc::new(station)));
}

/// Acts without a key of their own on the keypad stand on a list of it, and do there what their letter does.
#[test]
fn every_act_is_reached_with_the_sixteen_keys_alone() {
    let map = Keymap::default();
    let mut reached = 0;
    for (entry, chords) in map.entries() {
        reached += 1;
        if chords.iter().any(|chord| is_of_keypad(*chord)) {
            continue;
        }
        // Panes are reached one after the other; garments are stepped through by a list of them.
        if matches!(entry.deed, Deed::Bench | Deed::Pace | Deed::Shelf | Deed::Coat | Deed::Past) {
            let mut stage = shop();
            let at = |stage: &Stage| stage.ui.pane.name().to_lowercase() == entry.name;
            let turns = (0..5).take_while(|_| {
                on_keypad(&mut stage, "+ Enter");
                !at(&stage)
            });
            assert!(turns.count() < 5, "{} is not reached", entry.name);
            continue;
        }
        let way = keys(&map.key(entry.deed));
        assert!(!way.is_empty() && way.iter().all(|key| is_of_keypad(*key)), "{}", entry.name);
        let Some(shortcut) = chords
            .first()
            .copied()
            .filter(|_| !matches!(entry.deed, Deed::NextCandidate | Deed::NextPress))
        else {
            let mut stage = shop();
            if entry.deed == Deed::TakePart {
                join_a_hub(&mut stage);
            }
            strike(&mut stage, &way);
            let opens = match entry.deed {
                Deed::TakePart => "Of which shared order?",
                _ => "Pick a garment for press",
            };
            assert!(stage.text(80, 24).contains(opens), "{}", entry.name);
            continue;
        };
        let (mut by_list, mut by_key) = (shop(), shop());
        let wanted = strike(&mut by_list, &way);
        let missing = way.len() - 1;
        by_key.world.wait(0.2 * missing as f64);
        let of_key = strike(&mut by_key, &[shortcut]);
        assert_eq!(wanted, of_key, "{}", entry.name);
        assert_eq!(by_list.text(120, 36), by_key.text(120, 36), "{}", entry.name);
    }
    assert!(reached > 45, "{reached} acts");
}

/// Each act that a list names is another one, and no key that leads on or back does anything else.
#[test]
fn the_keys_of_a_list_are_its_own() {
    let map = Keymap::default();
    for list in [List::Acts, List::More, List::Trouble, List::Change] {
        for key in ["/", "*"] {
            assert!(map.listed(list, &Key::read(key).unwrap()).is_none(), "{list:?} {key}");
        }
    }
    assert!(map.listed(List::Acts, &Key::letter('.')).is_none());
    // A key is deaf for a moment once it has acted: no way leads through the same key twice in a row, but those to
    // what comes once in weeks, and is asked about before it is done.
    let seldom = |deed| matches!(deed, Deed::Repaint | Deed::NewSheet);
    for (entry, _) in map.entries().filter(|(entry, _)| !seldom(entry.deed)) {
        let way = keys(&map.key(entry.deed));
        assert!(way.windows(2).all(|pair| pair[0] != pair[1]), "{}: {way:?}", entry.name);
    }
}

/// With the list open and no question, `1` is said to answer none, and shuts no press.
#[test]
fn a_digit_in_the_list_is_never_a_press() {
    let mut stage = shop();
    stage.world.must(Command::ReadCaution);
    while let Some(question) = stage.world.shop.questions().first().copied() {
        let answer = question.answered(dwell::shop::rules::questions::Answer::No);
        stage.world.must(answer.expect("a question that takes no"));
    }
    for key in ["1", "2", "3"] {
        let effects = on_keypad(&mut stage, &format!("+ {key}"));
        assert!(effects.is_empty(), "{key}: {effects:?}");
        assert!(stage.text(80, 24).contains("no question waits"), "{}", stage.text(80, 24));
    }
}

/// What closed by itself took the digits until now: for a moment longer they do nothing, and each is named.
#[test]
fn digits_are_deaf_for_a_moment_after_a_list_has_closed_by_itself() {
    let mut stage = shop();
    on_keypad(&mut stage, "+");
    stage.world.wait(7.9);
    stage.ui.expire(stage.world.now);
    assert!(stage.ui.form.is_some(), "it stays open for 8 s");
    stage.world.wait(0.2);
    stage.ui.expire(stage.world.now);
    assert!(stage.ui.form.is_none());
    stage.world.wait(0.3);
    assert!(stage.key(Key::letter('2')).is_empty());
    assert!(stage.text(80, 24).contains("2 ignored"), "{}", stage.text(80, 24));
    // With NumLock off it is the same key.
    assert!(stage.key(Key::plain(KeyCode::Down)).is_empty());
    stage.world.wait(0.5);
    let effects = stage.key(Key::letter('2'));
    assert!(matches!(effects.as_slice(), [Effect::Do(_)]), "{effects:?}");
}

/// The keys after a `*` that is not followed by a press: each is said.
#[test]
fn a_star_is_cancelled_lapses_and_leaves() {
    let mut stage = shop().struck("+0");
    for (typed, said) in [("*0", "cancelled"), ("*a", "cancelled"), ("*9", "no press 9")] {
        strike(&mut stage, &typed.chars().map(Key::letter).collect::<Vec<_>>());
        assert!(stage.text(80, 24).contains(said), "{typed}: {}", stage.text(80, 24));
    }
    strike(&mut stage, &keys("*"));
    assert!(stage.text(80, 24).contains("* press?"), "{}", stage.text(80, 24));
    stage.world.wait(3.1);
    stage.ui.expire(stage.world.now);
    assert!(stage.text(80, 24).contains("* ended after 3 s"), "{}", stage.text(80, 24));
    // A figure of a scanner, or of something that fell onto the keyboard.
    stage.key(Key::letter('*'));
    stage.world.wait(0.03);
    assert!(stage.key(Key::letter('2')).is_empty());
    assert!(stage.text(80, 24).contains("at once"), "{}", stage.text(80, 24));
    // The steam is of the moment at which the `*` was struck.
    let mut stage = shop().struck("+0");
    strike(&mut stage, &keys("*"));
    let struck = stage.world.now;
    stage.world.wait(1.5);
    let effects = stage.key(Key::plain(KeyCode::Enter));
    assert!(
        matches!(effects.as_slice(), [Effect::DoAt(Command::SteamStopped { .. }, at)] if *at == struck),
        "{effects:?}"
    );
    strike(&mut stage, &keys("* ."));
    assert!(stage.ui.form.is_none());
    assert!(stage.text(80, 24).contains("kept for later"), "{}", stage.text(80, 24));
}

/// On the Bench itself the steam is one stroke, and whoever confirms it by Enter sprays nothing.
#[test]
fn on_the_bench_a_star_is_the_steam_at_once() {
    let mut stage = shop();
    let effects = strike(&mut stage, &keys("*"));
    assert!(matches!(effects.as_slice(), [Effect::Do(Command::SteamStopped { .. })]));
    assert!(strike(&mut stage, &keys("Enter")).is_empty());
    assert!(stage.text(80, 24).contains("noted already"), "{}", stage.text(80, 24));
    // A digit is the press that it is anyway.
    let mut stage = shop();
    let effects = strike(&mut stage, &keys("* 1"));
    assert_eq!(effects.len(), 2, "{effects:?}");
}

/// The foot switch does what the big words say, once they have stood there for a moment; in a form too.
#[test]
fn the_foot_switch_does_what_the_big_words_say() {
    let f12 = Key::plain(KeyCode::F(12));
    let mut stage = shop().struck("+01");
    stage.world.wait(1.0);
    let effects = stage.key(f12);
    assert!(
        matches!(effects.as_slice(), [Effect::Do(Command::Shut { press: PressNo(2), .. })]),
        "{effects:?}"
    );
    assert!(stage.text(80, 24).contains("garments     1 "), "{}", stage.text(80, 24));
    // Every act that stands there in a whole shift is one that it knows.
    let mut known = 0;
    for minutes in 0..40 {
        let mut stage = Stage::in_a_shift(2, f64::from(minutes), 0);
        stage.world.wait(f64::from(minutes % 7) * 20.0);
        let effects = stage.key(f12);
        let text = stage.text(120, 36);
        let waits = text.contains("nothing that the foot switch does");
        assert!(!effects.is_empty() || stage.ui.form.is_some() || waits, "{text}");
        assert!(!waits || ["WAIT", "LOOK"].iter().any(|verb| text.contains(verb)), "{text}");
        known += usize::from(!effects.is_empty());
    }
    assert!(known > 20, "{known}");
}

/// What was typed survives the undo of its order.
#[test]
fn an_order_that_is_undone_can_be_typed_on() {
    let mut stage = Stage::empty(2);
    strike(&mut stage, &keys("+ 0 1 2 + 1 +"));
    let events = stage.world.events.split_off(stage.world.events.len() - 1);
    assert!(!stage.ui.gives_back(&events), "it was taken in");
    let undone = stage.world.must(Command::Undo);
    assert!(stage.ui.gives_back(&undone));
    strike(&mut stage, &keys("+ 0"));
    let text = stage.text(80, 24);
    assert!(text.contains("kept from before") && text.contains("12"), "{text}");
}

/// With NumLock off the keypad types the same figures, and the bar says so.
#[test]
fn cursor_keys_are_figures_in_every_field() {
    use KeyCode::{Delete, Down, End, Home, Insert, Left, PageDown, PageUp, Right, Up};
    let off = [Insert, End, Down, PageDown, Left, Right, Home, Up, PageUp];
    for (form, value) in [("+0", "12346789"), ("+9", "12346789"), (".-", "12346789")] {
        let mut stage = shop().struck(form);
        let figures: Vec<Key> = off[1..].iter().map(|code| Key::plain(*code)).collect();
        strike(&mut stage, &figures);
        let text = stage.text(80, 24);
        assert!(text.contains(value) && text.contains("NUMLOCK OFF"), "{form}: {text}");
    }
    let mut stage = shop().struck("+9").struck("15");
    strike(&mut stage, &[Key::plain(Delete), Key::letter('2')]);
    let text = stage.text(80, 24);
    assert!(text.contains("15.2") && !text.contains("NUMLOCK OFF"), "{text}");
}

/// `/` erases, then goes back a field, and leaves in the first; `.` lists what a field can hold.
#[test]
fn a_slash_goes_back_and_a_point_lists() {
    let mut stage = Stage::empty(2);
    strike(&mut stage, &keys("+ 0 1 2 /"));
    assert!(stage.text(80, 24).contains("garments     1 "), "{}", stage.text(80, 24));
    // Past recipe and underbase and name to the colour: the third of the station's list.
    strike(&mut stage, &keys("Enter Enter Enter Enter . 3"));
    assert!(stage.text(80, 24).contains("colour       navy"), "{}", stage.text(80, 24));
    strike(&mut stage, &keys("/ / / / /"));
    assert!(stage.text(80, 24).contains("name         Order 1"), "{}", stage.text(80, 24));
    // One more line from the count.
    strike(&mut stage, &[Key::plain(KeyCode::BackTab); 3]);
    strike(&mut stage, &keys("Enter Enter 1"));
    strike(&mut stage, &[Key::plain(KeyCode::BackTab); 2]);
    let effects = strike(&mut stage, &keys("3 . 6 +"));
    assert!(effects.is_empty(), "the colour is not filled in: {effects:?}");
    let mut stage = Stage::empty(2);
    let effects = strike(&mut stage, &keys("+ 0 3 Enter Enter 1 / / . 6 +"));
    assert!(
        matches!(effects.as_slice(), [Effect::Do(Command::TakeOrder { form, .. })]
            if form.lines.iter().map(|line| line.count).collect::<Vec<_>>() == [3, 6]),
        "{effects:?}: {}",
        stage.text(80, 24)
    );
    // In the first field, with nothing in it, it leaves: what was typed is kept.
    let mut stage = Stage::empty(2);
    strike(&mut stage, &keys("+ 0 1 / /"));
    assert!(stage.ui.form.is_none() && stage.text(80, 24).contains("kept for later"));
}
