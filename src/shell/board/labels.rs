//! Labels that somebody at the board has asked for.

use super::{Board, Next};
use crate::label::Words;
use crate::screen::forms::labels::NO_PRINTER;
use crate::screen::ui::Tone;
use crate::shop::facts::moment::Moment;
use crate::shop::facts::station::LabelPrinter;
use crate::shop::facts::words::{clean, counted};

/// Labels on their way to the printer's program.
#[derive(Debug)]
pub struct LabelsToPrint {
    pub labels: Vec<Words>,
    pub printer: LabelPrinter,
}

/// What is said of so many labels: "24 labels".
fn counted_labels(labels: &[Words]) -> String {
    counted(u64::try_from(labels.len()).unwrap_or(u64::MAX), "label")
}

impl LabelsToPrint {
    /// Draws and sends them; what is to be said then.
    ///
    /// # Errors
    /// Why nothing may be printed.
    pub fn carry_out(&self) -> Result<String, String> {
        let LabelPrinter { program, size } = &self.printer;
        let pages = crate::label::pages(&self.labels, *size).map_err(|wrong| wrong.to_string())?;
        let bytes = crate::label::pdf::pdf(&pages);
        crate::shell::label_printer::send(program, &bytes).map_err(|wrong| wrong.to_string())?;
        let name = program.first().map_or_else(String::new, |name| clean(name, 40));
        Ok(format!("{} given to {name}", counted_labels(&self.labels)))
    }
}

impl Board {
    /// Has labels printed by the program of the profile.
    pub(super) fn print_labels(&mut self, labels: Vec<Words>, at: Moment) {
        match &self.label_printer {
            Some(printer) => {
                self.ui.say(
                    Tone::Note,
                    format!("{} on the way to the printer", counted_labels(&labels)),
                    at,
                );
                self.labels.push(LabelsToPrint { labels, printer: printer.clone() });
            }
            None => {
                self.ui.say(Tone::Refused, NO_PRINTER, at);
            }
        }
    }

    /// Labels that the loop is to have printed.
    pub fn take_labels(&mut self) -> Vec<LabelsToPrint> {
        std::mem::take(&mut self.labels)
    }

    /// They were given to the program, or not.
    pub fn labels_sent(&mut self, sent: Result<String, String>) -> Next {
        let now = self.clock.now();
        match sent {
            Ok(text) => self.ui.say(Tone::Done, text, now),
            Err(reason) => self.ui.say(Tone::Refused, reason, now),
        }
        Next::Draw
    }
}
