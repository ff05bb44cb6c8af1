//! Files from outside that are cut, flipped and absurd, a few hundred of them, through the built program: each is
//! answered, or refused in words with exit code 2.
//!
//! The fuzz targets look at far more of them inside one process; here it is the whole way that holds, from the file to
//! the exit code.

use std::fs;
use std::path::{Path, PathBuf};

use crate::bench::{Bench, Ran};
use crate::mutate::Mutator;
use crate::pty::Pty;
use crate::raw_png;

/// Another seed makes other files.
const SEED: u64 = 20_261_130;

fn seeds(of: &str) -> Vec<Vec<u8>> {
    let folder = Path::new(env!("CARGO_MANIFEST_DIR")).join("tests/fuzz/seeds").join(of);
    let mut paths: Vec<PathBuf> =
        fs::read_dir(folder).unwrap().map(|entry| entry.unwrap().path()).collect();
    paths.sort();
    paths.iter().map(|path| fs::read(path).unwrap()).collect()
}

/// Each of a corpus cut at three places, then so many changed ones.
fn hostile(corpus: &[Vec<u8>], count: usize) -> Vec<Vec<u8>> {
    let cut = |whole: &Vec<u8>| [1, 5, 9].map(|tenths| whole[..whole.len() * tenths / 10].to_vec());
    let mut mutator = Mutator::new(SEED, corpus);
    let changed = std::iter::repeat_with(|| mutator.next()).take(count);
    corpus.iter().flat_map(cut).chain(changed).collect()
}

/// It answers, or says in our own words what is wrong with which file. Whether it answered.
fn answered(ran: &Ran, file: &str, bytes: &[u8]) -> bool {
    let of = || format!("{}\n{:?}", ran.err, String::from_utf8_lossy(bytes));
    assert!(!ran.err.contains("panicked") && !ran.err.contains("RUST_BACKTRACE"), "{}", of());
    if ran.code == 0 {
        return true;
    }
    assert_eq!((ran.code, ran.out.as_str()), (2, ""), "{}", of());
    assert!(ran.err.starts_with("dwell: ") && ran.err.contains(file), "{}", of());
    assert!(ran.err.len() < 2000 && ran.err.trim_end().len() > file.len() + 10, "{}", of());
    false
}

#[test]
fn pictures_are_looked_at_or_refused_in_words() {
    let bench = Bench::new(2, 20);
    let path = bench.root.path().join("hostile");
    let art = |bytes: &[u8]| {
        fs::write(&path, bytes).unwrap();
        let ran = bench.run(&["art", path.to_str().unwrap(), "--garment", "#16181d"]);
        answered(&ran, "hostile", bytes)
    };
    // There the first byte makes the garment's colour.
    let corpus: Vec<Vec<u8>> = seeds("images").iter().map(|seed| seed[1..].to_vec()).collect();
    assert!(corpus.iter().all(|whole| art(whole)), "a seed is refused");
    let refused = hostile(&corpus, 90).iter().filter(|bytes| !art(bytes)).count();
    assert!(refused > 40, "{refused} refused: hardly any was harmed");
    // Heads that ask for what nobody has, or for nothing.
    let head = |at: usize, to: [u8; 4]| {
        let mut head = raw_png::head(4, 4, false);
        head[at..at + 4].copy_from_slice(&to);
        raw_png::file(head, &[0; 4 * 17])
    };
    for bytes in [
        head(0, [255; 4]),
        head(4, [255; 4]),
        head(0, [0; 4]),
        head(4, [0x7f, 255, 255, 255]),
        head(8, [255; 4]),
    ] {
        assert!(!art(&bytes));
    }
}

#[test]
fn profiles_and_orders_are_read_or_refused_in_words() {
    let bench = Bench::new(2, 20);
    let (recipe, station) = (bench.recipe(), bench.station());
    let good = [&recipe, &station].map(|path| fs::read(path).unwrap());
    let mut refused = 0;
    for (path, good) in [&recipe, &station].into_iter().zip(&good) {
        for bytes in hostile(std::slice::from_ref(good), 30) {
            fs::write(path, &bytes).unwrap();
            let name = path.file_name().unwrap().to_str().unwrap();
            refused += usize::from(!answered(&bench.run(&["profiles"]), name, &bytes));
        }
        fs::write(path, good).unwrap();
    }
    let order = bench.root.path().join("wanted.ron");
    let shipped = [crate::bench::order(12).into_bytes()];
    for bytes in hostile(&shipped, 40) {
        fs::write(&order, &bytes).unwrap();
        let ran = bench.run(&["take", order.to_str().unwrap()]);
        refused += usize::from(!answered(&ran, "wanted.ron", &bytes));
    }
    assert!(refused > 50, "{refused} refused: hardly any was harmed");
}

/// What lies in the inbox comes over no command line: the board takes it in or sets it aside, and works on.
#[test]
fn whatever_lies_in_the_inbox_is_taken_in_or_set_aside() {
    let bench = Bench::new(2, 60);
    bench.take(3);
    let inbox = bench.data().join("inbox");
    let laid: Vec<PathBuf> = fs::read_dir(&inbox).unwrap().map(|one| one.unwrap().path()).collect();
    let order = fs::read(&laid[0]).unwrap();
    let wash = br#"{"garment":"A1-02","cycles":10,"grade":"4-5","delta_e":1.25}"#.to_vec();
    for (kind, whole) in [("", order), ("-wash", wash)] {
        for (n, bytes) in hostile(&[whole], 30).into_iter().enumerate() {
            fs::write(inbox.join(format!("x{n:02}{kind}.json")), bytes).unwrap();
        }
    }
    let left = || {
        let names = fs::read_dir(&inbox).unwrap().map(|one| one.unwrap().file_name());
        names.filter(|name| name.to_string_lossy().ends_with(".json")).count()
    };
    let mut pty = Pty::board(&bench);
    pty.wait_until("an inbox in which nothing waits", |_| left() == 0);
    pty.wait_saved();
    pty.key(b"1");
    pty.wait_for("shut press 1");
    pty.wait_saved();
    assert_eq!(pty.leave(), 0);
    bench.assert_sound();
    let log = fs::read_to_string(bench.data().join("log")).unwrap();
    assert!(!log.contains("panic"), "{log}");
    assert!(log.lines().filter(|line| line.contains("inbox")).count() > 30, "{log}");
}
