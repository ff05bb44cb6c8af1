//! Garments of an order that all stations share are taken to be made here: which line, then how many.
//!
//! ```text
//! ══ Of which shared order? ═════════════════ presses: * then 1 to 9 ══
//!  1  B3 "Lantern walk" black M: 6 of 12 left, due 2026-12-04T16:00 (6 at South bench)
//!  2  A17 "Harbour choir" navy: 24 of 24 left
//! ```
//!
//! ```text
//! ══ How many of B3? ════════════════════════ presses: * then 1 to 9 ══
//!  B3 "Lantern walk" black M: 6 of 12 left, due 2026-12-04T16:00 (6 at South bench)
//!  take         [6]  1 to 6
//!  + take them   / back
//! ```

use super::change::rank_and_due;
use super::entry::{At, Entry};
use super::text::Text;
use super::{Typed, place};
use crate::screen::View;
use crate::screen::act::Effect;
use crate::screen::elsewhere::{Elsewhere, Hub};
use crate::screen::input::{Key, KeyCode, Mode, Takes};
use crate::screen::paint::Line;
use crate::screen::theme::Role;
use crate::screen::ui::Tone;
use crate::shop::Shop;
use crate::shop::facts::ids::OrderId;
use crate::shop::facts::words::behind;
use crate::shop::rules::shared::{PartWanted, SharedLine};

/// Lines on one page: one to each digit.
const PAGE: usize = 9;

/// A line of which garments are left, as it stood when this was opened.
struct OpenLine {
    order: OrderId,
    line: usize,
    left: u32,
    says: String,
    /// What this station lacks to make it.
    lacks: Option<String>,
}

/// What can be taken, and what was said of it.
pub struct PartsEntry {
    open: Vec<OpenLine>,
    page: usize,
    chosen: Option<usize>,
    count: Text,
    hub: Hub,
}

impl PartsEntry {
    /// The lines that have garments left.
    pub fn new(shop: &Shop, elsewhere: &Elsewhere) -> Self {
        let all = elsewhere.shared.with(shop);
        let open: Vec<OpenLine> =
            all.open(shop).iter().map(|line| OpenLine::of(line, shop, elsewhere)).collect();
        let mut entry =
            Self { open, page: 0, chosen: None, count: Text::default(), hub: elsewhere.hub };
        if entry.open.len() == 1 {
            entry.choose(0);
        }
        entry
    }

    fn chosen(&self) -> Option<&OpenLine> {
        self.open.get(self.chosen?)
    }

    fn choose(&mut self, n: usize) {
        self.chosen = Some(n);
        self.count = Text::given(self.open[n].left.to_string());
    }

    fn pick(&mut self, key: &Key) -> Typed {
        let digit = match key.code {
            KeyCode::Char(letter) => place(letter),
            _ => None,
        };
        match digit.map(|n| self.page * PAGE + n).filter(|n| *n < self.open.len()) {
            Some(n) => self.choose(n),
            None if key.code == KeyCode::Enter => {
                self.page = (self.page + 1) % self.open.len().div_ceil(PAGE).max(1);
            }
            None => return Typed::Said(Tone::Note, "a number from the list".into()),
        }
        Typed::Open
    }

    fn submit(&mut self) -> Typed {
        let Some(OpenLine { order, line, left, lacks, .. }) = self.chosen() else {
            return Typed::Open;
        };
        if let Some(lacks) = lacks {
            return Typed::Said(Tone::Refused, lacks.clone());
        }
        let typed = self.count.trimmed();
        match typed.parse::<u32>().ok().filter(|count| (1..=*left).contains(count)) {
            Some(count) => {
                let wanted = PartWanted { of: *order, line: *line, count };
                Typed::Closed(vec![Effect::TakePart(wanted)])
            }
            None => Typed::Said(Tone::Refused, format!("found \"{typed}\", expected 1 to {left}")),
        }
    }
}

impl OpenLine {
    fn of(line: &SharedLine<'_>, shop: &Shop, elsewhere: &Elsewhere) -> Self {
        Self {
            order: line.order,
            line: line.line,
            left: line.left(),
            says: says(line, shop, elsewhere),
            lacks: shop.may_make(line.form, line.line).err().map(|lacks| lacks.reason),
        }
    }
}

/// "B3 "Lantern walk" black M: 6 of 12 left, due 2026-12-04T16:00 (6 at South bench)".
fn says(line: &SharedLine<'_>, shop: &Shop, elsewhere: &Elsewhere) -> String {
    let by = elsewhere.makers(line, shop).map_or_else(String::new, |by| format!(" ({by})"));
    format!("{} {}{by}", line.order, left_of(line, shop))
}

/// ""Lantern walk" black M: 6 of 12 left, due 2026-12-04T16:00".
pub fn left_of(line: &SharedLine<'_>, shop: &Shop) -> String {
    let form = line.form;
    let one = form.lines.get(line.line);
    let kind = one.map_or_else(String::new, |one| {
        let mark = behind(Some(&one.mark)).replace(',', "");
        format!(" {}{mark}", shop.colour_name(one.garment))
    });
    let more = rank_and_due(form.rank, form.due);
    let (left, wanted) = (line.left(), line.wanted);
    format!("\"{}\"{kind}: {left} of {wanted} left{more}", form.name)
}

impl Entry for PartsEntry {
    fn mode(&self) -> Mode {
        if self.chosen.is_some() { Mode::Field(Takes::Figures) } else { Mode::Lists }
    }

    fn text(&mut self) -> Option<&mut Text> {
        self.chosen.is_some().then_some(&mut self.count)
    }

    fn key(&mut self, _: &At<'_>, key: &Key) -> Typed {
        match (self.chosen, key.code) {
            (None, _) => self.pick(key),
            (Some(_), KeyCode::Char('+')) => self.submit(),
            _ => {
                self.count.key(key);
                Typed::Open
            }
        }
    }

    fn lines(&self, _: &View<'_>) -> (String, Vec<Line>) {
        let mut lines = Vec::new();
        let lacks = match self.hub {
            Hub::None => Some("This station has no hub: no order is shared with others."),
            Hub::CutOff => Some("The hub cannot be asked now: nothing is taken until it answers."),
            Hub::There if self.open.is_empty() => Some("No shared order has garments left."),
            Hub::There => None,
        };
        lines.extend(lacks.map(|text| Line::of(Role::Abnormal, text)));
        let Some(chosen) = self.chosen() else {
            let page = self.open.iter().skip(self.page * PAGE).take(PAGE).enumerate();
            lines.extend(page.map(|(n, line)| {
                Line::of(Role::Strong, (n + 1).to_string())
                    .and(Role::Plain, format!("  {}", line.says))
            }));
            if self.open.len() > PAGE {
                lines.push(Line::of(Role::Strong, "Enter shows more"));
            }
            return ("Of which shared order?".into(), lines);
        };
        lines.push(Line::of(Role::Strong, chosen.says.clone()));
        lines.extend(chosen.lacks.iter().map(|lacks| Line::of(Role::Abnormal, lacks.clone())));
        lines.push(self.count.line("take", true, &format!("1 to {}", chosen.left)));
        lines.push(Line::of(Role::Strong, "+ take them   / back"));
        (format!("How many of {}?", chosen.order), lines)
    }
}
