//! Graphic copper and the board outline.

use super::{FootprintId, LayerId, NetId};
use crate::geometry::{Path, Shape};
use crate::source::Span;

crate::id! {
    /// A graphic copper item of one board.
    GraphicId
}

/// One graphic item on copper (line, arc, circle, rectangle, polygon or curve), as a union of shapes.
#[derive(Debug, Clone, PartialEq)]
pub struct Graphic {
    /// Copper.
    pub shapes: Vec<Shape>,
    /// Layer.
    pub layer: LayerId,
    /// Net, if stated; copper without one takes the net it touches.
    pub net: NetId,
    /// The footprint it belongs to, if any.
    pub footprint: Option<FootprintId>,
    /// Text: its outline is a box unless the file holds the letters' polygons; never used to join copper.
    pub text: bool,
    /// Head token.
    pub span: Span,
}

/// A centre line of the board edge.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct OutlinePiece {
    /// Centre line; full circles come as two arcs.
    pub path: Path,
    /// Head token.
    pub span: Span,
}
