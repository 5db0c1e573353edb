//! `throughline checks`: list all checks with the limits in force.

use super::arguments::Global;
use super::outcome::Exit;
use super::output::{Format, Streams, deliver};
use super::rule_set;
use super::trouble::Troubles;
use crate::report;

/// Runs the command.
pub fn run(effective: bool, global: &Global, streams: &Streams) -> Result<Exit, Troubles> {
    let reports = global.reports(&[Format::Text]).map_err(|fact| Troubles::plain(fact, None))?;
    let chosen = rule_set::choose_here(global)?;
    deliver(&reports, streams, |_, look| {
        if effective {
            return report::effective(&chosen.rules, &chosen.how);
        }
        report::checks(&chosen.rules, &chosen.how, look)
    })?;
    Ok(Exit::Clean)
}
