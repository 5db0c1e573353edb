//! The only room that reads files, arguments and the terminal; one file per command.

use std::process::ExitCode;

/// Runs the command line and returns its exit code: 0 judged and clean, 1 findings, 2 not judged.
#[must_use]
pub fn main() -> ExitCode {
    ExitCode::from(2)
}
