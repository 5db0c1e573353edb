//! `throughline measure`: what the copper of boards measures, without judging it.

use super::arguments::Global;
use super::outcome::Exit;
use super::output::{self, Format, Streams, deliver};
use super::progress::Progress;
use super::trouble::Troubles;
use super::{groups, load, rule_set, stackup};
use crate::checks::{Facts, Selected};
use crate::copper::Copper;
use crate::measure::measure;
use crate::report::{self, Measured, MeasuredBoard, StackupOf};
use crate::source::excerpt::{Gravity, Notice};
use std::path::PathBuf;

/// Reports of this command, the default first.
const FORMATS: &[Format] = &[Format::Text, Format::Csv, Format::Json];

/// Runs the command.
pub fn run(inputs: &[PathBuf], global: &Global, streams: &Streams) -> Result<Exit, Troubles> {
    let reports = global.reports(FORMATS).map_err(|fact| Troubles::plain(fact, None))?;
    let paths = load::board_paths(inputs)?;
    let chosen = rule_set::choose(global, &paths)?;
    let progress = Progress::start();
    progress.phase("reading");
    let boards = load::boards(&paths)?;
    progress.phase("working out the copper");
    let stated = stackup::stated(&chosen, &boards);
    let coppers: Vec<Copper<'_>> =
        boards.iter().zip(&stated).map(|(board, stated)| stackup::copper(board, stated.as_ref())).collect();
    coppers.iter().for_each(Copper::prepare);
    let selected: Vec<Selected> = coppers.iter().map(|copper| groups::on(copper, &chosen)).collect();
    // Its line must not stand where a complaint is written.
    drop(progress);
    for problem in stackup::problems(&stated).into_iter().chain(groups::problems(&selected, &chosen)) {
        output::complain(&Notice::of(&problem.fault, Gravity::Warning).render(&streams.complaints()));
    }
    let progress = Progress::start();
    progress.phase("measuring");
    let measured = coppers.iter().zip(&stated).zip(selected).map(|((copper, stated), selected)| MeasuredBoard {
        board: copper.board(),
        stackup: StackupOf::of(copper.board(), stated.as_ref()),
        measurements: measure(&Facts::resting_on(copper, stated.as_ref(), selected.selections)),
    });
    let measured =
        Measured { rules: chosen.rules.name.clone(), chosen: chosen.how.clone(), boards: measured.collect() };
    drop(progress);
    deliver(&reports, streams, |format, look| match format {
        Format::Csv => report::measure_csv(&measured),
        Format::Json => report::measure_json(&measured),
        _ => report::measure_text(&measured, look),
    })?;
    Ok(Exit::Clean)
}
