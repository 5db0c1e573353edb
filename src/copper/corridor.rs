//! The corridor of a route over one other layer: where planes cover it, where not, where that can't be told.

use super::{Copper, ItemId, ItemRef, Step};
use crate::board::{Board, LayerId, NetId, ZoneId, ZoneKind};
use crate::geometry::{Bare, Envelope, Path, Point, Shape, ShapeRef, bare_parts, ring, to_f64};

/// What is known of a board's planes without looking at any route.
#[derive(Debug, Default)]
pub(super) struct Planes {
    layers: Vec<PlaneLayer>,
}

#[derive(Debug, Default)]
struct PlaneLayer {
    /// Poured copper as a share of the board's box.
    share: f64,
    /// Zones that are meant for the layer and have no fill there.
    unfilled: Vec<ZoneId>,
}

/// A plane's copper near a place.
#[derive(Debug, Clone, Copy)]
pub(super) struct PlaneItem<'c> {
    pub id: ItemId,
    pub net: NetId,
    pub shape: ShapeRef<'c>,
    /// A mesh: its openings are meant.
    pub meshed: bool,
    /// Clearance that its fill was made with, nanometres.
    pub clearance: i64,
}

/// Why it can't be told whether a plane is there.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum PlaneDoubt {
    /// A zone that should have copper there has no fill.
    Unfilled(ZoneId),
    /// The plane is a mesh.
    Meshed,
}

/// What covers one corridor on one layer.
#[derive(Debug, Clone, PartialEq, Default)]
pub(super) struct Cover {
    /// Uncovered parts of the corridor, positions along its path; openings that belong there are left out.
    pub bare: Vec<Bare>,
    /// Area without plane in square nanometres, openings that belong there included.
    pub missing: f64,
    /// Why the uncovered parts may be covered in truth.
    pub doubt: Option<PlaneDoubt>,
}

/// Which nets' copper can be a plane for a route.
#[derive(Debug, Clone, Copy)]
pub(super) struct PlaneNets<'a> {
    /// The route's own net and its mate's: never.
    pub own: &'a [NetId],
    /// Only these; any other than its own if `None`.
    pub only: Option<&'a [NetId]>,
}

impl PlaneNets<'_> {
    fn admit(self, net: NetId) -> bool {
        net.is_some() && !self.own.contains(&net) && self.only.is_none_or(|only| only.contains(&net))
    }
}

/// A corridor to look at.
#[derive(Debug, Clone, Copy)]
pub(super) struct Corridor<'a> {
    pub path: Path,
    pub half_width: i64,
    pub nets: PlaneNets<'a>,
    /// Openings that belong there (own antipads, voids under own pads): they count as covered.
    pub voids: &'a [Shape],
}

impl<'a> Corridor<'a> {
    /// The corridor of a step: half the track and a margin on each side.
    pub fn of(step: &Step, margin: i64, nets: PlaneNets<'a>, voids: &'a [Shape]) -> Self {
        // Fills and graphics have no width of their own.
        let half_width = (step.width / 2).max(NARROWEST) + margin;
        Self { path: step.path, half_width, nets, voids }
    }

    pub fn bounds(&self) -> Envelope {
        self.path.envelope().grown(self.half_width)
    }
}

/// Half the width of a corridor for copper whose width is not known, nanometres.
const NARROWEST: i64 = 25_000;
/// Drawn copper areas at least this large both ways, in nanometres, are planes. Chosen, no source.
const DRAWN_PLANE: i64 = 1_000_000;

impl Planes {
    pub fn new(board: &Board) -> Self {
        let corners = board.outline.iter().map(|piece| piece.path.envelope());
        let copper = board.tracks.values().map(|track| track.path.envelope());
        let bounds = corners.reduce(Envelope::union).or_else(|| copper.reduce(Envelope::union));
        let room = bounds.map_or(0.0, |bounds| to_f64(bounds.width()) * to_f64(bounds.height()));
        let layers = board.layers.ids().map(|layer| {
            let poured = board.fills.values().filter(|fill| fill.layer == layer).map(|fill| fill.shape.area());
            let meant = board
                .zones
                .iter()
                .filter(|(_, zone)| zone.kind == ZoneKind::Pour && zone.net.is_some() && zone.layers.contains(layer));
            let unfilled = meant
                .map(|(id, _)| id)
                .filter(|id| !board.fills.values().any(|fill| fill.zone == *id && fill.layer == layer));
            let share = if room > 0.0 { poured.sum::<f64>() / room } else { 0.0 };
            PlaneLayer { share, unfilled: unfilled.collect() }
        });
        Self { layers: layers.collect() }
    }

    /// Poured copper of a layer as a share of the board's box, roughly.
    pub fn share(&self, layer: LayerId) -> f64 {
        self.layers.get(usize::from(layer.0)).map_or(0.0, |layer| layer.share)
    }

    fn unfilled(&self, layer: LayerId) -> &[ZoneId] {
        self.layers.get(usize::from(layer.0)).map_or(&[], |layer| &layer.unfilled)
    }
}

impl Copper<'_> {
    /// Planes of a layer near a box: poured fills and drawn copper areas of the nets that count.
    pub(super) fn planes_near(&self, layer: LayerId, bounds: Envelope, nets: PlaneNets<'_>) -> Vec<PlaneItem<'_>> {
        let board = self.board();
        let mut found = Vec::new();
        self.items().visit_near(layer, bounds, |id, item| {
            let made = match item.source {
                ItemRef::Fill(fill) => {
                    let fill = board.fills.get(fill).filter(|fill| !fill.island);
                    let zone = fill.and_then(|fill| board.zones.get(fill.zone));
                    zone.filter(|zone| zone.kind == ZoneKind::Pour).map(|zone| (zone.hatched, zone.clearance))
                }
                ItemRef::Graphic(_) => {
                    let wide = item.envelope.width().min(item.envelope.height()) >= DRAWN_PLANE;
                    (wide && matches!(item.shape, ShapeRef::Area { .. })).then_some((false, 0))
                }
                _ => None,
            };
            if let Some((meshed, clearance)) = made
                && nets.admit(item.net)
            {
                found.push(PlaneItem { id, net: item.net, shape: item.shape, meshed, clearance });
            }
        });
        found.sort_by_key(|plane| plane.id);
        found
    }

    /// The net of the plane that holds a point of a layer.
    pub(super) fn plane_at(&self, layer: LayerId, at: Point, nets: PlaneNets<'_>) -> Option<NetId> {
        let planes = self.planes_near(layer, Envelope::of_point(at).grown(1), nets);
        planes.iter().find(|plane| self.items().holds(plane.id, at.into())).map(|plane| plane.net)
    }

    /// How planes of a layer cover a corridor.
    pub(super) fn cover(&self, corridor: &Corridor<'_>, layer: LayerId) -> Cover {
        let bounds = corridor.bounds();
        let planes = self.planes_near(layer, bounds, corridor.nets);
        let solid = planes.iter().any(|plane| {
            let ring = self.items().ring(plane.id);
            ring.is_some_and(|ring| ring.covers_corridor(plane.shape.radius(), &corridor.path, corridor.half_width))
        });
        if solid {
            return Cover::default();
        }
        let mut covers: Vec<ShapeRef<'_>> = planes.iter().map(|plane| plane.shape).collect();
        // Pads and vias of the planes' own nets fill the openings of their thermal reliefs.
        self.items().visit_near(layer, bounds, |_, item| {
            let fills_in = matches!(item.source, ItemRef::Pad(_) | ItemRef::Via(_));
            if fills_in && planes.iter().any(|plane| plane.net == item.net) {
                covers.push(item.shape);
            }
        });
        let mut bare = bare_parts(&corridor.path, corridor.half_width, &covers);
        let missing = bare.iter().map(|part| part.area).sum();
        if !bare.is_empty() {
            let reliefs = self.reliefs(layer, &bare, &planes);
            covers.extend(corridor.voids.iter().chain(&reliefs).map(Shape::view));
            if !(corridor.voids.is_empty() && reliefs.is_empty()) {
                bare = bare_parts(&corridor.path, corridor.half_width, &covers);
            }
        }
        let meshed = planes.iter().any(|plane| plane.meshed).then_some(PlaneDoubt::Meshed);
        let doubt = if bare.is_empty() { None } else { self.unfilled_at(layer, &bare).or(meshed) };
        Cover { bare, missing, doubt }
    }

    /// A zone that should have copper where it is bare and has no fill on the layer at all.
    fn unfilled_at(&self, layer: LayerId, bare: &[Bare]) -> Option<PlaneDoubt> {
        let holds = |zone: &ZoneId| {
            let Some(zone) = self.board().zones.get(*zone) else { return false };
            let inside = |at: Point| zone.outline.iter().any(|outline| ring::contains(outline, at));
            bare.iter().any(|part| {
                ring::centroid(&part.outline).is_some_and(inside) || part.outline.iter().any(|&at| inside(at))
            })
        };
        self.planes().unfilled(layer).iter().copied().find(holds).map(PlaneDoubt::Unfilled)
    }

    /// A zone that should have copper at a point of a layer and has no fill there at all.
    pub(super) fn unfilled_zone(&self, layer: LayerId, at: Point) -> Option<PlaneDoubt> {
        let holds = |zone: &ZoneId| {
            let zone = self.board().zones.get(*zone);
            zone.is_some_and(|zone| zone.outline.iter().any(|outline| ring::contains(outline, at)))
        };
        self.planes().unfilled(layer).iter().copied().find(holds).map(PlaneDoubt::Unfilled)
    }
}
