//! Parses arguments, runs one command, maps its outcome to an exit code; nothing else.

use std::process::ExitCode;

fn main() -> ExitCode {
    throughline::cli::main()
}
