//! What the copper of a board measures, net by net and pair by pair. It judges nothing and knows no limits.

mod natural;
mod net;
mod pair;
mod profile;
mod profile_marks;
mod reference;
mod reflection;
mod signal;
mod unknown;

pub use net::{NetRow, RouteRow, StubRow};
pub use pair::{LegsRow, PairRow, all as pairs, matched};
pub use profile::{Ports, Profile, ProfilePiece, SkewPoint, Wanted, Ways, Whole};
pub use profile_marks::{Mark, MarkKind, PadSort};
pub use reference::ReferenceRow;
pub use reflection::{Echo, Probe, Reflection, Said};
pub use signal::{Aim, ImpedanceRow, LossRow, PairSignal, RouteSignal};
pub use unknown::Unknown;

use crate::board::NetId;
use crate::checks::Facts;
use crate::copper::Route;
use crate::copper::pair::{Legs, Matched};
use crate::signal::{Basis, NoBasis};
use rayon::prelude::*;

/// The measurements of one board.
#[derive(Debug, Clone, PartialEq)]
pub struct Measurements {
    /// What electrical numbers rest on, or why there are none.
    pub basis: Result<Basis, NoBasis>,
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
    let pairs = pair::all(facts);
    let matched: Vec<Matched> = pairs.par_iter().map(|pair| matched(facts, pair)).collect();
    let leg_of = pair::legs_by_net(&pairs);
    prepare(facts, &matched, |net| !counts.get(net).is_poured() && !leg_of.contains_key(&net));
    let nets = ids
        .into_par_iter()
        .map(|(id, _)| (id, counts.get(id)))
        .filter(|(_, count)| !count.is_empty())
        .map(|(id, count)| NetRow::of(facts, id, count, leg_of.get(&id).copied()))
        .collect();
    let mut pairs: Vec<PairRow> =
        pairs.par_iter().zip(&matched).map(|(pair, matched)| PairRow::of(facts, pair, matched)).collect();
    pairs.sort_by(|a, b| natural::compare(&a.name, &b.name).then_with(|| a.p.cmp(&b.p)));
    let basis = facts.signals.basis().cloned();
    Measurements { basis, nets, pairs }
}

/// Has the fields of all that is measured solved at once.
fn prepare(facts: &Facts<'_>, pairs: &[Matched], is_single: impl Fn(NetId) -> bool) {
    let nets = facts.board.nets.iter().map(|(net, _)| net).filter(|&net| net.is_some() && is_single(net));
    let routes: Vec<&Route> = nets.flat_map(|net| &facts.copper.routes(net).routes).collect();
    let legs: Vec<&Legs> = pairs.iter().flat_map(|matched| &matched.legs).collect();
    facts.signals.prepare(&routes, &legs);
}
