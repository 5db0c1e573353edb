//! Footprints: parts as placed.

use crate::geometry::Point;
use crate::source::Span;

crate::id! {
    /// A footprint of one board.
    FootprintId
}

/// A side of the board.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub enum Side {
    /// Seen from above.
    Top,
    /// Seen from below; stored already mirrored.
    Bottom,
}

/// One placed part.
#[derive(Debug, Clone, PartialEq)]
pub struct Footprint {
    /// Reference designator; may be empty or repeated.
    pub reference: String,
    /// Value text.
    pub value: String,
    /// Library name of the land pattern.
    pub library: String,
    /// Side it sits on.
    pub side: Side,
    /// Anchor in the board frame.
    pub at: Point,
    /// Rotation in degrees, counter-clockwise as seen on screen.
    pub angle: f64,
    /// `uuid` or `tstamp`, empty if absent.
    pub uuid: String,
    /// The part is not to be fitted.
    pub unfitted: bool,
    /// Groups of pad numbers that footprint copper joins on purpose.
    pub net_ties: Vec<Vec<String>>,
    /// Groups of pad numbers joined inside the part (no copper).
    pub jumpers: Vec<Vec<String>>,
    /// Head token of the footprint.
    pub span: Span,
}
