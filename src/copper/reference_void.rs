//! Openings in planes that a pair makes itself: antipads of its vias and pins, voids under its pads.

use super::corridor::{PlaneItem, PlaneNets};
use super::{Copper, ItemRef};
use crate::board::{LayerId, NetId};
use crate::geometry::{Path, Point, Shape, ShapeRef, from_f64, to_f64};

/// A void under a pad may reach this far beyond it, in nanometres. Source: 0.15 mm around edge-connector fingers, 0.1 mm
/// around capacitor pads in published layout guides of module makers.
const PAD_VOID: i64 = 150_000;
/// An antipad reaches at most this far beyond the via's pad, in nanometres, or as far as the plane's clearance: 0.5 mm in
/// diameter over the drill is the standard process, 0.4 mm beyond the pad leaves room for openings made wide on purpose.
const ANTIPAD: i64 = 400_000;
/// No clearance is wider than this, in nanometres.
const WIDEST: i64 = 3_000_000;
/// A circle in a fill is a polygon: its corners lie up to this share farther out than its sides.
const CHORDS: f64 = 1.05;
/// Rounding and pen of the fill, in nanometres.
const SLACK: f64 = 20_000.0;

impl Copper<'_> {
    /// The openings that the nets' own vias and pads make on a layer, for routes on any layer.
    pub(super) fn own_voids(&self, own: &[NetId], layer: LayerId) -> Vec<Shape> {
        let board = self.board();
        let mut voids = Vec::new();
        let mut antipads: Vec<(Point, i64)> = Vec::new();
        for (id, via) in board.vias.iter().filter(|(_, via)| own.contains(&via.net)) {
            if !via.layers().contains(layer) {
                continue;
            }
            let pad = self.items().of(ItemRef::Via(id)).find(|(_, item)| item.layer == layer);
            let radius = pad.map_or(via.size_on(layer) / 2, |(_, item)| item.shape.radius());
            if let Some(reach) = self.antipad(layer, ShapeRef::disc(via.at, radius), own) {
                antipads.push((via.at, radius + reach));
            }
        }
        for (_, pad) in board.pads.iter().filter(|(_, pad)| own.contains(&pad.net)) {
            let through = pad.is_plated() && pad.layers.contains(layer);
            let shapes = if pad.layers.contains(layer) { pad.shapes_on(layer) } else { pad.shapes.as_slice() };
            for shape in shapes {
                let antipad = if through { self.antipad(layer, shape.view(), own) } else { None };
                voids.push(grown(shape, antipad.unwrap_or(0).max(PAD_VOID)));
            }
        }
        // Antipads that meet are one opening: the strip between them too.
        for (at, (one, radius)) in antipads.iter().enumerate() {
            voids.push(Shape::disc(*one, *radius));
            for (other, other_radius) in antipads.iter().skip(at + 1) {
                if one.distance(*other) <= to_f64(radius + other_radius) {
                    voids.push(Shape::Stroke { path: Path::Line(*one, *other), radius: (*radius).min(*other_radius) });
                }
            }
        }
        voids
    }

    /// How far the opening around an own pad reaches beyond it: to the nearest plane, a little more. `None` if no plane
    /// is that near: then the pad stands in a larger opening, which is not its antipad.
    fn antipad(&self, layer: LayerId, pad: ShapeRef<'_>, own: &[NetId]) -> Option<i64> {
        let bounds = pad.envelope()?;
        let limit = |plane: &PlaneItem<'_>| to_f64(ANTIPAD.max(plane.clearance)) + SLACK;
        let near = self.planes_near(layer, bounds.grown(WIDEST), PlaneNets { own, only: None });
        let gaps = near.iter().filter_map(|plane| self.items().gap_to(plane.id, pad, limit(plane)));
        let nearest = gaps.map(|gap| gap.distance).min_by(f64::total_cmp)?;
        let size = to_f64(bounds.width().min(bounds.height())) / 2.0;
        Some(from_f64((size + nearest) * CHORDS - size + SLACK))
    }
}

fn grown(shape: &Shape, by: i64) -> Shape {
    match shape {
        Shape::Stroke { path, radius } => Shape::Stroke { path: *path, radius: radius + by },
        Shape::Area { ring, radius } => Shape::Area { ring: ring.clone(), radius: radius + by },
    }
}
