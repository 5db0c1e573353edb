//! Net ties: places where copper joins two nets on purpose.
//!
//! Boards from 2022 on say so (`net_ties` of a footprint). Older ones can't; there, copper that a footprint itself draws
//! from one of its pads to another of another net is taken as a tie too, but kept apart, so that a check can ask about it.

use super::ItemRef;
use crate::board::{Board, FootprintId, NetId, PadId};
use rustc_hash::FxHashMap;

/// A tie: pads of one footprint whose nets its copper joins.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Tie {
    /// The footprint.
    pub footprint: FootprintId,
    /// The nets, sorted.
    pub nets: Vec<NetId>,
    /// The footprint declares it.
    pub declared: bool,
}

/// The declared ties of a board by pad.
#[derive(Debug, Default)]
pub(super) struct Ties {
    ties: Vec<Tie>,
    by_pad: FxHashMap<PadId, Vec<usize>>,
}

impl Ties {
    pub(super) fn declared(board: &Board) -> Self {
        let mut ties = Self::default();
        if board.footprints.values().all(|footprint| footprint.net_ties.is_empty()) {
            return ties;
        }
        let mut pads: FxHashMap<FootprintId, Vec<PadId>> = FxHashMap::default();
        for (id, pad) in board.pads.iter() {
            pads.entry(pad.footprint).or_default().push(id);
        }
        for (id, footprint) in board.footprints.iter() {
            for group in &footprint.net_ties {
                let own = pads.get(&id).map_or(&[][..], Vec::as_slice);
                let members: Vec<(PadId, NetId)> = own
                    .iter()
                    .filter_map(|&pad| board.pads.get(pad).map(|row| (pad, row)))
                    .filter(|(_, pad)| group.contains(&pad.number))
                    .map(|(id, pad)| (id, pad.net))
                    .collect();
                let mut nets: Vec<NetId> = members.iter().map(|(_, net)| *net).filter(|net| net.is_some()).collect();
                nets.sort_unstable();
                nets.dedup();
                for &(pad, _) in &members {
                    ties.by_pad.entry(pad).or_default().push(ties.ties.len());
                }
                ties.ties.push(Tie { footprint: id, nets, declared: true });
            }
        }
        ties
    }

    /// Whether a contact between two objects of different nets lies within a declared tie.
    pub(super) fn allows(&self, one: (ItemRef, NetId), other: (ItemRef, NetId)) -> bool {
        let by_pad = |source: ItemRef| match source {
            ItemRef::Pad(pad) => self.by_pad.get(&pad).map_or(&[][..], Vec::as_slice),
            _ => &[],
        };
        by_pad(one.0)
            .iter()
            .chain(by_pad(other.0))
            .any(|&tie| self.ties.get(tie).is_some_and(|tie| tie.nets.contains(&one.1) && tie.nets.contains(&other.1)))
    }

    /// Whether a footprint declares that these nets are tied.
    pub(super) fn declares(&self, footprint: FootprintId, nets: &[NetId]) -> bool {
        self.ties.iter().any(|tie| tie.footprint == footprint && nets.iter().all(|net| tie.nets.contains(net)))
    }
}
