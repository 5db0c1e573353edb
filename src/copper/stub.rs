//! Stubs: copper of a net that lies on no way between two of its pads.

use super::graph::{NetGraph, NodeId};
use super::graph_blocks::Blocks;
use super::graph_parts::Base;
use super::stub_branch;
use super::terminal::pad_side;
use super::{ItemRef, StepKind, height};
use crate::board::{LayerId, LayerSet, PadId, Side, ViaId};
use crate::geometry::Point;
use crate::units::Length;
use std::collections::BTreeMap;

/// Copper that branches off a route and leads to no pad.
#[derive(Debug, Clone, PartialEq)]
pub struct Branch {
    /// Where it leaves the route.
    pub at: Point,
    /// Layer there.
    pub layer: LayerId,
    /// Its far end.
    pub end: Point,
    /// Layer of its far end.
    pub end_layer: LayerId,
    /// Its copper, nearest first.
    pub items: Vec<ItemRef>,
    /// Centre line from the route to the farthest point outside the route's own copper, barrels not counted.
    pub length: Length,
    /// Barrels on that way.
    pub barrels: Vec<(LayerId, LayerId)>,
    /// Their height; `None` if the stackup does not state it.
    pub height: Option<Length>,
}

/// A stretch of barrel beyond the layers in use.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct BarrelStub {
    /// Last layer in use.
    pub from: LayerId,
    /// Last layer that the barrel reaches, back-drills taken off.
    pub to: LayerId,
    /// From the middle of the last foil in use to the far face of the barrel's end; `None` if the stackup does not
    /// state it.
    pub length: Option<Length>,
}

/// What a barrel is of.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum BarrelOf {
    /// A via on a route.
    Via(ViaId),
    /// A pad's plated hole. Its pin enters from the side its part sits on, so that layer is in use.
    Pad(PadId),
}

impl BarrelOf {
    /// The copper item it is.
    #[must_use]
    pub const fn item(self) -> ItemRef {
        match self {
            Self::Via(via) => ItemRef::Via(via),
            Self::Pad(pad) => ItemRef::Pad(pad),
        }
    }
}

/// How a barrel on a route is used.
#[derive(Debug, Clone, PartialEq)]
pub struct BarrelUse {
    /// Which.
    pub of: BarrelOf,
    /// Where.
    pub at: Point,
    /// First and last layer in use.
    pub used: (LayerId, LayerId),
    /// Barrel above the layers in use.
    pub upper: Option<BarrelStub>,
    /// Barrel below the layers in use.
    pub lower: Option<BarrelStub>,
    /// Layers where the barrel has a land that nothing uses.
    pub unused_lands: LayerSet,
    /// A back-drill ends at a layer of this barrel. The format does not say whether that layer keeps its connection;
    /// it is taken to.
    pub back_drilled: bool,
}

impl BarrelUse {
    /// The longer stub; `None` if there is none. One of unknown length counts as the longest.
    #[must_use]
    pub fn worst(&self) -> Option<BarrelStub> {
        let rank = |stub: &BarrelStub| stub.length.map_or(f64::INFINITY, Length::to_nm);
        self.upper.into_iter().chain(self.lower).max_by(|one, other| rank(one).total_cmp(&rank(other)))
    }
}

/// The stubs of one net.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct Stubs {
    /// Branches, in order of place.
    pub branches: Vec<Branch>,
    /// Every barrel that a route uses, with or without a stub, in order of place.
    pub barrels: Vec<BarrelUse>,
}

impl Stubs {
    pub(super) const NONE: Self = Self { branches: Vec::new(), barrels: Vec::new() };
}

/// Finds the stubs of a net. Copper that no route reaches at all is open, not a stub. What leads only to a part that is
/// not fitted is a stub, land and all.
pub(super) fn find(base: Base<'_, '_>, graph: &NetGraph, blocks: &Blocks) -> Stubs {
    let kept = Kept::new(graph, blocks);
    let mut barrels: Vec<BarrelUse> =
        barrels(graph).into_iter().filter_map(|(of, layers)| barrel_use(base, graph, &kept, of, &layers)).collect();
    barrels.sort_by_key(|barrel| (barrel.at, barrel.of));
    let branches = stub_branch::find(base, graph, blocks, &kept);
    Stubs { branches, barrels }
}

/// Which nodes lie on ways between pads.
pub(super) struct Kept {
    /// For each node: a stretch other than a barrel that lies on such a way touches it.
    in_use: Vec<bool>,
    /// For each node: anything on such a way touches it.
    on_way: Vec<bool>,
}

impl Kept {
    fn new(graph: &NetGraph, blocks: &Blocks) -> Self {
        let mut kept = Self { in_use: vec![false; graph.nodes.len()], on_way: vec![false; graph.nodes.len()] };
        for (edge, id) in graph.edges.iter().zip(0..) {
            if blocks.keeps_edge(id) {
                for node in [edge.from, edge.to] {
                    kept.mark(node, !is_barrel(graph, edge));
                }
            }
        }
        for (hub, id) in graph.hubs.iter().zip(0..) {
            for (contact, &node) in hub.contacts.iter().enumerate() {
                if blocks.keeps_contact(id, contact) {
                    kept.mark(node, true);
                }
            }
        }
        // A via in the land of a pad is in use there.
        for node in graph.ends.iter().flat_map(|end| &end.nodes) {
            if kept.on_way(*node) {
                kept.mark(*node, true);
            }
        }
        kept
    }

    fn mark(&mut self, node: NodeId, in_use: bool) {
        for list in [&mut self.on_way].into_iter().chain(in_use.then_some(&mut self.in_use)) {
            if let Some(slot) = list.get_mut(node as usize) {
                *slot = true;
            }
        }
    }

    pub fn in_use(&self, node: NodeId) -> bool {
        self.in_use.get(node as usize).copied().unwrap_or(false)
    }

    pub fn on_way(&self, node: NodeId) -> bool {
        self.on_way.get(node as usize).copied().unwrap_or(false)
    }
}

pub(super) fn is_barrel(graph: &NetGraph, edge: &super::graph::Edge) -> bool {
    graph.node(edge.from).map(|node| node.layer) != graph.node(edge.to).map(|node| node.layer)
}

/// Each barrel with its node on each layer.
fn barrels(graph: &NetGraph) -> BTreeMap<BarrelOf, BTreeMap<LayerId, NodeId>> {
    let mut barrels: BTreeMap<BarrelOf, BTreeMap<LayerId, NodeId>> = BTreeMap::new();
    for edge in graph.edges.iter().filter(|edge| is_barrel(graph, edge)) {
        let of = match edge.kind {
            StepKind::Via(via) => BarrelOf::Via(via),
            StepKind::Hole(pad) => BarrelOf::Pad(pad),
            _ => continue,
        };
        let layers = barrels.entry(of).or_default();
        for id in [edge.from, edge.to] {
            if let Some(node) = graph.node(id) {
                layers.insert(node.layer, id);
            }
        }
    }
    barrels
}

fn barrel_use(
    base: Base<'_, '_>,
    graph: &NetGraph,
    kept: &Kept,
    of: BarrelOf,
    layers: &BTreeMap<LayerId, NodeId>,
) -> Option<BarrelUse> {
    let mut in_use: LayerSet = layers.iter().filter(|&(_, &node)| kept.in_use(node)).map(|(&layer, _)| layer).collect();
    if in_use.is_empty() {
        return None;
    }
    let board = base.board;
    if let BarrelOf::Pad(pad) = of {
        let outer = match pad_side(board, pad) {
            Side::Top => board.layers.top(),
            Side::Bottom => board.layers.bottom(),
        };
        in_use.insert(outer?);
    }
    let used = (in_use.iter().next()?, in_use.iter().next_back()?);
    let reach = base.barrel(of.item());
    let ends = (reach.iter().next()?, reach.iter().next_back()?);
    let stub = |from: LayerId, to: LayerId| {
        (from != to).then(|| BarrelStub { from, to, length: height::to_face(base.stackup, from, to).map(Length::nm) })
    };
    let at = layers.values().next().and_then(|&node| graph.node(node))?.at;
    let lands: LayerSet = reach.iter().filter(|&layer| !in_use.contains(layer) && has_land(base, of, layer)).collect();
    let back_drilled = match of {
        BarrelOf::Via(via) => board.vias.get(via).is_some_and(|via| !via.back_drills.is_empty()),
        BarrelOf::Pad(pad) => board.pads.get(pad).is_some_and(|pad| !pad.back_drills.is_empty()),
    };
    Some(BarrelUse {
        of,
        at,
        used,
        upper: stub(used.0, ends.0.min(used.0)),
        lower: stub(used.1, ends.1.max(used.1)),
        unused_lands: lands,
        back_drilled,
    })
}

/// Whether a barrel has a land on a layer: copper wider than its wall.
fn has_land(base: Base<'_, '_>, of: BarrelOf, layer: LayerId) -> bool {
    base.items.of(of.item()).any(|(_, item)| item.layer == layer && !item.barrel)
}
