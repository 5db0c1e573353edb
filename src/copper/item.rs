//! One object of the board that is copper.

use crate::board::{FillId, GraphicId, PadId, TrackId, ViaId};

/// A reference to one copper object of the board.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum ItemRef {
    /// A pad.
    Pad(PadId),
    /// A track.
    Track(TrackId),
    /// A via.
    Via(ViaId),
    /// A fill.
    Fill(FillId),
    /// Graphic copper.
    Graphic(GraphicId),
}
