//! The copper of one net, sorted into lines (with a centre line), lumps (with an anchor) and areas (with neither).

use super::graph::{NodeId, Rows, Sets};
use super::{Item, ItemId, ItemRef, Items};
use crate::board::pad::Drill;
use crate::board::via::BackDrill;
use crate::board::{Board, FillId, GraphicId, LayerId, LayerSet, NetId, Pad, PadId, Stackup, TrackId, ViaId, ZoneKind};
use crate::geometry::{Envelope, Path, Point, Shape, ShapeRef, Vector};
use crate::table::{Id, Table};
use std::collections::{BTreeMap, BTreeSet};

/// A track with length.
#[derive(Debug)]
pub(super) struct Line {
    pub track: TrackId,
    pub path: Path,
    pub length: f64,
    pub radius: i64,
    pub layer: LayerId,
    /// Where nodes lie on it, by distance from its start; its ends are the first and the last.
    pub cuts: Vec<(f64, NodeId)>,
}

/// Copper around an anchor, on one layer: a pad, a via, or a track without length.
#[derive(Debug)]
pub(super) struct Lump<'b> {
    pub item: ItemRef,
    pub layer: LayerId,
    pub at: Point,
    pub shapes: Vec<ShapeRef<'b>>,
    pub node: NodeId,
}

/// A fill or graphic, on one layer.
#[derive(Debug)]
pub(super) struct Area {
    pub item: ItemRef,
    pub layer: LayerId,
    /// Its shapes.
    pub ids: Vec<ItemId>,
    pub envelope: Envelope,
    /// It only smooths the way from a track to a pad or via; it makes no second way.
    pub teardrop: bool,
}

impl Line {
    pub fn shape(&self) -> ShapeRef<'static> {
        ShapeRef::Stroke { path: self.path, radius: self.radius }
    }

    pub fn envelope(&self) -> Envelope {
        self.path.envelope().grown(self.radius)
    }
}

impl Lump<'_> {
    pub fn envelope(&self) -> Envelope {
        union(&self.shapes).unwrap_or(Envelope::of_point(self.at))
    }

    /// Whether a position lies in its copper, give or take `slack` nanometres.
    pub fn holds(&self, position: Vector, slack: f64) -> bool {
        self.shapes.iter().any(|shape| shape.off(position) <= slack)
    }
}

fn union(shapes: &[ShapeRef<'_>]) -> Option<Envelope> {
    shapes.iter().filter_map(ShapeRef::envelope).reduce(Envelope::union)
}

/// What the graph of a net is built on.
#[derive(Debug, Clone, Copy)]
pub(super) struct Base<'a, 'b> {
    pub board: &'b Board,
    /// The one that heights come from.
    pub stackup: Option<&'a Stackup>,
    pub items: &'a Items<'b>,
}

impl<'b> Base<'_, 'b> {
    /// The layers that a via's barrel, or a plated hole, joins. A back-drill takes layers away, but not the one that it
    /// reaches.
    pub fn barrel(&self, item: ItemRef) -> LayerSet {
        match item {
            ItemRef::Via(id) => self.board.vias.get(id).map_or(LayerSet::EMPTY, |via| {
                via.layers().iter().filter(|&layer| !via.removes_barrel_on(layer)).collect()
            }),
            ItemRef::Pad(id) => match self.board.pads.get(id) {
                Some(pad) if pad.is_plated() => {
                    let drilled = |layer: LayerId| {
                        let gone = |drill: &BackDrill| {
                            layer != drill.to && LayerSet::span(drill.from, drill.to).contains(layer)
                        };
                        pad.back_drills.iter().any(gone)
                    };
                    self.board.layers.all().iter().filter(|&layer| !drilled(layer)).collect()
                }
                Some(pad) => pad.layers,
                None => LayerSet::EMPTY,
            },
            ItemRef::Track(_) | ItemRef::Fill(_) | ItemRef::Graphic(_) => LayerSet::EMPTY,
        }
    }

    /// The copper of an item on a layer of its barrel. A plated hole without a land there has its wall.
    pub fn copper(&self, item: ItemRef, layer: LayerId) -> Vec<ShapeRef<'b>> {
        let own = self.items.of(item).filter(|(_, item)| item.layer == layer);
        let shapes: Vec<ShapeRef<'b>> = own.map(|(_, item)| item.shape).collect();
        if !shapes.is_empty() {
            return shapes;
        }
        match item {
            ItemRef::Pad(id) => {
                let pad = self.board.pads.get(id).filter(|pad| pad.is_plated());
                let wall = |drill: Drill, pad: &Pad| ShapeRef::disc(pad.at, drill.width.min(drill.height) / 2);
                pad.and_then(|pad| pad.drill.map(|drill| wall(drill, pad))).into_iter().collect()
            }
            ItemRef::Via(id) => {
                let via = self.board.vias.get(id);
                via.map(|via| ShapeRef::disc(via.at, via.drill.unwrap_or(via.size) / 2)).into_iter().collect()
            }
            ItemRef::Track(_) | ItemRef::Fill(_) | ItemRef::Graphic(_) => Vec::new(),
        }
    }
}

/// For each net the copper that the file gives it, in an order that does not depend on the file's order of items.
#[derive(Debug)]
pub(super) struct ByNet {
    pads: Rows,
    tracks: Rows,
    vias: Rows,
    fills: Rows,
    graphics: Rows,
    /// Copper without a stated net, for each net that it touches.
    strays: BTreeMap<NetId, Vec<ItemRef>>,
}

impl ByNet {
    pub fn new(board: &Board, items: &Items<'_>) -> Self {
        Self {
            strays: strays(items),
            pads: rows(board, &board.pads, |pad| pad.net, |id| pad_key(board, id)),
            tracks: rows(
                board,
                &board.tracks,
                |track| track.net,
                |id| {
                    board.tracks.get(id).map(|track| {
                        let (one, other) = (track.path.start(), track.path.end());
                        (track.layer, one.min(other), one.max(other), track.path.envelope().max, track.width)
                    })
                },
            ),
            vias: rows(
                board,
                &board.vias,
                |via| via.net,
                |id| board.vias.get(id).map(|via| (via.at, via.top, via.bottom, via.size)),
            ),
            fills: rows(
                board,
                &board.fills,
                |fill| fill.net,
                |id| board.fills.get(id).map(|fill| (fill.layer, corner(std::slice::from_ref(&fill.shape)))),
            ),
            graphics: rows(
                board,
                &board.graphics,
                |graphic| graphic.net,
                |id| board.graphics.get(id).map(|graphic| (graphic.layer, corner(&graphic.shapes))),
            ),
        }
    }

    pub fn pads(&self, net: NetId) -> impl Iterator<Item = PadId> + '_ {
        self.pads.row(net.row()).iter().map(|&row| PadId::from_row(row))
    }

    pub fn tracks(&self, net: NetId) -> impl Iterator<Item = TrackId> + '_ {
        self.tracks.row(net.row()).iter().map(|&row| TrackId::from_row(row))
    }

    pub fn vias(&self, net: NetId) -> impl Iterator<Item = ViaId> + '_ {
        self.vias.row(net.row()).iter().map(|&row| ViaId::from_row(row))
    }

    pub fn fills(&self, net: NetId) -> impl Iterator<Item = FillId> + '_ {
        self.fills.row(net.row()).iter().map(|&row| FillId::from_row(row))
    }

    /// Copper without a stated net that touches the net, directly or through more of its kind.
    pub fn strays(&self, net: NetId) -> &[ItemRef] {
        self.strays.get(&net).map_or(&[], Vec::as_slice)
    }

    pub fn graphics(&self, net: NetId) -> impl Iterator<Item = GraphicId> + '_ {
        self.graphics.row(net.row()).iter().map(|&row| GraphicId::from_row(row))
    }
}

/// Copper without a stated net (pads apart, which have none on purpose), by the nets that its clusters touch.
fn strays(items: &Items<'_>) -> BTreeMap<NetId, Vec<ItemRef>> {
    let loose = |item: &Item<'_>| !item.net.is_some() && !matches!(item.source, ItemRef::Pad(_));
    let rows: Vec<(ItemId, ItemRef, Envelope)> =
        items.iter().filter(|(_, item)| loose(item)).map(|(id, item)| (id, item.source, item.envelope)).collect();
    let row_of: BTreeMap<ItemId, u32> = rows.iter().zip(0..).map(|((id, ..), row)| (*id, row)).collect();
    let mut clusters = Sets::of(rows.len());
    let mut nets: BTreeSet<(u32, NetId)> = BTreeSet::new();
    for (&(id, source, _), row) in rows.iter().zip(0..) {
        // All layers of one item are one piece of copper.
        for other in items.of(source).filter_map(|(other, _)| row_of.get(&other)) {
            clusters.join(row, *other);
        }
        for other in items.touching(id) {
            match row_of.get(&other) {
                Some(&other) => _ = clusters.join(row, other),
                None => nets.extend(items.get(other).map(|item| (row, item.net))),
            }
        }
    }
    let nets: BTreeSet<(u32, NetId)> = nets.into_iter().map(|(row, net)| (clusters.find(row), net)).collect();
    let mut strays: BTreeMap<NetId, Vec<(Point, Point, ItemRef)>> = BTreeMap::new();
    for (&(_, source, envelope), row) in rows.iter().zip(0..) {
        let cluster = clusters.find(row);
        for (_, net) in nets.range((cluster, NetId::none())..).take_while(|(other, _)| *other == cluster) {
            strays.entry(*net).or_default().push((envelope.min, envelope.max, source));
        }
    }
    strays
        .into_iter()
        .map(|(net, mut list)| {
            list.sort_unstable();
            let mut seen = BTreeSet::new();
            (net, list.into_iter().map(|(.., source)| source).filter(|&source| seen.insert(source)).collect())
        })
        .collect()
}

/// Names of a pad that order the ends of a net: part, pad, place.
pub(super) fn pad_key(board: &Board, id: PadId) -> Option<(&str, &str, Point)> {
    let pad = board.pads.get(id)?;
    let part = board.footprints.get(pad.footprint).map_or("", |part| part.reference.as_str());
    Some((part, pad.number.as_str(), pad.at))
}

fn corner(shapes: &[Shape]) -> Option<(Point, Point)> {
    let envelope = shapes.iter().filter_map(Shape::envelope).reduce(Envelope::union)?;
    Some((envelope.min, envelope.max))
}

fn rows<I: Id, T, K: Ord>(board: &Board, table: &Table<I, T>, net: impl Fn(&T) -> NetId, key: impl Fn(I) -> K) -> Rows {
    let mut ids: Vec<I> = table.ids().collect();
    ids.sort_by_cached_key(|&id| (key(id), id));
    let pairs = ids.iter().filter_map(|&id| table.get(id).map(|item| (net(item).row(), id.row())));
    Rows::new(board.nets.len(), pairs)
}

/// Whether a fill is a teardrop.
pub(super) fn is_teardrop(board: &Board, fill: FillId) -> bool {
    board
        .fills
        .get(fill)
        .and_then(|fill| board.zones.get(fill.zone))
        .is_some_and(|zone| zone.kind == ZoneKind::Teardrop)
}
