//! What a reader could not take at face value.

use super::LayerSet;
use crate::source::Span;

/// Something a person should know about the file; no copper is in question.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Note {
    /// The fact: "unknown node `barcode` in `kicad_pcb`, 3 times".
    pub message: String,
    /// First place.
    pub span: Span,
}

/// Copper that was understood only in part.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Doubt {
    /// The fact: "pad shape `hexagon` is not known; its bounding box stands in".
    pub message: String,
    /// Place.
    pub span: Span,
    /// Layers on which copper is in doubt.
    pub layers: LayerSet,
}
