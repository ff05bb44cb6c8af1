//! Artwork that is damaged or lies, in its profile and in its size: an answer with what was assumed, or an error in
//! words; never more memory than is allowed.

use std::fs;
use std::io::Write;
use std::path::PathBuf;

use dwell::figures::artwork::Limits;
use dwell::figures::units::Colour;
use dwell::shell::picture::look_at_bytes;
use flate2::Compression;
use flate2::write::ZlibEncoder;
use serde_json::Value;

use crate::bench::Bench;
use crate::{raw_jpeg, raw_png};

fn profile(name: &str) -> Vec<u8> {
    let path = format!("{}/tests/data/profiles/{name}.icc", env!("CARGO_MANIFEST_DIR"));
    fs::read(path).unwrap()
}

fn lay(bench: &Bench, name: &str, bytes: &[u8]) -> PathBuf {
    let path = bench.root.path().join(name);
    fs::write(&path, bytes).unwrap();
    path
}

fn colour() -> Vec<u8> {
    raw_png::file(raw_png::head(1, 1, false), &[0, 80, 90, 100, 255])
}

fn grey() -> Vec<u8> {
    raw_png::file(raw_png::grey_head(1, 1, 8), &[0, 80])
}

/// The profile with four bytes of it changed.
fn changed(name: &str, at: usize, to: [u8; 4]) -> Vec<u8> {
    let mut bytes = profile(name);
    bytes[at..at + 4].copy_from_slice(&to);
    bytes
}

/// What a profile that does not read is called, and that sRGB was assumed: in the answer, in the text, and in what
/// the board says of an order's artwork.
#[test]
fn a_profile_that_does_not_read_is_said() {
    let bench = Bench::new(2, 20);
    let iccp = |bytes: &[u8]| (b"iCCP", raw_png::iccp(bytes));
    let short = |mut chunk: Vec<u8>| {
        chunk.truncate(chunk.len() / 2);
        (b"iCCP", chunk)
    };
    let mut bomb = ZlibEncoder::new(b"p\0\0".to_vec(), Compression::best());
    (0..64).for_each(|_| bomb.write_all(&[0; 1 << 20]).unwrap());
    let mut checksum = raw_png::with(&colour(), &[iccp(&profile("wide"))]);
    checksum[8 + 25 + 8 + 20] ^= 1;
    let tags = 128;
    let cases: Vec<(&str, Vec<u8>, &str)> = vec![
        ("cut", raw_png::with(&colour(), &[short(raw_png::iccp(&profile("wide")))]), "unpack"),
        ("bomb", raw_png::with(&colour(), &[(b"iCCP", bomb.finish().unwrap())]), "at most"),
        ("checksum", checksum, "checksum"),
        ("empty", raw_png::with(&colour(), &[(b"iCCP", Vec::new())]), "does not begin"),
        ("nothing", raw_png::with(&colour(), &[iccp(b"")]), "damaged"),
        ("inks", raw_png::with(&colour(), &[iccp(&profile("tables-cmyk-v2"))]), "CMYK"),
        ("grey", raw_png::with(&colour(), &[iccp(&profile("grey-2.2"))]), "grey"),
        ("rgb in grey", raw_png::with(&grey(), &[iccp(&profile("wide"))]), "RGB"),
        ("half", raw_png::with(&colour(), &[iccp(&profile("wide")[..200])]), "damaged"),
        (
            "many tags",
            raw_png::with(&colour(), &[iccp(&changed("wide", tags, [255; 4]))]),
            "damaged",
        ),
        (
            "far tag",
            raw_png::with(&colour(), &[iccp(&changed("wide", tags + 12 * 3, [255; 4]))]),
            "damaged",
        ),
        (
            "no tags",
            raw_png::with(&colour(), &[iccp(&changed("wide", tags, [0; 4]))]),
            "without curves",
        ),
        ("hdr", raw_png::with(&colour(), &[(b"cICP", vec![9, 16, 0, 1])]), "code points"),
        ("reserved", raw_png::with(&colour(), &[(b"cICP", vec![0, 0, 0, 1])]), "code points"),
        ("no power", raw_png::with(&colour(), &[(b"gAMA", vec![0; 4])]), "gamma of 0"),
        ("no primaries", raw_png::with(&colour(), &[(b"cHRM", vec![0; 32])]), "span no colours"),
        (
            "one primary",
            raw_png::with(&colour(), &[(b"cHRM", [0, 0, 0x80, 0].repeat(8))]),
            "span no colours",
        ),
        (
            "pieces",
            raw_jpeg::file(&[vec![80]], 1, &raw_jpeg::profile(&profile("grey-1.0"), 3)[..2]),
            "segments",
        ),
    ];
    for (name, bytes, wanted) in cases {
        let path = lay(&bench, name, &bytes);
        let path = path.to_str().unwrap();
        let ran = bench.run(&["art", path, "--garment", "#404040", "--json"]);
        assert_eq!((ran.code, ran.err.as_str()), (0, ""), "{name}");
        let answer: Value = serde_json::from_str(&ran.out).unwrap();
        let unread =
            answer["profile_unread"].as_str().unwrap_or_else(|| panic!("{name}: {answer}"));
        assert!(unread.contains(wanted), "{name}: {unread}");
        assert_eq!(
            (&answer["profile"], &answer["assumed"]),
            (&Value::Null, &"sRGB".into()),
            "{name}"
        );
        let told = bench.run(&["art", path, "--garment", "#404040"]);
        assert!(told.out.contains("profile does not read"), "{name}: {}", told.out);
        assert!(told.out.contains("taken as sRGB"), "{name}: {}", told.out);
        let garment = Colour { red: 64, green: 64, blue: 64 };
        let look = look_at_bytes("art".as_ref(), &bytes, garment, Limits::default()).unwrap();
        let reason = look.says(None).unwrap().reason;
        assert!(reason.ends_with("its profile does not read: taken as sRGB"), "{name}: {reason}");
    }
}

/// A chunk of a lower rank stands in for one that does not read; that is said too.
#[test]
fn what_does_not_read_gives_way_to_the_next() {
    let bench = Bench::new(2, 20);
    let chunks =
        [(b"iCCP", raw_png::iccp(b"no profile")), (b"gAMA", 100_000u32.to_be_bytes().to_vec())];
    let path = lay(&bench, "art.png", &raw_png::with(&grey(), &chunks));
    let ran = bench.run(&["art", path.to_str().unwrap(), "--garment", "#606060", "--json"]);
    let answer: Value = serde_json::from_str(&ran.out).unwrap();
    assert_eq!((&answer["profile"], &answer["underbase"]), (&"gAMA".into(), &true.into()));
    assert!(answer["profile_unread"].as_str().unwrap().starts_with("iCCP"), "{answer}");
}

/// A picture of no size, of a size that lies, a chunk that says 4 GB: an error in words, at once.
#[test]
fn sizes_that_lie_are_refused() {
    let bench = Bench::new(2, 20);
    let mut wide = raw_jpeg::file(&[vec![80]], 1, &[]);
    let frame = wide.windows(2).position(|pair| pair == [0xFF, 0xC0]).unwrap();
    let of_size = |bytes: &mut Vec<u8>, height: u16, width: u16| {
        bytes[frame + 5..frame + 7].copy_from_slice(&height.to_be_bytes());
        bytes[frame + 7..frame + 9].copy_from_slice(&width.to_be_bytes());
    };
    of_size(&mut wide, 65_535, 65_535);
    let mut none = wide.clone();
    of_size(&mut none, 8, 0);
    let mut scans = raw_jpeg::progressive(&[vec![80; 3]], 1, &[]);
    of_size(&mut scans, 19_000, 19_000);
    let mut lying = raw_png::with(&colour(), &[(b"iCCP", vec![0; 20])]);
    lying[33..37].copy_from_slice(&[0xFF, 0xFF, 0xFF, 0xF0]);
    for (name, bytes, wanted) in [
        ("wide", wide, "pixels"),
        ("none", none, ""),
        ("scans", scans, "unpack"),
        ("lying", lying, ""),
        ("zero", raw_png::file(raw_png::head(0, 1, false), &[]), ""),
        ("huge", raw_png::file(raw_png::head(1 << 30, 1 << 30, false), &[]), "pixels"),
    ] {
        let path = lay(&bench, name, &bytes);
        let ran = bench.run(&["art", path.to_str().unwrap(), "--garment", "#404040"]);
        assert_eq!((ran.code, ran.out.as_str()), (2, ""), "{name}: {}", ran.err);
        assert!(ran.err.contains(name) && ran.err.contains(wanted), "{name}: {}", ran.err);
    }
}

/// The widest that a JPEG may be, a row of 65,535, and a progressive one of one pixel's block.
#[test]
fn the_widest_and_the_least_are_read() {
    let bench = Bench::new(2, 20);
    let wide = raw_jpeg::file(&vec![vec![200]; 8191], 8191, &[]);
    let row =
        raw_png::file(raw_png::grey_head(65_530, 1, 1), &vec![0; 65_530usize.div_ceil(8) + 1]);
    let least = raw_jpeg::progressive(&[vec![200]], 1, &[]);
    for (name, bytes) in [("wide", wide), ("row", row), ("least", least)] {
        let path = lay(&bench, name, &bytes);
        let ran = bench.run(&["art", path.to_str().unwrap(), "--garment", "#404040"]);
        assert_eq!((ran.code, ran.err.as_str()), (0, ""), "{name}");
    }
}

/// Each shipped profile cut short anywhere, or with a byte changed, reads or is said not to: nothing breaks.
#[test]
fn damaged_profiles_break_nothing() {
    let garment = Colour { red: 64, green: 64, blue: 64 };
    let look = |bytes: &[u8]| look_at_bytes("art".as_ref(), bytes, garment, Limits::default());
    let mut state = 7u64;
    let mut next = move |below: usize| {
        state =
            state.wrapping_mul(6_364_136_223_846_793_005).wrapping_add(1_442_695_040_888_963_407);
        usize::try_from(state >> 33).unwrap() % below
    };
    for name in
        ["wide", "lightness", "grey-lab", "tables-rgb-v2", "tables-rgb-v4", "tables-cmyk-v4"]
    {
        let whole = profile(name);
        for _ in 0..12 {
            let mut bytes = whole.clone();
            match next(3) {
                0 => bytes.truncate(next(whole.len())),
                // Heads and tags are what lies in the first 400 bytes.
                1 => bytes[next(400)] = u8::try_from(next(256)).unwrap(),
                _ => {
                    let at = next(whole.len());
                    bytes[at] ^= 1 << next(8);
                }
            }
            let picture = match name {
                "tables-cmyk-v4" => {
                    raw_jpeg::file(&[vec![80; 4]], 1, &raw_jpeg::profile(&bytes, 1))
                }
                "grey-lab" => raw_png::with(&grey(), &[(b"iCCP", raw_png::iccp(&bytes))]),
                _ => raw_png::with(&colour(), &[(b"iCCP", raw_png::iccp(&bytes))]),
            };
            if bytes.is_empty() {
                continue;
            }
            assert!(look(&picture).is_ok(), "{name}");
        }
    }
}
