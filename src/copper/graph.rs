//! The graph of one net: points on layers, joined by stretches of centre line, barrels and straight links in copper.

use super::{ItemRef, StepKind};
use crate::board::{LayerId, NetId, PadId};
use crate::geometry::{Path, Point};

/// A node: a row of [`NetGraph::nodes`].
pub(super) type NodeId = u32;

/// Copper nearer than this touches: old files miss by up to a micrometre. In nanometres.
pub(super) const TOUCH: f64 = 1000.0;

/// A point of the net's copper on one layer.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) struct Node {
    /// Where.
    pub at: Point,
    /// On which layer.
    pub layer: LayerId,
}

/// A way between two nodes.
#[derive(Debug, Clone, PartialEq)]
pub(super) struct Edge {
    /// First node.
    pub from: NodeId,
    /// Second node.
    pub to: NodeId,
    /// What it goes through.
    pub kind: StepKind,
    /// Centre line from the first to the second node; a dot for a barrel.
    pub path: Path,
    /// Copper width in nanometres, 0 where it has no meaning.
    pub width: i64,
    /// Length of the centre line in nanometres; 0 for a barrel.
    pub length: f64,
    /// What counts when ways are compared: the length, or a barrel's height where it is known.
    pub cost: f64,
    /// For a stretch of track: where on the track it starts and ends. `None` for barrels and straight links.
    pub along: Option<(f64, f64)>,
}

/// An area of copper without a centre line (a fill or a graphic): every two of its contacts are joined through it.
#[derive(Debug, Clone, PartialEq)]
pub(super) struct Hub {
    /// The fill or graphic.
    pub kind: StepKind,
    /// Its nodes, ascending.
    pub contacts: Vec<NodeId>,
}

/// A pad as an end of routes.
#[derive(Debug, Clone, PartialEq)]
pub(super) struct End {
    /// The pad.
    pub pad: PadId,
    /// Its anchor on each of its layers; all layers of a plated hole.
    pub nodes: Vec<NodeId>,
}

/// The copper of one net as a graph. Ends come in the order of part and pad name.
#[derive(Debug)]
pub(super) struct NetGraph {
    pub net: NetId,
    pub nodes: Vec<Node>,
    pub edges: Vec<Edge>,
    pub hubs: Vec<Hub>,
    pub ends: Vec<End>,
    /// Pads and vias with the node of their anchor, a row for each layer.
    pub lands: Vec<(NodeId, ItemRef)>,
    /// For each node its edges.
    edges_at: Rows,
    /// For each node its hubs.
    hubs_at: Rows,
}

impl NetGraph {
    pub fn new(net: NetId, nodes: Vec<Node>, edges: Vec<Edge>, hubs: Vec<Hub>) -> Self {
        let edges_at =
            Rows::new(nodes.len(), edges.iter().zip(0..).flat_map(|(edge, id)| [(edge.from, id), (edge.to, id)]));
        let hubs_at = Rows::new(
            nodes.len(),
            hubs.iter().zip(0..).flat_map(|(hub, id)| hub.contacts.iter().map(move |&node| (node, id))),
        );
        Self { net, nodes, edges, hubs, ends: Vec::new(), lands: Vec::new(), edges_at, hubs_at }
    }

    pub fn node(&self, id: NodeId) -> Option<Node> {
        self.nodes.get(id as usize).copied()
    }

    pub fn edge(&self, id: u32) -> Option<&Edge> {
        self.edges.get(id as usize)
    }

    pub fn hub(&self, id: u32) -> Option<&Hub> {
        self.hubs.get(id as usize)
    }

    /// Ids of the edges at a node.
    pub fn edges_at(&self, node: NodeId) -> &[u32] {
        self.edges_at.row(node)
    }

    /// Ids of the hubs at a node.
    pub fn hubs_at(&self, node: NodeId) -> &[u32] {
        self.hubs_at.row(node)
    }

    /// The pieces that the copper falls into.
    pub fn pieces(&self) -> Sets {
        let mut pieces = Sets::of(self.nodes.len());
        for edge in &self.edges {
            pieces.join(edge.from, edge.to);
        }
        for hub in &self.hubs {
            for pair in hub.contacts.windows(2) {
                if let [one, other] = pair {
                    pieces.join(*one, *other);
                }
            }
        }
        pieces
    }

    /// The end of a pad.
    pub fn end(&self, pad: PadId) -> Option<&End> {
        self.ends.iter().find(|end| end.pad == pad)
    }
}

impl Edge {
    /// The node at the other end.
    pub const fn across(&self, node: NodeId) -> NodeId {
        if self.from == node { self.to } else { self.from }
    }
}

/// For each row a list of numbers, all in one allocation.
#[derive(Debug, Default)]
pub(super) struct Rows {
    starts: Vec<u32>,
    values: Vec<u32>,
}

impl Rows {
    /// Collects (row, value) pairs; each row keeps the order of its values.
    pub fn new(rows: usize, pairs: impl Iterator<Item = (u32, u32)> + Clone) -> Self {
        let mut starts = vec![0u32; rows + 1];
        for (row, _) in pairs.clone() {
            if let Some(count) = starts.get_mut(row as usize + 1) {
                *count += 1;
            }
        }
        let mut sum = 0;
        for start in &mut starts {
            sum += *start;
            *start = sum;
        }
        let mut next = starts.clone();
        let mut values = vec![0; sum as usize];
        for (row, value) in pairs {
            if let Some(at) = next.get_mut(row as usize) {
                if let Some(slot) = values.get_mut(*at as usize) {
                    *slot = value;
                }
                *at += 1;
            }
        }
        Self { starts, values }
    }

    /// The values of a row; none for a row that does not exist.
    pub fn row(&self, row: u32) -> &[u32] {
        let bounds = (self.starts.get(row as usize), self.starts.get(row as usize + 1));
        let (Some(&from), Some(&to)) = bounds else { return &[] };
        self.values.get(from as usize..to as usize).unwrap_or(&[])
    }
}

/// Sets that merge.
#[derive(Debug, Default, Clone)]
pub(super) struct Sets {
    parent: Vec<u32>,
}

impl Sets {
    /// Adds a set of one and returns its id.
    pub fn add(&mut self) -> u32 {
        let id = u32::try_from(self.parent.len()).unwrap_or(u32::MAX);
        self.parent.push(id);
        id
    }

    /// `count` sets of one.
    pub fn of(count: usize) -> Self {
        Self { parent: (0..u32::try_from(count).unwrap_or(u32::MAX)).collect() }
    }

    /// The representative of a set: its least member.
    pub fn find(&mut self, mut id: u32) -> u32 {
        loop {
            let above = self.parent.get(id as usize).copied().unwrap_or(id);
            if above == id {
                return id;
            }
            let top = self.parent.get(above as usize).copied().unwrap_or(above);
            if let Some(own) = self.parent.get_mut(id as usize) {
                *own = top;
            }
            id = above;
        }
    }

    /// Merges two sets; `false` if they were one already.
    pub fn join(&mut self, one: u32, other: u32) -> bool {
        let (one, other) = (self.find(one), self.find(other));
        let (low, high) = (one.min(other), one.max(other));
        if low != high
            && let Some(parent) = self.parent.get_mut(high as usize)
        {
            *parent = low;
        }
        low != high
    }
}
