//! A page of the manual: said once, written for `man` and for a terminal.

use clap_mangen::roff::{Roff, bold, roman};

use crate::screen::cells::wrapped;

/// Something that can be looked up.
pub struct Entry {
    /// What stands above the text.
    pub term: String,
    /// What else finds it.
    names: Vec<String>,
    pub text: String,
}

impl Entry {
    /// An entry that its term finds.
    pub fn new(term: &str, text: &str) -> Self {
        Self { term: term.to_owned(), names: Vec::new(), text: text.to_owned() }
    }

    /// Another name that finds it.
    pub fn also(mut self, name: &str) -> Self {
        self.names.push(name.to_owned());
        self
    }

    /// Everything that finds it.
    pub fn names(&self) -> impl Iterator<Item = &str> {
        std::iter::once(self.term.as_str()).chain(self.names.iter().map(String::as_str))
    }

    /// Its lines on a terminal of so many columns.
    pub fn lines(&self, width: usize) -> Vec<String> {
        const INDENT: usize = 4;
        let text = wrapped(&self.text, width.saturating_sub(INDENT));
        std::iter::once(self.term.clone())
            .chain(text.into_iter().map(|line| format!("{}{line}", " ".repeat(INDENT))))
            .collect()
    }
}

/// What stands on a page, from above.
enum Part {
    Heading(String),
    Text(String),
    Entry(Entry),
}

/// A page that is no command's.
pub struct Page {
    /// As in `dwell help NAME` and `man dwell-NAME`.
    pub name: &'static str,
    /// Of the system's manual: 5 for files, 7 for what is neither command nor file.
    pub section: u8,
    pub title: &'static str,
    parts: Vec<Part>,
}

impl Page {
    /// An empty one.
    pub fn new(name: &'static str, section: u8, title: &'static str) -> Self {
        Self { name, section, title, parts: Vec::new() }
    }

    /// Begins a part of it.
    pub fn heading(&mut self, text: &str) {
        self.parts.push(Part::Heading(text.to_owned()));
    }

    /// Parts with what can be looked up in each.
    pub fn told(&mut self, parts: &[(&str, &[(&str, &str)])]) {
        for (heading, entries) in parts {
            self.heading(heading);
            for (term, says) in *entries {
                self.entry(Entry::new(term, says));
            }
        }
    }

    /// A paragraph.
    pub fn text(&mut self, text: &str) {
        self.parts.push(Part::Text(text.to_owned()));
    }

    /// Something that can be looked up.
    pub fn entry(&mut self, entry: Entry) {
        self.parts.push(Part::Entry(entry));
    }

    /// What can be looked up on it.
    pub fn entries(&self) -> impl Iterator<Item = &Entry> {
        self.parts.iter().filter_map(|part| match part {
            Part::Entry(entry) => Some(entry),
            _ => None,
        })
    }

    /// Its lines on a terminal of so many columns.
    pub fn lines(&self, width: usize) -> Vec<String> {
        let mut lines = vec![format!("dwell {}: {}", self.name, self.title)];
        for part in &self.parts {
            lines.push(String::new());
            match part {
                Part::Heading(text) => lines.push(text.to_uppercase()),
                Part::Text(text) => lines.extend(wrapped(text, width)),
                Part::Entry(entry) => lines.extend(entry.lines(width)),
            }
        }
        lines
    }

    /// The name of its file among the manual's.
    pub fn file_name(&self) -> String {
        format!("dwell-{}.{}", self.name, self.section)
    }

    /// The same for `man`.
    pub fn roff(&self) -> String {
        let section = self.section.to_string();
        let title = format!("dwell-{}", self.name);
        let source = concat!("dwell ", env!("CARGO_PKG_VERSION"));
        let mut roff = Roff::new();
        roff.control("TH", [title.as_str(), &section, "", source, ""]);
        roff.control("SH", ["NAME"]);
        roff.text([roman(format!("{title} - {}", self.title))]);
        roff.control("SH", ["DESCRIPTION"]);
        for part in &self.parts {
            match part {
                Part::Heading(text) => {
                    roff.control("SH", [text.to_uppercase().as_str()]);
                }
                Part::Text(text) => {
                    roff.control("PP", []).text([roman(text.as_str())]);
                }
                Part::Entry(entry) => {
                    roff.control("TP", []).text([bold(entry.term.as_str())]);
                    roff.text([roman(entry.text.as_str())]);
                }
            }
        }
        roff.to_roff()
    }
}
