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
    /// Member nets, sorted. Later files may put a net into several classes.
    pub nets: Vec<NetId>,
    /// Rank among the classes of a net; the smaller wins (from memory, no source). 0 where the file has no ranks.
    pub priority: i64,
    /// The file that stated it.
    pub file: String,
}

impl NetClass {
    /// Whether a net belongs to the class.
    #[must_use]
    pub fn contains(&self, net: NetId) -> bool {
        self.nets.binary_search(&net).is_ok()
    }
}
