//! The length rule: what counts, apart.

use crate::board::LayerId;
use crate::units::Length;

/// A route's length by contribution. The sum is the routed length.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct Contributions {
    /// Straight tracks, centre line.
    pub tracks: Length,
    /// Arc tracks, centre line.
    pub arcs: Length,
    /// Straight lines inside terminal pads, from where the centre line last crosses the outline to the anchor.
    pub pads: Length,
    /// Lengths that the terminal pads declare inside their packages.
    pub package: Length,
    /// Barrels used, by the layers each joins (upper, lower).
    pub barrels: Vec<(LayerId, LayerId)>,
    /// Sum of the barrels used; `None` if their heights are not known (no stackup).
    pub vias: Option<Length>,
}
