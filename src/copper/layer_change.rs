//! Where routes change layers, and the planes that accompany them before and after.

use super::corridor::{PlaneDoubt, PlaneNets};
use super::reference::{LayerReference, PlaneSide};
use super::{Copper, Route, Step, StepKind};
use crate::board::{LayerId, LayerSet, NetId};
use crate::geometry::{Envelope, Point, ShapeRef};

/// A barrel through which a route goes on to another layer.
#[derive(Debug, Clone, PartialEq)]
pub struct LayerChange {
    /// The via or plated hole.
    pub through: StepKind,
    /// Where.
    pub at: Point,
    /// The route before it.
    pub before: Beside,
    /// The route after it.
    pub after: Beside,
}

/// What accompanies a route on one side of a layer change.
#[derive(Debug, Clone, PartialEq)]
pub struct Beside {
    /// Layer of the route.
    pub layer: LayerId,
    /// The planes that count there, nearest first.
    pub planes: Vec<Plane>,
    /// A zone without fill that may be a plane there.
    pub doubt: Option<PlaneDoubt>,
}

/// A plane at one place.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Plane {
    /// Layer.
    pub layer: LayerId,
    /// Net.
    pub net: NetId,
}

impl LayerChange {
    /// A plane that accompanies the route before and after.
    #[must_use]
    pub fn kept(&self) -> Option<Plane> {
        self.before.planes.iter().copied().find(|plane| self.after.planes.contains(plane))
    }

    /// Planes of one net before and after: what a barrel of that net can join. The nearest first.
    pub fn of_one_net(&self) -> impl Iterator<Item = (Plane, Plane)> + '_ {
        self.before
            .planes
            .iter()
            .flat_map(|one| self.after.planes.iter().filter(|other| other.net == one.net).map(|other| (*one, *other)))
    }

    /// Layers that it and its planes lie on.
    #[must_use]
    pub fn layers(&self) -> LayerSet {
        let planes = self.before.planes.iter().chain(&self.after.planes).map(|plane| plane.layer);
        LayerSet::span(self.before.layer, self.after.layer).or(planes.collect())
    }
}

/// A plane is looked for along the route up to this far from the barrel, in nanometres, in steps.
const ALONG: f64 = 3_000_000.0;
const STRIDE: f64 = 100_000.0;
/// A plane whose opening the barrel stands in is this near at most, in nanometres.
const AROUND: i64 = 1_500_000;

impl Copper<'_> {
    /// The layer changes of a route, in order. `references` is the route's reference copper; copper of `own` nets is no
    /// plane.
    #[must_use]
    pub fn layer_changes(&self, route: &Route, references: &[LayerReference], own: &[NetId]) -> Vec<LayerChange> {
        let look = Look { copper: self, route, references, nets: PlaneNets { own, only: None } };
        let mut found: Vec<LayerChange> = Vec::new();
        let mut at = 0;
        while let Some(step) = route.steps.get(at) {
            let start = at;
            at += 1;
            if step.layer == step.to_layer {
                continue;
            }
            // A barrel comes as one step for each of the net's layers that it passes.
            while route.steps.get(at).is_some_and(|next| next.layer != next.to_layer && next.kind == step.kind) {
                at += 1;
            }
            let Some(end) = route.steps.get(at - 1).filter(|end| end.to_layer != step.layer) else { continue };
            let place = step.path.start();
            found.push(LayerChange {
                through: step.kind,
                at: place,
                before: look.beside(step.layer, place, look.back(start)),
                after: look.beside(end.to_layer, place, look.on(at)),
            });
        }
        found
    }
}

struct Look<'r, 'b> {
    copper: &'r Copper<'b>,
    route: &'r Route,
    references: &'r [LayerReference],
    nets: PlaneNets<'r>,
}

impl Look<'_, '_> {
    /// Points of the route from a barrel on.
    fn on(&self, from: usize) -> Vec<Point> {
        let steps = self.route.steps.get(from..).unwrap_or(&[]).iter();
        points(steps.take_while(|step| step.layer == step.to_layer).map(|step| (step, false)))
    }

    /// Points of the route before a barrel, the nearest first.
    fn back(&self, before: usize) -> Vec<Point> {
        let steps = self.route.steps.get(..before).unwrap_or(&[]).iter().rev();
        points(steps.take_while(|step| step.layer == step.to_layer).map(|step| (step, true)))
    }

    fn beside(&self, layer: LayerId, at: Point, points: Vec<Point>) -> Beside {
        let reference = self.references.iter().find(|reference| reference.layer == layer);
        let sides: Vec<&PlaneSide> = reference.into_iter().flat_map(LayerReference::near_sides).collect();
        let mut doubt = reference.and_then(|reference| reference.doubt);
        let mut planes = Vec::new();
        if sides.is_empty() {
            planes = self.around(layer, at, &mut doubt);
        }
        for side in sides {
            let along = points.iter().find_map(|&at| self.copper.plane_at(side.plane, at, self.nets));
            let net = along.or_else(|| self.nearest(side.plane, at));
            planes.extend(net.map(|net| Plane { layer: side.plane, net }));
        }
        Beside { layer, planes, doubt }
    }

    /// Planes for a route that has no track on a layer, such as a via in a land: the nearest layer on each side with a
    /// plane around the barrel.
    fn around(&self, layer: LayerId, at: Point, doubt: &mut Option<PlaneDoubt>) -> Vec<Plane> {
        let layers: Vec<LayerId> = self.copper.board().layers.ids().collect();
        let above: Vec<LayerId> = layers.iter().rev().copied().filter(|other| *other < layer).collect();
        let below: Vec<LayerId> = layers.iter().copied().filter(|other| *other > layer).collect();
        let mut planes = Vec::new();
        for outward in [above, below] {
            for plane in outward {
                if let Some(net) = self.nearest(plane, at) {
                    planes.push(Plane { layer: plane, net });
                    break;
                }
                *doubt = doubt.or_else(|| self.copper.unfilled_zone(plane, at));
            }
        }
        planes
    }

    /// The net of the plane nearest to a barrel on a layer.
    fn nearest(&self, layer: LayerId, at: Point) -> Option<NetId> {
        let items = self.copper.items();
        let dot = ShapeRef::disc(at, 0);
        let near = self.copper.planes_near(layer, Envelope::of_point(at).grown(AROUND), self.nets);
        let gaps = near.iter().filter_map(|plane| {
            let gap = items.gap_to(plane.id, dot, crate::geometry::to_f64(AROUND))?;
            Some((gap.distance, plane.net))
        });
        gaps.min_by(|one, other| one.0.total_cmp(&other.0)).map(|(_, net)| net)
    }
}

/// Points along steps, up to [`ALONG`].
fn points<'s>(steps: impl Iterator<Item = (&'s Step, bool)>) -> Vec<Point> {
    let mut found = Vec::new();
    let mut passed = 0.0;
    for (step, back) in steps {
        let length = step.length.to_nm();
        let mut along = 0.0;
        while along <= length && passed + along <= ALONG {
            let position = if back { length - along } else { along };
            found.push(step.path.point_at(position).to_point());
            along += STRIDE;
        }
        passed += length;
        if passed > ALONG {
            break;
        }
    }
    found
}
