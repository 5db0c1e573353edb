//! What a check sees: one board, its copper worked out lazily, and the groups of the rule set resolved to nets.

use super::pair_routes::{PairRoute, PairRoutes};
use super::{Stated, select};
use crate::board::{Board, NetId};
use crate::copper::Copper;
use crate::rules::{At, NetPattern, Rule};
use crate::signal::{Assumptions, Signals};
use crate::units::{Length, Quantity, Target};
use std::collections::BTreeSet;
use std::sync::Arc;

/// A pair of nets under one name.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Pair {
    /// Name without the leg letters, or the declared one.
    pub name: String,
    /// Leg P.
    pub p: NetId,
    /// Leg N.
    pub n: NetId,
    /// Found by name and copper, not declared.
    pub proposed: bool,
}

/// The nets and pairs that a group selects on this board.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct Selection {
    /// Name of the group.
    pub group: String,
    /// Nets that the group names as nets, sorted by name; legs of pairs are not among them.
    pub nets: Vec<NetId>,
    /// Pairs, sorted by name.
    pub pairs: Vec<Pair>,
    /// Symbol rate, if the group states one.
    pub rate: Option<At<Quantity>>,
    /// Target impedance, if the group states one.
    pub impedance: Option<At<Target>>,
    /// Current that each net carries, if the group states one.
    pub current: Option<At<Quantity>>,
}

impl Selection {
    /// Every net of the group: its nets, then the legs of its pairs in order, each once.
    #[must_use]
    pub fn all_nets(&self) -> Vec<NetId> {
        let mut seen = BTreeSet::new();
        let legs = self.pairs.iter().flat_map(|pair| [pair.p, pair.n]);
        self.nets.iter().copied().chain(legs).filter(|&net| seen.insert(net)).collect()
    }

    /// Whether it selects nothing.
    #[must_use]
    pub fn is_empty(&self) -> bool {
        self.nets.is_empty() && self.pairs.is_empty()
    }
}

/// All that a check may look at.
#[derive(Debug)]
pub struct Facts<'a> {
    /// The board.
    pub board: &'a Board,
    /// Its copper.
    pub copper: &'a Copper<'a>,
    /// What its signals meet: impedance, delay, skew. Worked out on first use.
    pub signals: Signals<'a>,
    /// The stackup that the rule set states for this board, if it does: then copper and signals rest on it.
    pub stated: Option<&'a Stated<'a>>,
    /// Groups, resolved.
    pub selections: Vec<Selection>,
    routes: PairRoutes,
}

impl<'a> Facts<'a> {
    /// The facts of a board whose signals rest on what its own file states.
    #[must_use]
    pub fn new(copper: &'a Copper<'a>, selections: Vec<Selection>) -> Self {
        Self::resting_on(copper, None, selections)
    }

    /// The facts of a board whose copper and signals rest on the stackup that the rule set states for it, if it does;
    /// `copper` is [`Stated::copper`] then.
    #[must_use]
    pub fn resting_on(copper: &'a Copper<'a>, stated: Option<&'a Stated<'a>>, selections: Vec<Selection>) -> Self {
        let assumptions = stated.map_or_else(Assumptions::default, Stated::assumptions);
        let routes = PairRoutes::new(&selections);
        Self { board: copper.board(), copper, signals: Signals::new(copper, assumptions), stated, selections, routes }
    }

    /// Whether the rule set states a stackup that this board can't have: then no height is known.
    #[must_use]
    pub fn has_unfit_stackup(&self) -> bool {
        self.stated.is_some_and(|stated| stated.unfit.is_some())
    }

    /// How high a barrel can be at most: as high as the board file says that the board is thick.
    #[must_use]
    pub fn thickness(&self) -> Option<Length> {
        self.board.thickness.filter(|_| !self.has_unfit_stackup())
    }

    /// The legs of a pair between each two ends that both have, in order of P's routes.
    #[must_use]
    pub fn pair_routes(&self, pair: &Pair) -> Arc<Vec<PairRoute>> {
        self.routes.of(self.copper, pair)
    }

    /// The groups that a rule looks at, in the order of its `on`; empty for a check of the whole board.
    #[must_use]
    pub fn selection(&self, rule: &Rule) -> Vec<&Selection> {
        let named = |name: &At<String>| self.selections.iter().find(|selection| selection.group == name.value);
        rule.on.iter().filter_map(named).collect()
    }

    /// The nets that fit any of the patterns, sorted by name.
    #[must_use]
    pub fn nets_matching<'p>(&self, patterns: impl IntoIterator<Item = &'p NetPattern>) -> Vec<NetId> {
        select::nets_matching(&self.board.nets, patterns)
    }
}
