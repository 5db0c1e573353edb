//! Rounds that are one patch of copper: two ways that no gap parts are no loop.

use super::ItemRef;
use super::graph::{Edge, NetGraph, NodeId, TOUCH};
use super::graph_parts::Base;
use crate::geometry::{Vector, to_f64};

/// For each block of a graph whether it is one patch of copper: its way round is no longer than four widths, or its ways
/// lie no farther apart than they are wide (on average), or all of it lies inside one land.
pub(super) fn patches(base: Base<'_, '_>, graph: &NetGraph, block_of: &[Option<u32>], ties: &[u32]) -> Vec<bool> {
    let mut rounds: Vec<Vec<&Edge>> = vec![Vec::new(); ties.len()];
    for (edge, block) in graph.edges.iter().zip(block_of) {
        let Some(at) = block.map(|block| block as usize) else { continue };
        if ties.get(at).is_some_and(|&ties| ties > 1)
            && let Some(edges) = rounds.get_mut(at)
        {
            edges.push(edge);
        }
    }
    let mut lands: Vec<(NodeId, ItemRef)> = graph.lands.clone();
    lands.sort_unstable();
    rounds
        .iter()
        .zip(ties)
        .map(|(edges, &ties)| {
            // A block whose ties are not all edges has a fill or graphic in it.
            let flat = edges.iter().all(|edge| layer(graph, edge.from) == layer(graph, edge.to));
            edges.len() == ties as usize && flat && (is_narrow(edges) || is_in_one_land(base, graph, &lands, edges))
        })
        .collect()
}

fn layer(graph: &NetGraph, node: NodeId) -> Option<crate::board::LayerId> {
    graph.node(node).map(|node| node.layer)
}

fn is_narrow(edges: &[&Edge]) -> bool {
    let length: f64 = edges.iter().map(|edge| edge.length).sum();
    let width = to_f64(edges.iter().map(|edge| edge.width).max().unwrap_or(0));
    // Two ways side by side enclose half the round's length times their distance. So that a long round with one wide
    // place is not taken for narrow, it may not enclose more than a few widths squared either.
    let most = f64::min(width * length / 2.0, 20.0 * width * width);
    length <= 4.0 * width || enclosed(edges).is_some_and(|area| area <= most)
}

/// The area inside a round that runs through each of its nodes once.
fn enclosed(edges: &[&Edge]) -> Option<f64> {
    let mut left: Vec<&Edge> = edges.to_vec();
    let first = left.pop()?;
    let mut points = samples(first, false);
    let mut at = first.to;
    while !left.is_empty() {
        let mut next = left.iter().enumerate().filter(|(_, edge)| edge.from == at || edge.to == at);
        let (row, edge) = next.next()?;
        if next.next().is_some() {
            return None; // it forks
        }
        points.extend(samples(edge, edge.to == at));
        at = edge.across(at);
        left.swap_remove(row);
    }
    let closed = points.iter().zip(points.iter().skip(1).chain(points.first()));
    let doubled: f64 = closed.map(|(one, next)| one.cross(*next)).sum();
    (at == first.from).then_some(doubled.abs() / 2.0)
}

/// Points along an edge, its end left out.
fn samples(edge: &Edge, backwards: bool) -> Vec<Vector> {
    let path = if backwards { edge.path.reversed() } else { edge.path };
    let length = path.length();
    (0..8u8).map(|part| path.point_at(length * f64::from(part) / 8.0)).collect()
}

/// Whether the copper of one pad or via in the round holds all of its nodes.
fn is_in_one_land(base: Base<'_, '_>, graph: &NetGraph, lands: &[(NodeId, ItemRef)], edges: &[&Edge]) -> bool {
    let nodes: Vec<NodeId> = edges.iter().flat_map(|edge| [edge.from, edge.to]).collect();
    nodes.iter().any(|&anchor| {
        let from = lands.partition_point(|(node, _)| *node < anchor);
        let own = lands.iter().skip(from).take_while(|(node, _)| *node == anchor);
        own.into_iter().any(|&(_, item)| {
            let Some(layer) = layer(graph, anchor) else { return false };
            let shapes = base.copper(item, layer);
            nodes
                .iter()
                .filter_map(|&node| graph.node(node))
                .all(|node| node.layer == layer && shapes.iter().any(|shape| shape.off(node.at.into()) <= TOUCH))
        })
    })
}
