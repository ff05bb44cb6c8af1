//! Labels are printed again, or for the first time: of an order, or of one garment.

use crate::screen::input::{Key, KeyCode, Mode, Takes};

use super::Typed;
use super::entry::{At, Entry};
use super::text::Text;
use crate::screen::View;
use crate::screen::act::Effect;
use crate::screen::meaning::Sight;
use crate::screen::paint::Line;
use crate::screen::theme::Role;
use crate::screen::ui::Tone;
use crate::shop::Shop;
use crate::shop::facts::words::counted;
use crate::shop::floor::labelled::Labelled;

/// Said where the profile names no program.
pub const NO_PRINTER: &str = "no label printer: name its program under labels in station.ron";

/// Whose labels.
pub struct LabelsEntry {
    of: Text,
}

impl LabelsEntry {
    /// For what is named, else the order that came in last.
    pub fn new(of: Option<Labelled>, shop: &Shop) -> Self {
        let of = match of {
            Some(Labelled::Garment(tag)) => tag.to_string(),
            Some(Labelled::Order(order)) => shop.written(order).to_string(),
            None => shop
                .orders()
                .last()
                .map_or_else(String::new, |order| shop.written(order.id).to_string()),
        };
        Self { of: Text::given(of) }
    }

    /// What the field names. A listed order stands there with its name.
    fn named(&self, shop: &Shop) -> Option<Labelled> {
        let text = self.of.trimmed();
        let number = text.split_whitespace().next().unwrap_or_default();
        Labelled::read(number, shop.id())
            .or_else(|| super::lookup::read_tag(text, shop).ok().map(Labelled::of))
    }

    fn submit(&mut self, shop: &Shop) -> Typed {
        let refused = |entry: &mut Self, text: &str| {
            entry.of.enter();
            Typed::Said(Tone::Refused, text.to_owned())
        };
        let Some(of) = self.named(shop) else {
            return refused(self, "an order's number such as 3, or a tag such as A3-04");
        };
        let labels = shop.labels_of(of);
        if labels.is_empty() {
            let whose = shop.whose(of.order()).map(|whose| format!("{whose}: print them there"));
            let unknown = || "no such order or garment here; . lists the orders".to_owned();
            return refused(self, &whose.unwrap_or_else(unknown));
        }
        Typed::Closed(vec![Effect::PrintLabels(labels)])
    }
}

impl Entry for LabelsEntry {
    fn mode(&self) -> Mode {
        Mode::Field(Takes::Scan)
    }

    fn text(&mut self) -> Option<&mut Text> {
        Some(&mut self.of)
    }

    fn field_name(&self) -> &'static str {
        "order"
    }

    /// The newest first.
    fn list(&self, sight: &Sight<'_>) -> Option<Vec<String>> {
        let orders = sight
            .shop
            .orders()
            .map(|order| format!("{} {}", sight.shop.written(order.id), order.form.name));
        let mut orders: Vec<String> = orders.collect();
        orders.reverse();
        Some(orders)
    }

    fn key(&mut self, at: &At<'_>, key: &Key) -> Typed {
        if matches!(key.code, KeyCode::Enter | KeyCode::Char('+')) {
            return self.submit(at.sight.shop);
        }
        self.of.key(key);
        Typed::Open
    }

    fn scan(&mut self, sight: &Sight<'_>, text: &str) -> Result<Typed, &'static str> {
        self.of = Text::given(text.trim());
        Ok(self.submit(sight.shop))
    }

    fn lines(&self, view: &View<'_>) -> (String, Vec<Line>) {
        let shop = view.shop;
        let count = self.named(shop).map_or(0, |of| shop.labels_of(of).len());
        let what = counted(u64::try_from(count).unwrap_or(u64::MAX), "label");
        let printer = shop.station().and_then(|station| station.labels.as_ref()?.program.first());
        let told = match printer {
            Some(printer) => Line::of(Role::Plain, format!("{what}, given to {printer}")),
            None => Line::of(Role::Abnormal, NO_PRINTER),
        };
        let lines = vec![
            self.of.line("order", true, "its number, or a tag; . a list"),
            told,
            Line::of(Role::Strong, "Enter print them   * . leaves this"),
        ];
        ("Print labels".into(), lines)
    }
}
