//! `throughline explain`: what a check measures and why, with the limits in force.

use super::arguments::Global;
use super::outcome::Exit;
use super::output::{Format, Streams, deliver};
use super::rule_set;
use super::trouble::Troubles;
use crate::{checks, report};

/// Runs the command.
pub fn run(name: &str, global: &Global, streams: &Streams) -> Result<Exit, Troubles> {
    let reports = global.reports(&[Format::Text]).map_err(|fact| Troubles::plain(fact, None))?;
    let check = checks::find(name).ok_or_else(|| Troubles(vec![rule_set::unknown(name)]))?;
    let chosen = rule_set::choose_here(global)?;
    deliver(&reports, streams, |_, look| report::explain(check.info(), &chosen.rules, &chosen.how, look))?;
    Ok(Exit::Clean)
}
