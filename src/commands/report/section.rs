//! What a report says, as one list: text, table, page and JSON are all made from it.

use serde::{Serialize, Serializer};

/// A part of a report under a heading of its own.
#[derive(Debug, Clone, Serialize)]
pub struct Section {
    /// What a page knows it by.
    pub id: &'static str,
    pub title: &'static str,
    #[serde(serialize_with = "said")]
    pub parts: Vec<Part>,
}

/// What a program finds under the sections: what people read; the figures stand beside them.
fn said<S: Serializer>(parts: &[Part], serializer: S) -> Result<S::Ok, S::Error> {
    serializer
        .collect_seq(parts.iter().filter(|part| !matches!(part, Part::Data(_) | Part::Chart(_))))
}

/// What stands in a section, in order.
#[derive(Debug, Clone, Serialize)]
#[serde(rename_all = "kebab-case")]
pub enum Part {
    /// Figures that are read from across the room.
    Figures(Vec<Figure>),
    /// Sentences, each by itself.
    Says(Vec<String>),
    /// How something is counted: in smaller letters where there are such.
    Explains(String),
    Table(Table),
    /// Single figures that people read in the sentences beside them.
    #[serde(skip)]
    Data(Vec<Datum>),
    /// What only a page can show.
    #[serde(skip)]
    Chart(Chart),
}

/// The pictures of a page.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Chart {
    Finished,
    Presses,
    /// Of a comparison.
    Groups,
}

/// A figure with its name, and what is said beside it.
#[derive(Debug, Clone, Serialize)]
pub struct Figure {
    pub name: &'static str,
    pub shown: String,
    pub says: String,
}

/// A figure for programs.
#[derive(Debug, Clone)]
pub struct Datum {
    pub section: &'static str,
    pub item: String,
    pub name: &'static str,
    pub value: String,
    pub unit: &'static str,
}

/// Rows of cells; the first column of what people read is the rows' own name.
#[derive(Debug, Clone, Serialize)]
pub struct Table {
    /// What programs know the section by.
    #[serde(skip)]
    pub section: &'static str,
    pub caption: String,
    /// What is said where there is no row.
    #[serde(skip)]
    pub none: &'static str,
    /// The head of the rows' names.
    pub head: &'static str,
    pub columns: Vec<Column>,
    pub rows: Vec<Row>,
    /// Whether its rows become cards on a phone; else it is narrow enough as it is.
    #[serde(skip)]
    pub cards: bool,
}

/// Who reads a column.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum For {
    All,
    /// People with a page: eighty columns of text have no room for it.
    Page,
    /// Programs.
    Programs,
    /// People alone: it is made of others.
    People,
}

/// A column of a table.
#[derive(Debug, Clone, Serialize)]
pub struct Column {
    pub head: &'static str,
    /// The same where room is short.
    #[serde(skip)]
    pub short: &'static str,
    /// What programs know it by.
    #[serde(skip)]
    pub name: &'static str,
    pub unit: &'static str,
    #[serde(skip)]
    pub figures: bool,
    #[serde(skip)]
    pub whose: For,
}

/// A row: its name, by what programs know it, its cells.
#[derive(Debug, Clone, Serialize)]
pub struct Row {
    pub name: String,
    #[serde(skip)]
    pub item: String,
    pub cells: Vec<Cell>,
}

/// A cell as people read it, and as a program does.
#[derive(Debug, Clone, Serialize)]
pub struct Cell {
    pub shown: String,
    #[serde(skip)]
    pub value: String,
    /// Whether it is good or bad news.
    #[serde(skip)]
    pub class: &'static str,
}

impl Cell {
    /// One that both read alike.
    pub fn plain(text: impl ToString) -> Self {
        let text = text.to_string();
        Self { shown: text.clone(), value: text, class: "" }
    }

    /// A figure that is not rounded for programs; empty for them where there is none.
    pub fn figure(shown: String, value: Option<f64>) -> Self {
        let value = value.map_or_else(String::new, |value| value.to_string());
        Self { shown, value, class: "" }
    }

    /// The same as good or bad news.
    pub fn of_class(self, class: &'static str) -> Self {
        Self { class, ..self }
    }
}

impl Column {
    /// A column of figures.
    pub fn figures(head: &'static str, unit: &'static str) -> Self {
        Self { head, short: head, name: head, unit, figures: true, whose: For::All }
    }

    /// A column of words.
    pub fn words(head: &'static str) -> Self {
        Self { figures: false, ..Self::figures(head, "") }
    }

    /// The same under another name for programs.
    pub fn known_as(self, name: &'static str) -> Self {
        Self { name, ..self }
    }

    /// The same with another head where room is short.
    pub fn in_short(self, short: &'static str) -> Self {
        Self { short, ..self }
    }

    /// The same for some readers alone.
    pub fn for_whom(self, whose: For) -> Self {
        Self { whose, ..self }
    }

    /// Whether it stands in eighty columns of text, on a page, in a table for programs.
    pub fn in_text(&self) -> bool {
        matches!(self.whose, For::All | For::People)
    }

    pub fn on_page(&self) -> bool {
        self.whose != For::Programs
    }

    pub fn for_programs(&self) -> bool {
        self.whose != For::People
    }
}

impl Datum {
    /// One that is not of anything in particular.
    pub fn of(
        section: &'static str,
        item: impl ToString,
        name: &'static str,
        value: impl ToString,
        unit: &'static str,
    ) -> Self {
        Self { section, item: item.to_string(), name, value: value.to_string(), unit }
    }

    /// A figure; empty where there is none.
    pub fn figure(
        section: &'static str,
        name: &'static str,
        value: Option<f64>,
        unit: &'static str,
    ) -> Self {
        let value = value.map_or_else(String::new, |value| value.to_string());
        Self::of(section, "", name, value, unit)
    }
}
