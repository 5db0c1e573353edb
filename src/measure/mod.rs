//! What the copper of a board measures, net by net and pair by pair. It judges nothing and knows no limits.

mod natural;
mod net;
mod pair;
mod reference;

pub use net::{NetRow, RouteRow, StubRow};
pub use pair::{LegsRow, PairRow};
pub use reference::ReferenceRow;

use crate::checks::Facts;
use rayon::prelude::*;

/// The measurements of one board.
#[derive(Debug, Clone, PartialEq)]
pub struct Measurements {
    /// Nets with copper or pads, in order of name.
    pub nets: Vec<NetRow>,
    /// Pairs, declared ones and those that the board itself proposes, in order of name.
    pub pairs: Vec<PairRow>,
}

/// Measures every net and pair.
#[must_use]
pub fn measure(facts: &Facts<'_>) -> Measurements {
    let board = facts.board;
    let mut ids: Vec<_> = board.nets.iter().filter(|(id, _)| id.is_some()).map(|(id, net)| (id, &*net.name)).collect();
    ids.sort_by(|a, b| natural::compare(a.1, b.1));
    let counts = net::Counts::of(board);
    let nets = ids
        .into_par_iter()
        .map(|(id, _)| (id, counts.get(id)))
        .filter(|(_, count)| !count.is_empty())
        .map(|(id, count)| NetRow::of(facts, id, count))
        .collect();
    let mut pairs: Vec<PairRow> = pair::all(facts).into_par_iter().map(|pair| PairRow::of(facts, &pair)).collect();
    pairs.sort_by(|a, b| natural::compare(&a.name, &b.name).then_with(|| a.p.cmp(&b.p)));
    Measurements { nets, pairs }
}
