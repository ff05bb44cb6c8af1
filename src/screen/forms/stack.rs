//! The stack that garments are stored on, and whether one was shifted.

use crate::screen::input::{Key, KeyCode, Mode, Takes};

use super::entry::{At, Entry};
use super::text::Text;
use super::{Typed, field};
use crate::screen::View;
use crate::screen::act::Effect;
use crate::screen::meaning::Sight;
use crate::screen::paint::Line;
use crate::screen::theme::Role;
use crate::shop::Shop;
use crate::shop::facts::telling::laying;
use crate::shop::floor::garment::Queue;
use crate::shop::rules::command::Command;

/// A stack's name, and whether the form is about its being shifted.
pub struct StackEntry {
    name: Text,
    shifted: bool,
}

impl StackEntry {
    pub fn new(shop: &Shop) -> Self {
        Self { name: Text::given(shop.desk().stack()), shifted: false }
    }
}

impl Entry for StackEntry {
    fn mode(&self) -> Mode {
        Mode::Field(Takes::Text)
    }

    fn text(&mut self) -> Option<&mut Text> {
        Some(&mut self.name)
    }

    fn field_name(&self) -> &'static str {
        "stack"
    }

    fn list(&self, sight: &Sight<'_>) -> Option<Vec<String>> {
        let mut stacks: Vec<String> = vec![sight.shop.desk().stack().to_owned()];
        for garment in sight.shop.floor().queue(Queue::Shelf) {
            let stack = garment.shelved.as_deref().map(|shelved| shelved.stack.to_string());
            stacks.extend(stack.filter(|stack| !stacks.contains(stack)));
        }
        Some(stacks)
    }

    fn key(&mut self, _: &At<'_>, key: &Key) -> Typed {
        match key.code {
            KeyCode::Char('+') => {
                let name = self.name.trimmed().to_owned();
                let command = if self.shifted {
                    Command::DisturbStack(name)
                } else {
                    Command::NameStack(name)
                };
                Typed::Closed(vec![Effect::Do(command)])
            }
            KeyCode::Enter | KeyCode::Tab => {
                self.shifted = !self.shifted;
                Typed::Open
            }
            _ => {
                self.name.key(key);
                Typed::Open
            }
        }
    }

    fn lines(&self, view: &View<'_>) -> (String, Vec<Line>) {
        let name = self.name.trimmed();
        let next = view.shop.floor().next_on(name);
        let next = format!("next on it: place {}, {}", next.position, laying(next.down));
        let what = if self.shifted { "it was shifted or turned over" } else { "store on it now" };
        let lines = vec![
            self.name.line("stack", true, "its place or label"),
            field("what", what, false, ""),
            Line::of(Role::Plain, next),
            Line::of(Role::Strong, "+ save   Enter switch   * . leaves this"),
            Line::of(Role::Plain, "Fold once, leave alone. Release paper between treated sides."),
        ];
        ("Shelf stack".into(), lines)
    }
}
