//! The shortest ways from one end of a net to all its nodes. Track comes before fill: of two ways the one that runs
//! less far through fills and graphics wins, whatever their lengths.

use super::graph::{End, NetGraph, NodeId};
use std::cmp::Ordering;
use std::collections::BinaryHeap;

/// How a node was reached.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) enum Back {
    /// It was not.
    Nothing,
    /// The search starts here.
    Start,
    /// Along an edge, from this node.
    Edge(u32, NodeId),
    /// Straight through a hub, from this node.
    Hub(u32, NodeId),
}

/// Shortest ways from one end.
#[derive(Debug)]
pub(super) struct Ways {
    cost: Vec<Cost>,
    back: Vec<Back>,
}

/// What a way costs: first its length through hubs, then its whole length.
#[derive(Debug, Clone, Copy, PartialEq)]
struct Cost {
    hub: f64,
    length: f64,
}

const FAR: Cost = Cost { hub: f64::INFINITY, length: f64::INFINITY };

impl Cost {
    fn compare(self, other: Self) -> Ordering {
        self.hub.total_cmp(&other.hub).then(self.length.total_cmp(&other.length))
    }
}

impl Ways {
    /// Searches the whole net.
    pub fn from(graph: &NetGraph, start: &End) -> Self {
        let mut ways = Self { cost: vec![FAR; graph.nodes.len()], back: vec![Back::Nothing; graph.nodes.len()] };
        let mut done = vec![false; graph.nodes.len()];
        let mut queue = BinaryHeap::new();
        for &node in &start.nodes {
            ways.reach(node, Cost { hub: 0.0, length: 0.0 }, Back::Start, &mut queue);
        }
        while let Some(Waiting { cost, node }) = queue.pop() {
            match done.get_mut(node as usize) {
                Some(done) if !*done => *done = true,
                _ => continue,
            }
            for &id in graph.edges_at(node) {
                let Some(edge) = graph.edge(id) else { continue };
                let next = Cost { length: cost.length + edge.cost, ..cost };
                ways.reach(edge.across(node), next, Back::Edge(id, node), &mut queue);
            }
            ways.cross_hubs(graph, node, cost, &mut queue);
        }
        ways
    }

    fn cross_hubs(&mut self, graph: &NetGraph, node: NodeId, cost: Cost, queue: &mut BinaryHeap<Waiting>) {
        let Some(here) = graph.node(node) else { return };
        for &id in graph.hubs_at(node) {
            // Twice through one hub is never shorter than once.
            if matches!(self.back.get(node as usize), Some(Back::Hub(last, _)) if *last == id) {
                continue;
            }
            let Some(hub) = graph.hub(id) else { continue };
            for &next in &hub.contacts {
                let Some(there) = graph.node(next) else { continue };
                let length = here.at.distance(there.at);
                let next_cost = Cost { hub: cost.hub + length, length: cost.length + length };
                self.reach(next, next_cost, Back::Hub(id, node), queue);
            }
        }
    }

    fn reach(&mut self, node: NodeId, cost: Cost, back: Back, queue: &mut BinaryHeap<Waiting>) {
        let at = node as usize;
        if let (Some(known), Some(slot)) = (self.cost.get_mut(at), self.back.get_mut(at))
            && cost.compare(*known) == Ordering::Less
        {
            *known = cost;
            *slot = back;
            queue.push(Waiting { cost, node });
        }
    }

    /// The ways back from an end to the start, from the start on: pairs of how and to which node. `None` if the end is
    /// not reached; empty if it is the start.
    pub fn to(&self, end: &End) -> Option<Vec<(Back, NodeId)>> {
        let cost = |node: &NodeId| self.cost.get(*node as usize).copied().unwrap_or(FAR);
        let goal = *end.nodes.iter().min_by(|one, other| cost(one).compare(cost(other)))?;
        if cost(&goal) == FAR {
            return None;
        }
        let mut moves = Vec::new();
        let mut node = goal;
        while let Some(back) = self.back.get(node as usize).copied()
            && let Back::Edge(_, from) | Back::Hub(_, from) = back
        {
            moves.push((back, node));
            node = from;
        }
        moves.reverse();
        Some(moves)
    }
}

/// A node in the queue, cheapest first.
struct Waiting {
    cost: Cost,
    node: NodeId,
}

impl Ord for Waiting {
    fn cmp(&self, other: &Self) -> Ordering {
        other.cost.compare(self.cost).then(other.node.cmp(&self.node))
    }
}
impl PartialOrd for Waiting {
    fn partial_cmp(&self, other: &Self) -> Option<Ordering> {
        Some(self.cmp(other))
    }
}
impl PartialEq for Waiting {
    fn eq(&self, other: &Self) -> bool {
        self.cmp(other) == Ordering::Equal
    }
}
impl Eq for Waiting {}
