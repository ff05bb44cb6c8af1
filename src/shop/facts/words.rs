//! Text that came from outside, made fit to be kept and drawn.

use std::borrow::Cow;
use std::fmt::Display;

/// The text without control characters and without more than `most` characters.
///
/// A file, a scanner or a journal may carry escape sequences; none may reach the terminal.
pub fn clean(text: &str, most: usize) -> String {
    text.chars().filter(|c| !is_unprintable(*c)).take(most).collect::<String>().trim().to_owned()
}

/// The text without control characters but for the ends of its lines, however long it is.
pub fn harmless(text: &str) -> Cow<'_, str> {
    let is_harmful = |c: char| c != '\n' && is_unprintable(c);
    if text.contains(is_harmful) {
        return Cow::Owned(text.chars().filter(|c| !is_harmful(*c)).collect());
    }
    Cow::Borrowed(text)
}

/// "1 garment", "2 garments", "2 presses".
pub fn counted<N: Display + PartialEq + From<u8>>(count: N, one: &str) -> String {
    let plural = match one.ends_with('s') {
        _ if count == N::from(1) => "",
        true => "es",
        false => "s",
    };
    format!("{count} {one}{plural}")
}

/// What stands behind a word, with a space before it; nothing where there is none.
pub fn behind(text: Option<&str>) -> String {
    text.filter(|text| !text.is_empty()).map_or_else(String::new, |text| format!(" {text}"))
}

/// Control characters, and those that reorder or hide what stands beside them.
pub fn is_unprintable(c: char) -> bool {
    c.is_control()
        || matches!(c, '\u{200b}'..='\u{200f}' | '\u{2028}'..='\u{202e}' | '\u{2060}'..='\u{206f}' | '\u{feff}')
}

#[cfg(test)]
mod tests {
    use super::{clean, harmless};

    #[test]
    fn escape_sequences_lose_their_teeth() {
        assert_eq!(clean("Harbour\x1b[2J choir\r\n", 40), "Harbour[2J choir");
        assert_eq!(clean("\u{202e}evil\u{200b}", 40), "evil");
        assert_eq!(clean("too long by far", 8), "too long");
        assert_eq!(harmless("one\n\u{9b}2J\u{1b}]0;two\u{7}\n"), "one\n2J]0;two\n");
    }
}
