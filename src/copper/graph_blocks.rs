//! Blocks of a net's graph: parts that no single point separates. They tell which copper lies on some way between two
//! ends (the rest are stubs), and where there are two ways.

use super::StepKind;
use super::graph::{End, NetGraph, NodeId, Rows, Sets};
use super::graph_parts::Base;
use super::graph_patch::patches;
use std::collections::BTreeMap;

/// What the blocks of a graph say.
#[derive(Debug, Default)]
pub(super) struct Blocks {
    /// For each edge of the graph, then for each contact of each hub: its block, if it has one.
    block: Vec<Option<u32>>,
    /// For each block: it lies on a way between two ends.
    kept: Vec<bool>,
    /// For each block: how many ties it has; more than one make a cycle.
    ties: Vec<u32>,
    /// Where each hub's contacts start in `block`.
    hub_starts: Vec<usize>,
    /// For each block: the way round it is one patch of copper.
    trivial: Vec<bool>,
}

/// Two vertices and the id of their tie.
type Tie = (u32, u32);

impl Blocks {
    pub fn of(base: Base<'_, '_>, graph: &NetGraph) -> Self {
        let node_count = graph.nodes.len();
        // The layers of a plated end are one place: a pin fills its hole.
        let mut place = Sets::of(node_count);
        for end in &graph.ends {
            if let Some(&first) = end.nodes.first().filter(|_| is_joined(graph, end)) {
                for &node in &end.nodes {
                    place.join(first, node);
                }
            }
        }
        let mut ties: Vec<Option<Tie>> = Vec::with_capacity(graph.edges.len());
        for edge in &graph.edges {
            let (from, to) = (place.find(edge.from), place.find(edge.to));
            ties.push((from != to).then_some((from, to)));
        }
        let mut hub_starts = Vec::with_capacity(graph.hubs.len());
        for (hub, row) in graph.hubs.iter().zip(node_count..) {
            hub_starts.push(ties.len());
            let vertex = u32::try_from(row).unwrap_or(u32::MAX);
            ties.extend(hub.contacts.iter().map(|&node| Some((place.find(node), vertex))));
        }
        let vertices = node_count + graph.hubs.len();
        let (block, count) = split(vertices, &ties);
        let mut blocks =
            Self { block, kept: vec![false; count], ties: vec![0; count], hub_starts, trivial: vec![false; count] };
        for block in blocks.block.iter().flatten() {
            if let Some(ties) = blocks.ties.get_mut(*block as usize) {
                *ties += 1;
            }
        }
        let mut terminal = vec![false; vertices];
        for node in used_ends(base, graph).into_iter().flat_map(|end| &end.nodes) {
            if let Some(terminal) = terminal.get_mut(place.find(*node) as usize) {
                *terminal = true;
            }
        }
        blocks.keep(vertices, &ties, &terminal);
        blocks.trivial = patches(base, graph, &blocks.block, &blocks.ties);
        blocks
    }

    /// Whether an edge lies on some way between two ends.
    pub fn keeps_edge(&self, edge: u32) -> bool {
        self.is_kept(self.block.get(edge as usize).copied().flatten())
    }

    /// Whether a contact of a hub lies on some way between two ends.
    pub fn keeps_contact(&self, hub: u32, contact: usize) -> bool {
        let at = self.hub_starts.get(hub as usize).map(|start| start + contact);
        self.is_kept(at.and_then(|at| self.block.get(at)).copied().flatten())
    }

    fn is_kept(&self, block: Option<u32>) -> bool {
        block.is_some_and(|block| self.kept.get(block as usize).copied().unwrap_or(false))
    }

    /// Whether there is another way round an edge, beyond the width of the copper itself.
    pub fn is_round(&self, edge: u32) -> bool {
        self.turns(self.block.get(edge as usize).copied().flatten())
    }

    /// Whether a hub is on such a round.
    pub fn hub_is_round(&self, hub: u32) -> bool {
        let from = self.hub_starts.get(hub as usize).copied().unwrap_or(usize::MAX);
        let to = self.hub_starts.get(hub as usize + 1).copied().unwrap_or(self.block.len());
        self.block.get(from..to).is_some_and(|blocks| blocks.iter().any(|&block| self.turns(block)))
    }

    fn turns(&self, block: Option<u32>) -> bool {
        block.is_some_and(|block| {
            let at = block as usize;
            self.ties.get(at).is_some_and(|&ties| ties > 1) && !self.trivial.get(at).copied().unwrap_or(false)
        })
    }

    /// Takes away, again and again, what hangs by one point and holds no end.
    fn keep(&mut self, vertices: usize, ties: &[Option<Tie>], terminal: &[bool]) {
        let mut pairs: Vec<(u32, u32)> = Vec::new();
        for (tie, block) in ties.iter().zip(&self.block) {
            if let (Some((from, to)), Some(block)) = (tie, block) {
                pairs.extend([(*block, *from), (*block, *to)]);
            }
        }
        pairs.sort_unstable();
        pairs.dedup();
        let members = Rows::new(self.kept.len(), pairs.iter().copied());
        let owners = Rows::new(vertices, pairs.iter().map(|&(block, vertex)| (vertex, block)));
        let size = |row: &[u32]| row.len();
        let mut open: Vec<usize> = (0..vertices).map(|vertex| size(owners.row(number(vertex)))).collect();
        let mut left: Vec<usize> = (0..self.kept.len()).map(|block| size(members.row(number(block)))).collect();
        self.kept.fill(true);
        let loose = |vertex: u32, open: &[usize]| {
            !terminal.get(vertex as usize).copied().unwrap_or(false)
                && open.get(vertex as usize).is_some_and(|&count| count == 1)
        };
        let mut queue: Vec<u32> = (0..number(vertices)).filter(|&vertex| loose(vertex, &open)).collect();
        // A block that joins an end to nothing else goes too.
        let mut lonely: Vec<u32> =
            (0..number(self.kept.len())).filter(|&block| left.get(block as usize).is_some_and(|&n| n < 2)).collect();
        loop {
            if let Some(vertex) = queue.pop() {
                for &block in owners.row(vertex) {
                    if !self.kept.get(block as usize).copied().unwrap_or(false) {
                        continue;
                    }
                    if let Some(count) = left.get_mut(block as usize) {
                        *count -= 1;
                        if *count < 2 {
                            lonely.push(block);
                        }
                    }
                }
            } else if let Some(block) = lonely.pop() {
                let Some(kept) = self.kept.get_mut(block as usize).filter(|kept| **kept) else { continue };
                *kept = false;
                for &vertex in members.row(block) {
                    if let Some(count) = open.get_mut(vertex as usize).filter(|count| **count > 0) {
                        *count -= 1;
                    }
                    if loose(vertex, &open) {
                        queue.push(vertex);
                    }
                }
            } else {
                return;
            }
        }
    }
}

/// The ends that lead somewhere: not those of a part that is not fitted, unless a piece of copper has no two others.
fn used_ends<'g>(base: Base<'_, '_>, graph: &'g NetGraph) -> Vec<&'g End> {
    let fitted = |end: &End| {
        let part = base.board.pads.get(end.pad).and_then(|pad| base.board.footprints.get(pad.footprint));
        part.is_none_or(|part| !part.unfitted)
    };
    let mut pieces = graph.pieces();
    let mut piece = |end: &End| end.nodes.first().map(|&node| pieces.find(node));
    let mut count: BTreeMap<Option<NodeId>, usize> = BTreeMap::new();
    for end in graph.ends.iter().filter(|end| fitted(end)) {
        *count.entry(piece(end)).or_default() += 1;
    }
    let enough = |piece: Option<NodeId>| count.get(&piece).is_some_and(|&count| count > 1);
    graph.ends.iter().filter(|end| fitted(end) || !enough(piece(end))).collect()
}

fn number(value: usize) -> u32 {
    u32::try_from(value).unwrap_or(u32::MAX)
}

/// Whether the nodes of an end are joined by a plated hole.
fn is_joined(graph: &NetGraph, end: &End) -> bool {
    end.nodes.iter().any(|&node| {
        graph.edges_at(node).iter().any(|&id| graph.edge(id).is_some_and(|edge| edge.kind == StepKind::Hole(end.pad)))
    })
}

/// Splits a graph into blocks by one depth-first walk. Returns each tie's block and the number of blocks.
fn split(vertices: usize, ties: &[Option<Tie>]) -> (Vec<Option<u32>>, usize) {
    let sides = ties.iter().zip(0u32..).filter_map(|(tie, id)| tie.map(|(from, to)| [(from, id), (to, id)]));
    let ties_at = Rows::new(vertices, sides.flatten());
    let mut block: Vec<Option<u32>> = vec![None; ties.len()];
    let mut count = 0u32;
    let mut order = vec![0u32; vertices];
    let mut low = vec![0u32; vertices];
    let mut clock = 0;
    let mut open: Vec<u32> = Vec::new();
    let mut used = vec![false; ties.len()];
    // Each frame: vertex, position in its ties, the tie that led there.
    let mut path: Vec<(u32, usize, Option<u32>)> = Vec::new();
    let get = |list: &[u32], at: u32| list.get(at as usize).copied().unwrap_or(0);
    for root in 0..number(vertices) {
        if get(&order, root) != 0 {
            continue;
        }
        clock += 1;
        set(&mut order, root, clock);
        set(&mut low, root, clock);
        path.push((root, 0, None));
        while let Some((vertex, at, by)) = path.last_mut() {
            let (here, by) = (*vertex, *by);
            if let Some(&tie) = ties_at.row(here).get(*at) {
                *at += 1;
                if std::mem::replace(used.get_mut(tie as usize).unwrap_or(&mut true), true) {
                    continue;
                }
                let Some((from, to)) = ties.get(tie as usize).copied().flatten() else { continue };
                let next = if from == here { to } else { from };
                open.push(tie);
                if get(&order, next) == 0 {
                    clock += 1;
                    set(&mut order, next, clock);
                    set(&mut low, next, clock);
                    path.push((next, 0, Some(tie)));
                } else {
                    let least = get(&low, here).min(get(&order, next));
                    set(&mut low, here, least);
                }
                continue;
            }
            path.pop();
            let (Some(&(above, _, _)), Some(by)) = (path.last(), by) else { continue };
            let least = get(&low, above).min(get(&low, here));
            set(&mut low, above, least);
            if get(&low, here) >= get(&order, above) {
                while let Some(tie) = open.pop() {
                    if let Some(block) = block.get_mut(tie as usize) {
                        *block = Some(count);
                    }
                    if tie == by {
                        break;
                    }
                }
                count += 1;
            }
        }
    }
    (block, count as usize)
}

fn set(list: &mut [u32], at: u32, value: u32) {
    if let Some(slot) = list.get_mut(at as usize) {
        *slot = value;
    }
}
