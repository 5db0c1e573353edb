//! Net classes: what the designer intended for a set of nets. They never override copper.

use super::NetId;
use crate::units::Length;

/// One net class with the intended values that are stated.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct NetClass {
    /// Its name.
    pub name: String,
    /// Track width.
    pub track_width: Option<Length>,
    /// Clearance to other nets.
    pub clearance: Option<Length>,
    /// Via pad diameter.
    pub via_diameter: Option<Length>,
    /// Via drill.
    pub via_drill: Option<Length>,
    /// Laser via pad diameter.
    pub microvia_diameter: Option<Length>,
    /// Laser via drill.
    pub microvia_drill: Option<Length>,
    /// Width within a pair.
    pub pair_width: Option<Length>,
    /// Gap within a pair.
    pub pair_gap: Option<Length>,
    /// Member nets, sorted.
    pub nets: Vec<NetId>,
    /// The file that stated it.
    pub file: String,
}
