//! Which copper a board has on one layer.

use super::index::LayerIndex;
use super::items_gap::Side;
use super::{Item, ItemId, ItemRef, TOUCH};
use crate::board::{Board, LayerId, NetId, Pad, PadId, PadKind, Via, ViaId};
use crate::geometry::{Shape, ShapeRef, Vector, to_f64};
use crate::table::Id;

/// The copper items of a layer, in the order pads, tracks, vias, fills, graphics, each in file order.
pub(super) fn on_layer<'b>(board: &'b Board, layer: LayerId) -> (Vec<Item<'b>>, LayerIndex) {
    let mut items = Collection { layer, items: Vec::new() };
    let mut doubtful = Vec::new();
    for (id, pad) in board.pads.iter() {
        if pad.layers.contains(layer) && !drilled_away(pad) {
            match pad_copper(pad, layer) {
                Annulus::Kept => items.pad(id, pad),
                Annulus::IfUsed => doubtful.push(Doubtful::Pad(id)),
            }
        }
    }
    for (id, track) in board.tracks.iter().filter(|(_, track)| track.layer == layer) {
        let shape = ShapeRef::Stroke { path: track.path, radius: half(track.width) };
        items.push(ItemRef::Track(id), track.net, shape, false);
    }
    for (id, via) in board.vias.iter() {
        if via.layers().contains(layer) && !back_drilled_away(via, layer) {
            match via_copper(via, layer) {
                Annulus::Kept => items.via(id, via),
                Annulus::IfUsed => doubtful.push(Doubtful::Via(id)),
            }
        }
    }
    for (id, fill) in board.fills.iter().filter(|(_, fill)| fill.layer == layer) {
        items.push(ItemRef::Fill(id), fill.net, fill.shape.view(), false);
    }
    for (id, graphic) in board.graphics.iter().filter(|(_, graphic)| graphic.layer == layer && !graphic.text) {
        for shape in &graphic.shapes {
            items.push(ItemRef::Graphic(id), graphic.net, shape.view(), false);
        }
    }
    let index = LayerIndex::new(&items.items);
    if doubtful.is_empty() {
        return (items.items, index);
    }
    items.settle(board, &index, &doubtful);
    let index = index.extended(&items.items);
    (items.items, index)
}

/// Whether a hole's ring of copper exists on a layer.
enum Annulus {
    Kept,
    /// Only if something connects there.
    IfUsed,
}

/// A pad or via whose annulus depends on what connects to it.
#[derive(Clone, Copy)]
enum Doubtful {
    Pad(PadId),
    Via(ViaId),
}

fn pad_copper(pad: &Pad, layer: LayerId) -> Annulus {
    let mut ends = pad.layers.iter();
    let (first, last) = (ends.next(), ends.next_back());
    let is_end = Some(layer) == first || Some(layer) == last.or(first);
    if !pad.remove_unused || pad.fill_layers.contains(layer) || (pad.keep_ends && is_end) {
        Annulus::Kept
    } else {
        Annulus::IfUsed
    }
}

fn via_copper(via: &Via, layer: LayerId) -> Annulus {
    let is_end = layer == via.top || layer == via.bottom;
    if !via.remove_unused || via.fill_layers.contains(layer) || (via.keep_ends && is_end) {
        Annulus::Kept
    } else {
        Annulus::IfUsed
    }
}

/// An unplated hole at least as large as its pad leaves no copper.
fn drilled_away(pad: &Pad) -> bool {
    pad.kind == PadKind::Unplated
        && pad.drill.is_some_and(|drill| pad.size.0 <= drill.width && pad.size.1 <= drill.height)
}

/// A back-drill wider than the via pad takes the pad along, except on the layer it reaches.
fn back_drilled_away(via: &Via, layer: LayerId) -> bool {
    via.removes_barrel_on(layer)
        && via.back_drills.iter().any(|drill| {
            drill.diameter >= via.size_on(layer)
                && layer != drill.to
                && crate::board::LayerSet::span(drill.from, drill.to).contains(layer)
        })
}

/// Half of a width; an odd nanometre is given to the copper.
fn half(width: i64) -> i64 {
    width / 2 + width % 2
}

struct Collection<'b> {
    layer: LayerId,
    items: Vec<Item<'b>>,
}

impl<'b> Collection<'b> {
    fn push(&mut self, source: ItemRef, net: NetId, shape: ShapeRef<'b>, barrel: bool) {
        if let Some(envelope) = shape.envelope() {
            self.items.push(Item { source, layer: self.layer, net, shape, envelope, barrel });
        }
    }

    fn pad(&mut self, id: PadId, pad: &'b Pad) {
        for shape in pad.shapes_on(self.layer) {
            self.push(ItemRef::Pad(id), pad.net, shape.view(), false);
        }
    }

    fn via(&mut self, id: ViaId, via: &Via) {
        self.push(ItemRef::Via(id), via.net, ShapeRef::disc(via.at, half(via.size_on(self.layer))), false);
    }

    /// Gives pads and vias that drop unused annuli their annulus where copper of their net reaches it, and the bare
    /// barrel elsewhere.
    fn settle(&mut self, board: &'b Board, index: &LayerIndex, doubtful: &[Doubtful]) {
        let used: Vec<bool> = doubtful
            .iter()
            .map(|&doubtful| {
                let (net, shapes) = self.annulus(board, doubtful);
                shapes.iter().any(|shape| self.is_used(index, net, shape.view()))
            })
            .collect();
        for (&doubtful, used) in doubtful.iter().zip(used) {
            match doubtful {
                Doubtful::Pad(id) => {
                    if let Some(pad) = board.pads.get(id) {
                        if used {
                            self.pad(id, pad);
                        } else if let Some(drill) = pad.drill {
                            let radius = half(drill.width.min(drill.height));
                            self.push(ItemRef::Pad(id), pad.net, ShapeRef::disc(pad.at, radius), true);
                        }
                    }
                }
                Doubtful::Via(id) => {
                    if let Some(via) = board.vias.get(id) {
                        if used {
                            self.via(id, via);
                        } else {
                            // Without a stated drill the barrel's width is a guess on the small side.
                            let drill = via.drill.unwrap_or(via.size / 2);
                            self.push(ItemRef::Via(id), via.net, ShapeRef::disc(via.at, half(drill)), true);
                        }
                    }
                }
            }
        }
    }

    fn annulus(&self, board: &'b Board, doubtful: Doubtful) -> (NetId, Vec<Shape>) {
        match doubtful {
            Doubtful::Pad(id) => board
                .pads
                .get(id)
                .map_or((NetId::none(), Vec::new()), |pad| (pad.net, pad.shapes_on(self.layer).to_vec())),
            Doubtful::Via(id) => board.vias.get(id).map_or((NetId::none(), Vec::new()), |via| {
                (via.net, vec![Shape::disc(via.at, half(via.size_on(self.layer)))])
            }),
        }
    }

    /// Whether copper of the net connects to an annulus: a track end or any other copper of the net within it.
    fn is_used(&self, index: &LayerIndex, net: NetId, annulus: ShapeRef<'_>) -> bool {
        let Some(envelope) = annulus.envelope() else { return false };
        let connects = |id: ItemId| {
            self.items.get(id.index()).is_some_and(|item| {
                item.net == net
                    && match (item.source, item.shape) {
                        // A track that merely grazes the ring is no reason to keep it.
                        (ItemRef::Track(_), ShapeRef::Stroke { path, .. }) => {
                            [path.start(), path.end()].iter().any(|&end| annulus.contains(Vector::from(end)))
                        }
                        (_, shape) => {
                            Side { shape, ring: index.ring(id) }.touch(Side::plain(annulus), to_f64(TOUCH)).is_some()
                        }
                    }
            })
        };
        net.is_some() && index.near(envelope).any(connects)
    }
}
