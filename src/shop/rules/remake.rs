//! A garment that is made again: what its order says already is not asked a second time.

use super::command::Refusal;
use crate::shop::Shop;
use crate::shop::facts::order::{OrderForm, OrderLine};
use crate::shop::facts::rank::Rank;
use crate::shop::facts::remade::Remade;
use crate::shop::facts::words::clean;

impl Shop {
    /// An order for another of a garment, or of a size of an order where its tag is not known. None where the shop does
    /// not remember it, or the order has several kinds of that size.
    pub fn remake_of(&self, what: Remade, size: &str) -> Option<OrderForm> {
        let order = self.order(what.order(self.id()))?;
        let line = match what {
            Remade::Garment(tag) => self.garment(tag)?.line,
            Remade::Order(..) => {
                let is_meant = |line: &OrderLine| {
                    size.is_empty() || line.mark.eq_ignore_ascii_case(size.trim())
                };
                let mut meant = (0..).zip(&order.form.lines).filter(|(_, line)| is_meant(line));
                let (line, _) = meant.next()?;
                meant.next().is_none().then_some(line)?
            }
        };
        let state = order.lines.get(line)?;
        let wanted = order.form.lines.get(line)?;
        let again = OrderLine {
            count: 1,
            underbase: wanted.underbase.or(state.underbase),
            remakes: Some(what),
            ..wanted.clone()
        };
        let name = order.form.name.trim_start_matches(AGAIN);
        Some(OrderForm {
            name: clean(&format!("{AGAIN}{name}"), 40),
            due: None,
            rank: Rank::USUAL,
            shared: false,
            lines: vec![again],
        })
    }

    /// What a line says that it makes again must have been ordered at this station.
    pub(in crate::shop) fn check_remakes(&self, form: &OrderForm) -> Result<(), Refusal> {
        for remade in form.lines.iter().filter_map(|line| line.remakes) {
            let id = remade.order(self.id());
            if id.station != self.id() {
                return Err(Refusal::MadeElsewhere(remade.into()));
            }
            self.was_taken(id)?;
            let Remade::Garment(tag) = remade else { continue };
            if self.order(id).is_some_and(|order| order.next_piece <= tag.piece) {
                return Err(Refusal::NoSuchGarment(tag));
            }
        }
        Ok(())
    }
}

/// How the order of a remake is called, before the name of what it makes again.
const AGAIN: &str = "Again: ";
