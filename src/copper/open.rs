//! Opens: nets whose pads lie on several islands.

use super::crew;
use super::{IslandId, Islands, ItemId, ItemRef, Items, open_break};
use crate::board::{Board, LayerId, NetId, PadId};
use crate::geometry::{Gap, Point};
use crate::table::Id;
use rustc_hash::FxHashMap;
use std::cmp::Reverse;
use std::collections::BTreeMap;

/// At most this many breaks of one net are located; the count of parts is always true.
const BREAKS: usize = 12;

/// How the pads of one net hang together.
#[derive(Debug, Clone, PartialEq)]
pub struct Connection {
    /// The net.
    pub net: NetId,
    /// Its pads that have copper, in file order.
    pub pads: Vec<PadId>,
    /// The islands that hold its pads, the one with most pads first. Islands that a part joins inside itself (jumper
    /// pads) count as one and are listed by their first.
    pub parts: Vec<Part>,
    /// Islands of the net that hold none of its pads.
    pub strays: Vec<IslandId>,
}

/// One part of a net that does not hang together.
#[derive(Debug, Clone, PartialEq)]
pub struct Part {
    /// Its islands; several if jumper pads join them.
    pub islands: Vec<IslandId>,
    /// The net's pads on it.
    pub pads: Vec<PadId>,
    /// Nearest copper of the net that it is not joined to; none for the first part and beyond the first dozen.
    pub nearest: Option<Break>,
}

/// Where two parts of a net come nearest.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Break {
    /// Item of this part.
    pub one: ItemId,
    /// Item of another part, or of a stray of the net.
    pub other: ItemId,
    /// Their nearest points. On one layer if the net has copper of both parts on one; a fill is never paired with
    /// copper of another layer unless there is nothing else.
    pub gap: Gap,
    /// Layers of the two items.
    pub layers: (LayerId, LayerId),
}

impl Connection {
    /// Whether the copper (and what parts join inside) leaves the net in pieces.
    #[must_use]
    pub fn is_open(&self) -> bool {
        self.parts.len() > 1
    }
}

/// The connection of every net with at least two pads that have copper, in net order.
pub(super) fn connections(board: &Board, items: &Items<'_>, islands: &Islands) -> Vec<Connection> {
    let mut pads: Vec<Vec<PadId>> = vec![Vec::new(); board.nets.len()];
    for (id, pad) in board.pads.iter().filter(|(_, pad)| pad.net.is_some()) {
        if items.of(ItemRef::Pad(id)).next().is_some()
            && let Some(own) = pads.get_mut(pad.net.index())
        {
            own.push(id);
        }
    }
    let jumpers = Jumpers::new(board);
    let nets: Vec<(NetId, Vec<PadId>)> =
        (0u32..).map(NetId::from_row).zip(pads).filter(|(_, pads)| pads.len() > 1).collect();
    crew::map(&nets, |(net, pads)| connection(board, (items, islands), &jumpers, *net, pads.clone()))
}

fn connection(
    board: &Board,
    (items, islands): (&Items<'_>, &Islands),
    jumpers: &Jumpers,
    net: NetId,
    pads: Vec<PadId>,
) -> Connection {
    // A pad with copper on two layers and no barrel lies on two islands, which it does not join.
    let mut held: BTreeMap<IslandId, Vec<PadId>> = BTreeMap::new();
    for &pad in &pads {
        for island in items.of(ItemRef::Pad(pad)).filter_map(|(item, _)| islands.of(item)) {
            let own = held.entry(island).or_default();
            if own.last() != Some(&pad) {
                own.push(pad);
            }
        }
    }
    let strays: Vec<IslandId> =
        islands.of_net(net).iter().copied().filter(|island| !held.contains_key(island)).collect();
    let mut parts = jumpers.join(held);
    drop_far_sides(&mut parts);
    // Order by what is drawn, not by its order in the file.
    parts.sort_by_cached_key(|part| (Reverse(part.pads.len()), first_place(board, part)));
    for part in parts.iter_mut().skip(1).take(BREAKS) {
        part.nearest = open_break::nearest(items, islands, net, &part.islands);
    }
    Connection { net, pads, parts, strays }
}

/// Drops parts that are nothing but the far side of pads without barrel whose other side is on another part.
fn drop_far_sides(parts: &mut Vec<Part>) {
    let mut sides: FxHashMap<PadId, usize> = FxHashMap::default();
    for &pad in parts.iter().flat_map(|part| &part.pads) {
        *sides.entry(pad).or_insert(0) += 1;
    }
    if sides.values().all(|&count| count == 1) {
        return;
    }
    // The least first, so that the side with more pads stays.
    parts.sort_by_key(|part| (part.pads.len(), part.islands.clone()));
    parts.retain(|part| {
        let is_far_side = part.pads.iter().all(|pad| sides.get(pad).is_some_and(|&count| count > 1));
        if is_far_side {
            for pad in &part.pads {
                sides.entry(*pad).and_modify(|count| *count -= 1);
            }
        }
        !is_far_side
    });
}

fn first_place(board: &Board, part: &Part) -> Option<(Point, String)> {
    part.pads.iter().filter_map(|&pad| board.pads.get(pad)).map(|pad| (pad.at, pad.number.clone())).min()
}

/// Pads that a part joins inside itself.
struct Jumpers {
    group_of: FxHashMap<PadId, usize>,
}

impl Jumpers {
    fn new(board: &Board) -> Self {
        let mut group_of = FxHashMap::default();
        if board.footprints.values().any(|footprint| !footprint.jumpers.is_empty()) {
            let mut groups: FxHashMap<(crate::board::FootprintId, usize, NetId), usize> = FxHashMap::default();
            for (id, pad) in board.pads.iter().filter(|(_, pad)| pad.net.is_some()) {
                let Some(footprint) = board.footprints.get(pad.footprint) else { continue };
                let Some(group) = footprint.jumpers.iter().position(|group| group.contains(&pad.number)) else {
                    continue;
                };
                let next = groups.len();
                group_of.insert(id, *groups.entry((pad.footprint, group, pad.net)).or_insert(next));
            }
        }
        Self { group_of }
    }

    /// Parts from islands with their pads: islands whose pads are of one group are one part.
    fn join(&self, held: BTreeMap<IslandId, Vec<PadId>>) -> Vec<Part> {
        let mut part_of: FxHashMap<usize, usize> = FxHashMap::default();
        let mut parts: Vec<Part> = Vec::with_capacity(held.len());
        for (island, pads) in held {
            let mut groups: Vec<usize> = pads.iter().filter_map(|pad| self.group_of.get(pad).copied()).collect();
            groups.sort_unstable();
            groups.dedup();
            let mut part = Part { islands: vec![island], pads, nearest: None };
            // Parts that this island turns out to join are emptied into it.
            for other in groups.iter().filter_map(|group| part_of.get(group).copied()) {
                if let Some(other) = parts.get_mut(other) {
                    part.islands.append(&mut other.islands);
                    part.pads.append(&mut other.pads);
                }
            }
            for &pad in &part.pads {
                if let Some(&group) = self.group_of.get(&pad) {
                    part_of.insert(group, parts.len());
                }
            }
            parts.push(part);
        }
        parts.retain(|part| !part.islands.is_empty());
        for part in &mut parts {
            part.islands.sort_unstable();
            part.pads.sort_unstable();
            part.pads.dedup();
        }
        parts
    }
}
