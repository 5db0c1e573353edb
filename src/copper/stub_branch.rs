//! Branches: what hangs off a route by one point, and how far it sticks out of the route's own copper.

use super::graph::{Edge, NetGraph, NodeId, TOUCH};
use super::graph_blocks::Blocks;
use super::graph_parts::Base;
use super::stub::{Branch, Kept, is_barrel};
use super::{ItemRef, StepKind, height};
use crate::board::{Board, LayerId};
use crate::geometry::{Envelope, ShapeRef, crossings};
use crate::units::Length;

/// How far a walk into a branch has come.
#[derive(Debug, Clone)]
struct Tip {
    node: NodeId,
    /// Length of track so far.
    length: f64,
    barrels: Vec<(LayerId, LayerId)>,
}

/// Finds the branches of a net.
pub(super) fn find(base: Base<'_, '_>, graph: &NetGraph, blocks: &Blocks, kept: &Kept) -> Vec<Branch> {
    let mut search = Search { board: base.board, graph, blocks, kept, used: vec![false; graph.edges.len()] };
    let mut cover: Option<Cover<'_>> = None;
    let mut found = Vec::new();
    for root in search.roots() {
        for &id in graph.edges_at(root.node) {
            let Some(edge) = graph.edge(id).filter(|_| search.is_loose(id)) else { continue };
            // Barrel beyond the layers in use is told by the barrel; a branch starts with track.
            if !is_barrel(graph, edge) {
                let cover = cover.get_or_insert_with(|| Cover::new(base, graph, blocks, kept));
                found.extend(search.walk(cover, &root, id));
            }
        }
    }
    found.sort_by_key(|branch| (branch.at, branch.layer, branch.end));
    found
}

struct Search<'a> {
    board: &'a Board,
    graph: &'a NetGraph,
    blocks: &'a Blocks,
    kept: &'a Kept,
    /// Edges that belong to a branch already.
    used: Vec<bool>,
}

impl Search<'_> {
    fn is_loose(&self, edge: u32) -> bool {
        !self.blocks.keeps_edge(edge) && self.used.get(edge as usize) == Some(&false)
    }

    /// Where branches may start: nodes on a way, and the unused rest of a barrel below or above one.
    fn roots(&self) -> Vec<Tip> {
        let nodes = 0..u32::try_from(self.graph.nodes.len()).unwrap_or(u32::MAX);
        let start = |node| Tip { node, length: 0.0, barrels: Vec::new() };
        let mut roots: Vec<Tip> = nodes.filter(|&node| self.kept.on_way(node)).map(start).collect();
        let mut seen = vec![false; self.graph.nodes.len()];
        let mut at = 0;
        while let Some(tip) = roots.get(at).cloned() {
            at += 1;
            for &id in self.graph.edges_at(tip.node) {
                let Some(edge) = self.graph.edge(id).filter(|edge| is_barrel(self.graph, edge)) else { continue };
                let next = edge.across(tip.node);
                let new = !self.kept.on_way(next) && seen.get(next as usize) == Some(&false);
                if !self.blocks.keeps_edge(id) && new {
                    if let Some(seen) = seen.get_mut(next as usize) {
                        *seen = true;
                    }
                    let (Some(here), Some(there)) = (self.graph.node(tip.node), self.graph.node(next)) else {
                        continue;
                    };
                    let span = (here.layer.min(there.layer), here.layer.max(there.layer));
                    let barrels = tip.barrels.iter().copied().chain([span]).collect();
                    roots.push(Tip { node: next, length: 0.0, barrels });
                }
            }
        }
        roots
    }

    /// Walks a branch from its first edge on and keeps the way to its farthest point outside the route's copper.
    fn walk(&mut self, cover: &Cover<'_>, root: &Tip, first: u32) -> Option<Branch> {
        let start = self.graph.node(root.node)?;
        let mut open = vec![(root.clone(), first)];
        let mut items: Vec<ItemRef> = Vec::new();
        let mut best: Option<(f64, Branch)> = None;
        while let Some((mut tip, id)) = open.pop() {
            match self.used.get_mut(id as usize) {
                Some(used) if !*used => *used = true,
                _ => continue,
            }
            let edge = self.graph.edge(id)?;
            let next = edge.across(tip.node);
            let (here, there) = (self.graph.node(tip.node)?, self.graph.node(next)?);
            if !items.contains(&edge.kind.item()) {
                items.push(edge.kind.item());
            }
            let outside = if is_barrel(self.graph, edge) {
                tip.barrels.push((here.layer.min(there.layer), here.layer.max(there.layer)));
                Some(0.0)
            } else {
                cover.last_outside(edge, tip.node, here.layer)
            };
            if let Some(outside) = outside {
                let height: Option<f64> =
                    tip.barrels.iter().map(|&(upper, lower)| height::between(self.board, upper, lower)).sum();
                let length = tip.length + outside;
                // Barrels of unknown height still make one way longer than another.
                let rank = length + height.unwrap_or_else(|| tip.barrels.iter().map(|_| TOUCH).sum());
                if best.as_ref().is_none_or(|(most, _)| rank > *most) {
                    let path = if edge.from == tip.node { edge.path } else { edge.path.reversed() };
                    let branch = Branch {
                        at: start.at,
                        layer: start.layer,
                        end: path.point_at(outside).to_point(),
                        end_layer: there.layer,
                        items: Vec::new(),
                        length: Length::nm(length),
                        barrels: merged(&tip.barrels),
                        height: height.map(Length::nm),
                    };
                    best = Some((rank, branch));
                }
            }
            tip.length += edge.length;
            tip.node = next;
            if !self.kept.on_way(next) {
                let loose = self.graph.edges_at(next).iter().rev().filter(|&&id| self.is_loose(id));
                open.extend(loose.map(|&id| (tip.clone(), id)));
            }
        }
        let (_, mut branch) = best?;
        branch.items = items;
        Some(branch)
    }
}

/// Neighbouring barrel stretches as one.
fn merged(barrels: &[(LayerId, LayerId)]) -> Vec<(LayerId, LayerId)> {
    let mut merged: Vec<(LayerId, LayerId)> = Vec::new();
    for &(upper, lower) in barrels {
        match merged.last_mut() {
            Some(last) if last.1 == upper => last.1 = lower,
            Some(last) if last.0 == lower => last.0 = upper,
            _ => merged.push((upper, lower)),
        }
    }
    merged
}

/// The copper of a net's ways between pads, for asking what sticks out of it.
struct Cover<'b> {
    shapes: Vec<(LayerId, Envelope, ShapeRef<'b>)>,
}

impl<'b> Cover<'b> {
    fn new(base: Base<'_, 'b>, graph: &NetGraph, blocks: &Blocks, kept: &Kept) -> Self {
        let mut shapes = Vec::new();
        for (edge, id) in graph.edges.iter().zip(0..) {
            if let (StepKind::Track(_), true, Some(node)) = (edge.kind, blocks.keeps_edge(id), graph.node(edge.from)) {
                shapes.push((node.layer, ShapeRef::Stroke { path: edge.path, radius: edge.width / 2 }));
            }
        }
        for &(node, item) in graph.lands.iter().filter(|(node, _)| kept.on_way(*node)) {
            let Some(layer) = graph.node(node).map(|node| node.layer) else { continue };
            shapes.extend(base.copper(item, layer).into_iter().map(|shape| (layer, shape)));
        }
        let with_box = |(layer, shape): (LayerId, ShapeRef<'b>)| Some((layer, shape.envelope()?.grown(1001), shape));
        Self { shapes: shapes.into_iter().filter_map(with_box).collect() }
    }

    /// The last position along an edge, walked from a node, that lies outside the copper; `None` if all lies inside.
    fn last_outside(&self, edge: &Edge, from: NodeId, layer: LayerId) -> Option<f64> {
        let path = if edge.from == from { edge.path } else { edge.path.reversed() };
        let near = path.envelope();
        let shapes: Vec<ShapeRef<'_>> = self
            .shapes
            .iter()
            .filter(|(on, envelope, _)| *on == layer && envelope.meets(near))
            .map(|(_, _, shape)| *shape)
            .collect();
        let cuts = crossings(&path, &shapes);
        let bounds: Vec<f64> = std::iter::once(0.0).chain(cuts).chain([edge.length]).collect();
        bounds.windows(2).rev().find_map(|pair| {
            let [from, to] = pair else { return None };
            let middle = path.point_at(from.midpoint(*to));
            let out = to - from > TOUCH && shapes.iter().all(|shape| shape.off(middle) > TOUCH);
            out.then_some(*to)
        })
    }
}
