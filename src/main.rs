//! Arguments become a command, a command an exit code.

use std::process::ExitCode;

fn main() -> ExitCode {
    dwell::commands::main()
}
