//! From the way found in a graph to the steps of a route: merged, trimmed inside the terminal pads, measured.

use super::ItemRef;
use super::graph::NetGraph;
use super::graph_parts::Base;
use super::length::contributions;
use super::route::{Route, Step, StepKind};
use super::route_search::Back;
use crate::board::{Board, LayerId, PadId};
use crate::geometry::{Path, Point, ShapeRef, crossings};
use crate::units::Length;

/// A step before the route is measured.
#[derive(Debug, Clone)]
struct Walk {
    kind: StepKind,
    layer: LayerId,
    to_layer: LayerId,
    path: Path,
    length: f64,
    width: i64,
    /// Where on its track it starts and ends; `None` for a barrel or a straight link.
    along: Option<(f64, f64)>,
}

impl Walk {
    fn reversed(&self) -> Self {
        Self {
            layer: self.to_layer,
            to_layer: self.layer,
            path: self.path.reversed(),
            along: self.along.map(|(from, to)| (to, from)),
            ..*self
        }
    }

    /// What is left of it beyond a distance from its start.
    fn rest(&self, from: f64) -> Self {
        let along = self.along.map(|(start, end)| (start + from.copysign(end - start), end));
        Self { path: self.path.between(from, self.length), length: self.length - from, along, ..*self }
    }

    const fn is_barrel(&self) -> bool {
        self.layer.0 != self.to_layer.0
    }
}

/// The route along a way between two pads. `looped` is left for others to say.
pub(super) fn route(base: Base<'_, '_>, graph: &NetGraph, ends: (PadId, PadId), moves: &[(Back, u32)]) -> Route {
    let mut walk: Vec<Walk> = Vec::with_capacity(moves.len());
    for &(back, node) in moves {
        if let Some(step) = step(graph, back, node) {
            push(base.board, &mut walk, step);
        }
    }
    trim(base, &mut walk, ends.0);
    walk = walk.iter().rev().map(Walk::reversed).collect();
    trim(base, &mut walk, ends.1);
    let mut start = 0.0;
    let steps: Vec<(Step, bool)> = walk
        .iter()
        .rev()
        .map(Walk::reversed)
        .filter(|step| step.is_barrel() || step.length > 0.0)
        .map(|step| {
            let from = start;
            start += step.length;
            let measured = Step {
                kind: step.kind,
                layer: step.layer,
                to_layer: step.to_layer,
                path: step.path,
                width: step.width,
                start: Length::nm(from),
                length: Length::nm(step.length),
            };
            (measured, step.along.is_none())
        })
        .collect();
    let package = |pad| base.board.pads.get(pad).and_then(|pad| pad.package_length).unwrap_or(Length::ZERO);
    let length = contributions(&steps, base.stackup, ends, package(ends.0) + package(ends.1));
    let steps = steps.into_iter().map(|(step, _)| step).collect();
    Route { net: graph.net, from: ends.0, to: ends.1, steps, length, looped: false }
}

fn step(graph: &NetGraph, back: Back, node: u32) -> Option<Walk> {
    let to = graph.node(node)?;
    match back {
        Back::Edge(id, before) => {
            let (edge, from) = (graph.edge(id)?, graph.node(before)?);
            let forward = edge.from == before;
            Some(Walk {
                kind: edge.kind,
                layer: from.layer,
                to_layer: to.layer,
                path: if forward { edge.path } else { edge.path.reversed() },
                length: edge.length,
                width: edge.width,
                along: edge.along.map(|(start, end)| if forward { (start, end) } else { (end, start) }),
            })
        }
        Back::Hub(id, before) => {
            let (hub, from) = (graph.hub(id)?, graph.node(before)?);
            let path = Path::Line(from.at, to.at);
            Some(Walk {
                kind: hub.kind,
                layer: from.layer,
                to_layer: to.layer,
                path,
                length: path.length(),
                width: 0,
                along: None,
            })
        }
        Back::Start | Back::Nothing => None,
    }
}

/// Adds a step, merged with the last where both are one stretch of a track, one barrel, or links inside one land.
fn push(board: &Board, walk: &mut Vec<Walk>, next: Walk) {
    let Some(last) = walk.last_mut().filter(|last| last.kind == next.kind) else { return walk.push(next) };
    match (last.is_barrel(), next.is_barrel()) {
        (true, true) => last.to_layer = next.to_layer,
        (false, false) => match (last.along, next.along, last.kind) {
            (Some((from, mid)), Some((same, to)), StepKind::Track(track)) if (mid - same).abs() < 1e-3 => {
                let Some(track) = board.tracks.get(track) else { return walk.push(next) };
                last.path = track.path.between(from, to);
                last.length += next.length;
                last.along = Some((from, to));
            }
            (None, None, StepKind::Pad(_) | StepKind::Via(_) | StepKind::Hole(_)) => {
                last.path = Path::Line(last.path.start(), next.path.end());
                last.length = last.path.length();
            }
            _ => walk.push(next),
        },
        _ => walk.push(next),
    }
}

/// Replaces what a way does inside the pad it starts from: a straight line from the anchor to where the centre line
/// first leaves the pad's copper (seen from the other end: last crosses its outline).
fn trim(base: Base<'_, '_>, walk: &mut Vec<Walk>, pad: PadId) {
    let (Some(anchor), Some(layer)) = (base.board.pads.get(pad), walk.first().map(|step| step.layer)) else { return };
    let land = base.copper(ItemRef::Pad(pad), layer);
    let mut entered = false;
    for at in 0..walk.len() {
        let Some(step) = walk.get(at) else { return };
        let leaves = if step.is_barrel() {
            if !entered && at > 0 {
                return;
            }
            Some((step.path.start(), step.clone()))
        } else {
            leaves(step, &land, &mut entered).map(|from| {
                let rest = step.rest(from);
                (rest.path.start(), rest)
            })
        };
        if let Some((edge, rest)) = leaves {
            return replace(walk, at + 1, Some(rest), inside(pad, layer, anchor.at, edge));
        }
    }
    if entered && let Some(end) = walk.last().map(|step| step.path.end()) {
        replace(walk, walk.len(), None, inside(pad, layer, anchor.at, end));
    }
}

fn replace(walk: &mut Vec<Walk>, count: usize, rest: Option<Walk>, inside: Walk) {
    let rest = rest.filter(|rest| rest.is_barrel() || rest.length > 0.0);
    walk.splice(..count, std::iter::once(inside).chain(rest));
}

fn inside(pad: PadId, layer: LayerId, from: Point, to: Point) -> Walk {
    let path = Path::Line(from, to);
    Walk { kind: StepKind::Pad(pad), layer, to_layer: layer, path, length: path.length(), width: 0, along: None }
}

/// Where a step leaves the land for the first time after it has been inside.
fn leaves(step: &Walk, land: &[ShapeRef<'_>], entered: &mut bool) -> Option<f64> {
    let cuts = crossings(&step.path, land);
    let bounds: Vec<f64> = std::iter::once(0.0).chain(cuts).chain([step.length]).collect();
    for pair in bounds.windows(2) {
        let [from, to] = pair else { continue };
        if to - from <= 0.0 {
            continue;
        }
        let middle = step.path.point_at(from.midpoint(*to));
        if land.iter().any(|shape| shape.contains(middle)) {
            *entered = true;
        } else if *entered {
            return Some(*from);
        }
    }
    None
}
