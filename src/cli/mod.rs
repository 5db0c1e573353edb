//! The only room that reads files, arguments and the terminal; one file per command.

mod arguments;
mod baseline;
mod check;
mod checks;
mod clock;
mod explain;
mod generate;
mod groups;
mod hold;
mod init;
mod load;
mod measure;
mod outcome;
mod output;
mod profile;
mod profile_choice;
mod progress;
mod quantity;
mod rule_set;
mod stackup;
mod trouble;
mod waive;
mod width;
mod width_input;

use arguments::{Arguments, Command};
use clap::Parser;
use clap::error::ErrorKind;
use outcome::Exit;
use output::Streams;
use std::process::ExitCode;
use trouble::Troubles;

/// Runs the command line and returns its exit code: 0 judged and clean, 1 findings, 2 not judged.
#[must_use]
pub fn main() -> ExitCode {
    // A panic is a fault of this program. One inside a check is caught and reported as a verdict; any other ends the
    // run with exit code 101. Either way one line says where, instead of a trace that helps nobody.
    std::panic::set_hook(Box::new(|panic| {
        let place = panic.location().map_or_else(String::new, |at| format!(" at {}:{}", at.file(), at.line()));
        output::complain(&format!("internal fault{place}; please report it with the board, if you may share it\n"));
    }));
    let arguments = match Arguments::try_parse() {
        Ok(arguments) => arguments,
        Err(error) => return usage(&error),
    };
    let streams = Streams::new(arguments.global.color);
    match run(&arguments, &streams) {
        Ok(exit) => exit.into(),
        Err(troubles) => {
            output::complain(&troubles.render(&streams.complaints()));
            Exit::NotJudged.into()
        }
    }
}

fn run(arguments: &Arguments, streams: &Streams) -> Result<Exit, Troubles> {
    let global = &arguments.global;
    if let Some(jobs) = global.jobs {
        // Only a pool that exists already can make this fail, and then that one serves.
        let _ = rayon::ThreadPoolBuilder::new().num_threads(jobs.get()).build_global();
    }
    match &arguments.command {
        Command::Check(arguments) => check::run(arguments, global, streams),
        Command::Waive(arguments) => waive::run(arguments, global, streams),
        Command::Measure { inputs } => measure::run(inputs, global, streams),
        Command::Profile(arguments) => profile::run(arguments, global, streams),
        Command::Width(arguments) => width::run(arguments, global, streams),
        Command::Explain { check } => explain::run(check, global, streams),
        Command::Checks { effective } => checks::run(*effective, global, streams),
        Command::Init { board, to } => init::run(board, to.as_deref()),
        Command::Schema { schema } => generate::schema(*schema),
        Command::Completions { shell } => generate::completions(*shell),
        Command::Man { command } => generate::man(command.as_deref()),
    }
}

/// Help and version are results; anything else is wrong usage.
fn usage(error: &clap::Error) -> ExitCode {
    let text = error.render().to_string();
    match error.kind() {
        ErrorKind::DisplayHelp | ErrorKind::DisplayVersion => match output::print(&text) {
            Ok(()) => Exit::Clean.into(),
            Err(_) => Exit::NotJudged.into(),
        },
        _ => {
            output::complain(&text);
            Exit::NotJudged.into()
        }
    }
}
