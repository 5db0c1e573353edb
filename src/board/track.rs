//! Tracks: straight or arc.

use super::{LayerId, NetId};
use crate::geometry::Path;
use crate::source::Span;

crate::id! {
    /// A track of one board.
    TrackId
}

/// One track on copper.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Track {
    /// Centre line.
    pub path: Path,
    /// Width in nanometres.
    pub width: i64,
    /// Layer.
    pub layer: LayerId,
    /// Net.
    pub net: NetId,
    /// Laid bare of mask.
    pub bare: bool,
    /// Head token.
    pub span: Span,
    /// Offsets of its `uuid` or `tstamp` text, if any.
    pub uuid: Option<Span>,
}
