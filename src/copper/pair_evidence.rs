//! What the copper of two nets says for their being a pair: how much of it runs side by side, and at which parts both
//! end at neighbouring pads. It needs no routes.

use super::coupling::{Reach, Strand, beside};
use crate::board::{Board, FootprintId, NetId, Pad, TrackId};
use crate::geometry::to_f64;
use crate::table::Id;
use std::collections::BTreeMap;

/// What the copper of two nets says.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct Evidence {
    /// Share of both nets' track length that runs side by side on one layer, 0 to 1.
    pub parallel: f64,
    /// Reference designators of parts where both end at neighbouring pads, sorted. Parts with fewer than four pads
    /// don't count: any two nets end side by side at a two-pin part.
    pub neighbours: Vec<String>,
}

impl Evidence {
    /// One number to rank evidence by.
    #[must_use]
    pub fn weight(&self) -> f64 {
        // Each end is worth a good share of parallel copper.
        self.parallel + 0.4 * to_f64(i64::try_from(self.neighbours.len().min(2)).unwrap_or(2))
    }
}

/// The tracks of each net, in file order.
#[derive(Debug)]
pub struct TracksByNet(Vec<Vec<TrackId>>);

impl TracksByNet {
    /// Sorts the tracks of a board by net.
    #[must_use]
    pub fn of(board: &Board) -> Self {
        let mut by_net = vec![Vec::new(); board.nets.len()];
        for (id, track) in board.tracks.iter() {
            if let Some(tracks) = by_net.get_mut(track.net.index()) {
                tracks.push(id);
            }
        }
        Self(by_net)
    }

    /// The tracks of a net.
    #[must_use]
    pub fn of_net(&self, net: NetId) -> &[TrackId] {
        self.0.get(net.index()).map_or(&[], Vec::as_slice)
    }
}

/// Side by side, for evidence: within this many track widths or [`NEAR`] nanometres, whichever is more.
/// Common practice, no source: coupling is weak beyond three widths.
const WIDTHS: f64 = 3.0;
const NEAR: f64 = 400_000.0;
/// Neighbouring pads: at most this much farther apart than the pad's nearest neighbour.
const NEXT_PAD: f64 = 1.6;
/// Parts with fewer pads prove nothing by having both nets at neighbouring pads.
const PADS: usize = 4;

/// What the copper says of two nets.
#[must_use]
pub fn evidence(board: &Board, tracks: &TracksByNet, p: NetId, n: NetId) -> Evidence {
    Evidence { parallel: parallel(board, tracks, p, n), neighbours: neighbours(board, p, n) }
}

fn parallel(board: &Board, tracks: &TracksByNet, p: NetId, n: NetId) -> f64 {
    let (p, n) = (strands(board, tracks.of_net(p)), strands(board, tracks.of_net(n)));
    let width = p.iter().chain(&n).map(|strand| strand.width).max().unwrap_or(0);
    let total: f64 = p.iter().chain(&n).map(|strand| strand.path.length()).sum();
    if total <= 0.0 {
        return 0.0;
    }
    let reach = Reach { gap: (WIDTHS * to_f64(width)).max(NEAR), either_way: true };
    let side_by_side = beside(&p, &n, reach).iter().fold(0.0, |sum, found| sum + 2.0 * found.length());
    (side_by_side / total).clamp(0.0, 1.0)
}

/// Tracks one after the other in any order: positions only keep them apart.
fn strands(board: &Board, tracks: &[TrackId]) -> Vec<Strand> {
    let mut start = 0.0;
    let mut out = Vec::with_capacity(tracks.len());
    for track in tracks.iter().filter_map(|&id| board.tracks.get(id)) {
        out.push(Strand { layer: track.layer, path: track.path, width: track.width, start });
        start += track.path.length() + 1_000.0;
    }
    out
}

fn neighbours(board: &Board, p: NetId, n: NetId) -> Vec<String> {
    let mut ends: BTreeMap<FootprintId, [Vec<&Pad>; 2]> = BTreeMap::new();
    for pad in board.pads.values() {
        let leg = usize::from(pad.net == n);
        if (pad.net == p || pad.net == n)
            && let Some(side) = ends.entry(pad.footprint).or_default().get_mut(leg)
        {
            side.push(pad);
        }
    }
    let mut found = Vec::new();
    for (part, [p_pads, n_pads]) in &ends {
        if p_pads.is_empty() || n_pads.is_empty() {
            continue;
        }
        let all: Vec<&Pad> =
            board.pads.values().filter(|pad| pad.footprint == *part && !pad.layers.is_empty()).collect();
        let beside = |one: &Pad, other: &Pad| {
            let others = all.iter().filter(|pad| pad.at != one.at);
            let nearest = others.map(|pad| pad.at.distance(one.at)).fold(f64::INFINITY, f64::min);
            one.at.distance(other.at) <= NEXT_PAD * nearest
        };
        let near = p_pads.iter().any(|one| n_pads.iter().any(|other| beside(one, other) || beside(other, one)));
        if near && all.len() >= PADS {
            let reference = board.footprints.get(*part).map(|part| part.reference.clone());
            found.push(reference.unwrap_or_default());
        }
    }
    found.sort();
    found
}
