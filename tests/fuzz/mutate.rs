//! Bytes made of other bytes: a few seeded changes to one of a corpus, as an editor, a bad disk or a cat would.

use rand::{RngExt, SeedableRng};
use rand_pcg::Pcg64;

/// What numbers and texts break things.
const WORDS: [&str; 22] = [
    "0",
    "-1",
    "1e308",
    "1e-308",
    "NaN",
    "inf",
    "4294967295",
    "18446744073709551615",
    "65536",
    "-0.0",
    "true",
    "null",
    "None",
    "\"\"",
    "[]",
    "()",
    "{}",
    "\u{1b}[2J",
    "\u{202e}",
    "𝄞",
    "0001-01-01",
    "9999-12-31",
];
/// No input grows beyond this.
const MOST_BYTES: usize = 1 << 16;

/// Makes inputs from a corpus; the same seed makes the same ones.
pub struct Mutator<'a> {
    rng: Pcg64,
    corpus: &'a [Vec<u8>],
}

impl<'a> Mutator<'a> {
    pub fn new(seed: u64, corpus: &'a [Vec<u8>]) -> Self {
        Self { rng: Pcg64::seed_from_u64(seed), corpus }
    }

    /// The next input.
    pub fn next(&mut self) -> Vec<u8> {
        let mut bytes = self.corpus[self.below(self.corpus.len())].clone();
        for _ in 0..=self.below(4) {
            self.change(&mut bytes);
        }
        bytes.truncate(MOST_BYTES);
        bytes
    }

    fn below(&mut self, end: usize) -> usize {
        if end == 0 { 0 } else { self.rng.random_range(0..end) }
    }

    /// Two places in order, within what there is.
    fn span(&mut self, bytes: &[u8], most: usize) -> (usize, usize) {
        let from = self.below(bytes.len());
        let to = from + self.below(most.min(bytes.len() - from) + 1);
        (from, to)
    }

    fn change(&mut self, bytes: &mut Vec<u8>) {
        if bytes.is_empty() {
            bytes.push(self.rng.random());
            return;
        }
        let at = self.below(bytes.len());
        match self.below(9) {
            0 => bytes[at] ^= 1 << self.below(8),
            1 => bytes[at] = self.rng.random(),
            2 => bytes.truncate(at),
            3 => {
                let (from, to) = self.span(bytes, 40);
                bytes.drain(from..to);
            }
            4 => {
                let (from, to) = self.span(bytes, 200);
                let again = bytes[from..to].to_vec();
                bytes.splice(at..at, again);
            }
            5 => {
                let other = &self.corpus[self.below(self.corpus.len())].clone();
                if !other.is_empty() {
                    let (from, to) = self.span(other, 400);
                    bytes.splice(at..at, other[from..to].iter().copied());
                }
            }
            6 => {
                let word = WORDS[self.below(WORDS.len())];
                bytes.splice(at..at, word.bytes());
            }
            // A number is what is most often wrong: the next one becomes another.
            _ => {
                let digit = |byte: &u8| byte.is_ascii_digit();
                let Some(from) = bytes[at..].iter().position(digit).map(|n| at + n) else { return };
                let count = bytes[from..].iter().take_while(|byte| digit(byte)).count();
                let word = WORDS[self.below(9)];
                bytes.splice(from..from + count, word.bytes());
            }
        }
    }
}
