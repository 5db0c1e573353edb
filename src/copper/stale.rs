//! Fills that are missing or out of date, as far as the file can show it.
//!
//! Three signs: a zone without fill; a fill that lies on foreign copper; and a via or plated pad of the zone's own net
//! that no fill touches although nothing stands in the way. Bare pads are common where something does, so the last is
//! asked only where there is nothing that could have kept the fill off; of pads, only those that fills meet all round,
//! since spokes may find no room.

use super::crew;
use super::{Contact, Copper, Item, ItemId, ItemRef, Items};
use crate::board::{FillConnection, GraphicId, LayerId, LayerSet, NetId, PadKind, Zone, ZoneId, ZoneKind};
use crate::geometry::{Point, ShapeRef, ring, to_f64};
use rustc_hash::FxHashMap;

/// Beyond twice the clearance and the least width, a fill must reach a pad from this near (nanometres): the widest gap
/// that spokes bridge by default is 0.5 mm; the rest is reserve. Own choice, no source.
const SPOKE_REACH: i64 = 700_000;

/// What the fills of one zone look like.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct ZoneFill {
    /// The zone: a pour or a teardrop on copper.
    pub zone: ZoneId,
    /// Layers on which it has fills.
    pub filled: LayerSet,
    /// Layers for which it is meant and has none; empty for a zone without net.
    pub missing: LayerSet,
    /// Where its fills lie on copper of other nets, in order of place.
    pub overlaps: Vec<Contact>,
    /// Pads and vias of its net that should touch its fills and don't, in id order.
    pub bare: Vec<ItemId>,
}

impl ZoneFill {
    /// Whether the zone has no fill at all.
    #[must_use]
    pub fn is_unfilled(&self) -> bool {
        self.filled.is_empty()
    }

    /// Whether copper has moved since it was filled.
    #[must_use]
    pub fn is_stale(&self) -> bool {
        !self.overlaps.is_empty() || !self.bare.is_empty()
    }
}

impl Copper<'_> {
    /// What the fills of each zone on copper look like, in zone order; rule areas are left out.
    pub fn zone_fills(&self) -> &[ZoneFill] {
        self.joining.zone_fills.get_or_init(|| zone_fills(self))
    }
}

fn zone_fills(copper: &Copper<'_>) -> Vec<ZoneFill> {
    let (board, items) = (copper.board(), copper.items());
    let mut overlaps: FxHashMap<ZoneId, Vec<Contact>> = FxHashMap::default();
    for contact in &copper.islands().overlaps {
        for item in [contact.one, contact.other] {
            if let Some(ItemRef::Fill(fill)) = items.get(item).map(|item| item.source)
                && let Some(fill) = board.fills.get(fill)
            {
                overlaps.entry(fill.zone).or_default().push(*contact);
            }
        }
    }
    let mut filled: FxHashMap<ZoneId, LayerSet> = FxHashMap::default();
    for fill in board.fills.values() {
        filled.entry(fill.zone).or_default().insert(fill.layer);
    }
    let yards: Vec<Yard<'_, '_>> = board.layers.ids().map(|layer| Yard::new(copper, layer)).collect();
    let zones: Vec<(ZoneId, &Zone)> =
        board.zones.iter().filter(|(_, zone)| zone.kind != ZoneKind::RuleArea && !zone.layers.is_empty()).collect();
    crew::map(&zones, |&(id, zone)| {
        let filled = filled.get(&id).copied().unwrap_or_default();
        let mut overlaps = overlaps.get(&id).cloned().unwrap_or_default();
        overlaps.sort_unstable_by_key(|contact| (contact.at, contact.one, contact.other));
        let mut bare = Vec::new();
        let joins = zone.net.is_some() && zone.connection != FillConnection::Apart && !zone.hatched;
        if zone.kind == ZoneKind::Pour && joins {
            for yard in yards.iter().filter(|yard| filled.contains(yard.layer)) {
                bare.extend(yard.bare(id, zone));
            }
        }
        let missing = if zone.net.is_some() { zone.layers.minus(filled) } else { LayerSet::EMPTY };
        ZoneFill { zone: id, filled, missing, overlaps, bare }
    })
}

/// One layer as a fill meets it.
struct Yard<'c, 'b> {
    copper: &'c Copper<'b>,
    layer: LayerId,
    /// Pads and vias with a hole by net, in id order: what a fill must reach.
    joints: FxHashMap<NetId, Vec<ItemId>>,
    /// Letters, which keep fills off but are no items.
    letters: Vec<GraphicId>,
}

impl<'c, 'b> Yard<'c, 'b> {
    fn new(copper: &'c Copper<'b>, layer: LayerId) -> Self {
        let board = copper.board();
        let mut joints: FxHashMap<NetId, Vec<ItemId>> = FxHashMap::default();
        for (id, item) in copper.items().iter().filter(|(_, item)| item.layer == layer && item.net.is_some()) {
            let joint = match item.source {
                ItemRef::Via(_) => true,
                ItemRef::Pad(pad) => board.pads.get(pad).is_some_and(|pad| pad.kind == PadKind::Plated),
                _ => false,
            };
            if joint && !item.barrel {
                joints.entry(item.net).or_default().push(id);
            }
        }
        let letters = board.graphics.iter().filter(|(_, graphic)| graphic.text && graphic.layer == layer);
        let letters = letters.map(|(id, _)| id).collect();
        Self { copper, layer, joints, letters }
    }

    /// Joints of the zone's net that no fill touches although nothing stands in the way.
    fn bare(&self, id: ZoneId, zone: &Zone) -> Vec<ItemId> {
        let (board, items) = (self.copper.board(), self.copper.items());
        let widest = board.classes.iter().filter_map(|class| class.clearance);
        let widest = widest.map(|clearance| crate::geometry::from_f64(clearance.to_nm())).max().unwrap_or(0);
        let reach = 2 * zone.clearance.max(widest) + zone.min_thickness + SPOKE_REACH;
        let joints = self.joints.get(&zone.net).map_or(&[][..], Vec::as_slice);
        joints
            .iter()
            .copied()
            .filter(|&joint| {
                items.get(joint).is_some_and(|item| {
                    let Some(at) = item.shape.anchor() else { return false };
                    inside(&zone.outline, at)
                        && self.is_met_all_round(zone, item)
                        && !self.touches_fill(items, joint, item)
                        && self.is_free(id, zone, joint, item, reach)
                })
            })
            .collect()
    }

    /// Whether a fill of the zone runs up to the item's copper all round: vias always do without spokes.
    fn is_met_all_round(&self, zone: &Zone, item: &Item<'_>) -> bool {
        let ItemRef::Pad(pad) = item.source else { return true };
        let own = self.copper.board().pads.get(pad).and_then(|pad| pad.fill_connection);
        own.unwrap_or(zone.connection) == FillConnection::Solid
    }

    fn touches_fill(&self, items: &Items<'_>, joint: ItemId, item: &Item<'_>) -> bool {
        let mut touches = false;
        items.visit_near(self.layer, item.envelope.grown(super::TOUCH), |other, near| {
            touches = touches
                || matches!(near.source, ItemRef::Fill(_))
                    && near.net == item.net
                    && items.touch(joint, other).is_some();
        });
        touches
    }

    /// Whether nothing within reach could have kept a fill off: foreign copper, the gap between the spokes of another
    /// pad, letters, holes, the board's edge, the outline of this zone or of another.
    fn is_free(&self, id: ZoneId, zone: &Zone, joint: ItemId, item: &Item<'_>, reach: i64) -> bool {
        let (board, items) = (self.copper.board(), self.copper.items());
        let limit = to_f64(reach);
        let near = item.envelope.grown(reach);
        let clear_of = |shape: ShapeRef<'_>| item.shape.gap(shape).distance > limit;
        let mut free = true;
        items.visit_near(self.layer, near, |other, row| {
            let harmless = other == joint || (row.net == zone.net && self.is_met_all_round(zone, row));
            free = free && (harmless || items.gap_to(other, item.shape, limit).is_none());
        });
        free && edges_clear(&zone.outline, &clear_of)
            && board.zones.iter().all(|(other, area)| {
                other == id
                    || area.kind == ZoneKind::Teardrop
                    || (area.net == zone.net && area.kind == ZoneKind::Pour)
                    || !area.layers.contains(self.layer)
                    || (edges_clear(&area.outline, &clear_of)
                        && item.shape.anchor().is_none_or(|at| !inside(&area.outline, at)))
            })
            && board.outline.iter().all(|edge| clear_of(ShapeRef::Stroke { path: edge.path, radius: 0 }))
            && board.pads.values().filter(|pad| pad.net != zone.net).all(|pad| {
                pad.drill.is_none_or(|drill| {
                    let radius = drill.width.max(drill.height) / 2;
                    !near.grown(radius).contains(pad.at) || clear_of(ShapeRef::disc(pad.at, radius))
                })
            })
            && self.letters.iter().filter_map(|&letter| board.graphics.get(letter)).all(|letter| {
                letter
                    .shapes
                    .iter()
                    .all(|shape| !shape.envelope().is_some_and(|own| own.meets(near)) || clear_of(shape.view()))
            })
    }
}

/// Whether a point lies in an outline of several rings: inside an odd number of them.
pub(super) fn inside(outline: &[Vec<Point>], at: Point) -> bool {
    outline.iter().filter(|corners| ring::contains(corners, at)).count() % 2 == 1
}

fn edges_clear(outline: &[Vec<Point>], clear_of: &impl Fn(ShapeRef<'_>) -> bool) -> bool {
    outline
        .iter()
        .flat_map(|corners| ring::edges(corners))
        .all(|(from, to)| clear_of(ShapeRef::Stroke { path: crate::geometry::Path::Line(from, to), radius: 0 }))
}
