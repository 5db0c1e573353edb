//! Geometry from outside: closed formulas, `geo` as an independent judge, and brute force against the index.
#![allow(clippy::unwrap_used, clippy::expect_used, clippy::panic, clippy::indexing_slicing, clippy::float_cmp)]

mod arcs;
mod cover;
mod rings;
mod shapes;

use proptest::prelude::*;
use throughline::geometry::Point;

/// A point within two millimetres of the origin, on the nanometre grid.
fn point() -> impl Strategy<Value = Point> {
    (-2_000_000i64..2_000_000, -2_000_000i64..2_000_000).prop_map(|(x, y)| Point::new(x, y))
}

/// Points that often share coordinates, so that touching and collinear cases come up.
fn coarse_point() -> impl Strategy<Value = Point> {
    (-6i64..6, -6i64..6).prop_map(|(x, y)| Point::new(x * 250_000, y * 250_000))
}
