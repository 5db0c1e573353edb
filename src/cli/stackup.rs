//! The stackups that the rule set states, found for each board of a run.

use super::rule_set::Chosen;
use crate::board::Board;
use crate::checks::Stated;
use crate::copper::Copper;
use crate::report::Problem;

/// What the rule set states for each board.
pub fn stated<'c>(chosen: &'c Chosen, boards: &[Board]) -> Vec<Option<Stated<'c>>> {
    boards.iter().map(|board| Stated::of(&chosen.rules, board)).collect()
}

/// The copper of a board, with the heights that count.
pub fn copper<'b>(board: &'b Board, stated: Option<&Stated<'_>>) -> Copper<'b> {
    stated.map_or_else(|| Copper::new(board), |stated| stated.copper(board))
}

/// Stackups that do not fit their board. What rests on them is not checked, so a run with one is not clean.
pub fn problems(stated: &[Option<Stated<'_>>]) -> Vec<Problem> {
    let faults = stated.iter().flatten().filter_map(|stated| stated.unfit.clone());
    faults.map(|fault| Problem { fault, counts: true }).collect()
}
