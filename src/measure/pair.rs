//! The measurements of one pair.

use super::reference::{self, ReferenceRow};
use super::signal::{Aim, PairSignal};
use crate::board::{LayerId, NetId};
use crate::checks::{Facts, Pair};
use crate::copper::mismatch::mismatch;
use crate::copper::pad_name;
use crate::copper::pair::{Legs, Matched, match_legs};
use crate::copper::pair_coupling::{Gaps, coupling};
use crate::geometry::Point;
use crate::units::Length;
use std::collections::BTreeMap;

/// One pair.
#[derive(Debug, Clone, PartialEq)]
pub struct PairRow {
    /// Name.
    pub name: String,
    /// Net of leg P.
    pub p: String,
    /// Net of leg N.
    pub n: String,
    /// Found by names and copper; no rule file declares it.
    pub proposed: bool,
    /// Where it runs: one row for each two ends.
    pub legs: Vec<LegsRow>,
    /// Routes of either net without a counterpart.
    pub lone: usize,
}

/// The two legs between two ends.
#[derive(Debug, Clone, PartialEq)]
pub struct LegsRow {
    /// Pads of P and N at the first end.
    pub from: (String, String),
    /// Pads of P and N at the last end.
    pub to: (String, String),
    /// Length of leg P; `None` if a barrel's height is not known.
    pub p: Option<Length>,
    /// Length of leg N.
    pub n: Option<Length>,
    /// Lengths of P and N without barrels.
    pub planar: [Length; 2],
    /// P minus N from end to end; known even without heights if both have the same barrels.
    pub difference: Option<Length>,
    /// The greatest running mismatch, and where it is.
    pub peak: Option<(Length, Point, LayerId)>,
    /// Share of the legs that runs side by side, 0 to 1: that of the leg with less.
    pub coupled: f64,
    /// Gaps where it does.
    pub gap: Option<Gaps>,
    /// What a differential signal meets.
    pub signal: PairSignal,
    /// The planes that accompany the legs.
    pub reference: Vec<ReferenceRow>,
}

/// The pairs to measure: those that groups select, then what the board proposes of nets that are in none of them.
#[must_use]
pub fn all(facts: &Facts<'_>) -> Vec<Pair> {
    let mut pairs: Vec<Pair> = Vec::new();
    for pair in facts.selections.iter().flat_map(|selection| &selection.pairs) {
        if !pairs.iter().any(|known| (known.p, known.n) == (pair.p, pair.n)) {
            pairs.push(pair.clone());
        }
    }
    let declared = pairs.len();
    for proposal in &facts.copper.pairs().pairs {
        let taken = |net| pairs.iter().take(declared).any(|known| known.p == net || known.n == net);
        if !taken(proposal.p) && !taken(proposal.n) {
            pairs.push(Pair { name: proposal.name.clone(), p: proposal.p, n: proposal.n, proposed: true });
        }
    }
    pairs
}

/// The routes of a pair, sorted into legs.
#[must_use]
pub fn matched(facts: &Facts<'_>, pair: &Pair) -> Matched {
    let routes = |net| &facts.copper.routes(net).routes;
    match_legs(facts.board, routes(pair.p), routes(pair.n))
}

/// The pair that each net is a leg of; the first, if several.
pub(super) fn legs_by_net(pairs: &[Pair]) -> BTreeMap<NetId, &str> {
    let legs = pairs.iter().rev().flat_map(|pair| [(pair.p, pair.name.as_str()), (pair.n, pair.name.as_str())]);
    legs.collect()
}

impl PairRow {
    pub(super) fn of(facts: &Facts<'_>, pair: &Pair, matched: &Matched) -> Self {
        let aim = Aim::of_pair(facts, pair);
        Self {
            name: pair.name.clone(),
            p: facts.board.nets.name(pair.p).to_owned(),
            n: facts.board.nets.name(pair.n).to_owned(),
            proposed: pair.proposed,
            legs: matched.legs.iter().map(|legs| LegsRow::of(facts, legs, &aim)).collect(),
            lone: matched.lone.len(),
        }
    }
}

impl LegsRow {
    fn of(facts: &Facts<'_>, legs: &Legs, aim: &Aim) -> Self {
        let coupling = coupling(legs);
        let height = |one, other| facts.copper.height(one, other);
        let running = mismatch(facts.board, legs, &coupling.stretches, &height);
        let name = |pad| pad_name(facts.board, pad);
        Self {
            from: (name(legs.p.from), name(legs.n.from)),
            to: (name(legs.p.to), name(legs.n.to)),
            p: legs.p.length.total(),
            n: legs.n.length.total(),
            planar: [legs.p.length.planar(), legs.n.length.planar()],
            difference: legs.p.length.longer_than(&legs.n.length),
            peak: running.peak().and_then(|peak| Some((peak.value?, peak.at, peak.layer))),
            coupled: coupling.p.share().min(coupling.n.share()),
            gap: coupling.gap,
            signal: PairSignal::of(facts, legs, aim),
            reference: reference::rows(facts, &[&legs.p, &legs.n], &[legs.p.net, legs.n.net]),
        }
    }
}
