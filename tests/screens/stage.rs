//! What stands on the screen: a shop at a fixed moment, and the screen's own state.

use std::sync::Arc;

use dwell::forecast::operator::{Operator, Turn};
use dwell::screen::act::{self, Effect};
use dwell::screen::input::{Key, KeyCode};
use dwell::screen::keymap::Keymap;
use dwell::screen::meaning::{Meaning, Sight};
use dwell::screen::theme::Theme;
use dwell::screen::ui::{Pane, Standing, Tone, Ui};
use dwell::screen::{self, View};
use jiff::tz::TimeZone;
use ratatui::buffer::{Buffer, Cell};
use ratatui::layout::Rect;
use ratatui::style::{Color, Modifier};

use super::world::{World, line, order, station};

/// Whether a cell's ground is a dot: red and blue are grounds themselves, on which the dots are white.
pub fn is_dot(cell: &Cell) -> bool {
    let ground = matches!(cell.bg, Color::Reset | Color::Black | Color::Red | Color::Blue);
    !ground || cell.modifier.contains(Modifier::REVERSED)
}

/// A shop with a screen in front of it.
pub struct Stage {
    pub world: World,
    pub ui: Ui,
}

impl Stage {
    /// A shop before its first order.
    pub fn empty(presses: usize) -> Self {
        let keys = Arc::new(Keymap::default());
        let ui = Ui::new(keys, TimeZone::UTC, Standing::Writes);
        Self { world: World::new(station(presses)), ui }
    }

    /// A shop in the middle of a shift, at the first moment after `minutes` at which as many presses are
    /// shut as `shut` asks for and nothing calls.
    pub fn in_a_shift(presses: usize, minutes: f64, shut: usize) -> Self {
        let mut stage = Self::empty(presses);
        stage.world.must(order(vec![line(28, "dark-cotton"), line(4, "light-cotton")]));
        let begin = stage.world.now;
        let mut operator = Operator::new(7);
        for _ in 0..20_000 {
            let world = &mut stage.world;
            let late = world.now.since(begin).seconds() > minutes * 60.0;
            let calm = world.shop.alarms(world.now).is_empty();
            if late && calm && world.shop.loads().count() >= shut {
                break;
            }
            match operator.turn(&world.shop, world.now) {
                Turn::Act(command) => drop(world.say(&command)),
                Turn::Until(moment) => world.now = moment,
                Turn::Done => break,
            }
        }
        let shut_now = stage.world.shop.loads().count();
        assert!(shut_now >= shut, "only {shut_now} presses are shut");
        stage.world.events.iter().for_each(|event| stage.ui.remember(event));
        stage
    }

    /// Shows another pane.
    pub fn on(mut self, pane: Pane) -> Self {
        self.ui.pane = pane;
        self
    }

    /// Strikes keys, as far as they change the screen and say commands.
    pub fn struck(mut self, keys: &str) -> Self {
        for letter in keys.chars() {
            let code = match letter {
                '\n' => KeyCode::Enter,
                '\t' => KeyCode::Tab,
                letter => KeyCode::Char(letter),
            };
            self.key(Key::plain(code));
        }
        self
    }

    /// Strikes one key; returns what it wants of the shell. What the shop is told, it is told.
    pub fn key(&mut self, key: Key) -> Vec<Effect> {
        let meant = Meaning::of(&self.world.shop, &self.ui, self.world.now);
        let sight = Sight { shop: &self.world.shop, meant: &meant, now: self.world.now };
        let effects = act::key(&mut self.ui, &sight, &key);
        for effect in &effects {
            if let Effect::Do(command) | Effect::DoAt(command, _) = effect {
                let refusal = self.world.say(command).err();
                let said = refusal.map(|refusal| refusal.to_string());
                self.ui.say(Tone::Done, said.unwrap_or_else(|| "done".into()), self.world.now);
            }
        }
        effects
    }

    /// Draws the screen at a size.
    pub fn draw(&self, columns: u16, rows: u16, colour: bool) -> Buffer {
        self.draw_as(columns, rows, Theme { colour, halves: true })
    }

    /// The same as a terminal's theme has it.
    pub fn draw_as(&self, columns: u16, rows: u16, theme: Theme) -> Buffer {
        let (shop, now) = (&self.world.shop, self.world.now);
        let (offers, alarms) = (shop.offers(&self.ui.choice, now), shop.alarms(now));
        let mut cells = Buffer::empty(Rect::new(0, 0, columns, rows));
        let view = View::new(shop, &self.ui, (&offers, &alarms), now, theme);
        screen::draw(&view, &mut cells);
        cells
    }

    /// The screen as text, without what hangs over at the right. Where a dot of a big figure stands, or the
    /// ground around one, there is a block.
    pub fn text(&self, columns: u16, rows: u16) -> String {
        let cells = self.draw(columns, rows, true);
        let plain = self.draw(columns, rows, false);
        let mut text = String::new();
        for row in 0..rows {
            let blank = |column: u16| column >= columns || cells[(column, row)].symbol() == " ";
            let line: String = (0..columns)
                .map(|column| {
                    let among_letters = !blank(column.saturating_sub(1)) || !blank(column + 1);
                    let filled = plain[(column, row)].modifier.contains(Modifier::REVERSED);
                    let bar = cells[(column, row)].bg == Color::Gray;
                    let dot = blank(column) && filled && !among_letters && !bar;
                    if dot { "█" } else { cells[(column, row)].symbol() }
                })
                .collect();
            text.push_str(line.trim_end());
            text.push('\n');
        }
        text
    }
}
