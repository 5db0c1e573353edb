//! Thermal reliefs: the openings around pads and vias that a plane joins by spokes. They are no gaps of the plane.

use super::corridor::PlaneItem;
use super::{Copper, ItemId, ItemRef};
use crate::board::{LayerId, NetId};
use crate::geometry::{Bare, Envelope, Shape, ShapeRef, Vector, from_f64, to_f64};

/// Reliefs are at most this wide, in nanometres: 0.5 mm is a common setting (from memory), with some room.
const REACH: i64 = 600_000;
/// Rays around a pad, and steps along them in nanometres, in search of a relief's width.
const DIRECTIONS: u32 = 32;
const STRIDE: f64 = 20_000.0;

impl Copper<'_> {
    /// The reliefs of a layer near bare places, each as its pad grown by the relief's width.
    pub(super) fn reliefs(&self, layer: LayerId, bare: &[Bare], planes: &[PlaneItem<'_>]) -> Vec<Shape> {
        let mut joined: Vec<(ItemId, NetId, ShapeRef<'_>)> = Vec::new();
        for bounds in bare.iter().filter_map(|part| Envelope::of_points(&part.outline)) {
            self.items().visit_near(layer, bounds.grown(REACH), |id, item| {
                let through = matches!(item.source, ItemRef::Pad(_) | ItemRef::Via(_));
                if through && planes.iter().any(|plane| plane.net == item.net) {
                    joined.push((id, item.net, item.shape));
                }
            });
        }
        joined.sort_by_key(|joined| joined.0);
        joined.dedup_by_key(|joined| joined.0);
        joined.iter().filter_map(|(_, net, pad)| self.relief(*pad, *net, planes)).collect()
    }

    /// The relief of one pad; `None` if the plane joins it all around or does not surround it.
    fn relief(&self, pad: ShapeRef<'_>, net: NetId, planes: &[PlaneItem<'_>]) -> Option<Shape> {
        let bounds = pad.envelope()?;
        let centre = Vector::from(bounds.centre());
        let inside = |at| planes.iter().any(|plane| plane.net == net && self.items().holds(plane.id, at));
        let limit = to_f64(bounds.width().max(bounds.height()));
        let mut gaps: Vec<f64> = Vec::new();
        let mut open_ended = 0;
        for direction in 0..DIRECTIONS {
            let ray = Vector::at_angle(std::f64::consts::TAU * f64::from(direction) / f64::from(DIRECTIONS));
            let mut edge = 0.0;
            while edge < limit && pad.contains(centre + ray * edge) {
                edge += STRIDE;
            }
            let mut gap = 0.0;
            while gap <= to_f64(REACH) && !inside(centre + ray * (edge + gap)) {
                gap += STRIDE;
            }
            if gap > to_f64(REACH) { open_ended += 1 } else { gaps.push(gap) }
        }
        gaps.sort_by(f64::total_cmp);
        let spokes = gaps.iter().take_while(|gap| **gap < STRIDE).count();
        let ring = gaps.get(spokes..)?;
        // Spokes, and the plane nearly all around: otherwise the pad lies at the plane's edge.
        if ring.is_empty() || spokes == 0 || open_ended * 4 > DIRECTIONS {
            return None;
        }
        // Most of the ring; the few widest rays run along the sides of spokes or into another opening.
        let width = from_f64(*ring.get(ring.len() * 3 / 4)? + 2.0 * STRIDE);
        Some(match pad {
            ShapeRef::Stroke { path, radius } => Shape::Stroke { path, radius: radius + width },
            ShapeRef::Area { ring, radius } => Shape::Area { ring: ring.to_vec(), radius: radius + width },
        })
    }
}
