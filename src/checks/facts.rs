//! What a check sees: one board, its copper worked out lazily, and the groups of the rule set resolved to nets.

use crate::board::{Board, NetId};
use crate::copper::Copper;

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
#[derive(Debug, Clone, PartialEq, Eq, Default)]
pub struct Selection {
    /// Name of the group.
    pub group: String,
    /// Nets, sorted.
    pub nets: Vec<NetId>,
    /// Pairs, sorted by name.
    pub pairs: Vec<Pair>,
}

/// All that a check may look at.
#[derive(Debug)]
pub struct Facts<'a> {
    /// The board.
    pub board: &'a Board,
    /// Its copper.
    pub copper: &'a Copper<'a>,
    /// Groups, resolved.
    pub selections: Vec<Selection>,
}
