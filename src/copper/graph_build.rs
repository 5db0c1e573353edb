//! Building a net's graph: gather, join, cut into edges, number.

use super::StepKind;
use super::graph::{Edge, End, Hub, NetGraph, Node, NodeId, TOUCH};
use super::graph_area::hubs;
use super::graph_draft::Draft;
use super::graph_join::{join_centre_lines, join_lumps};
use super::graph_parts::{Base, ByNet};
use super::graph_touch::join_touching;
use crate::board::NetId;
use crate::geometry::Path;
use rustc_hash::FxHashMap;

impl NetGraph {
    /// The graph of a net. The net that is none has no graph: its items are not joined by it.
    pub fn of(base: Base<'_, '_>, by_net: &ByNet, net: NetId) -> Self {
        let mut draft = Draft::gather(base, by_net, net);
        join_centre_lines(&mut draft);
        join_lumps(&mut draft);
        join_touching(&mut draft);
        let hubs = hubs(&mut draft);
        finish(draft, net, hubs)
    }
}

fn finish(mut draft: Draft<'_, '_>, net: NetId, hubs: Vec<Hub>) -> NetGraph {
    let mut edges = track_edges(&draft);
    for link in &draft.links {
        let path = draft.link_path(link);
        let length = path.length();
        edges.push(Edge {
            from: link.from,
            to: link.to,
            kind: link.kind,
            path,
            width: link.width,
            length,
            cost: length.max(link.height),
            along: None,
        });
    }
    let mut numbers = Numbers::default();
    for edge in &mut edges {
        edge.from = numbers.of(&mut draft, edge.from);
        edge.to = numbers.of(&mut draft, edge.to);
    }
    edges.retain(|edge| edge.from != edge.to);
    let edges = once(edges);
    let hubs = hubs
        .into_iter()
        .map(|hub| {
            let mut contacts: Vec<NodeId> = hub.contacts.iter().map(|&node| numbers.of(&mut draft, node)).collect();
            contacts.sort_unstable();
            contacts.dedup();
            Hub { kind: hub.kind, contacts }
        })
        .collect();
    let ends = std::mem::take(&mut draft.ends)
        .into_iter()
        .map(|end| End { pad: end.pad, nodes: end.nodes.iter().map(|&node| numbers.of(&mut draft, node)).collect() })
        .collect();
    let lands = std::mem::take(&mut draft.lumps)
        .into_iter()
        .map(|lump| (numbers.of(&mut draft, lump.node), lump.item))
        .collect();
    let mut graph = NetGraph::new(net, numbers.nodes, edges, hubs);
    graph.ends = ends;
    graph.lands = lands;
    graph
}

/// The stretches of lines between their cuts.
fn track_edges(draft: &Draft<'_, '_>) -> Vec<Edge> {
    let mut edges = Vec::new();
    for line in &draft.lines {
        for pair in line.cuts.windows(2) {
            let [(start, from), (end, to)] = pair else { continue };
            let whole = line.cuts.len() == 2;
            let path = if whole { line.path } else { line.path.between(*start, *end) };
            let length = end - start;
            edges.push(Edge {
                from: *from,
                to: *to,
                kind: StepKind::Track(line.track),
                path,
                width: line.radius * 2,
                length,
                cost: length,
                along: Some((*start, *end)),
            });
        }
    }
    edges
}

/// Leaves out stretches that lie on others: copper drawn twice counts once. The widest stays.
fn once(edges: Vec<Edge>) -> Vec<Edge> {
    let mut first: FxHashMap<(NodeId, NodeId), Vec<usize>> = FxHashMap::default();
    let mut kept: Vec<Edge> = Vec::with_capacity(edges.len());
    for edge in edges {
        if !matches!(edge.kind, StepKind::Track(_)) {
            kept.push(edge);
            continue;
        }
        let rows = first.entry((edge.from.min(edge.to), edge.from.max(edge.to))).or_default();
        let twin = rows.iter().find(|&&row| kept.get(row).is_some_and(|other| lies_on(&edge, other)));
        if let Some(other) = twin.and_then(|&row| kept.get_mut(row)) {
            if edge.width > other.width {
                *other = edge;
            }
        } else {
            rows.push(kept.len());
            kept.push(edge);
        }
    }
    kept
}

/// Whether two stretches between the same nodes are the same way.
fn lies_on(one: &Edge, other: &Edge) -> bool {
    match (one.path, other.path) {
        (Path::Line(..), Path::Line(..)) => true,
        _ => other.path.nearest(one.path.point_at(one.length / 2.0)).off <= TOUCH,
    }
}

/// Merged nodes get one number each, in the order in which they are met.
#[derive(Default)]
struct Numbers {
    of: FxHashMap<NodeId, NodeId>,
    nodes: Vec<Node>,
}

impl Numbers {
    fn of(&mut self, draft: &mut Draft<'_, '_>, node: NodeId) -> NodeId {
        let id = draft.same.find(node);
        if let Some(&number) = self.of.get(&id) {
            return number;
        }
        let number = u32::try_from(self.nodes.len()).unwrap_or(u32::MAX);
        if let Some(&(at, layer)) = draft.nodes.get(id as usize) {
            self.nodes.push(Node { at, layer });
        }
        self.of.insert(id, number);
        number
    }
}
