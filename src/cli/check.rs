//! `throughline check`: hold boards against the rule set.

use super::arguments::{CheckArguments, Global};
use super::baseline;
use super::hold::{Held, hold};
use super::outcome::Exit;
use super::output::{self, Format, Report, Streams, deliver};
use super::trouble::Troubles;
use crate::report::{self, Run};
use crate::rules::Level;

/// Reports of this command, the default first.
const FORMATS: &[Format] =
    &[Format::Text, Format::Line, Format::Json, Format::Sarif, Format::Junit, Format::Markdown, Format::Annotations];

/// Runs the command.
pub fn run(arguments: &CheckArguments, global: &Global, streams: &Streams) -> Result<Exit, Troubles> {
    let reports = global.reports(FORMATS).map_err(|fact| Troubles::plain(fact, None))?;
    hold(&arguments.inputs, global, streams, |held| judge(held, arguments, global, &reports, streams))
}

fn judge(
    held: Held<'_>,
    arguments: &CheckArguments,
    global: &Global,
    reports: &[Report],
    streams: &Streams,
) -> Result<Exit, Troubles> {
    let Held { chosen, mut gathered, problems, as_of, times } = held;
    let baseline = baseline::settle(arguments, &mut gathered, streams)?;
    let judgement = gathered.judge(baseline.as_ref());
    let fail_on = Level::from(global.fail_on);
    let whole = judgement.whole(fail_on, problems.iter().any(|problem| problem.counts), |idle| chosen.is_named(idle));
    let unseen = judgement.ledger.idle.iter().filter(|idle| idle.level >= fail_on && chosen.is_named(idle)).collect();
    let run = Run {
        judgement: &judgement,
        rules: &chosen.rules,
        chosen: chosen.how.clone(),
        problems,
        left_out: chosen.left_out.clone(),
        fail_on,
        whole,
        unseen,
        as_of,
        baseline: arguments.baseline.as_ref().map(|path| path.display().to_string()),
    };
    deliver(reports, streams, |format, look| match format {
        Format::Line => report::line(&run),
        Format::Json => report::json(&run),
        Format::Sarif => report::sarif(&run),
        Format::Junit => report::junit(&run),
        Format::Markdown => report::markdown(&run),
        Format::Annotations => report::annotations(&run),
        _ => report::text(&run, look),
    })?;
    if arguments.stats {
        output::complain(&report::stats(&judgement, &times));
    }
    Ok(whole.into())
}
