//! A field of text. Where it holds something already when the cursor comes to it, the first letter typed takes
//! the place of all of it; backspace or `/` edits it instead. So nobody sets press "12" over a "1".

use crate::screen::input::{Key, KeyCode};
use tui_input::{Input, InputRequest};

use crate::screen::paint::Line;

/// A text that a person types at a bench is short; more is a cat on the keyboard.
const LONGEST: usize = 60;

/// What stands in a field, and whether the next letter replaces it.
#[derive(Default)]
pub struct Text {
    input: Input,
    replaces: bool,
}

impl Text {
    /// A field that is filled in already.
    pub fn given(value: impl Into<String>) -> Self {
        let value: String = value.into();
        let replaces = !value.is_empty();
        Self { input: value.into(), replaces }
    }

    /// What stands in it.
    pub fn value(&self) -> &str {
        self.input.value()
    }

    /// What stands in it, without blanks around it.
    pub fn trimmed(&self) -> &str {
        self.input.value().trim()
    }

    /// Whether the next letter is its first.
    pub fn is_fresh(&self) -> bool {
        self.replaces || self.input.value().is_empty()
    }

    /// Takes its last letter away; whether there was one.
    pub fn erase(&mut self) -> bool {
        let had = !self.input.value().is_empty();
        self.replaces = false;
        self.input.handle(InputRequest::GoToEnd);
        self.input.handle(InputRequest::DeletePrevChar);
        had
    }

    /// The cursor comes to it anew.
    pub fn enter(&mut self) {
        self.replaces = !self.input.value().is_empty();
    }

    /// Edits it; keys that are none of its business do nothing.
    pub fn key(&mut self, key: &Key) {
        let request = match key.code {
            KeyCode::Char(letter) if !key.ctrl => {
                if std::mem::take(&mut self.replaces) {
                    self.input = Input::default();
                }
                InputRequest::InsertChar(letter)
            }
            KeyCode::Backspace => InputRequest::DeletePrevChar,
            _ => return,
        };
        self.replaces = false;
        let full = self.input.value().chars().count() >= LONGEST;
        if !full || !matches!(request, InputRequest::InsertChar(_)) {
            self.input.handle(request);
        }
    }

    /// Its row in a form; where the cursor is on it, with what is to be typed.
    pub fn line(&self, name: &str, chosen: bool, hint: &str) -> Line {
        let replaced = if self.replaces { "typing replaces it" } else { "" };
        let hint = match (hint, replaced) {
            ("", text) | (text, "") => text.to_owned(),
            (hint, replaced) => format!("{hint}; {replaced}"),
        };
        super::field(name, self.value(), chosen, &hint)
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn typed(mut text: Text, keys: &[KeyCode]) -> String {
        for code in keys {
            text.key(&Key::plain(*code));
        }
        text.value().to_owned()
    }

    #[test]
    fn the_first_letter_replaces_what_was_filled_in_and_an_editing_key_keeps_it() {
        let given = || Text::given("340 F");
        let letters = "330".chars().map(KeyCode::Char).collect::<Vec<_>>();
        assert_eq!(typed(given(), &letters), "330");
        assert_eq!(typed(given(), &[KeyCode::Backspace, KeyCode::Char('C')]), "340 C");
        let mut erased = given();
        assert!(erased.erase() && !erased.is_fresh() && erased.value() == "340 ");
        assert_eq!(typed(Text::default(), &letters), "330");
        // The cursor leaves it and comes back.
        let mut text = Text::default();
        text.key(&Key::plain(KeyCode::Char('1')));
        text.enter();
        assert_eq!(typed(text, &[KeyCode::Char('2')]), "2");
    }
}
