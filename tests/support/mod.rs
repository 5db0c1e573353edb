//! Drawing code: boards made in a few lines of a test, and written as board files of any generation.
//!
//! ```text
//! #[path = "../support/mod.rs"]
//! mod support;
//! use support::{Board, Generation, Pad, Part, Stack};
//!
//! let mut board = Board::new("two-lands", Stack::four());
//! board.outline((0.0, 0.0), (20.0, 10.0));
//! board.part(Part::new("U1", (3.0, 5.0)).pad(Pad::rect("1", (0.0, 0.0), (0.6, 0.4)).net("DATA")));
//! board.part(Part::new("J1", (17.0, 5.0)).bottom().pad(Pad::circle("A1", (0.0, 0.0), 0.4).net("DATA")));
//! board.track("DATA", "F.Cu", 0.15, &[(3.0, 5.0), (9.0, 5.0)]);
//! board.via("DATA", (9.0, 5.0));
//! board.track("DATA", "B.Cu", 0.15, &[(9.0, 5.0), (17.0, 5.0)]);
//! board.zone("GND", &["In1.Cu", "In2.Cu"], &rectangle((0.3, 0.3), (19.7, 9.7)));
//! board.fill();
//! let text = board.text(Generation::V8);
//! ```
//!
//! All lengths are millimetres, x to the right, y down; angles are degrees, positive counter-clockwise as seen on
//! screen. Parts are drawn as their library has them, seen from the copper side; `bottom()` mirrors them as the
//! format stores it. The fields of the model are public: a test may change anything before it writes.
//! [`starters`] holds whole small boards (a pair between two parts, …) to begin from.
//!
//! | file | holds |
//! | --- | --- |
//! | [`board`], [`part`], [`layers`] | the model that a test fills: nets, tracks, vias, zones; parts and pads; stackups and generations |
//! | [`starters`] | whole small boards to begin from |
//! | [`pair`] | differential pairs along a centre line, with bumps that make the legs equal |
//! | [`write`], [`node`] | the text of every generation |
//! | [`copper`], [`fill`], [`keyhole`] | copper as polygons, fills with holes |
//! | [`clear`] | what the drawing checks of itself: gaps between nets, nets in one piece; stitching vias |
//! | [`recorder`] | the demo's two boards and the rerouted one |
//! | [`plant`] | faults for boards that are right otherwise, with what must be found |
//! | [`judge`], [`read`] | drawn boards through the program, and through the crate's reader |
//! | [`fixture`] | files kept under `fixtures/` |
//! | [`big`] | boards of any size, for benchmarks |
//! | [`svg`] | pictures for developers |
//!
//! Fills are computed by this code (outline minus foreign copper grown by the clearance, holes as keyholes), since the
//! board file holds them ready-made. `fill()` fills every zone anew; `fill_missing()` only those without fill.
//! Nothing but `judge` and `read` uses the crate under test, so that a fault in its geometry can't hide in a fixture drawn with it.

#![allow(
    dead_code,
    unused_imports,
    clippy::expect_used,
    clippy::unwrap_used,
    clippy::panic,
    clippy::indexing_slicing,
    clippy::string_slice,
    clippy::cast_possible_truncation,
    clippy::cast_precision_loss,
    clippy::cast_sign_loss,
    clippy::cast_possible_wrap,
    clippy::float_cmp,
    reason = "each test binary uses a part of this; drawing code may stop a test with a panic"
)]

pub mod big;
pub mod board;
pub mod clear;
pub mod copper;
pub mod fill;
pub mod fixture;
pub mod judge;
pub mod keyhole;
pub mod layers;
pub mod node;
pub mod pair;
pub mod part;
pub mod plant;
pub mod read;
pub mod recorder;
pub mod starters;
pub mod svg;
pub mod write;
mod write_copper;
mod write_part;

pub use board::{Board, Class, FillRing, Keepout, Path, Polygon, Track, Via, Zone};
pub use layers::{Generation, Sheet, Stack};
pub use part::{Anchor, Pad, PadKind, PadShape, Part, Primitive};
pub use read::read;

/// A point or a vector, millimetres.
pub type Point = (f64, f64);

/// The corners of an axis-parallel rectangle, clockwise on screen.
pub fn rectangle(min: Point, max: Point) -> Vec<Point> {
    vec![min, (max.0, min.1), max, (min.0, max.1)]
}

/// Turns a vector by an angle in degrees, counter-clockwise as seen on screen; exact for multiples of 90.
pub fn rotate((x, y): Point, degrees: f64) -> Point {
    let (sin, cos) = match degrees.rem_euclid(360.0) {
        0.0 => (0.0, 1.0),
        90.0 => (1.0, 0.0),
        180.0 => (0.0, -1.0),
        270.0 => (-1.0, 0.0),
        other => other.to_radians().sin_cos(),
    };
    (x * cos + y * sin, -x * sin + y * cos)
}

/// Millimetres to the nanometre grid.
pub fn nm(mm: f64) -> i64 {
    (mm * 1e6).round() as i64
}

/// Nanometres to millimetres.
pub fn from_nm(nm: i64) -> f64 {
    nm as f64 / 1e6
}
