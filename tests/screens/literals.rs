//! The texts that stand in a source file, as the compiler's own reader of tokens finds them.

use proc_macro2::{Delimiter, Group, Literal, TokenStream, TokenTree};

/// Macros and functions whose texts go to a developer or into the log.
const NOT_SAID: [&str; 11] = [
    "assert",
    "assert_eq",
    "assert_ne",
    "debug",
    "error",
    "expect",
    "info",
    "panic",
    "trace",
    "unreachable",
    "warn",
];

/// Every text of so many words at least, each once, in the order of the file; what tests say is left out.
pub fn texts(source: &str, least_words: usize) -> Vec<String> {
    let tokens: TokenStream = source.parse().expect("a source that compiles");
    let mut found = Vec::new();
    gather(tokens, &mut found);
    let mut said: Vec<String> = Vec::new();
    for text in found {
        if is_text(&text, least_words) && !said.contains(&text) {
            said.push(text);
        }
    }
    said
}

fn is_text(text: &str, least_words: usize) -> bool {
    let words = text.split_whitespace().filter(|word| {
        word.chars().filter(|letter| letter.is_alphabetic()).count() > 1 && !word.starts_with('{')
    });
    words.count() >= least_words
}

fn gather(tokens: TokenStream, found: &mut Vec<String>) {
    let mut tokens = tokens.into_iter().peekable();
    let mut last = String::new();
    // What follows `#[cfg(test)]`, up to the end of its block.
    let mut of_tests = false;
    while let Some(token) = tokens.next() {
        match token {
            TokenTree::Punct(punct) if punct.as_char() == '#' => {
                if matches!(tokens.peek(), Some(TokenTree::Punct(bang)) if bang.as_char() == '!') {
                    tokens.next();
                }
                if let Some(TokenTree::Group(attribute)) = tokens.next() {
                    of_tests |= attribute.stream().to_string().replace(' ', "") == "cfg(test)";
                    told_by(&attribute, found);
                }
            }
            TokenTree::Group(group) => {
                let block = group.delimiter() == Delimiter::Brace;
                if !of_tests && !NOT_SAID.contains(&last.as_str()) {
                    gather(group.stream(), found);
                }
                of_tests &= !block;
                last.clear();
            }
            TokenTree::Ident(ident) => last = ident.to_string(),
            TokenTree::Literal(literal) if !of_tests => found.extend(read(&literal)),
            TokenTree::Literal(_) | TokenTree::Punct(_) => {}
        }
    }
}

/// Of the attributes, only the words of an error are said.
fn told_by(attribute: &Group, found: &mut Vec<String>) {
    let mut tokens = attribute.stream().into_iter();
    let named = tokens.next().is_some_and(|token| token.to_string() == "error");
    if let (true, Some(TokenTree::Group(words))) = (named, tokens.next()) {
        gather(words.stream(), found);
    }
}

/// The text of a literal; None where it is a number, a letter or bytes.
fn read(literal: &Literal) -> Option<String> {
    let literal = literal.to_string();
    let inside = literal.strip_prefix('"')?.strip_suffix('"')?;
    let mut text = String::new();
    let mut letters = inside.chars().peekable();
    while let Some(letter) = letters.next() {
        match (letter, letters.peek()) {
            ('\\', Some('\n')) => {
                while letters.peek().is_some_and(|next| next.is_whitespace()) {
                    letters.next();
                }
            }
            ('\\', Some('n')) => {
                letters.next();
                text.push_str("\\n");
            }
            ('\\', Some(_)) => text.extend(letters.next()),
            _ => text.push(letter),
        }
    }
    Some(text)
}
