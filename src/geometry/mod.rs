//! Integer-nanometre shapes and the questions asked of them: distance, touch, area, cover. Knows no boards.
//!
//! - [`Point`] is on the grid; [`Vector`] is a position or direction between grid points; [`Envelope`] is a box.
//! - [`Path`] is a centre line (straight or [`Arc`]) with positions along it; [`Curve`] does its calculations.
//! - [`Shape`] is filled copper, [`ShapeRef`] the same with its ring borrowed; distances are exact, arcs included.
//! - [`ring`] and [`RingIndex`] answer for large fills; [`RingIndex::covers_corridor`] and [`bare_parts`] say whether
//!   copper covers a corridor and where it does not.
//!
//! Distances and lengths are `f64` nanometres; their error is far below the grid for anything within ten metres.

mod arc;
mod cover;
mod curve;
mod envelope;
mod path;
mod point;
pub mod ring;
mod ring_index;
mod shape;
mod vector;

pub use arc::{Arc, ArcFrame};
pub use cover::{Bare, bare_parts, shared_area};
pub use curve::{Curve, Foot, Gap};
pub use envelope::Envelope;
pub use path::Path;
pub use point::{Point, from_f64, to_f64};
pub use ring_index::RingIndex;
pub use shape::{Shape, ShapeRef, crossings};
pub use vector::Vector;
