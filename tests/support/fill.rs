//! Fills of zones: the outline less foreign copper and cut-outs, without copper narrower than the minimum thickness,
//! without islands that reach nothing of their net.

use super::board::{Board, FillRing, Zone};
use super::copper::{Piece, pieces, polygon};
use super::{keyhole, nm};
use geo::algorithm::buffer::{Buffer, BufferStyle, LineJoin};
use geo::{Area, BooleanOps, BoundingRect, Intersects, MultiPolygon, Polygon, Rect, unary_union};

/// Angle between corners of a rounded bend, radians.
const BEND: f64 = 0.35;

/// Copper below this area, mm², is not worth a polygon.
const SPECK: f64 = 0.01;

impl Board {
    /// Fills every zone anew.
    pub fn fill(&mut self) {
        for zone in &mut self.zones {
            zone.fills = None;
        }
        self.fill_missing();
    }

    /// Fills the zones that have no fill yet, higher priority first.
    pub fn fill_missing(&mut self) {
        let pieces = pieces(self);
        for index in 0..self.zones.len() {
            if self.zones[index].fills.is_some() || self.zones[index].teardrop.is_some() {
                continue;
            }
            let zone = self.zones[index].clone();
            let mut fills = Vec::new();
            for layer in &zone.layers {
                for part in copper(self, &zone, layer, &pieces) {
                    fills.push((layer.clone(), ring(&part)));
                }
            }
            self.zones[index].fills = Some(fills);
        }
    }

    /// The rings of a zone as a pen of its minimum thickness draws them (v5 and before): half the pen inside the copper.
    pub fn pen_fills(&self, zone: &Zone) -> Vec<FillRing> {
        let pieces = pieces(self);
        let layers = zone.layers.iter();
        layers
            .flat_map(|layer| cores(self, zone, layer, &pieces).into_iter().map(|part| (layer.clone(), ring(&part))))
            .collect()
    }
}

fn overlaps(a: &Rect<f64>, b: &Rect<f64>) -> bool {
    a.min().x <= b.max().x && b.min().x <= a.max().x && a.min().y <= b.max().y && b.min().y <= a.max().y
}

/// What the pen's centre may cover: connected parts that reach copper of the zone's net.
fn cores(board: &Board, zone: &Zone, layer: &str, pieces: &[Piece]) -> Vec<Polygon<f64>> {
    let half = zone.min_thickness / 2.0;
    let index = board.stack.index(layer);
    let outline = polygon(&zone.outline).buffer_with_style(BufferStyle::new(-half).line_join(LineJoin::Miter(2.0)));
    let Some(frame) = polygon(&zone.outline).bounding_rect() else {
        return Vec::new();
    };
    let on_layer = |piece: &&Piece| piece.layers.contains(&index);
    let mut cut: Vec<Polygon<f64>> = Vec::new();
    for piece in pieces.iter().filter(on_layer).filter(|piece| piece.net.is_empty() || piece.net != zone.net) {
        cut.extend(piece.cores.iter().flat_map(|core| core.grown(zone.clearance + half)));
    }
    for (_, hole) in zone.cutouts.iter().filter(|(on, _)| on == layer) {
        cut.extend(polygon(hole).buffer_with_style(BufferStyle::new(half).line_join(LineJoin::Miter(2.0))));
    }
    for area in board.keepouts.iter().filter(|area| area.pours && area.layers.iter().any(|on| on == layer)) {
        cut.extend(polygon(&area.outline).buffer_with_style(BufferStyle::new(half).line_join(LineJoin::Miter(2.0))));
    }
    for other in &board.zones {
        let above = other.priority > zone.priority && other.net != zone.net && other.teardrop.is_none();
        if above && other.layers.iter().any(|on| on == layer) {
            let by = zone.clearance.max(other.clearance) + half;
            cut.extend(polygon(&other.outline).buffer_with_style(BufferStyle::new(by).line_join(LineJoin::Miter(2.0))));
        }
    }
    cut.retain(|hole| hole.bounding_rect().is_some_and(|rect| overlaps(&rect, &frame)));
    let left = if cut.is_empty() { outline } else { outline.difference(&unary_union(&cut)) };
    let own: Vec<Polygon<f64>> = pieces
        .iter()
        .filter(on_layer)
        .filter(|piece| piece.net == zone.net)
        .flat_map(|piece| piece.cores.iter().flat_map(|core| core.grown(half)))
        .collect();
    let reached = |part: &Polygon<f64>| {
        let Some(rect) = part.bounding_rect() else { return false };
        own.iter().any(|pad| pad.bounding_rect().is_some_and(|at| overlaps(&at, &rect)) && pad.intersects(part))
    };
    left.into_iter().filter(|part| part.unsigned_area() > SPECK && (zone.net.is_empty() || reached(part))).collect()
}

/// The copper that the pen leaves.
fn copper(board: &Board, zone: &Zone, layer: &str, pieces: &[Piece]) -> Vec<Polygon<f64>> {
    let pen = BufferStyle::new(zone.min_thickness / 2.0).line_join(LineJoin::Round(BEND));
    MultiPolygon::new(cores(board, zone, layer, pieces)).buffer_with_style(pen).into_iter().collect()
}

/// A polygon as a keyholed ring on the grid.
fn ring(part: &Polygon<f64>) -> Vec<(i64, i64)> {
    let grid = |line: &geo::LineString<f64>| line.coords().map(|at| (nm(at.x), nm(at.y))).collect::<Vec<_>>();
    keyhole::keyholed(grid(part.exterior()), part.interiors().iter().map(grid).collect())
}
