//! Boards held against the rule set, up to the point where waivers and baseline decide what counts.

use super::arguments::Global;
use super::output::{self, Streams};
use super::progress::Progress;
use super::rule_set::{self, Chosen};
use super::trouble::Troubles;
use super::{clock, groups, load, stackup};
use crate::checks::{self, Facts};
use crate::copper::Copper;
use crate::findings::{Gathered, Verdicts};
use crate::report::{Problem, Times};
use crate::source::excerpt::{Gravity, Notice};
use crate::units::Date;
use rayon::prelude::*;
use std::path::PathBuf;
use std::time::{Duration, Instant};

/// What was found, before a baseline.
pub struct Held<'h> {
    /// The rule set in force.
    pub chosen: &'h Chosen,
    /// All verdicts, waived where a waiver says so.
    pub gathered: Gathered<'h>,
    /// What the rule set asks for and the boards do not have.
    pub problems: Vec<Problem>,
    /// The day on which waivers were judged.
    pub as_of: Date,
    /// What all of it took.
    pub times: Times,
}

/// Reads boards and rule set, runs all checks, and hands on what was found.
pub fn hold<R>(
    inputs: &[PathBuf],
    global: &Global,
    streams: &Streams,
    then: impl FnOnce(Held<'_>) -> Result<R, Troubles>,
) -> Result<R, Troubles> {
    let paths = load::board_paths(inputs)?;
    let chosen = rule_set::choose(global, &paths)?;
    for fault in &chosen.rules.warnings {
        output::complain(&Notice::of(fault, Gravity::Warning).render(&streams.complaints()));
    }
    let as_of = clock::day(global.as_of)?;
    let started = Instant::now();
    let now = || started.elapsed();
    let progress = Progress::start();
    progress.phase(match paths.as_slice() {
        [path] => format!("reading {}", path.display()),
        paths => format!("reading {} boards", paths.len()),
    });
    let boards = load::boards(&paths)?;
    let read = now();
    progress.phase("working out the copper");
    let stated = stackup::stated(&chosen, &boards);
    let coppers: Vec<Copper<'_>> =
        boards.iter().zip(&stated).map(|(board, stated)| stackup::copper(board, stated.as_ref())).collect();
    coppers.iter().for_each(Copper::prepare);
    let prepared = now();
    progress.phase("checking");
    let (verdicts, rest): (Vec<_>, Vec<_>) = coppers
        .par_iter()
        .zip(&stated)
        .map(|(copper, stated)| {
            let board = copper.board();
            let mut selected = groups::on(copper, &chosen);
            let selections = std::mem::take(&mut selected.selections);
            let facts = Facts::resting_on(copper, stated.as_ref(), selections);
            let (runs, times) = checks::run_timed(&facts, &chosen.rules, &now);
            (Verdicts { board, runs }, (selected, times))
        })
        .unzip();
    let (selected, took): (Vec<_>, Vec<Vec<Duration>>) = rest.into_iter().unzip();
    let rules = took.iter().flat_map(|took| chosen.rules.rules.iter().map(|rule| rule.check).zip(took.iter().copied()));
    let times = Times {
        parts: vec![
            ("reading", read),
            ("copper", prepared.saturating_sub(read)),
            ("checks", now().saturating_sub(prepared)),
        ],
        rules: rules.collect(),
    };
    drop(progress);
    let mut problems = stackup::problems(&stated);
    problems.extend(groups::problems(&selected, &chosen));
    let gathered = Gathered::new(verdicts).waived(&chosen.rules.waivers, as_of, &chosen.left_out);
    then(Held { chosen: &chosen, gathered, problems, as_of, times })
}
