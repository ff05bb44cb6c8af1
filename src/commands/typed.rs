//! What was typed behind an option reaches the reader of its quantity, and its error comes back in words.

use clap::builder::ValueParser;
use clap::error::{ContextKind, ContextValue, ErrorKind};
use clap::{Arg, Command, CommandFactory};

/// The command line of a program in which every option that takes a quantity takes whatever stands behind it: a text
/// that begins with a hyphen is refused by the quantity's own reader, not taken for an option.
pub fn command<C: CommandFactory>() -> Command {
    C::command().mut_subcommands(|command| {
        command.mut_args(
            |arg| if takes_a_quantity(&arg) { arg.allow_hyphen_values(true) } else { arg },
        )
    })
}

fn takes_a_quantity(arg: &Arg) -> bool {
    let plain = [ValueParser::string(), ValueParser::path_buf(), ValueParser::os_string()];
    let read_as = arg.get_value_parser().type_id();
    !arg.is_positional()
        && arg.get_action().takes_values()
        && plain.iter().all(|parser| parser.type_id() != read_as)
}

/// A value that its reader refused: the option, and what the reader says. None for any other mistake.
pub fn in_our_words(wrong: &clap::Error) -> Option<String> {
    if wrong.kind() != ErrorKind::ValueValidation {
        return None;
    }
    let reason = std::error::Error::source(wrong)?;
    let Some(ContextValue::String(option)) = wrong.get(ContextKind::InvalidArg) else {
        return None;
    };
    let option = option.split(' ').next().unwrap_or(option);
    Some(format!("{option}: {reason}"))
}
