//! Circular arcs through three points.

use super::Point;

/// An arc from `start` through `mid` to `end`. If `mid` lies on the chord it is a straight line.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub struct Arc {
    /// First end.
    pub start: Point,
    /// Any point of the arc between its ends.
    pub mid: Point,
    /// Second end.
    pub end: Point,
}
