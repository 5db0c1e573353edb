//! The shapes copper is made of.

use super::{Arc, Point};

/// A centre line: straight or circular.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub enum Path {
    /// From one point to another; both equal for a dot.
    Line(Point, Point),
    /// Along a circle.
    Arc(Arc),
}

/// A piece of copper (or any filled area) on one layer, in board coordinates.
#[derive(Debug, Clone, PartialEq)]
pub enum Shape {
    /// All points within `radius` nm of a centre line: tracks, discs (a dot path), ovals, stroked graphics.
    Stroke {
        /// Centre line.
        path: Path,
        /// Half the width in nanometres.
        radius: i64,
    },
    /// A filled ring grown by `radius` nm with round corners: rectangles (0), rounded pads, fills drawn with a pen.
    /// The ring is closed implicitly and may touch itself along zero-width slits (holes of a fill).
    Area {
        /// Corners in order, first not repeated.
        ring: Vec<Point>,
        /// Growth in nanometres.
        radius: i64,
    },
}
