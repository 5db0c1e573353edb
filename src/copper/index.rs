//! The items of one layer in an R-tree, and large rings with an index of their own.

use super::{Item, ItemId};
use crate::geometry::{Envelope, RingIndex, ShapeRef};
use crate::table::Id;
use rstar::{AABB, RTree, RTreeObject};
use std::ops::ControlFlow;

/// Rings of more corners than this are searched through an index.
const INDEXED: usize = 24;

/// An item's box in the tree, with the item's position in the layer.
#[derive(Debug, Clone)]
struct Leaf {
    envelope: AABB<[f64; 2]>,
    at: u32,
}

impl RTreeObject for Leaf {
    type Envelope = AABB<[f64; 2]>;
    fn envelope(&self) -> Self::Envelope {
        self.envelope
    }
}

/// The items of one layer by place. Items have consecutive ids.
#[derive(Debug)]
pub(super) struct LayerIndex {
    /// Id of the layer's first item.
    first: u32,
    tree: RTree<Leaf>,
    /// For each item, in order: the index of its ring if that is large.
    rings: Vec<Option<Box<RingIndex>>>,
}

impl LayerIndex {
    /// Indexes the items of a layer; their ids count up from 0 until [`LayerIndex::set_first`] says otherwise.
    pub(super) fn new(items: &[Item<'_>]) -> Self {
        let rings = items
            .iter()
            .map(|item| match item.shape {
                ShapeRef::Area { ring, .. } if ring.len() > INDEXED => Some(Box::new(RingIndex::new(ring))),
                _ => None,
            })
            .collect();
        Self { first: 0, tree: tree(items), rings }
    }

    /// Indexes the same items with more behind them, none of which is large.
    pub(super) fn extended(self, items: &[Item<'_>]) -> Self {
        Self { tree: tree(items), ..self }
    }

    /// Says which id the layer's first item has.
    pub(super) fn set_first(&mut self, first: u32) {
        self.first = first;
    }

    /// The ring index of an item, if its ring is large.
    pub(super) fn ring(&self, item: ItemId) -> Option<&RingIndex> {
        let at = item.row().checked_sub(self.first)?;
        self.rings.get(at as usize)?.as_deref()
    }

    /// All items whose boxes meet an envelope.
    pub(super) fn near(&self, envelope: Envelope) -> impl Iterator<Item = ItemId> + '_ {
        self.tree
            .locate_in_envelope_intersecting(envelope.envelope())
            .map(|leaf| ItemId::from_row(self.first + leaf.at))
    }

    /// Calls `visit` with all items whose boxes meet an envelope; quicker than [`LayerIndex::near`].
    pub(super) fn visit_near(&self, envelope: Envelope, mut visit: impl FnMut(ItemId)) {
        let _: ControlFlow<()> = self.tree.locate_in_envelope_intersecting_int(envelope.envelope(), |leaf| {
            visit(ItemId::from_row(self.first + leaf.at));
            ControlFlow::Continue(())
        });
    }
}

fn tree(items: &[Item<'_>]) -> RTree<Leaf> {
    let leaves = (0u32..).zip(items).map(|(at, item)| Leaf { envelope: item.envelope.envelope(), at });
    RTree::bulk_load(leaves.collect())
}
