//! Pads.

use super::via::BackDrill;
use super::{FillConnection, FootprintId, LayerId, LayerSet, NetId};
use crate::geometry::{Point, Shape};
use crate::source::Span;
use crate::units::Length;

crate::id! {
    /// A pad of one board.
    PadId
}

/// What a pad is made for.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub enum PadKind {
    /// Surface land.
    Surface,
    /// Plated hole.
    Plated,
    /// Unplated hole.
    Unplated,
    /// Contact without paste (card edge).
    Contact,
}

/// A drilled hole.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Drill {
    /// Width in nanometres, in the pad's own frame.
    pub width: i64,
    /// Height in nanometres; equals the width for a round hole.
    pub height: i64,
}

/// One pad, in board coordinates.
#[derive(Debug, Clone, PartialEq)]
pub struct Pad {
    /// The part it belongs to.
    pub footprint: FootprintId,
    /// Number (name) such as `A1`; may be empty or shared.
    pub number: String,
    /// Kind.
    pub kind: PadKind,
    /// Anchor: where the hole is and where length ends.
    pub at: Point,
    /// Rotation of the shape in degrees, absolute.
    pub angle: f64,
    /// Width and height as written, nanometres, before rotation.
    pub size: (i64, i64),
    /// Layers with copper.
    pub layers: LayerSet,
    /// Copper on its layers (a union); the same on each unless `on_layer` says otherwise.
    pub shapes: Vec<Shape>,
    /// Copper of layers that differ (pad stacks), each replacing `shapes` there.
    pub on_layer: Vec<(LayerId, Vec<Shape>)>,
    /// Inner copper exists only where something connects.
    pub remove_unused: bool,
    /// With `remove_unused`: the end layers keep their copper.
    pub keep_ends: bool,
    /// With `remove_unused`: layers where a fill connects.
    pub fill_layers: LayerSet,
    /// How fills meet it, where the pad or its footprint overrules the zone.
    pub fill_connection: Option<FillConnection>,
    /// The hole, if any.
    pub drill: Option<Drill>,
    /// Back-drills of a plated hole.
    pub back_drills: Vec<BackDrill>,
    /// Net.
    pub net: NetId,
    /// Pin name of the schematic, empty if absent.
    pub function: String,
    /// Length inside the package, if a believable one is stated.
    pub package_length: Option<Length>,
    /// Declared ball-grid pad.
    pub ball: bool,
    /// Head token of the pad.
    pub span: Span,
    /// Offsets of its `uuid` or `tstamp` text, if any.
    pub uuid: Option<Span>,
}

impl Pad {
    /// The copper of this pad on a layer; empty if it has none there. Says nothing of `remove_unused`.
    #[must_use]
    pub fn shapes_on(&self, layer: LayerId) -> &[Shape] {
        if !self.layers.contains(layer) {
            return &[];
        }
        self.on_layer.iter().find(|(on, _)| *on == layer).map_or(&self.shapes, |(_, shapes)| shapes)
    }

    /// Whether a back-drill takes the barrel away on a layer; see [`super::Via::removes_barrel_on`].
    #[must_use]
    pub fn removes_barrel_on(&self, layer: LayerId) -> bool {
        self.back_drills.iter().any(|drill| layer != drill.to && LayerSet::span(drill.from, drill.to).contains(layer))
    }

    /// Whether its hole is plated, so that it joins its copper layers.
    #[must_use]
    pub fn is_plated(&self) -> bool {
        self.kind == PadKind::Plated && self.drill.is_some()
    }
}
