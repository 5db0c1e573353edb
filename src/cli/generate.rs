//! What the program can write about itself: schemas, shell completions, manual pages.

use super::arguments::{Arguments, Schema};
use super::outcome::Exit;
use super::output;
use super::trouble::Troubles;
use crate::report;
use clap::CommandFactory;
use clap_complete::Shell;

const NAME: &str = "throughline";

/// `throughline schema`.
pub fn schema(schema: Schema) -> Result<Exit, Troubles> {
    print(match schema {
        Schema::Rules => return print(&report::rules_schema()),
        Schema::Check => report::CHECK_SCHEMA,
        Schema::Measure => report::MEASURE_SCHEMA,
        Schema::Width => report::WIDTH_SCHEMA,
        Schema::Baseline => report::BASELINE_SCHEMA,
    })
}

/// `throughline completions`.
pub fn completions(shell: Shell) -> Result<Exit, Troubles> {
    let mut script = Vec::new();
    clap_complete::generate(shell, &mut Arguments::command(), NAME, &mut script);
    print(&String::from_utf8_lossy(&script))
}

/// `throughline man`: the page of the program, or of one of its commands.
pub fn man(command: Option<&str>) -> Result<Exit, Troubles> {
    let mut whole = Arguments::command();
    whole.build();
    let found = match command {
        None => Some(whole.clone()),
        Some(name) => whole.find_subcommand(name).cloned(),
    };
    let Some(found) = found else {
        let names: Vec<String> = whole.get_subcommands().map(|command| command.get_name().to_owned()).collect();
        let help = format!("commands are {}", names.join(", "));
        return Err(Troubles::plain(format!("there is no command `{}`", command.unwrap_or_default()), Some(help)));
    };
    let mut page = Vec::new();
    // Without a date, so that the same program writes the same page.
    let result = clap_mangen::Man::new(found).render(&mut page);
    result.map_err(|error| Troubles::plain(format!("can't write the page: {error}"), None))?;
    print(&String::from_utf8_lossy(&page))
}

fn print(text: &str) -> Result<Exit, Troubles> {
    output::print(text).map_err(|error| Troubles::plain(format!("can't write to standard output: {error}"), None))?;
    Ok(Exit::Clean)
}
