//! The copper of a net's ways between pads, for asking what sticks out of it.

use super::StepKind;
use super::graph::{Edge, NetGraph, NodeId, TOUCH};
use super::graph_blocks::Blocks;
use super::graph_parts::Base;
use super::stub::Kept;
use crate::board::LayerId;
use crate::geometry::{Envelope, ShapeRef, crossings};

/// The copper of a net's ways between pads.
pub(super) struct Cover<'b> {
    shapes: Vec<(LayerId, Envelope, ShapeRef<'b>)>,
}

impl<'b> Cover<'b> {
    pub fn new(base: Base<'_, 'b>, graph: &NetGraph, blocks: &Blocks, kept: &Kept) -> Self {
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
    pub fn last_outside(&self, edge: &Edge, from: NodeId, layer: LayerId) -> Option<f64> {
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
