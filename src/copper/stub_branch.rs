//! Branches: what hangs off a route by one point, and how far it sticks out of the route's own copper.

use super::graph::{Edge, NetGraph, Node, NodeId, TOUCH};
use super::graph_blocks::Blocks;
use super::graph_parts::Base;
use super::stub::{Branch, Kept, is_barrel};
use super::stub_cover::Cover;
use super::{ItemRef, height};
use crate::board::LayerId;
use crate::geometry::{Point, Vector};
use crate::units::Length;
use std::collections::BTreeMap;

/// How far a walk into a branch has come.
#[derive(Debug, Clone)]
struct Tip {
    node: NodeId,
    /// Length of track so far.
    length: f64,
    barrels: Vec<(LayerId, LayerId)>,
}

/// A way on from a node.
#[derive(Debug, Clone, Copy)]
enum Next {
    Edge(u32),
    Hub(u32),
}

/// Finds the branches of a net.
pub(super) fn find(base: Base<'_, '_>, graph: &NetGraph, blocks: &Blocks, kept: &Kept) -> Vec<Branch> {
    let mut search = Search {
        base,
        graph,
        blocks,
        kept,
        cover: None,
        lands: lands(graph),
        used: vec![false; graph.edges.len()],
        used_hubs: vec![false; graph.hubs.len()],
    };
    let mut found = Vec::new();
    for root in search.roots() {
        for next in search.loose(root.node) {
            // Barrel beyond the layers in use is told by the barrel; a branch starts with track or pour.
            let barrel = |id| graph.edge(id).is_none_or(|edge| is_barrel(graph, edge));
            if !matches!(next, Next::Edge(id) if barrel(id)) {
                found.extend(search.walk(&root, next));
            }
        }
    }
    found.sort_by_key(|branch| (branch.at, branch.layer, branch.end));
    found
}

fn lands(graph: &NetGraph) -> BTreeMap<NodeId, Vec<ItemRef>> {
    let mut lands: BTreeMap<NodeId, Vec<ItemRef>> = BTreeMap::new();
    for &(node, item) in &graph.lands {
        lands.entry(node).or_default().push(item);
    }
    lands
}

struct Search<'a, 'b> {
    base: Base<'a, 'b>,
    graph: &'a NetGraph,
    blocks: &'a Blocks,
    kept: &'a Kept,
    /// The copper of the ways, collected for the first branch.
    cover: Option<Cover<'b>>,
    /// Pads and vias by the node of their anchor.
    lands: BTreeMap<NodeId, Vec<ItemRef>>,
    /// Edges that belong to a branch already.
    used: Vec<bool>,
    used_hubs: Vec<bool>,
}

/// A branch as far as it has been walked.
struct Walk {
    start: Node,
    items: Vec<ItemRef>,
    /// The farthest point so far, with its rank.
    best: Option<(f64, Branch)>,
}

impl Search<'_, '_> {
    /// The ways on from a node that lie on no way between pads and belong to no branch yet.
    fn loose(&self, node: NodeId) -> Vec<Next> {
        let edges = self.graph.edges_at(node).iter().copied();
        let edges = edges.filter(|&id| !self.blocks.keeps_edge(id) && self.used.get(id as usize) == Some(&false));
        let hubs = self.graph.hubs_at(node).iter().copied();
        let hubs = hubs.filter(|&id| {
            let contacts = self.graph.hub(id).map_or(0, |hub| hub.contacts.len());
            let kept = (0..contacts).any(|at| self.blocks.keeps_contact(id, at));
            !kept && self.used_hubs.get(id as usize) == Some(&false)
        });
        edges.map(Next::Edge).chain(hubs.map(Next::Hub)).collect()
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
                let Some(seen) = seen.get_mut(next as usize).filter(|seen| !**seen) else { continue };
                if self.blocks.keeps_edge(id) || self.kept.on_way(next) {
                    continue;
                }
                *seen = true;
                let span = span(self.graph, edge).into_iter();
                roots.push(Tip { node: next, length: 0.0, barrels: tip.barrels.iter().copied().chain(span).collect() });
            }
        }
        roots
    }

    /// Walks a branch from its first way on and keeps the way to its farthest point outside the route's copper.
    fn walk(&mut self, root: &Tip, first: Next) -> Option<Branch> {
        let mut walk = Walk { start: self.graph.node(root.node)?, items: Vec::new(), best: None };
        let mut open = vec![(root.clone(), first)];
        while let Some((tip, next)) = open.pop() {
            let reached = match next {
                Next::Edge(id) => self.along_edge(&mut walk, tip, id).into_iter().collect(),
                Next::Hub(id) => self.through_hub(&mut walk, &tip, id),
            };
            for tip in reached.into_iter().filter(|tip| !self.kept.on_way(tip.node)) {
                for &item in self.lands.get(&tip.node).into_iter().flatten() {
                    walk.add(item);
                }
                open.extend(self.loose(tip.node).into_iter().rev().map(|next| (tip.clone(), next)));
            }
        }
        let (_, mut branch) = walk.best?;
        branch.items = walk.items;
        Some(branch)
    }

    fn along_edge(&mut self, walk: &mut Walk, mut tip: Tip, id: u32) -> Option<Tip> {
        let used = self.used.get_mut(id as usize).filter(|used| !**used)?;
        *used = true;
        let edge = self.graph.edge(id)?;
        let next = edge.across(tip.node);
        let (here, there) = (self.graph.node(tip.node)?, self.graph.node(next)?);
        walk.add(edge.kind.item());
        let path = if edge.from == tip.node { edge.path } else { edge.path.reversed() };
        let outside = if is_barrel(self.graph, edge) {
            tip.barrels.extend(span(self.graph, edge));
            Some(0.0)
        } else {
            let (base, graph, blocks, kept) = (self.base, self.graph, self.blocks, self.kept);
            let cover = self.cover.get_or_insert_with(|| Cover::new(base, graph, blocks, kept));
            cover.last_outside(edge, tip.node, here.layer)
        };
        if let Some(outside) = outside {
            let end = path.point_at(outside).to_point();
            self.reach(walk, &tip, tip.length + outside, (end, there.layer));
        }
        Some(Tip { node: next, length: tip.length + edge.length, barrels: tip.barrels })
    }

    /// A pour that hangs by one point sticks out as far as its farthest corner.
    fn through_hub(&mut self, walk: &mut Walk, tip: &Tip, id: u32) -> Vec<Tip> {
        let Some(used) = self.used_hubs.get_mut(id as usize).filter(|used| !**used) else { return Vec::new() };
        *used = true;
        let (Some(hub), Some(here)) = (self.graph.hub(id), self.graph.node(tip.node)) else { return Vec::new() };
        let item = hub.kind.item();
        // Copper of no stated net may lead on to another net: a net tie is no stub.
        if item.net(self.base.board) == self.graph.net {
            walk.add(item);
            let corners = self.base.items.of(item).flat_map(|(_, item)| item.shape.core().map(|core| core.to()));
            let far = |corner: &Vector| corner.distance(here.at.into());
            if let Some(corner) = corners.max_by(|one, other| far(one).total_cmp(&far(other))) {
                self.reach(walk, tip, tip.length + far(&corner), (corner.to_point(), here.layer));
            }
        }
        let others = hub.contacts.iter().filter(|&&node| node != tip.node);
        others
            .filter_map(|&node| {
                let length = tip.length + self.graph.node(node)?.at.distance(here.at);
                Some(Tip { node, length, barrels: tip.barrels.clone() })
            })
            .collect()
    }

    fn reach(&self, walk: &mut Walk, tip: &Tip, length: f64, (end, end_layer): (Point, LayerId)) {
        let spans = tip.barrels.iter();
        let height: Option<f64> = spans.map(|&(upper, lower)| height::between(self.base.stackup, upper, lower)).sum();
        // Barrels of unknown height still make one way longer than another.
        let rank = length + height.unwrap_or_else(|| tip.barrels.iter().map(|_| TOUCH).sum());
        if walk.best.as_ref().is_none_or(|(most, _)| rank > *most) {
            let branch = Branch {
                at: walk.start.at,
                layer: walk.start.layer,
                end,
                end_layer,
                items: Vec::new(),
                length: Length::nm(length),
                barrels: merged(&tip.barrels),
                height: height.map(Length::nm),
            };
            walk.best = Some((rank, branch));
        }
    }
}

impl Walk {
    fn add(&mut self, item: ItemRef) {
        if !self.items.contains(&item) {
            self.items.push(item);
        }
    }
}

/// The layers that a barrel edge joins, the upper first.
fn span(graph: &NetGraph, edge: &Edge) -> Option<(LayerId, LayerId)> {
    let (one, other) = (graph.node(edge.from)?.layer, graph.node(edge.to)?.layer);
    Some((one.min(other), one.max(other)))
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
