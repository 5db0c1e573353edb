//! Zones and their filled copper.

use super::{LayerId, LayerSet, NetId};
use crate::geometry::{Point, Shape};
use crate::source::Span;

crate::id! {
    /// A zone of one board.
    ZoneId
}
crate::id! {
    /// One filled polygon or pen stroke of a zone.
    FillId
}

/// What a zone is for.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub enum ZoneKind {
    /// A pour: copper comes from its fills.
    Pour,
    /// A teardrop: copper of its net, never a plane.
    Teardrop,
    /// A rule area without copper.
    RuleArea,
}

/// How a fill was told to meet pads of its net. The result is in the fills; this only explains a pad left bare.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash, Default)]
pub enum FillConnection {
    /// By spokes.
    #[default]
    Spokes,
    /// All round.
    Solid,
    /// By spokes at plated holes, all round elsewhere.
    SpokesAtHoles,
    /// Not at all.
    Apart,
}

/// One zone. Its outline is not copper.
#[derive(Debug, Clone, PartialEq)]
pub struct Zone {
    /// Kind.
    pub kind: ZoneKind,
    /// Net.
    pub net: NetId,
    /// Copper layers it is meant for.
    pub layers: LayerSet,
    /// Outline rings as drawn.
    pub outline: Vec<Vec<Point>>,
    /// Clearance to other nets that the fill was made with, nanometres.
    pub clearance: i64,
    /// How the fill meets pads and vias of its net.
    pub connection: FillConnection,
    /// Minimum thickness, nanometres.
    pub min_thickness: i64,
    /// Filled with a mesh, so the plane has holes on purpose.
    pub hatched: bool,
    /// Name, empty if none.
    pub name: String,
    /// Head token.
    pub span: Span,
    /// Offsets of its `uuid` or `tstamp` text, if any.
    pub uuid: Option<Span>,
}

/// Filled copper of a zone on one layer.
#[derive(Debug, Clone, PartialEq)]
pub struct Fill {
    /// The zone it belongs to.
    pub zone: ZoneId,
    /// Layer.
    pub layer: LayerId,
    /// Net of the zone.
    pub net: NetId,
    /// Copper: an area (grown by half the pen where the format drew fills with a pen) or a pen stroke.
    pub shape: Shape,
    /// Marked in the file as not connected to its net.
    pub island: bool,
    /// Head token of the polygon.
    pub span: Span,
}
