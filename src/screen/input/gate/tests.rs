//! Keys at moments in, what came through out.

use super::*;

fn ms(millis: i64) -> Up {
    Up(millis * 1000)
}

fn key(letter: char) -> Key {
    Key::plain(if letter == '\n' { KeyCode::Enter } else { KeyCode::Char(letter) })
}

/// Types letters at the given milliseconds, then lets time pass.
fn typed(gate: &mut Gate, keys: &[(char, i64)]) -> Vec<String> {
    typed_at(gate, Mode::Acts, keys)
}

fn typed_in(mode: Mode, keys: &[(char, i64)]) -> Vec<String> {
    typed_at(&mut Gate::default(), mode, keys)
}

fn typed_at(gate: &mut Gate, mode: Mode, keys: &[(char, i64)]) -> Vec<String> {
    let mut heard = Vec::new();
    let mut last = 0;
    for (letter, at) in keys {
        // The loop wakes at every deadline before the next key.
        while let Some(deadline) = gate.deadline().filter(|d| *d <= ms(*at)) {
            heard.extend(gate.lapse(deadline));
        }
        heard.extend(gate.key(key(*letter), ms(*at), mode));
        last = *at;
    }
    heard.extend(gate.lapse(ms(last + 10_000)));
    heard.into_iter().map(told).collect()
}

fn told(heard: Heard) -> String {
    match heard {
        Heard::Key(key, at) => {
            format!("{} {}", key, at.0 / 1000)
        }
        Heard::Scan(text, _) => format!("scan {text}"),
        Heard::Ignored(_) => "ignored".into(),
    }
}

#[test]
fn one_key_is_one_key_at_the_moment_it_arrived() {
    assert_eq!(typed(&mut Gate::default(), &[('1', 5)]), ["1 5"]);
    assert_eq!(typed(&mut Gate::default(), &[('1', 5), ('2', 65)]), ["1 5", "2 65"]);
    assert_eq!(typed(&mut Gate::default(), &[('\n', 5)]), ["Enter 5"]);
}

#[test]
fn two_different_keys_close_together_are_two_keys() {
    assert_eq!(typed(&mut Gate::default(), &[('1', 5), ('2', 25)]), ["1 5", "2 25"]);
}

#[test]
fn a_fast_burst_with_enter_is_a_scan_and_counts_once_in_two_seconds() {
    let scan = |from: i64| {
        "A17-03\n".chars().zip(0..).map(move |(c, n)| (c, from + n * 8)).collect::<Vec<_>>()
    };
    let mut keys = scan(0);
    keys.extend(scan(1500));
    keys.extend(scan(4000));
    assert_eq!(typed(&mut Gate::default(), &keys), ["scan A17-03", "ignored", "scan A17-03"]);
}

#[test]
fn a_weight_from_a_scale_is_a_scan() {
    for text in ["152.4\n", "  152.4 g\n", "+ 152.40g\n", "5.38 oz\n"] {
        let keys: Vec<(char, i64)> = text.chars().zip(0..).map(|(c, n)| (c, n * 5)).collect();
        let heard = typed(&mut Gate::default(), &keys);
        assert_eq!(heard, [format!("scan {}", text.trim_end_matches('\n'))], "{text:?}");
    }
    for text in ["1.2.3\n", "152.4 km\n", "-152.4\n"] {
        let keys: Vec<(char, i64)> = text.chars().zip(0..).map(|(c, n)| (c, n * 5)).collect();
        assert_eq!(typed(&mut Gate::default(), &keys), ["ignored"], "{text:?}");
    }
}

#[test]
fn a_burst_without_enter_is_dropped_whole() {
    let keys: Vec<(char, i64)> = "125a9".chars().zip(0..).map(|(c, n)| (c, n * 10)).collect();
    assert_eq!(typed(&mut Gate::default(), &keys), ["ignored"]);
}

#[test]
fn garbage_with_other_keys_than_a_tags_is_dropped_whole() {
    for text in ["12/;.5a", "/12", "\n12", "1.\n"] {
        let keys: Vec<(char, i64)> = text.chars().zip(0..).map(|(c, n)| (c, n * 10)).collect();
        assert_eq!(typed(&mut Gate::default(), &keys), ["ignored"], "{text:?}");
    }
}

#[test]
fn a_held_key_acts_once() {
    let mut keys = vec![('1', 0)];
    keys.extend((0..60).map(|n| ('1', 500 + n * 33)));
    let heard = typed(&mut Gate::default(), &keys);
    assert_eq!(heard.iter().filter(|h| h.starts_with('1')).count(), 1, "{heard:?}");
    assert_eq!(heard.iter().filter(|h| *h == "ignored").count(), 1, "said once: {heard:?}");
}

#[test]
fn the_deafness_is_per_key() {
    let heard = typed(&mut Gate::default(), &[('1', 0), ('2', 200), ('1', 400), ('1', 1200)]);
    assert_eq!(heard, ["1 0", "2 200", "ignored", "1 1200"]);
}

#[test]
fn in_a_list_a_key_acts_again_once_another_has_acted() {
    let way = [('+', 0), ('.', 150), ('+', 300), ('.', 450)];
    assert_eq!(typed_in(Mode::Lists, &way), ["+ 0", ". 150", "+ 300", ". 450"]);
    // Held or doubled it acts once there too.
    assert_eq!(
        typed_in(Mode::Lists, &[('+', 0), ('.', 150), ('.', 300)]),
        ["+ 0", ". 150", "ignored"]
    );
    // On the Bench it stays deaf: what it did there is done.
    assert_eq!(typed_in(Mode::Acts, &way), ["+ 0", ". 150", "ignored", "ignored"]);
}

#[test]
fn with_a_prefix_nothing_is_held_back() {
    let mut gate = Gate::new(Some('~'));
    assert_eq!(gate.key(key('1'), ms(0), Mode::Acts), [Heard::Key(key('1'), ms(0))]);
    let keys: Vec<(char, i64)> = "~A17-03\n".chars().zip(1000..).collect();
    assert_eq!(typed(&mut gate, &keys), ["scan A17-03"]);
}

const FIGURES: Mode = Mode::Field(Takes::Figures);
const TEXT: Mode = Mode::Field(Takes::Text);
const SCAN: Mode = Mode::Field(Takes::Scan);

/// So many keys of one letter, as a held key sends them after the first pause.
fn held(letter: char) -> Vec<(char, i64)> {
    let mut keys = vec![(letter, 0)];
    keys.extend((0..60).map(|n| (letter, 500 + n * 33)));
    keys
}

fn burst(text: &str) -> Vec<(char, i64)> {
    text.chars().zip(0..).map(|(letter, n)| (letter, n * 8)).collect()
}

#[test]
fn in_a_field_figures_and_letters_come_in_their_turn() {
    for mode in [FIGURES, TEXT, SCAN] {
        let keys = [('1', 0), ('1', 90), ('2', 180), ('1', 200), ('\n', 300)];
        let heard = typed_in(mode, &keys);
        assert_eq!(heard, ["1 0", "1 90", "2 180", "1 200", "Enter 300"], "{mode:?}");
    }
}

#[test]
fn in_a_field_a_bounce_is_one_figure_and_a_held_key_that_acts_acts_once() {
    assert_eq!(typed_in(FIGURES, &[('1', 0), ('1', 20)]), ["1 0", "ignored"]);
    for letter in ['+', '\n'] {
        let heard = typed_in(FIGURES, &held(letter));
        let acts = heard.iter().filter(|one| !one.contains("ignored")).count();
        assert_eq!(acts, 1, "{heard:?}");
    }
}

#[test]
fn a_scan_and_a_scales_burst_are_one_thing_in_every_field() {
    for mode in [FIGURES, TEXT, SCAN] {
        for text in ["A1-02\n", "152.4 g\n", "  + 12.5 oz\n", "LOT/44_1\n"] {
            let heard = typed_in(mode, &burst(text));
            assert_eq!(heard, [format!("scan {}", text.trim_end_matches('\n'))], "{mode:?}");
        }
    }
}

/// A scanner that sends no Enter fills a text in, and shuts nothing where figures count.
#[test]
fn a_burst_without_enter_is_letters_of_a_text_and_nothing_else() {
    for mode in [TEXT, SCAN] {
        assert_eq!(typed_in(mode, &burst("F-1188")).len(), 6);
        assert_eq!(typed_in(mode, &burst("F-118+")), ["ignored"]);
    }
    assert_eq!(typed_in(FIGURES, &burst("F-1188")), ["ignored"]);
}

/// Held on, the key that opened a form types nothing in it; another key does.
#[test]
fn the_key_that_opened_a_form_is_deaf_in_it_as_long_as_it_is_held() {
    let mut gate = Gate::default();
    assert_eq!(typed(&mut gate, &[('m', 0)]), ["m 0"]);
    let mut heard = Vec::new();
    for at in (500..2000).step_by(33) {
        heard.extend(gate.lapse(ms(at)));
        heard.extend(gate.key(key('m'), ms(at), TEXT));
    }
    heard.extend(gate.lapse(ms(3000)));
    assert!(heard.iter().all(|one| matches!(one, Heard::Ignored(_))), "{heard:?}");
    heard = gate.key(key('1'), ms(3000), TEXT);
    heard.extend(gate.lapse(ms(3100)));
    assert_eq!(heard, [Heard::Key(key('1'), ms(3000))]);
}

#[test]
fn a_figure_that_ended_a_form_is_deaf_on_the_bench() {
    let mut gate = Gate::default();
    gate.key(key('s'), ms(0), FIGURES);
    assert_eq!(gate.lapse(ms(60)), [Heard::Key(key('s'), ms(0))]);
    gate.key(key('s'), ms(200), Mode::Acts);
    assert!(matches!(gate.lapse(ms(300))[..], [Heard::Ignored(_)]));
}

#[test]
fn with_alt_no_key_acts_and_it_is_named() {
    for mode in [Mode::Acts, TEXT] {
        let alt = Key { alt: true, ..key('1') };
        let heard = Gate::default().key(alt, ms(0), mode);
        assert_eq!(heard, [Heard::Ignored("alt-1 is not a key here: ignored".into())]);
    }
}

/// `*` and a digit work a press from any field: the digit acts, held on it is deaf, and nothing is typed by it.
#[test]
fn a_star_is_never_deaf_in_a_form_and_the_digit_after_it_acts() {
    const FIGURES: Mode = Mode::Field(Takes::Figures);
    for mode in [TEXT, FIGURES, Mode::Lists, Mode::Pages] {
        let twice = [('*', 0), ('*', 300), ('3', 450)];
        assert_eq!(typed_in(mode, &twice), ["* 0", "* 300", "3 450"], "{mode:?}");
        // Held: the first acts, and what comes within 60 ms of another is a repeat.
        let held: Vec<_> = (0..20).map(|n| ('*', 500 + n * 30)).collect();
        let heard = typed_in(mode, &[vec![('*', 0)], held].concat());
        assert_eq!(&heard[..2], ["* 0", "* 500"], "{mode:?}");
        assert!(heard[2..].iter().all(|one| one == "ignored"), "{mode:?}: {heard:?}");
        // A held digit, from its first repeat on.
        let mut held = vec![('*', 0), ('3', 150)];
        held.extend((0..20).map(|n| ('3', 650 + n * 30)));
        let heard = typed_in(mode, &held);
        assert_eq!(
            heard.iter().filter(|one| one.starts_with('3')).count(),
            1,
            "{mode:?}: {heard:?}"
        );
        // The same figure was struck just before: with the `*` between them it is another one.
        let typed = typed_in(mode, &[('3', 0), ('*', 250), ('3', 500)]);
        assert_eq!(typed.iter().filter(|one| one.starts_with('3')).count(), 2, "{mode:?}");
    }
}

/// A scanner that sends a `*` names no press by it.
#[test]
fn a_star_in_a_burst_reaches_nobody() {
    for burst in ["12*3", "*312", "1*2", "a*3b*4"] {
        let keys: Vec<_> = burst.chars().zip(0..).map(|(c, n)| (c, n * 10)).collect();
        for mode in [TEXT, Mode::Field(Takes::Figures), Mode::Lists] {
            assert_eq!(typed_in(mode, &keys), ["ignored"], "{burst} {mode:?}");
        }
    }
}
