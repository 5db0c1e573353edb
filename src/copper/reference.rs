//! Reference copper of routes: the planes above and below that are really there, and where they are not.
//!
//! On each side the plane layer is the nearest one whose poured copper accompanies the route. A layer with a few small
//! pours is passed over unless they cover most of the route. Tracks are no planes, teardrops and islands neither.

use super::corridor::{Corridor, PlaneDoubt, PlaneNets};
use super::{Copper, Route, Step, StepKind};
use crate::board::{LayerId, LayerSet, NetId};
use crate::geometry::{Point, Shape, from_f64, ring, to_f64};
use crate::units::Length;
use std::cell::OnceCell;
use std::collections::BTreeMap;

/// A stretch of a route without its plane.
#[derive(Debug, Clone, PartialEq)]
pub struct Uncovered {
    /// Where it begins and ends along the route.
    pub from: Length,
    /// Its end.
    pub to: Length,
    /// Layer of the route.
    pub layer: LayerId,
    /// Layer of the plane that is missing.
    pub plane: LayerId,
    /// The step of the route it begins on.
    pub step: usize,
    /// Middle of the stretch, on the route.
    pub at: Point,
    /// Uncovered share of the corridor along the stretch, 0 to 1.
    pub lost: f64,
    /// Outlines of the uncovered parts.
    pub outlines: Vec<Vec<Point>>,
    /// Nets of the plane before and after the stretch, where there is one.
    pub between: [Option<NetId>; 2],
    /// The nearest plane that is there instead, on the same side.
    pub instead: Option<(LayerId, NetId)>,
}

impl Uncovered {
    /// Its length along the route.
    #[must_use]
    pub fn length(&self) -> Length {
        self.to - self.from
    }

    /// Whether the plane's net differs before and after.
    #[must_use]
    pub fn changes_net(&self) -> bool {
        matches!(self.between, [Some(before), Some(after)] if before != after)
    }
}

/// The plane on one side of the part of a route that lies on one layer.
#[derive(Debug, Clone, PartialEq)]
pub struct PlaneSide {
    /// Layer of the route.
    pub layer: LayerId,
    /// Layer of the plane.
    pub plane: LayerId,
    /// Clear height between them, if the stackup states it.
    pub height: Option<Length>,
    /// Nets of the plane under (or over) the middle of each step, with the length of those steps, sorted by net.
    pub nets: Vec<(NetId, Length)>,
    /// Stretches without plane, in order.
    pub uncovered: Vec<Uncovered>,
    /// Why some of them may be covered in truth.
    pub doubt: Option<PlaneDoubt>,
}

/// The part of a route that lies on one layer.
#[derive(Debug, Clone, PartialEq)]
pub struct LayerReference {
    /// Layer of the route.
    pub layer: LayerId,
    /// Length of the route on it.
    pub length: Length,
    /// The plane above.
    pub above: Option<PlaneSide>,
    /// The plane below.
    pub below: Option<PlaneSide>,
    /// Zones without fill on the way to a side on which no plane was found.
    pub doubt: Option<PlaneDoubt>,
    /// Where the part begins.
    pub at: Point,
    /// The first step on the layer.
    pub step: usize,
}

impl LayerReference {
    /// The sides that count, the nearer first: the nearer plane, and the other unless it is far away. A plane more than
    /// twice as far away carries under a third of the return current; without heights the layers between count.
    #[must_use]
    pub fn near_sides(&self) -> Vec<&PlaneSide> {
        let apart = |side: &PlaneSide| f64::from(side.layer.0.abs_diff(side.plane.0));
        match (&self.above, &self.below) {
            (Some(above), Some(below)) => {
                let (one, other, far) = match (above.height, below.height) {
                    (Some(one), Some(other)) => (one.to_nm(), other.to_nm(), FAR),
                    _ => (apart(above), apart(below), 1.0),
                };
                let (near, rest) = if other < one { (below, above) } else { (above, below) };
                if one.max(other) > far * one.min(other) { vec![near] } else { vec![near, rest] }
            }
            (one, other) => one.iter().chain(other).collect(),
        }
    }
}

/// A plane this many times as far away as the one on the other side carries under a third of the return current.
const FAR: f64 = 2.0;
/// A layer is the plane of a route if it covers at least this share of the route's length on a layer…
const ACCOMPANIES: f64 = 0.5;
/// … or at least this share, and this share of the whole board is poured there. Chosen on real boards, no source.
const TOUCHES: f64 = 0.05;
const POURED: f64 = 0.3;
/// Stretches this near to each other along the route, in nanometres, are one.
const JOINED: f64 = 1_000.0;
/// Stretches shorter than this, in nanometres, are rounding.
const SPECK: f64 = 1_000.0;

/// The search for the planes of routes that share their own openings: those of one net, or of a pair.
#[derive(Debug)]
pub struct PlaneSearch<'a, 'b> {
    copper: &'a Copper<'b>,
    nets: PlaneNets<'a>,
    margin: i64,
    /// Openings that the nets make themselves, by layer.
    voids: Vec<OnceCell<Vec<Shape>>>,
}

impl<'b> Copper<'b> {
    /// A search for reference copper. `own` are the nets whose copper is no reference and whose vias and pads make
    /// openings of their own: the net, and the mate's. `only` restricts the planes to those of some nets. `margin`
    /// widens the corridor beyond the track on each side.
    #[must_use]
    pub fn plane_search<'a>(
        &'a self,
        own: &'a [NetId],
        only: Option<&'a [NetId]>,
        margin: Length,
    ) -> PlaneSearch<'a, 'b> {
        let voids = self.board().layers.ids().map(|_| OnceCell::new()).collect();
        PlaneSearch { copper: self, nets: PlaneNets { own, only }, margin: from_f64(margin.to_nm()), voids }
    }

    /// The reference copper of a single route; see [`Copper::plane_search`].
    #[must_use]
    pub fn reference(&self, route: &Route, own: &[NetId], margin: Length) -> Vec<LayerReference> {
        self.plane_search(own, None, margin).of(route)
    }

    /// Layers that planes of a route lie on, for verdicts that rest on them.
    #[must_use]
    pub fn plane_layers(references: &[LayerReference]) -> LayerSet {
        let sides = references.iter().flat_map(|found| found.above.iter().chain(&found.below));
        sides.flat_map(|side| [side.plane, side.layer]).collect()
    }
}

impl PlaneSearch<'_, '_> {
    /// The reference copper of a route, layer by layer from the top.
    #[must_use]
    pub fn of(&self, route: &Route) -> Vec<LayerReference> {
        let mut by_layer: BTreeMap<LayerId, Vec<usize>> = BTreeMap::new();
        for (index, step) in route.steps.iter().enumerate() {
            let on_copper = matches!(step.kind, StepKind::Track(_) | StepKind::Graphic(_) | StepKind::Fill(_));
            if on_copper && step.length.to_nm() > 0.0 {
                by_layer.entry(step.layer).or_default().push(index);
            }
        }
        let look = Look { search: self, copper: self.copper, route };
        by_layer.into_iter().map(|(layer, steps)| look.on_layer(layer, &steps)).collect()
    }

    fn voids(&self, layer: LayerId) -> &[Shape] {
        let cell = self.voids.get(usize::from(layer.0));
        cell.map_or(&[], |cell| cell.get_or_init(|| self.copper.own_voids(self.nets.own, layer)))
    }
}

/// What one plane layer leaves uncovered of a route's part on a layer.
struct Scan {
    /// Stretches, openings that belong there left out.
    uncovered: Vec<Uncovered>,
    /// Length without plane in nanometres, such openings included.
    missing: f64,
    doubt: Option<PlaneDoubt>,
}

/// A route being looked at.
struct Look<'a, 'b> {
    search: &'a PlaneSearch<'a, 'b>,
    copper: &'a Copper<'b>,
    route: &'a Route,
}

impl Look<'_, '_> {
    fn on_layer(&self, layer: LayerId, steps: &[usize]) -> LayerReference {
        let layers: Vec<LayerId> = self.copper.board().layers.ids().collect();
        let above: Vec<LayerId> = layers.iter().copied().filter(|other| *other < layer).rev().collect();
        let below: Vec<LayerId> = layers.iter().copied().filter(|other| *other > layer).collect();
        let length: Length = self.steps(steps).map(|(_, step)| step.length).sum();
        let (above, doubt_above) = self.side(layer, steps, &above, length);
        let (below, doubt_below) = self.side(layer, steps, &below, length);
        let first = self.steps(steps).next();
        LayerReference {
            layer,
            length,
            above,
            below,
            doubt: doubt_above.or(doubt_below),
            at: first.map_or(Point::default(), |(_, step)| step.path.start()),
            step: first.map_or(0, |(index, _)| index),
        }
    }

    fn steps<'s>(&'s self, steps: &'s [usize]) -> impl Iterator<Item = (usize, &'s Step)> + 's {
        steps.iter().filter_map(|&index| self.route.steps.get(index).map(|step| (index, step)))
    }

    /// The plane on one side: the nearest layer that accompanies the route. Also tells whether a layer that was passed
    /// over has unfilled zones there.
    fn side(
        &self,
        layer: LayerId,
        steps: &[usize],
        outward: &[LayerId],
        length: Length,
    ) -> (Option<PlaneSide>, Option<PlaneDoubt>) {
        let mut passed_over = None;
        for (at, &plane) in outward.iter().enumerate() {
            let voids = self.search.voids(plane);
            let Scan { uncovered, missing, doubt } = self.uncovered(layer, steps, plane, voids);
            let covered = 1.0 - missing / length.to_nm();
            let left: f64 = uncovered.iter().map(|found| found.length().to_nm() * found.lost).sum();
            let poured = self.copper.planes().share(plane) >= POURED;
            // A short part may lie in openings of its own altogether.
            let in_own_openings = left <= SPECK;
            if covered >= ACCOMPANIES || (poured && (covered >= TOUCHES || in_own_openings)) {
                let rest = outward.get(at + 1..).unwrap_or(&[]);
                let uncovered = uncovered.into_iter().map(|found| self.described(found, rest)).collect();
                let height = self.copper.stackup().and_then(|stackup| stackup.height(layer, plane));
                let nets = self.nets(steps, plane);
                return (Some(PlaneSide { layer, plane, height, nets, uncovered, doubt }), passed_over);
            }
            passed_over = passed_over.or(doubt);
        }
        (None, passed_over)
    }

    /// Stretches of the route's part on a layer that a plane layer leaves uncovered.
    fn uncovered(&self, layer: LayerId, steps: &[usize], plane: LayerId, voids: &[Shape]) -> Scan {
        let mut doubt = None;
        let mut missing = 0.0;
        let mut found: Vec<Uncovered> = Vec::new();
        // Uncovered area so far, and the area of the corridor along the stretch.
        let mut areas: Vec<(f64, f64)> = Vec::new();
        for (index, step) in self.steps(steps) {
            let mut corridor = Corridor::of(step, self.search.margin, self.search.nets, &[]);
            let bounds = corridor.bounds();
            let near: Vec<Shape> =
                voids.iter().filter(|void| void.envelope().is_some_and(|own| own.meets(bounds))).cloned().collect();
            corridor.voids = &near;
            let cover = self.copper.cover(&corridor, plane);
            doubt = doubt.or(cover.doubt);
            let width = 2.0 * to_f64(corridor.half_width);
            missing += (cover.missing / width).min(step.length.to_nm());
            for bare in cover.bare {
                let (from, to) = (step.start + Length::nm(bare.from), step.start + Length::nm(bare.to));
                if (to - from).to_nm() < SPECK {
                    continue;
                }
                match (found.last_mut(), areas.last_mut()) {
                    (Some(last), Some(area)) if (from - last.to).to_nm() <= JOINED => {
                        last.to = Length::nm(last.to.to_nm().max(to.to_nm()));
                        last.outlines.push(bare.outline);
                        area.0 += bare.area;
                    }
                    _ => {
                        areas.push((bare.area, width));
                        found.push(Uncovered {
                            from,
                            to,
                            layer,
                            plane,
                            step: index,
                            at: Point::default(),
                            lost: 0.0,
                            outlines: vec![bare.outline],
                            between: [None, None],
                            instead: None,
                        });
                    }
                }
            }
        }
        for (stretch, (area, width)) in found.iter_mut().zip(areas) {
            stretch.lost = (area / (stretch.length().to_nm() * width)).clamp(0.0, 1.0);
        }
        Scan { uncovered: found, missing, doubt }
    }

    /// Adds what lies before, after and instead.
    fn described(&self, mut found: Uncovered, rest: &[LayerId]) -> Uncovered {
        let plane = |at: Option<Point>, layer| at.and_then(|at| self.copper.plane_at(layer, at, self.search.nets));
        let middle = (found.from + found.to) / 2.0;
        found.at = self.point(middle, found.layer).unwrap_or_default();
        let beyond = Length::nm(BEYOND);
        found.between = [
            plane(self.point(found.from - beyond, found.layer), found.plane),
            plane(self.point(found.to + beyond, found.layer), found.plane),
        ];
        let here = found.outlines.first().and_then(|outline| ring::centroid(outline)).unwrap_or(found.at);
        found.instead = rest.iter().find_map(|&layer| plane(Some(here), layer).map(|net| (layer, net)));
        found
    }

    /// The point of the route at a position, if it lies on a layer there.
    fn point(&self, position: Length, layer: LayerId) -> Option<Point> {
        let step = self.route.steps.iter().find(|step| {
            step.layer == layer
                && step.to_layer == layer
                && step.start.to_nm() <= position.to_nm()
                && position.to_nm() <= (step.start + step.length).to_nm()
        })?;
        Some(step.path.point_at((position - step.start).to_nm()).to_point())
    }

    fn nets(&self, steps: &[usize], plane: LayerId) -> Vec<(NetId, Length)> {
        let mut nets: BTreeMap<NetId, Length> = BTreeMap::new();
        for (_, step) in self.steps(steps) {
            let middle = step.path.point_at(step.length.to_nm() / 2.0).to_point();
            if let Some(net) = self.copper.plane_at(plane, middle, self.search.nets) {
                *nets.entry(net).or_default() += step.length;
            }
        }
        nets.into_iter().collect()
    }
}

/// How far beyond a stretch's ends, in nanometres, the planes before and after are looked for.
const BEYOND: f64 = 20_000.0;
