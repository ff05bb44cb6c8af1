//! Leaving: what it would mean, what is not saved, and where that may be written besides.

use crate::screen::input::{Key, KeyCode, Mode, Takes};

use super::Typed;
use super::entry::{At, Entry};
use super::text::Text;
use crate::screen::View;
use crate::screen::act::Effect;
use crate::screen::paint::Line;
use crate::screen::theme::Role;
use crate::screen::ui::{Saved, Standing, Tone};
use crate::shop::facts::fact::Event;
use crate::shop::facts::step::Step;
use crate::shop::facts::words::counted;
use crate::shop::floor::garment::Queue;

/// So many of the events that are not saved are told.
const TOLD: usize = 3;

/// Leaving is confirmed by another key than the one that asked.
pub struct Leave {
    /// Whether something was not saved when it was asked.
    unsaved: bool,
    /// A directory that is being named.
    elsewhere: Option<Text>,
}

impl Leave {
    pub fn new(unsaved: bool) -> Self {
        Self { unsaved, elsewhere: None }
    }
}

impl Entry for Leave {
    fn mode(&self) -> Mode {
        if self.elsewhere.is_some() { Mode::Field(Takes::Text) } else { Mode::Lists }
    }

    fn owns_digits(&self) -> bool {
        self.elsewhere.is_some()
    }

    fn text(&mut self) -> Option<&mut Text> {
        self.elsewhere.as_mut()
    }

    fn is_path(&self) -> bool {
        true
    }

    fn key(&mut self, _: &At<'_>, key: &Key) -> Typed {
        let Some(input) = &mut self.elsewhere else {
            return match key.code {
                KeyCode::Char('y' | '9') => Typed::Leaves,
                KeyCode::Char('e') if self.unsaved => {
                    self.elsewhere = Some(Text::default());
                    Typed::Open
                }
                _ => Typed::Closed(Vec::new()),
            };
        };
        match key.code {
            KeyCode::Enter if input.value().is_empty() => {
                Typed::Said(Tone::Note, "the name of a directory, or Esc".into())
            }
            KeyCode::Enter => Typed::Closed(vec![Effect::WriteElsewhere(input.value().to_owned())]),
            _ => {
                input.key(key);
                Typed::Open
            }
        }
    }

    fn lines(&self, view: &View<'_>) -> (String, Vec<Line>) {
        let mut lines = Vec::new();
        let shut = view.shop.loads().count();
        if shut > 0 && view.acts() {
            let presses = match shut {
                1 => "1 press is shut: it goes on".to_owned(),
                several => format!("{several} presses are shut: they go on"),
            };
            let text = format!("{presses} counting in the record, but nothing calls you.");
            lines.push(Line::of(Role::Abnormal, text));
        }
        let waiting = waiting(view);
        lines.extend(unsaved_lines(view, waiting));
        if let Some(input) = &self.elsewhere {
            lines.push(input.line("directory", true, "Enter writes them there"));
            return ("Where else should they be written?".into(), lines);
        }
        if view.acts() {
            let uncured = view.shop.floor().count(Queue::Step(Step::Cure));
            if uncured > 0 {
                let text = format!("prints that wait for their cure: {uncured}");
                lines.push(Line::of(Role::Abnormal, text));
            }
            let wet = view.shop.floor().count(Queue::Step(Step::Dry));
            if wet > 0 {
                lines.push(Line::of(Role::Abnormal, format!("wet garments: {wet}")));
            }
            let text = "At the end of a shift: presses off and open, sprayer flushed,";
            lines.push(Line::of(Role::Plain, text));
            lines.push(Line::of(Role::Plain, "no uncured prints, rags in a lidded bin?"));
        }
        if waiting > 0 && self.unsaved {
            let text = "e writes them to a directory of your choice first";
            lines.push(Line::of(Role::Strong, text));
        }
        lines.push(Line::of(Role::Strong, "9 or y leaves, any other key stays"));
        let title = match view.ui.standing {
            Standing::Writes if view.ui.practice.is_some() => "Leave the practice?",
            Standing::Writes => "Leave the board?",
            Standing::Watches => "Leave this view? The board goes on.",
            Standing::Rehearses { .. } => "Leave the rehearsal?",
        };
        (title.into(), lines)
    }
}

/// Leaving for the first day is asked of too: a figure that was meant for a press must not take the board away.
pub struct ToFirstDay;

impl Entry for ToFirstDay {
    fn key(&mut self, _: &At<'_>, key: &Key) -> Typed {
        match key.code {
            KeyCode::Char('y' | '9') => Typed::Closed(vec![Effect::FirstDay]),
            _ => Typed::Closed(Vec::new()),
        }
    }

    fn lines(&self, _: &View<'_>) -> (String, Vec<Line>) {
        let lines = vec![
            Line::of(
                Role::Plain,
                "One garment is led through on a board of practice; nothing there",
            ),
            Line::of(
                Role::Plain,
                "counts, and this board comes back after it. Nothing calls you here",
            ),
            Line::of(Role::Plain, "meanwhile."),
            Line::of(Role::Strong, "9 or y leaves, any other key stays"),
        ];
        ("Leave this board for the first day?".into(), lines)
    }
}

/// How many events are not known to be on the disk.
fn waiting(view: &View<'_>) -> u64 {
    match &view.ui.saved {
        Saved::All => 0,
        Saved::Writing(events) | Saved::Not { events, .. } => *events,
    }
}

/// What would be lost if it could not be written anywhere, the newest last.
fn unsaved_lines(view: &View<'_>, waiting: u64) -> Vec<Line> {
    if waiting == 0 {
        return Vec::new();
    }
    let text = format!("Not saved: {}, written to a rescue file now.", counted(waiting, "event"));
    let mut lines = vec![Line::of(Role::Danger, text)];
    let saved = view.shop.seq().saturating_sub(waiting);
    let unsaved: Vec<&Event> = view.ui.past.iter().filter(|event| event.seq > saved).collect();
    let first = unsaved.len().saturating_sub(TOLD);
    if first > 0 {
        lines.push(Line::of(Role::Abnormal, "If that fails, lost; the newest:"));
    } else {
        lines.push(Line::of(Role::Abnormal, "If that fails, lost:"));
    }
    let told = unsaved.iter().skip(first).map(|event| format!("  {}", event.fact.in_words()));
    lines.extend(told.map(|words| Line::of(Role::Plain, words)));
    lines
}
