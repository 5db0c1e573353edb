//! `throughline measure`: what the copper of a board measures, without judging it.

use super::arguments::Global;
use super::outcome::Exit;
use super::output::{self, Format, Streams, deliver};
use super::trouble::Troubles;
use super::{groups, load, rule_set, stackup};
use crate::checks::Facts;
use crate::checks::Stated;
use crate::measure::measure;
use crate::report::{self, Measured, StackupOf};
use crate::source::excerpt::{Gravity, Look, Notice};
use std::path::Path;

/// Reports of this command, the default first.
const FORMATS: &[Format] = &[Format::Text, Format::Csv, Format::Json];

/// Runs the command.
pub fn run(input: &Path, global: &Global, streams: &Streams) -> Result<Exit, Troubles> {
    let reports = global.reports(FORMATS).map_err(|fact| Troubles::plain(fact, None))?;
    let paths = load::board_paths(&[input.to_path_buf()])?;
    let [_] = paths.as_slice() else {
        let names: Vec<_> = paths.iter().map(|path| format!("`{}`", path.display())).collect();
        let help = Some(format!("name one of {}", names.join(", ")));
        return Err(Troubles::plain(format!("`{}` holds {} boards", input.display(), paths.len()), help));
    };
    let chosen = rule_set::choose(global, &paths)?;
    let boards = load::boards(&paths)?;
    for board in &boards {
        let stated = Stated::of(&chosen.rules, board);
        let copper = stackup::copper(board, stated.as_ref());
        copper.prepare();
        let selected = groups::on(&copper, &chosen);
        for fault in stated.iter().filter_map(|stated| stated.unfit.as_ref()).chain(&selected.problems) {
            output::complain(&Notice::of(fault, Gravity::Warning).render(&streams.complaints()));
        }
        let facts = Facts::resting_on(&copper, stated.as_ref(), selected.selections);
        let (rules, chosen) = (chosen.rules.name.clone(), chosen.how.clone());
        let measured = Measured {
            board,
            rules,
            chosen,
            stackup: StackupOf::of(board, stated.as_ref()),
            measurements: measure(&facts),
        };
        for wanted in &reports {
            let look = if wanted.path.is_none() { streams.results() } else { Look::PLAIN };
            let text = match wanted.format {
                Format::Csv => report::measure_csv(&measured),
                Format::Json => report::measure_json(&measured),
                _ => report::measure_text(&measured, &look),
            };
            deliver(wanted, &text)?;
        }
    }
    Ok(Exit::Clean)
}
