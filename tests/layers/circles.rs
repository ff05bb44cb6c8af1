//! Files that name each other in a circle: none of them is understood without all of them.
//!
//! A file that hands a name on (`pub use`) is passed over: whoever takes the name depends on the file that has it. A file
//! below another may name what stands in that one: it is a part of it.

use std::collections::{BTreeMap, BTreeSet};
use std::sync::LazyLock;

use regex_lite::Regex;

use crate::source::{Source, is_word_at};

static INLINE: LazyLock<Regex> = LazyLock::new(|| Regex::new(r"\b[a-z_]\w*(?:::\w+)+").unwrap());
static IMPORT: LazyLock<Regex> =
    LazyLock::new(|| Regex::new(r"^\s*(pub(?:\([a-z ]+\))? )?use ([^;]+);").unwrap());

/// The parts of a path: of a file the module that it is.
type Path = Vec<String>;

fn parts(path: &str) -> Path {
    path.split("::").map(|part| part.trim().to_owned()).filter(|part| part != "self").collect()
}

/// The module that a file is; None of a program's own.
fn module_of(path: &str) -> Option<Path> {
    let name = path.strip_suffix(".rs")?;
    let name = name.strip_suffix("/mod").unwrap_or(name);
    match name {
        "main" | "build" => None,
        "lib" => Some(Path::new()),
        _ => Some(name.split('/').map(str::to_owned).collect()),
    }
}

/// What the files name, each by its module.
#[derive(Default)]
struct Names {
    named: BTreeMap<Path, Vec<Path>>,
    /// Names that a file hands on, and whose they are.
    handed_on: BTreeMap<(Path, String), Path>,
}

impl Names {
    fn of(sources: &[Source]) -> Self {
        let mut all = Self::default();
        let modules = sources.iter().filter_map(|source| Some((module_of(&source.path)?, source)));
        for (module, source) in modules {
            let named = all.read(&module, source);
            all.named.insert(module, named);
        }
        all
    }

    /// The paths that a file goes by.
    fn read(&mut self, module: &Path, source: &Source) -> Vec<Path> {
        let (mut named, mut handed_on, mut words) = (Vec::new(), Vec::new(), String::new());
        for (_, line) in source.code().into_iter().filter(|(number, _)| !source.is_test(*number)) {
            let import = line.contains("use ").then(|| IMPORT.captures(&line)).flatten();
            let Some(found) = import else {
                named.extend(INLINE.find_iter(&line).map(|path| parts(path.as_str())));
                words += &line;
                words.push('\n');
                continue;
            };
            for path in found[2].split(',') {
                let (path, name) = path.split_once(" as ").unwrap_or((path, ""));
                let path = parts(path);
                let name = if name.is_empty() { path.last().unwrap() } else { name }.to_owned();
                if found.get(1).is_some() {
                    handed_on.push((name, path));
                } else {
                    named.push(path);
                }
            }
        }
        for (name, path) in handed_on {
            if is_word_at(&words, &name) {
                named.push(path.clone());
            }
            self.handed_on.insert((module.clone(), name), path);
        }
        named
    }

    /// The file that has what a path names in a module; None of what is not ours.
    fn file_of(&self, module: &Path, path: &[String], hops: usize) -> Option<Path> {
        let (mut at, mut rest) = (module.clone(), path);
        match rest.first()?.as_str() {
            "crate" => (at, rest) = (Path::new(), &rest[1..]),
            "super" => {
                while rest.first().is_some_and(|part| part == "super") {
                    at.pop();
                    rest = &rest[1..];
                }
            }
            child if self.named.contains_key(&below(module, child)) => {}
            name => {
                let path =
                    self.handed_on.get(&(at.clone(), name.to_owned())).filter(|_| hops > 0)?;
                return self.file_of(module, &[path, &rest[1..]].concat(), hops - 1);
            }
        }
        while let Some(part) = rest.first() {
            let next = below(&at, part);
            if !self.named.contains_key(&next) {
                let handed_on =
                    self.handed_on.get(&(at.clone(), part.clone())).filter(|_| hops > 0);
                return match handed_on {
                    Some(path) => self.file_of(&at, &[path, &rest[1..]].concat(), hops - 1),
                    None => Some(at),
                };
            }
            (at, rest) = (next, &rest[1..]);
        }
        Some(at)
    }

    /// The files that each file names.
    fn arrows(&self) -> BTreeMap<Path, BTreeSet<Path>> {
        let arrows = self.named.iter().map(|(module, named)| {
            let files = named.iter().filter_map(|path| self.file_of(module, path, 8));
            (module.clone(), files.filter(|file| !module.starts_with(file)).collect())
        });
        arrows.collect()
    }
}

fn below(module: &Path, part: &str) -> Path {
    [module.as_slice(), &[part.to_owned()]].concat()
}

/// All circles, each as its arrows: "a::b -> a::c".
pub fn circles(sources: &[Source]) -> Vec<Vec<String>> {
    let arrows = Names::of(sources).arrows();
    let reached: BTreeMap<&Path, BTreeSet<&Path>> = arrows
        .keys()
        .map(|from| {
            let (mut seen, mut open) = (BTreeSet::new(), vec![from]);
            while let Some(file) = open.pop() {
                open.extend(
                    arrows.get(file).into_iter().flatten().filter(|next| seen.insert(*next)),
                );
            }
            (from, seen)
        })
        .collect();
    let same = |one: &Path, other: &Path| {
        reached[one].contains(other) && reached.get(other).is_some_and(|back| back.contains(one))
    };
    let mut circles = BTreeMap::<&Path, Vec<String>>::new();
    for (from, to) in arrows.iter().flat_map(|(from, all)| all.iter().map(move |to| (from, to))) {
        if same(from, to) {
            let first = arrows.keys().find(|first| same(first, from)).unwrap();
            let arrow = format!("{} -> {}", from.join("::"), to.join("::"));
            circles.entry(first).or_default().push(arrow);
        }
    }
    circles.into_values().collect()
}

#[cfg(test)]
mod tests {
    use super::*;

    fn found(files: &[(&str, &str)]) -> Vec<Vec<String>> {
        let sources: Vec<Source> =
            files.iter().map(|(path, text)| Source::new(path, text)).collect();
        circles(&sources)
    }

    #[test]
    fn files_that_name_each_other_are_a_circle() {
        let circle = vec![vec!["a::b -> a::c".to_owned(), "a::c -> a::b".to_owned()]];
        for (b, c) in [
            ("use super::c::C;", "use crate::a::b::B;"),
            ("use crate::a::{\n    c::C,\n    d,\n};", "fn x() { super::b::x() }"),
            // By the name that a third hands on.
            ("use super::C;", "use super::B;"),
            ("pub use super::c::C;\nfn x(c: C) {}", "use crate::a::B as Other;"),
        ] {
            let a = "pub mod b;\npub mod c;\npub use b::B;\npub use c::C;\n";
            assert_eq!(found(&[("a/mod.rs", a), ("a/b.rs", b), ("a/c.rs", c)]), circle, "{b} {c}");
        }
    }

    #[test]
    fn parts_of_a_file_and_names_handed_on_are_none() {
        let part = ("a/b.rs", "use super::A;\nfn b() {}");
        assert_eq!(
            found(&[("a.rs", "mod b;\nuse b::b;\nstruct A;"), part]),
            Vec::<Vec<String>>::new()
        );
        let hands_on = ("a/b.rs", "pub use super::c::C;\nstruct B;");
        let takes = ("a/c.rs", "use super::b::B;\nstruct C;");
        let test = ("a/d.rs", "use super::c::C;\n#[cfg(test)]\nmod tests { use crate::a::e::E; }");
        let tested = ("a/e.rs", "use super::d::D;");
        assert_eq!(found(&[hands_on, takes, test, tested]), Vec::<Vec<String>>::new());
    }
}
