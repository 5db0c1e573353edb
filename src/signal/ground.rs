//! Which copper counts as reference: poured fills, drawn areas, and what else belongs to their nets.

use crate::board::{Board, LayerId, NetId, ZoneId, ZoneKind};
use crate::copper::{Copper, Item, ItemId, ItemRef};
use crate::geometry::{Envelope, Point, ShapeRef, ring};
use crate::table::Id;

/// Drawn copper areas at least this large both ways, in nanometres, are planes, as for reference planes of routes.
const DRAWN_PLANE: i64 = 1_000_000;

/// What an item of copper is to a route.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Part {
    /// Of a net with pours: at rest at speed.
    Ground {
        /// Of a mesh.
        meshed: bool,
    },
    /// A track, pad or via of another signal.
    Foreign,
    /// Of the route's own net or its mate's.
    Own,
    /// Text-like or unconnected copper, islands: left out.
    Nothing,
}

/// A board's reference copper.
#[derive(Debug)]
pub struct Grounds<'a> {
    copper: &'a Copper<'a>,
    /// By net: whether it has a pour or a drawn area.
    poured: Vec<bool>,
    /// By layer: zones meant for it that have no fill there.
    unfilled: Vec<Vec<ZoneId>>,
}

impl<'a> Grounds<'a> {
    /// Looks for the nets that have pours.
    pub fn new(copper: &'a Copper<'a>) -> Self {
        let board = copper.board();
        let mut poured = vec![false; board.nets.len()];
        let fills = board.fills.values().filter(|fill| !fill.island && is_pour(board, fill.zone)).map(|fill| fill.net);
        let drawn = board.graphics.values().filter(|graphic| graphic.shapes.iter().any(|shape| is_plane(shape.view())));
        for net in fills.chain(drawn.map(|graphic| graphic.net)).filter(|net| net.is_some()) {
            if let Some(flag) = poured.get_mut(net.index()) {
                *flag = true;
            }
        }
        let unfilled = board.layers.ids().map(|layer| {
            let meant = board
                .zones
                .iter()
                .filter(|(_, zone)| zone.kind == ZoneKind::Pour && zone.net.is_some() && zone.layers.contains(layer));
            let bare = meant
                .map(|(id, _)| id)
                .filter(|id| !board.fills.values().any(|fill| fill.zone == *id && fill.layer == layer));
            bare.collect()
        });
        Self { copper, poured, unfilled: unfilled.collect() }
    }

    /// Whether a net has pours.
    pub fn is_poured(&self, net: NetId) -> bool {
        net.is_some() && self.poured.get(net.index()).copied().unwrap_or(false)
    }

    /// What an item is to routes of some nets.
    pub fn part(&self, item: &Item<'_>, own: &[NetId]) -> Part {
        let board = self.copper.board();
        if own.contains(&item.net) {
            return Part::Own;
        }
        match item.source {
            ItemRef::Fill(fill) => {
                let Some(fill) = board.fills.get(fill).filter(|fill| !fill.island && fill.net.is_some()) else {
                    return Part::Nothing;
                };
                let Some(zone) = board.zones.get(fill.zone) else { return Part::Nothing };
                Part::Ground { meshed: zone.hatched }
            }
            ItemRef::Graphic(_) if is_plane(item.shape) && item.net.is_some() => Part::Ground { meshed: false },
            _ if self.is_poured(item.net) => Part::Ground { meshed: false },
            ItemRef::Graphic(_) => Part::Nothing,
            _ => Part::Foreign,
        }
    }

    /// Items of a layer near a box, in id order.
    pub fn near(&self, layer: LayerId, bounds: Envelope) -> Vec<(ItemId, &Item<'a>)> {
        let mut found = Vec::new();
        self.copper.items().visit_near(layer, bounds, |id, _| found.push(id));
        found.sort_unstable();
        found.into_iter().filter_map(|id| Some((id, self.copper.items().get(id)?))).collect()
    }

    /// A zone without fill that should have copper at a point of a layer.
    pub fn unfilled_at(&self, layer: LayerId, at: Point) -> Option<ZoneId> {
        let zones = self.unfilled.get(usize::from(layer.0))?;
        zones.iter().copied().find(|zone| {
            let zone = self.copper.board().zones.get(*zone);
            zone.is_some_and(|zone| zone.outline.iter().any(|outline| ring::contains(outline, at)))
        })
    }

    /// The copper.
    pub const fn copper(&self) -> &'a Copper<'a> {
        self.copper
    }
}

fn is_pour(board: &Board, zone: ZoneId) -> bool {
    board.zones.get(zone).is_some_and(|zone| zone.kind == ZoneKind::Pour)
}

fn is_plane(shape: ShapeRef<'_>) -> bool {
    let wide = shape.envelope().is_some_and(|bounds| bounds.width().min(bounds.height()) >= DRAWN_PLANE);
    wide && matches!(shape, ShapeRef::Area { .. })
}
