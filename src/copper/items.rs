//! All copper of a board as items per layer, found by place. Text is not among them: its outline is a guess.

use super::crew;
use super::index::LayerIndex;
use super::items_gap::Side;
use super::{Item, ItemId, ItemRef, items_collect};
use crate::board::{Board, LayerId};
use crate::geometry::{Envelope, Gap, RingIndex, ShapeRef, Vector, to_f64};
use crate::table::Table;

/// Copper nearer than this (nanometres) touches: old files miss by up to a micrometre where their ends should meet.
pub const TOUCH: i64 = 1_000;

/// A board's copper items, indexed layer by layer.
#[derive(Debug)]
pub struct Items<'b> {
    table: Table<ItemId, Item<'b>>,
    /// By layer.
    layers: Vec<LayerIndex>,
    /// Objects with their items, sorted.
    by_source: Vec<(ItemRef, ItemId)>,
}

impl<'b> Items<'b> {
    /// Collects and indexes the items of a board, layers in parallel.
    #[must_use]
    pub fn new(board: &'b Board) -> Self {
        let layers: Vec<LayerId> = board.layers.ids().collect();
        let by_layer: Vec<(Vec<Item<'b>>, LayerIndex)> =
            crew::map(&layers, |&layer| items_collect::on_layer(board, layer));
        let mut table = Table::new();
        let mut indexes = Vec::with_capacity(by_layer.len());
        for (items, mut index) in by_layer {
            index.set_first(u32::try_from(table.len()).unwrap_or(u32::MAX));
            indexes.push(index);
            for item in items {
                table.push(item);
            }
        }
        let mut by_source: Vec<(ItemRef, ItemId)> = table.iter().map(|(id, item)| (item.source, id)).collect();
        by_source.sort_unstable();
        Self { table, layers: indexes, by_source }
    }

    /// Number of items.
    #[must_use]
    pub fn len(&self) -> usize {
        self.table.len()
    }

    /// Whether the board has no copper.
    #[must_use]
    pub fn is_empty(&self) -> bool {
        self.table.is_empty()
    }

    /// All items, layer by layer from the top.
    pub fn iter(&self) -> impl DoubleEndedIterator<Item = (ItemId, &Item<'b>)> + ExactSizeIterator {
        self.table.iter()
    }

    /// An item; `None` for an id of another board.
    #[must_use]
    pub fn get(&self, id: ItemId) -> Option<&Item<'b>> {
        self.table.get(id)
    }

    /// The items of one object, from the top layer down.
    pub fn of(&self, source: ItemRef) -> impl Iterator<Item = (ItemId, &Item<'b>)> {
        let start = self.by_source.partition_point(|(other, _)| *other < source);
        let own = self.by_source.get(start..).unwrap_or(&[]).iter().take_while(move |(other, _)| *other == source);
        own.filter_map(|&(_, id)| self.table.get(id).map(|item| (id, item)))
    }

    /// Items of a layer whose boxes meet an envelope, in no telling order: sort what goes into a report.
    pub fn near(&self, layer: LayerId, envelope: Envelope) -> impl Iterator<Item = (ItemId, &Item<'b>)> {
        let index = self.layers.get(usize::from(layer.0));
        index
            .into_iter()
            .flat_map(move |index| index.near(envelope))
            .filter_map(|id| self.table.get(id).map(|item| (id, item)))
    }

    /// Calls `visit` for the items of a layer whose boxes meet an envelope; the quick form of [`Items::near`].
    pub fn visit_near(&self, layer: LayerId, envelope: Envelope, mut visit: impl FnMut(ItemId, &Item<'b>)) {
        if let Some(index) = self.layers.get(usize::from(layer.0)) {
            index.visit_near(envelope, |id| {
                if let Some(item) = self.table.get(id) {
                    visit(id, item);
                }
            });
        }
    }

    /// The index over an item's ring, if that is large (a fill).
    #[must_use]
    pub fn ring(&self, id: ItemId) -> Option<&RingIndex> {
        let item = self.table.get(id)?;
        self.layers.get(usize::from(item.layer.0))?.ring(id)
    }

    /// Whether a position lies in an item's copper.
    #[must_use]
    pub fn holds(&self, id: ItemId, position: Vector) -> bool {
        let Some(item) = self.table.get(id) else { return false };
        if !item.envelope.contains(position.to_point()) {
            return false;
        }
        match self.ring(id) {
            None => item.shape.contains(position),
            Some(ring) => {
                let dot = ShapeRef::disc(position.to_point(), 0);
                Side { shape: item.shape, ring: Some(ring) }.touch(Side::plain(dot), 0.0).is_some()
            }
        }
    }

    /// Items of a layer that hold a position, in id order.
    #[must_use]
    pub fn at(&self, layer: LayerId, position: Vector) -> Vec<ItemId> {
        let mut found = Vec::new();
        self.visit_near(layer, Envelope::of_point(position.to_point()).grown(1), |id, _| found.push(id));
        found.retain(|&id| self.holds(id, position));
        found.sort_unstable();
        found
    }

    /// Other items of the same layer that touch an item, in id order.
    #[must_use]
    pub fn touching(&self, id: ItemId) -> Vec<ItemId> {
        let Some(item) = self.table.get(id) else { return Vec::new() };
        let mut found = Vec::new();
        self.visit_near(item.layer, item.envelope.grown(TOUCH), |other, _| found.push(other));
        found.retain(|&other| other != id && self.touch(id, other).is_some());
        found.sort_unstable();
        found
    }

    /// The gap between two items that touch (see [`TOUCH`]); `None` if they are farther apart. Layers are not looked at.
    #[must_use]
    pub fn touch(&self, one: ItemId, other: ItemId) -> Option<Gap> {
        let (first, second) = (self.table.get(one)?, self.table.get(other)?);
        if !first.envelope.grown(TOUCH).meets(second.envelope) {
            return None;
        }
        self.side(one, first.shape).touch(self.side(other, second.shape), to_f64(TOUCH))
    }

    /// The gap between an item and any other shape, if it is at most `reach` nanometres.
    #[must_use]
    pub fn gap_to(&self, id: ItemId, shape: ShapeRef<'_>, reach: f64) -> Option<Gap> {
        let item = self.table.get(id)?;
        self.side(id, item.shape).nearest_within(Side::plain(shape), reach)
    }

    /// The nearest points of two items, layers apart. `None` only for ids of another board.
    #[must_use]
    pub fn gap(&self, one: ItemId, other: ItemId) -> Option<Gap> {
        let (first, second) = (self.table.get(one)?, self.table.get(other)?);
        let (first_side, second_side) = (self.side(one, first.shape), self.side(other, second.shape));
        // The boxes tell how far apart they are at least; search farther out until something is found.
        let mut reach = first.envelope.distance(second.envelope) * 1.25 + 200_000.0;
        let limit = {
            let whole = first.envelope.union(second.envelope);
            to_f64(whole.width()).hypot(to_f64(whole.height())) + 1.0
        };
        loop {
            if let Some(gap) = first_side.nearest_within(second_side, reach) {
                return Some(gap);
            }
            if reach > limit {
                return None;
            }
            reach *= 2.0;
        }
    }

    fn side<'s>(&'s self, id: ItemId, shape: ShapeRef<'s>) -> Side<'s> {
        Side { shape, ring: self.ring(id) }
    }
}
