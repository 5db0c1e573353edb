//! One object of the board that is copper, and its shapes layer by layer.

use crate::board::{Board, FillId, GraphicId, LayerId, NetId, PadId, TrackId, ViaId};
use crate::geometry::{Envelope, ShapeRef};
use crate::source::Span;

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

impl ItemRef {
    /// The net the object states; `NetId::none()` if it states none.
    #[must_use]
    pub fn net(self, board: &Board) -> NetId {
        let net = match self {
            Self::Pad(id) => board.pads.get(id).map(|pad| pad.net),
            Self::Track(id) => board.tracks.get(id).map(|track| track.net),
            Self::Via(id) => board.vias.get(id).map(|via| via.net),
            Self::Fill(id) => board.fills.get(id).map(|fill| fill.net),
            Self::Graphic(id) => board.graphics.get(id).map(|graphic| graphic.net),
        };
        net.unwrap_or_else(NetId::none)
    }

    /// Where the object stands in the file.
    #[must_use]
    pub fn span(self, board: &Board) -> Span {
        let span = match self {
            Self::Pad(id) => board.pads.get(id).map(|pad| pad.span),
            Self::Track(id) => board.tracks.get(id).map(|track| track.span),
            Self::Via(id) => board.vias.get(id).map(|via| via.span),
            Self::Fill(id) => board.fills.get(id).map(|fill| fill.span),
            Self::Graphic(id) => board.graphics.get(id).map(|graphic| graphic.span),
        };
        span.unwrap_or_default()
    }

    /// What it is, in one word of the trade.
    #[must_use]
    pub const fn word(self) -> &'static str {
        match self {
            Self::Pad(_) => "pad",
            Self::Track(_) => "track",
            Self::Via(_) => "via",
            Self::Fill(_) => "fill",
            Self::Graphic(_) => "graphic copper",
        }
    }
}

crate::id! {
    /// One shape of copper on one layer: a pad on six layers has at least six.
    ItemId
}

/// One shape of copper on one layer.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Item<'b> {
    /// The object it is of.
    pub source: ItemRef,
    /// The layer it is on.
    pub layer: LayerId,
    /// The net its object states.
    pub net: NetId,
    /// Its copper.
    pub shape: ShapeRef<'b>,
    /// The box around its copper.
    pub envelope: Envelope,
    /// Only the wall of a plated hole: there is no pad on this layer.
    pub barrel: bool,
}
