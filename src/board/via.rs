//! Vias.

use super::{LayerId, LayerSet, NetId};
use crate::geometry::Point;
use crate::source::Span;

crate::id! {
    /// A via of one board.
    ViaId
}

/// A wider hole drilled later over part of a via, which removes the barrel there.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct BackDrill {
    /// Hole diameter in nanometres.
    pub diameter: i64,
    /// Outer layer it starts from.
    pub from: LayerId,
    /// Layer it reaches; that the layer itself keeps its connection is an assumption (the format does not say).
    pub to: LayerId,
}

/// One via.
#[derive(Debug, Clone, PartialEq)]
pub struct Via {
    /// Centre.
    pub at: Point,
    /// Pad diameter in nanometres on the upper layer and, unless `sizes` differs, on all.
    pub size: i64,
    /// Pad diameters of layers that differ.
    pub sizes: Vec<(LayerId, i64)>,
    /// Finished hole in nanometres; `None` if neither the via nor a net class states one.
    pub drill: Option<i64>,
    /// Upper end.
    pub top: LayerId,
    /// Lower end.
    pub bottom: LayerId,
    /// Laser via.
    pub micro: bool,
    /// Annulus only where something connects.
    pub remove_unused: bool,
    /// With `remove_unused`: the end layers keep their pads.
    pub keep_ends: bool,
    /// With `remove_unused`: layers where a fill connects.
    pub fill_layers: LayerSet,
    /// Back-drills.
    pub back_drills: Vec<BackDrill>,
    /// Net.
    pub net: NetId,
    /// Head token.
    pub span: Span,
    /// Offsets of its `uuid` or `tstamp` text, if any.
    pub uuid: Option<Span>,
}

impl Via {
    /// Layers from its upper to its lower end.
    #[must_use]
    pub fn layers(&self) -> LayerSet {
        LayerSet::span(self.top, self.bottom)
    }

    /// Whether a back-drill takes the barrel away on a layer. The layer a back-drill reaches keeps it: an assumption,
    /// since the format does not say.
    #[must_use]
    pub fn removes_barrel_on(&self, layer: LayerId) -> bool {
        self.back_drills.iter().any(|drill| layer != drill.to && LayerSet::span(drill.from, drill.to).contains(layer))
    }

    /// Pad diameter on a layer of its span, in nanometres.
    #[must_use]
    pub fn size_on(&self, layer: LayerId) -> i64 {
        self.sizes.iter().find(|(on, _)| *on == layer).map_or(self.size, |&(_, size)| size)
    }
}
