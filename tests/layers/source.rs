//! The files of the source, and how words are found in them.

use std::path::Path;

/// A file by its path under `src`.
pub struct Source {
    pub path: String,
    pub text: String,
}

impl Source {
    pub fn new(path: &str, text: &str) -> Self {
        Self { path: path.to_owned(), text: text.to_owned() }
    }

    /// Whether a line stands among the tests at the end of a file.
    pub fn is_test(&self, number: usize) -> bool {
        self.text.lines().position(|line| line == "#[cfg(test)]").is_some_and(|at| number > at)
    }

    /// The functions outside the tests: where each begins, its name, and how many lines it has. One that is laid out as it is
    /// by `cargo fmt` ends with a brace right below its beginning.
    pub fn functions(&self) -> impl Iterator<Item = (usize, &str, usize)> {
        let lines: Vec<&str> = self.text.lines().collect();
        let begins = lines.clone().into_iter().enumerate().filter(|(at, _)| !self.is_test(at + 1));
        begins.filter_map(move |(at, line)| {
            let name = function_at(line)?;
            if line.ends_with([';', '}']) {
                return None;
            }
            let end = format!("{}}}", &line[..line.len() - line.trim_start().len()]);
            let body = lines[at..].iter().position(|line| *line == end)?;
            Some((at + 1, name, body + 1))
        })
    }

    /// The lines of code with their numbers: comments are words about the rules, not breaches of them. An import stands
    /// on the line where it begins, with each of its paths written out, however many lines and lists it has.
    pub fn code(&self) -> Vec<(usize, String)> {
        let lines = self.text.lines().enumerate().map(|(number, line)| (number + 1, line));
        let mut lines = lines.filter(|(_, line)| !line.trim_start().starts_with("//"));
        let mut code = Vec::new();
        while let Some((number, line)) = lines.next() {
            let mut whole = line.to_owned();
            if is_import(line) {
                while !whole.contains(';') {
                    let Some((_, more)) = lines.next() else { break };
                    whole.push_str(more.trim());
                }
                whole = written_out(&whole);
            }
            code.push((number, whole));
        }
        code
    }
}

/// The name of the function that a line begins.
fn function_at(line: &str) -> Option<&str> {
    let (before, after) = line.split_once("fn ")?;
    let words = ["pub", "const", "async", "pub(crate)", "pub(super)", "pub(in"];
    let known = |word: &str| words.contains(&word) || word.starts_with("crate::");
    before.split_whitespace().all(known).then_some(())?;
    let name = after.split(|c: char| !c.is_alphanumeric() && c != '_').next()?;
    (!name.is_empty()).then_some(name)
}

fn is_import(line: &str) -> bool {
    let line = line.trim_start();
    ["use ", "pub use ", "pub(crate) use "].iter().any(|word| line.starts_with(word))
}

/// `use a::{b::{c, d}, e};` as `use a::b::c; use a::b::d; use a::e;`.
fn written_out(import: &str) -> String {
    let Some(open) = import.rfind('{') else { return import.to_owned() };
    let Some(close) = import[open..].find('}').map(|at| open + at) else {
        return import.to_owned();
    };
    // What stands before the innermost list belongs to each of its members.
    let start = import[..open].rfind([',', '{', ' ']).map_or(0, |at| at + 1);
    let members = import[open + 1..close].split(',').map(str::trim).filter(|path| !path.is_empty());
    let members: Vec<String> =
        members.map(|member| format!("{}{member}", &import[start..open])).collect();
    written_out(&format!("{}{}{}", &import[..start], members.join(","), &import[close + 1..]))
}

fn root() -> std::path::PathBuf {
    Path::new(env!("CARGO_MANIFEST_DIR")).join("src")
}

/// Every file of the tests but these themselves, the benchmarks and what the tests share to reach the world; each by its
/// path under `tests`.
pub fn tests() -> Vec<Source> {
    let apart = ["layers", "benches", "support", "what_was_skipped"];
    let all = all_under(&Path::new(env!("CARGO_MANIFEST_DIR")).join("tests"));
    let is_apart = |source: &Source| apart.iter().any(|room| source.path.starts_with(room));
    all.into_iter().filter(|source| !is_apart(source)).collect()
}

/// The text of one file.
pub fn text_of(path: &str) -> String {
    std::fs::read_to_string(root().join(path)).unwrap_or_else(|wrong| panic!("{path}: {wrong}"))
}

/// Every file of the source.
pub fn all() -> Vec<Source> {
    all_under(&root())
}

fn all_under(root: &Path) -> Vec<Source> {
    let mut sources = Vec::new();
    let mut folders = vec![root.to_owned()];
    while let Some(folder) = folders.pop() {
        for entry in std::fs::read_dir(&folder).unwrap() {
            let path = entry.unwrap().path();
            if path.is_dir() {
                folders.push(path);
            } else if path.extension().is_some_and(|end| end == "rs") {
                let name = path.strip_prefix(root).unwrap().to_string_lossy().into_owned();
                sources.push(Source { text: std::fs::read_to_string(&path).unwrap(), path: name });
            }
        }
    }
    sources.sort_by(|one, other| one.path.cmp(&other.path));
    sources
}

/// Whether a word stands in a line, not as a part of a longer one.
pub fn is_word_at(line: &str, word: &str) -> bool {
    let part = |c: char| c.is_alphanumeric() || c == '_';
    line.match_indices(word).any(|(at, _)| {
        let before = line[..at].chars().next_back();
        let after = line[at + word.len()..].chars().next();
        !before.is_some_and(part) && !after.is_some_and(part)
    })
}
