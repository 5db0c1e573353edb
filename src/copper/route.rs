//! Routes: the way a signal takes between two pads of a net.

use super::{Contributions, ItemRef};
use crate::board::{FillId, GraphicId, LayerId, NetId, PadId, TrackId, ViaId};
use crate::geometry::Path;
use crate::units::Length;

/// What a step goes through.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub enum StepKind {
    /// Along a track, or a part of one.
    Track(TrackId),
    /// Inside a pad's copper.
    Pad(PadId),
    /// Through a via to another layer.
    Via(ViaId),
    /// Through a plated pad's hole to another layer.
    Hole(PadId),
    /// Through filled copper, straight.
    Fill(FillId),
    /// Through graphic copper, straight.
    Graphic(GraphicId),
}

impl StepKind {
    /// The copper item it is.
    #[must_use]
    pub const fn item(self) -> ItemRef {
        match self {
            Self::Track(track) => ItemRef::Track(track),
            Self::Pad(pad) | Self::Hole(pad) => ItemRef::Pad(pad),
            Self::Via(via) => ItemRef::Via(via),
            Self::Fill(fill) => ItemRef::Fill(fill),
            Self::Graphic(graphic) => ItemRef::Graphic(graphic),
        }
    }
}

/// One step of a route.
#[derive(Debug, Clone, PartialEq)]
pub struct Step {
    /// What it goes through.
    pub kind: StepKind,
    /// Layer it starts on.
    pub layer: LayerId,
    /// Layer it ends on: another one for a barrel.
    pub to_layer: LayerId,
    /// Centre line in walking direction; a dot for a barrel.
    pub path: Path,
    /// Copper width in nanometres (track width; 0 where it has no meaning).
    pub width: i64,
    /// Position along the route where the step starts, barrels counted as zero.
    pub start: Length,
    /// Length of the centre line (zero for a barrel).
    pub length: Length,
}

/// The shortest copper way between two pads of one net.
#[derive(Debug, Clone, PartialEq)]
pub struct Route {
    /// Net.
    pub net: NetId,
    /// First pad.
    pub from: PadId,
    /// Last pad.
    pub to: PadId,
    /// Steps in walking direction.
    pub steps: Vec<Step>,
    /// Length by contribution.
    pub length: Contributions,
    /// Another way of copper exists between the same pads.
    pub looped: bool,
}
