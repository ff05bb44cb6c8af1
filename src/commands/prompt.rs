//! Questions to a person at a terminal: each is written, and one line is read.

use std::io::{BufRead, Write};

use super::Failure;

/// Asks something; what was typed, without the blanks around it.
///
/// # Errors
/// A terminal that is gone.
pub fn ask(mut out: impl Write, question: &str) -> Result<String, Failure> {
    write!(out, "{question} ")?;
    out.flush()?;
    let mut line = String::new();
    std::io::stdin().lock().read_line(&mut line)?;
    Ok(line.trim().to_owned())
}

/// Asks for a yes or a no; None where only Enter was typed.
///
/// # Errors
/// Another answer, a terminal that is gone.
pub fn ask_yes_or_no(out: impl Write, question: &str) -> Result<Option<bool>, Failure> {
    let answer = ask(out, question)?.to_ascii_lowercase();
    match answer.as_str() {
        "yes" | "y" => Ok(Some(true)),
        "no" | "n" => Ok(Some(false)),
        "" => Ok(None),
        other => {
            let found = crate::shop::facts::words::clean(other, 20);
            Err(Failure::Input(format!("found \"{found}\", expected yes or no")))
        }
    }
}
