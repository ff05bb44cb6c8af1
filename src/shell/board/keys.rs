//! What comes from the keyboard: keys pass the gate and mean what the screen said when they were struck; whatever does
//! not count is named.

use super::{Board, Next};
use crate::screen::act;
use crate::screen::input::{Heard, Key, Mode, Noise};
use crate::screen::lesson;
use crate::screen::meaning::{Meaning, Sight};
use crate::screen::ui::Tone;
use crate::shop::facts::moment::{Moment, Up};

impl Board {
    /// A key was struck.
    pub fn key(&mut self, key: Key, up: Up) -> Next {
        // What the keys before it did comes first: it may change what this one is for.
        let before = self.gate.lapse(up);
        let before = self.heard(before);
        if matches!(before, Next::Leave | Next::Stop) {
            return before;
        }
        let heard = self.gate.key(key, up, Mode::of(&self.ui));
        match self.heard(heard) {
            Next::Stay => before,
            next => next,
        }
    }

    /// Something came from the keyboard that is no key.
    pub fn noise(&mut self, noise: Noise) -> Next {
        self.ignored(noise.to_string())
    }

    /// Keys waited for over a second before they could be read: nobody can say any more what they were struck for.
    pub fn stale(&mut self, keys: &[Key]) -> Next {
        const NAMED: usize = 8;
        let names: Vec<String> = keys.iter().take(NAMED).map(Key::to_string).collect();
        let more = match keys.len().saturating_sub(NAMED) {
            0 => String::new(),
            more => format!(" and {more} more"),
        };
        let names = names.join(" ");
        self.ignored(format!("pressed while the board stood still, so not done: {names}{more}"))
    }

    /// Whether this board may be left for the first day now; why not is said.
    pub(super) fn goes_to_first_day(&mut self, at: Moment) -> bool {
        let hindered = lesson::hinders(&self.ui, &self.shop);
        self.ui.wants_first_day = hindered.is_none();
        if let Some(reason) = hindered {
            self.ui.say(Tone::Refused, reason, at);
        }
        self.ui.wants_first_day
    }

    fn ignored(&mut self, what: String) -> Next {
        let now = self.clock.now();
        self.ui.say(Tone::Note, what, now);
        Next::Draw
    }

    pub(super) fn heard(&mut self, heard: Vec<Heard>) -> Next {
        let mut next = Next::Stay;
        for one in heard {
            let (effects, at) = match one {
                Heard::Key(key, up) => {
                    let at = self.clock.at_up(up);
                    let meant = self.meant_at(up);
                    let sight = Sight { shop: &self.shop, meant: &meant, now: at };
                    (act::key(&mut self.ui, &sight, &key), at)
                }
                Heard::Scan(text, up) => {
                    let at = self.clock.at_up(up);
                    let meant = self.meant_at(up);
                    let sight = Sight { shop: &self.shop, meant: &meant, now: at };
                    (act::scan(&mut self.ui, &sight, &text), at)
                }
                Heard::Ignored(what) => {
                    self.ignored(what);
                    (Vec::new(), self.clock.now())
                }
            };
            next = self.carry_out(effects, at);
            if next != Next::Draw {
                return next;
            }
        }
        next
    }

    /// What the keys meant on the frame that stood on the screen at a moment of the boot clock.
    fn meant_at(&self, up: Up) -> Meaning {
        let seen = self.seen.iter().rev().find(|(shown, _)| *shown <= up).or(self.seen.front());
        let now = || Meaning::of(&self.shop, &self.ui, self.clock.now());
        let mut meant = seen.map_or_else(now, |(_, meant)| meant.clone());
        meant.words.judge(up);
        meant
    }
}
