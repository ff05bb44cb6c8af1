//! A file of somebody else's is never harmed: not by its name, not through a link, not where it is what is read.

use std::os::unix::fs::symlink;
use std::path::{Path, PathBuf};

use crate::bench::{Bench, Ran};

/// A directory with a picture, a table of values and a page of somebody else's.
struct Desk {
    bench: Bench,
}

const PRECIOUS: &str = "somebody's only copy";

impl Desk {
    fn new() -> Self {
        let desk = Self { bench: Bench::new(2, 20) };
        image::RgbImage::from_pixel(8, 8, image::Rgb([255; 3])).save(desk.path("m.png")).unwrap();
        std::fs::write(desk.path("values.csv"), "a\n1\n2\n3\n2\n1\n").unwrap();
        desk.precious("precious");
        desk
    }

    fn path(&self, name: &str) -> PathBuf {
        self.bench.root.path().join(name)
    }

    fn precious(&self, name: &str) -> PathBuf {
        std::fs::write(self.path(name), PRECIOUS).unwrap();
        self.path(name)
    }

    /// Each command that writes a file, with the file that it reads.
    fn write(&self, what: &str, from: &str, to: &Path) -> Ran {
        let (from, to) = (self.path(from), to.to_str().unwrap());
        let from = from.to_str().unwrap();
        let words = match what {
            "mask" => vec!["art", from, "--garment", "#101820", "--mask", to],
            "plot" => vec!["chart", from, "--plot", to],
            "report" => vec!["report", "--format", "html", "--out", to],
            "backup" => vec!["backup", "--force", to],
            other => panic!("{other}"),
        };
        self.bench.run(&words)
    }
}

const WRITERS: [(&str, &str); 4] =
    [("mask", "m.png"), ("plot", "values.csv"), ("report", "values.csv"), ("backup", "m.png")];

fn journalled() -> Desk {
    let desk = Desk::new();
    let data = desk.bench.data();
    let made = ["rehearse", "--headless", "--garments", "4", "--data", data.to_str().unwrap()];
    let home = desk.bench.home();
    // The scenario's orders go by the recipes that are built in.
    let ran = crate::bench::run(&home, Path::new(""), &data, &made);
    assert_eq!(ran.code, 0, "{}", ran.err);
    desk
}

/// A file that is called as an unfinished one might be, and a link of that name to somebody's file.
#[test]
fn no_name_that_a_writer_might_think_of_is_written_over() {
    for (what, from) in WRITERS {
        let desk = journalled();
        let lies = ["new.part", "new.tmp", "new.out.part", ".new.out.part", "new"];
        let lies = lies.map(|name| desk.precious(name));
        let link = desk.path("linked.part");
        symlink(desk.path("precious"), &link).unwrap();
        for name in ["new.out", "linked.out"] {
            let ran = desk.write(what, from, &desk.path(name));
            assert_eq!((ran.code, ran.err.as_str()), (0, ""), "{what}");
            assert!(desk.path(name).metadata().unwrap().len() > 30, "{what}");
        }
        for path in lies.iter().chain([&desk.path("precious"), &link]) {
            assert_eq!(std::fs::read_to_string(path).unwrap(), PRECIOUS, "{what}: {path:?}");
        }
        let names = std::fs::read_dir(desk.bench.root.path()).unwrap();
        let names: Vec<_> = names.map(|entry| entry.unwrap().file_name()).collect();
        assert!(
            !names.iter().any(|name| name.to_str().unwrap().starts_with(".dwell")),
            "{names:?}"
        );
    }
}

/// The artwork itself had been destroyed where it was called as the mask's unfinished file.
#[test]
fn an_artwork_of_an_unfinished_masks_name_stays() {
    let desk = Desk::new();
    std::fs::rename(desk.path("m.png"), desk.path("m.part")).unwrap();
    let before = std::fs::read(desk.path("m.part")).unwrap();
    let ran = desk.write("mask", "m.part", &desk.path("m.png"));
    assert_eq!((ran.code, ran.err.as_str()), (0, ""));
    assert!(std::fs::read(desk.path("m.part")).unwrap() == before);
}

/// A link in the place of an answer is replaced: what it leads to is somebody's.
#[test]
fn nothing_is_written_through_a_link() {
    for (what, from) in WRITERS {
        let desk = journalled();
        let link = desk.path("answer.out");
        symlink(desk.path("precious"), &link).unwrap();
        let ran = desk.write(what, from, &link);
        assert_eq!((ran.code, ran.err.as_str()), (0, ""), "{what}");
        assert_eq!(std::fs::read_to_string(desk.path("precious")).unwrap(), PRECIOUS, "{what}");
        assert!(link.symlink_metadata().unwrap().is_file(), "{what}");
    }
}

/// By another name, through a link, as a second name of the same file: it is what is read.
#[test]
fn an_answer_never_takes_the_place_of_what_it_is_made_of() {
    let desk = journalled();
    let journal = desk.bench.data().join("journal.sqlite");
    for (what, from) in WRITERS {
        let read =
            if matches!(what, "report" | "backup") { journal.clone() } else { desk.path(from) };
        let before = std::fs::read(&read).unwrap();
        let (link, second) = (desk.path(&format!("{what}-link")), desk.path(&format!("{what}-2")));
        symlink(&read, &link).unwrap();
        std::fs::hard_link(&read, &second).unwrap();
        let round = read.parent().unwrap().join(".").join(read.file_name().unwrap());
        for to in [&read, &link, &second, &round] {
            let ran = desk.write(what, from, to);
            assert_eq!((ran.code, ran.err.is_empty()), (2, false), "{what} {to:?}");
            assert!(
                ["same file", "journal itself", "data directory"]
                    .iter()
                    .any(|word| ran.err.contains(word)),
                "{}",
                ran.err
            );
        }
        assert!(std::fs::read(&read).unwrap() == before, "{what}");
        assert!(link.symlink_metadata().unwrap().is_symlink(), "{what}");
    }
}

/// A device, a pipe and a directory stay what they are.
#[test]
fn what_is_no_file_is_never_replaced() {
    for (what, from) in WRITERS {
        let desk = journalled();
        let pipe = desk.path("pipe");
        assert!(std::process::Command::new("mkfifo").arg(&pipe).status().unwrap().success());
        let null = desk.path("null");
        symlink("/dev/null", &null).unwrap();
        for to in [&pipe, &null, &desk.bench.home()] {
            let before = to.symlink_metadata().unwrap().file_type();
            let ran = desk.write(what, from, to);
            assert_ne!(ran.code, 0, "{what} {to:?}: {}", ran.out);
            assert!(ran.err.contains(to.file_name().unwrap().to_str().unwrap()), "{}", ran.err);
            assert_eq!(to.symlink_metadata().unwrap().file_type(), before, "{what} {to:?}");
        }
    }
}

/// Profiles that are copied out leave what lies there, a link too, wherever it leads.
#[test]
fn profiles_that_are_copied_out_go_through_no_link() {
    let desk = Desk::new();
    let out = desk.path("out");
    std::fs::create_dir(&out).unwrap();
    symlink(desk.path("not-there-yet"), out.join("station.ron")).unwrap();
    let ran = desk.bench.run(&["profiles", "--write", out.to_str().unwrap()]);
    assert_eq!((ran.code, ran.err.as_str()), (0, ""));
    assert!(!desk.path("not-there-yet").exists(), "written through a link");
    assert!(out.join("recipes/blend.ron").is_file());
}
