//! Text in cells of the terminal: a letter of a wide script takes two, one that only marks another takes none.

use textwrap::{Options, WordSplitter};
use unicode_width::{UnicodeWidthChar, UnicodeWidthStr};

/// How many cells a text takes.
pub fn width(text: &str) -> usize {
    text.width()
}

/// As much from the front of a text as keeps within so many cells; a wide letter is never halved.
pub fn cut(text: &str, room: usize) -> &str {
    let mut taken = 0;
    let end = text.char_indices().find(|(_, letter)| {
        // One that is not drawn counts as one, as in a whole text.
        taken += letter.width().unwrap_or(1);
        taken > room
    });
    end.map_or(text, |(at, _)| &text[..at])
}

/// A text in lines of at most so many cells, broken between words; a word that is longer is broken itself.
pub fn wrapped(text: &str, room: usize) -> Vec<String> {
    let options = Options::new(room.max(1)).word_splitter(WordSplitter::NoHyphenation);
    let words: Vec<&str> = text.split_whitespace().collect();
    let text = words.join(" ");
    let lines = textwrap::wrap(&text, options);
    lines.into_iter().map(std::borrow::Cow::into_owned).filter(|line| !line.is_empty()).collect()
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_wide_letter_takes_two_cells_and_is_never_halved() {
        assert_eq!(width("港合唱"), 6);
        assert_eq!(cut("港合唱", 5), "港合");
        assert_eq!(cut("A1-06", 9), "A1-06");
        for odd in ["\u{1b}[2J", "a\u{301}\u{302}", "\u{2764}\u{fe0f}\u{2764}\u{fe0f}", "\0\0\0\0"]
        {
            assert!((0..6).all(|room| odd.starts_with(cut(odd, room))), "{odd:?}");
        }
    }

    #[test]
    fn lines_break_between_words_and_a_tag_stays_whole() {
        assert_eq!(wrapped("print  A1-06 then", 10), ["print", "A1-06 then"]);
        assert_eq!(wrapped("abcdefgh ij", 3), ["abc", "def", "gh", "ij"]);
        assert_eq!(wrapped("港合唱", 4), ["港合", "唱"]);
        assert_eq!(wrapped("", 4), Vec::<String>::new());
    }
}
