//! Reads the big letters off a screen as a person does: by their dots. What it has read stands as plain text in
//! the place of the letters, in their first row and flush with their right edge.

use dwell::screen::faces::{five, seven};

/// The dots of a screen: two to a cell, one over the other.
pub struct Dots {
    columns: usize,
    ink: Vec<bool>,
}

impl Dots {
    /// No dot on a screen of so many columns and rows of cells.
    pub fn none(columns: usize, rows: usize) -> Self {
        Self { columns, ink: vec![false; columns * rows * 2] }
    }

    /// Puts the dots of one cell: of its glyph, or of its ground where that is a dot's.
    pub fn put(&mut self, (column, row): (usize, usize), glyph: &str, is_dot: bool) {
        let (upper, lower) = match glyph {
            "▀" => (true, false),
            "▄" => (false, true),
            "█" | "▒" => (true, true),
            "" | " " => (is_dot, is_dot),
            _ => (false, false),
        };
        self.ink[row * 2 * self.columns + column] = upper;
        self.ink[(row * 2 + 1) * self.columns + column] = lower;
    }

    fn rows(&self) -> usize {
        self.ink.len() / self.columns.max(1)
    }

    fn at(&self, x: usize, y: usize) -> bool {
        x < self.columns && y < self.rows() && self.ink[y * self.columns + x]
    }
}

/// A word that was read: where, and how large it is in columns and half rows.
#[derive(Debug)]
pub struct Word {
    pub x: usize,
    pub y: usize,
    wide: usize,
    pub high: usize,
    pub text: String,
}

/// Columns and half rows of a dot, the largest first.
const SIZES: [(usize, usize); 5] = [(6, 6), (4, 4), (2, 2), (1, 2), (1, 1)];
/// Letters that are too plain to be told by themselves from a line.
const PLAIN: [char; 5] = ['I', '-', ':', '!', '/'];

/// Every word on the screen in big letters.
pub fn words(dots: &Dots) -> Vec<Word> {
    let mut found: Vec<Word> = Vec::new();
    for size in SIZES {
        read_size(dots, &seven::GLYPHS, size, &mut found);
        read_size(dots, &five::GLYPHS, size, &mut found);
    }
    found
}

/// The rows of a screen with the words read in the place of their letters.
pub fn with_words(rows: &[String], dots: &Dots) -> String {
    let mut rows: Vec<Vec<char>> = rows.iter().map(|row| row.chars().collect()).collect();
    for word in words(dots) {
        // Its letters go, so that no half of one stands between the words.
        for row in rows.iter_mut().skip(word.y / 2).take(word.high.div_ceil(2)) {
            let end = (word.x + word.wide).min(row.len());
            if word.x < end {
                row[word.x..end].fill(' ');
            }
        }
        let row = &mut rows[word.y / 2];
        let first = (word.x + word.wide).saturating_sub(word.text.len()).max(word.x);
        for (n, letter) in (first..).zip(word.text.chars()) {
            while row.len() <= n {
                row.push(' ');
            }
            row[n] = letter;
        }
    }
    let line = |row: &Vec<char>| row.iter().collect::<String>().trim_end().to_owned();
    rows.iter().map(line).collect::<Vec<_>>().join("\n")
}

fn read_size<const N: usize>(
    dots: &Dots,
    font: &[(char, [&str; N])],
    (wide, high): (usize, usize),
    found: &mut Vec<Word>,
) {
    for y in 0..dots.rows() {
        for x in 0..dots.columns {
            let is_taken = |word: &Word| {
                (word.x..word.x + word.wide).contains(&x)
                    && (word.y..word.y + word.high).contains(&y)
            };
            if found.iter().any(is_taken) {
                continue;
            }
            let (text, end) = read_word(dots, font, (wide, high), (x, y));
            if text.chars().any(|letter| !PLAIN.contains(&letter)) {
                found.push(Word { x, y, wide: end - x, high: N * high, text });
            }
        }
    }
}

fn read_word<const N: usize>(
    dots: &Dots,
    font: &[(char, [&str; N])],
    size: (usize, usize),
    (x, y): (usize, usize),
) -> (String, usize) {
    let (mut text, mut at, mut end) = (String::new(), x, x);
    let space = font.iter().find(|(letter, _)| *letter == ' ').map_or(0, |(_, rows)| rows[0].len());
    loop {
        if let Some((letter, wide)) = read_letter(dots, font, size, (at, y)) {
            text.push(letter);
            end = at + wide * size.0;
            at = end + size.0;
        } else if !text.is_empty() && !text.ends_with(' ') {
            text.push(' ');
            at += (space + 1) * size.0;
        } else {
            return (text.trim_end().to_owned(), end);
        }
    }
}

/// The letter at a place: every dot of it is there, nothing else is, and the columns beside it are empty.
fn read_letter<const N: usize>(
    dots: &Dots,
    font: &[(char, [&str; N])],
    (wide, high): (usize, usize),
    (x, y): (usize, usize),
) -> Option<(char, usize)> {
    let column = |x: usize| (0..N * high).any(|row| dots.at(x, y + row));
    if y + N * high > dots.rows() || !column(x) || (x > 0 && column(x - 1)) {
        return None;
    }
    let is_there = |rows: &[&str; N]| {
        let dots_wide = rows[0].len();
        let after = x + dots_wide * wide;
        (after >= dots.columns || !column(after))
            && rows.iter().enumerate().all(|(row, line)| {
                line.bytes().enumerate().all(|(column, dot)| {
                    (0..wide).all(|dx| {
                        (0..high).all(|dy| {
                            dots.at(x + column * wide + dx, y + row * high + dy) == (dot == b'#')
                        })
                    })
                })
            })
    };
    let found = font.iter().find(|(letter, rows)| *letter != ' ' && is_there(rows));
    found.map(|(letter, rows)| (*letter, rows[0].len()))
}
