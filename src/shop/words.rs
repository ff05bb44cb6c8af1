//! Text that came from outside, made fit to be kept and drawn.

/// The text without control characters and without more than `most` characters.
///
/// A file, a scanner or a journal may carry escape sequences; none may reach the terminal.
pub fn clean(text: &str, most: usize) -> String {
    text.chars().filter(|c| !is_unprintable(*c)).take(most).collect::<String>().trim().to_owned()
}

/// Control characters, and those that reorder or hide what stands beside them.
fn is_unprintable(c: char) -> bool {
    c.is_control()
        || matches!(c, '\u{200b}'..='\u{200f}' | '\u{2028}'..='\u{202e}' | '\u{2060}'..='\u{206f}' | '\u{feff}')
}

#[cfg(test)]
mod tests {
    use super::clean;

    #[test]
    fn escape_sequences_lose_their_teeth() {
        assert_eq!(clean("Harbour\x1b[2J choir\r\n", 40), "Harbour[2J choir");
        assert_eq!(clean("\u{202e}evil\u{200b}", 40), "evil");
        assert_eq!(clean("too long by far", 8), "too long");
    }
}
