//! The groups of the rule set, resolved on every board of a run.

use super::rule_set::Chosen;
use crate::checks::{Selected, proposed_pairs, select};
use crate::copper::Copper;
use crate::report::Problem;
use crate::rules::Origin;
use crate::source::Fault;
use std::sync::Arc;

/// The groups of the rule set on one board.
pub fn on(copper: &Copper<'_>, chosen: &Chosen) -> Selected {
    let board = copper.board();
    select(&chosen.rules, &board.name, &board.nets, &proposed_pairs(copper.pairs()))
}

/// What the rule set asks for and the boards do not have, or have in an unclear way, in the order of boards. What only
/// some boards of a run lack is no problem.
pub fn problems(selected: &[Selected], chosen: &Chosen) -> Vec<Problem> {
    let place = |fault: &Fault| (Arc::as_ptr(&fault.file), fault.span);
    let mut problems: Vec<Problem> = Vec::new();
    for on_board in selected {
        for (row, fault) in on_board.problems.iter().enumerate() {
            let elsewhere = selected.iter().any(|other| other.problems.iter().all(|one| place(one) != place(fault)));
            if on_board.lacking.contains(&row) && elsewhere {
                continue;
            }
            let known = |known: &Problem| place(&known.fault) == place(fault) && known.fault.message == fault.message;
            if !problems.iter().any(known) {
                let origin = Origin { file: Arc::clone(&fault.file), span: fault.span };
                problems.push(Problem { fault: fault.clone(), counts: !chosen.is_shipped(&origin) });
            }
        }
    }
    problems
}
