//! `throughline check`: hold boards against the rule set.

use super::arguments::Global;
use super::outcome::Exit;
use super::output::{self, Format, Streams, deliver};
use super::trouble::Troubles;
use super::{groups, load, rule_set, stackup};
use crate::checks::{self, Facts};
use crate::copper::Copper;
use crate::findings::{Judgement, Verdicts};
use crate::report::{self, Run};
use crate::rules::Level;
use crate::source::excerpt::{Gravity, Notice};
use rayon::prelude::*;
use std::path::PathBuf;

/// Reports of this command, the default first.
const FORMATS: &[Format] = &[Format::Text, Format::Line, Format::Json];

/// Runs the command.
pub fn run(inputs: &[PathBuf], global: &Global, streams: &Streams) -> Result<Exit, Troubles> {
    let reports = global.reports(FORMATS).map_err(|fact| Troubles::plain(fact, None))?;
    let paths = load::board_paths(inputs)?;
    let chosen = rule_set::choose(global, &paths)?;
    for fault in &chosen.rules.warnings {
        output::complain(&Notice::of(fault, Gravity::Warning).render(&streams.complaints()));
    }
    let boards = load::boards(&paths)?;
    let stated = stackup::stated(&chosen, &boards);
    let coppers: Vec<Copper<'_>> =
        boards.iter().zip(&stated).map(|(board, stated)| stackup::copper(board, stated.as_ref())).collect();
    coppers.iter().for_each(Copper::prepare);
    let (verdicts, selected): (Vec<_>, Vec<_>) = coppers
        .par_iter()
        .zip(&stated)
        .map(|(copper, stated)| {
            let board = copper.board();
            let mut selected = groups::on(copper, &chosen);
            let selections = std::mem::take(&mut selected.selections);
            let facts = Facts::resting_on(copper, stated.as_ref(), selections);
            (Verdicts { board, runs: checks::run(&facts, &chosen.rules) }, selected)
        })
        .unzip();
    let mut problems = stackup::problems(&stated);
    problems.extend(groups::problems(&selected, &chosen));
    let judgement = Judgement::new(verdicts);
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
    };
    deliver(&reports, streams, |format, look| match format {
        Format::Line => report::line(&run),
        Format::Json => report::json(&run),
        _ => report::text(&run, look),
    })?;
    Ok(whole.into())
}
