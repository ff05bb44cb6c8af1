//! What the commands that take the whole screen share: how it is drawn, and what is said once it is left.

use super::{Failure, output};
use crate::screen::theme::Theme;
use crate::shell::run::{Ended, Left};

/// Colours, unless NO_COLOR asks for none; half blocks, unless the terminal is the Linux console.
pub fn theme() -> Theme {
    let colour = std::env::var_os("NO_COLOR").is_none_or(|value| value.is_empty());
    let console =
        std::env::var_os("TERM").is_some_and(|term| term.as_encoded_bytes().starts_with(b"linux"));
    Theme { colour, halves: !console }
}

/// Says at the end what is to be said. Where a board comes back it is left for that to say: between two screens nobody reads.
pub fn finish(ended: Result<Left, Ended>) -> Result<Left, Failure> {
    match ended {
        Ok(left) => {
            if let Some(words) = left.words.as_ref().filter(|_| !left.for_first_day) {
                output::complain(words);
            }
            Ok(left)
        }
        Err(Ended::Terminal(wrong)) => Err(Failure::Input(wrong.to_string())),
        Err(wrong @ (Ended::Broken(_) | Ended::NoTerminal)) => {
            Err(Failure::Other(wrong.to_string()))
        }
    }
}
