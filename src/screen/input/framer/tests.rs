//! Bytes at moments in, words out: a line for each thing that terminals send or that went wrong once.

use super::*;

/// Takes bytes at milliseconds, waking at every deadline in between as the reader does, and a long while after.
fn framed(reads: &[(&[u8], i64)]) -> Vec<String> {
    let mut framer = Framer::default();
    let mut out = Vec::new();
    let wake = |framer: &mut Framer, until: Up, out: &mut Vec<Framed>| {
        let mut wakes = 0;
        while let Some(at) = framer.deadline().filter(|at| *at < until) {
            out.extend(framer.lapse(at));
            wakes += 1;
            assert!(wakes < 100, "it wakes without an end");
        }
    };
    for (bytes, at) in reads {
        wake(&mut framer, ms(*at), &mut out);
        out.extend(framer.take(bytes, ms(*at)));
    }
    wake(&mut framer, Up::LAST, &mut out);
    out.into_iter().map(told).collect()
}

fn ms(millis: i64) -> Up {
    Up(millis * 1000)
}

fn told(framed: Framed) -> String {
    match framed {
        Framed::Key(key, at) => format!("{key} {}", at.0 / 1000),
        Framed::Noise(noise, at) => format!("{noise:?} {}", at.0 / 1000),
    }
}

fn at_once(bytes: &[u8]) -> Vec<String> {
    framed(&[(bytes, 0)]).iter().map(|one| one.trim_end_matches(" 0").to_owned()).collect()
}

#[test]
fn letters_and_control_characters_are_keys() {
    assert_eq!(at_once(b"1a+"), ["1", "a", "+"]);
    assert_eq!(at_once("é漢".as_bytes()), ["é", "漢"]);
    assert_eq!(
        at_once(b"\r\t\x7f\x08\x0c\x00"),
        ["Enter", "Tab", "Backspace", "Backspace", "ctrl-l", "ctrl-Space"]
    );
    // Both, or either, ends a line.
    assert_eq!(at_once(b"\r\n"), ["Enter"]);
    assert_eq!(at_once(b"\n"), ["Enter"]);
    assert_eq!(framed(&[(b"\r", 0), (b"\n", 61)]), ["Enter 0", "Enter 61"]);
}

/// `console_codes(4)`; "XTerm Control Sequences", PC-style and VT220-style function keys, application keypad.
#[test]
fn every_sequence_of_the_table_is_its_key() {
    let cases: [(&str, &str); 24] = [
        ("[A [B [C [D [H [F", "Up Down Right Left Home End"),
        ("OA OB OC OD OH OF", "Up Down Right Left Home End"),
        // Keypad 5 without NumLock.
        ("[G [E OE [1;1E", "5 5 5 5"),
        ("[1~ [2~ [3~ [4~ [5~ [6~ [7~ [8~", "Home Insert Delete End PageUp PageDown Home End"),
        ("[[A [[B [[C [[D [[E", "F1 F2 F3 F4 F5"),
        ("OP OQ OR OS", "F1 F2 F3 F4"),
        ("[11~ [12~ [13~ [14~ [15~ [17~", "F1 F2 F3 F4 F5 F6"),
        ("[18~ [19~ [20~ [21~ [23~ [24~", "F7 F8 F9 F10 F11 F12"),
        ("Op Oq Or Os Ot Ou Ov Ow Ox Oy", "0 1 2 3 4 5 6 7 8 9"),
        ("OM Oj Ok Ol Om On Oo OX", "Enter * + , - . / ="),
        ("[Z", "BackTab"),
        ("[1;5A [1;3B [1;2C", "ctrl-Up alt-Down Right"),
        ("[1;5P [1;2S O5P", "ctrl-F1 F4 ctrl-F1"),
        ("[3;5~ [3^ [15;5~", "ctrl-Delete ctrl-Delete ctrl-F5"),
        // Reports of cursor, attributes, status, keys in full, modes, window; focus; mouse.
        ("[12;40R [R [1;2R", ""),
        ("[?62;22c [>1;10;0c [c", ""),
        ("[0n [?997;1n", ""),
        ("[49u [49;5u", ""),
        ("[?2026;2$y [8;24;80t", ""),
        ("[I [O", ""),
        ("[<0;1;1M [<0;1;1m [0;1;1M", ""),
        ("[M !1 [M!!!", ""),
        ("[99~ [7A [1;99A", "Unknown Unknown Unknown"),
        ("Oz [[z [1;2;3;4A", "Unknown Unknown Unknown"),
    ];
    for (sequences, keys) in cases {
        let bytes = format!(
            "\x1b{}",
            sequences.replace(" [M", "[M").replace(" [", "\x1b[").replace(" O", "\x1bO")
        );
        // The three bytes of the old mouse report are any bytes.
        let bytes =
            if sequences.starts_with("[M") { "\x1b[M !1\x1b[M!!!".to_owned() } else { bytes };
        assert_eq!(at_once(bytes.as_bytes()).join(" "), keys, "{sequences}");
    }
}

/// The replies of terminals as text, in every ending.
#[test]
fn replies_never_act() {
    for reply in [
        "\x1b]11;rgb:1616/1818/1d1d\x1b\\",
        "\x1b]11;rgb:1616/1818/1d1d\x07",
        "\x1bP>|a terminal(1)\x1b\\",
        "\x1bP1+r436f=323536\x1b\\",
        "\x1b_Gi=1;OK\x1b\\",
        "\x1b^x123\x1b\\",
        "\x1bX123\x1b\\",
    ] {
        assert_eq!(at_once(reply.as_bytes()), [""; 0], "{reply:?}");
        assert_eq!(at_once(format!("{reply}1").as_bytes()), ["1"], "{reply:?}");
    }
}

/// Over a slow line a reply comes in pieces.
#[test]
fn a_reply_in_pieces_never_acts() {
    let pieces: [(&[u8], i64); 3] =
        [(b"\x1b]11;rgb:16", 0), (b"16/1818/", 400), (b"1d1d\x1b\\1", 800)];
    assert_eq!(framed(&pieces), ["1 800"]);
    assert_eq!(framed(&[(b"\x1b]11;rgb:16", 0), (b"1", 1001)]), ["Unfinished 0", "1 1001"]);
    assert_eq!(framed(&[(b"\x1b]11;x\x1b", 0), (b"1", 51)]), ["1 51"]);
}

#[test]
fn escape_alone_is_escape_and_what_follows_at_once_is_not_the_key_itself() {
    assert_eq!(framed(&[(b"\x1b", 0)]), ["Esc 0"]);
    // None, below the limit, above it.
    assert_eq!(framed(&[(b"\x1b1", 0)]), ["alt-1 0"]);
    assert_eq!(framed(&[(b"\x1b", 0), (b"1", 49)]), ["alt-1 0"]);
    assert_eq!(framed(&[(b"\x1b", 0), (b"1", 51)]), ["Esc 0", "1 51"]);
    assert_eq!(framed(&[(b"\x1b\x1b", 0)]), ["Esc 0", "Esc 0"]);
    assert_eq!(framed(&[(b"\x1b\r", 0)]), ["alt-Enter 0"]);
}

#[test]
fn a_sequence_in_pieces_is_one_key_within_the_limit_and_none_beyond_it() {
    assert_eq!(framed(&[(b"\x1b[1", 0), (b"5~", 49)]), ["F5 0"]);
    assert_eq!(framed(&[(b"\x1bO", 0), (b"q", 49)]), ["1 0"]);
    assert_eq!(framed(&[(b"\xc3", 0), (b"\xa9", 49)]), ["é 0"]);
    assert_eq!(framed(&[(b"\x1b[15", 0), (b"~", 51)]), ["Unfinished 0", "~ 51"]);
}

/// Each once swallowed the digits that came after it, which are the presses.
#[test]
fn half_a_sequence_takes_no_key_with_it() {
    for half in [
        "\x1b[1;5", "\x1b[", "\x1b[?", "\x1bO", "\x1bP", "\x1b]", "\x1b_", "\x1b[[", "\x1b[M",
        "\x1b(",
    ] {
        assert_eq!(
            framed(&[(half.as_bytes(), 0), (b"1", 60)]),
            ["Unfinished 0", "1 60"],
            "{half:?}"
        );
    }
    assert_eq!(framed(&[(b"\xe6\xbc", 0), (b"1", 60)]), ["Unknown 0", "1 60"]);
    // A control character or a new sequence ends it without waiting.
    assert_eq!(at_once(b"\x1b[1;5\r1"), ["Unfinished", "Enter", "1"]);
    assert_eq!(at_once(b"\x1b[1;5\x1b[A"), ["Unfinished", "Up"]);
    assert_eq!(at_once(b"\xc31"), ["Unknown", "1"]);
    assert_eq!(at_once(b"\xff1"), ["Unknown", "1"]);
}

#[test]
fn a_paste_is_one_thing() {
    assert_eq!(at_once(b"\x1b[200~12\r\x1b[A\x1b]0;x\x1b[201~1"), ["Paste", "1"]);
    assert_eq!(
        framed(&[(b"\x1b[200~12", 0), (b"\x1b[201", 30), (b"~1", 40)]),
        ["Paste 30", "1 40"]
    );
    assert_eq!(at_once(b"\x1b[201~1"), ["1"], "an end without a beginning");
}

/// It once made the keyboard deaf for good.
#[test]
fn a_paste_that_never_ends_ends_after_a_second() {
    assert_eq!(framed(&[(b"\x1b[200~", 0), (b"1", 1001)]), ["EndlessPaste 0", "1 1001"]);
    assert_eq!(
        framed(&[(b"\x1b[200~", 0), (b"1", 500), (b"2", 1001)]),
        ["EndlessPaste 0", "2 1001"]
    );
    // Where it goes on, each second has a word.
    let long: Vec<(&[u8], i64)> = std::iter::once((&b"\x1b[200~"[..], 0))
        .chain((1..50).map(|n| (&b"1"[..], n * 50)))
        .collect();
    assert_eq!(framed(&long), ["GoesOn 1000", "GoesOn 2000", "EndlessPaste 0"]);
}

#[test]
fn more_than_hands_or_scanners_send_is_a_heap() {
    let heap = vec![b'1'; 4096];
    assert_eq!(framed(&[(&heap, 0), (b"1", 200)]), ["Heap(4096) 0", "1 200"]);
    // What is left of it in a later read belongs to it.
    assert_eq!(framed(&[(&heap, 0), (b"123", 90), (b"1", 200)]), ["Heap(4099) 0", "1 200"]);
    // A scan, or two, are none.
    assert_eq!(at_once(b"A1-02\rA1-03\r").len(), 12);
    // A reply that is none ends where nobody would send more of it.
    let reply = [&b"\x1b]0;"[..], &[b'1'; 20_000]].concat();
    let heard = framed(&[(&reply, 0), (b"1", 200)]);
    assert_eq!(heard, ["Unfinished 0", "Heap(3619) 0", "1 200"]);
}

/// Whatever comes, at any pace, the next key after two quiet seconds is that key.
#[test]
fn nothing_makes_it_deaf() {
    const ODD: [&[u8]; 20] = [
        b"\x1b", b"[", b"O", b"]", b"P", b"_", b"1", b";", b"200~", b"201~", b"\x07", b"\\", b"M",
        b"\xc3", b"\xff", b"\r", b"~", b"?", b"\x18", b"\x9b",
    ];
    let mut seed: u64 = 20_261_130;
    let mut random = |most: u64| {
        seed = seed.wrapping_mul(6_364_136_223_846_793_005).wrapping_add(1_442_695_040_888_963_407);
        (seed >> 33) % most
    };
    for _ in 0..3000 {
        let mut at = 0;
        let mut reads: Vec<(&[u8], i64)> = Vec::new();
        for _ in 0..12 {
            at += [0, 3, 49, 51, 300][usize::try_from(random(5)).unwrap()];
            reads.push((ODD[usize::try_from(random(20)).unwrap()], at));
        }
        reads.push((b"7", at + 2000));
        let heard = framed(&reads);
        assert_eq!(heard.last(), Some(&format!("7 {}", at + 2000)), "{reads:?}: {heard:?}");
    }
}
