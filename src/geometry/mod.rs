//! Integer-nanometre shapes and the questions asked of them: distance, touch, area, cover. Knows no boards.

mod arc;
mod point;
mod shape;

pub use arc::Arc;
pub use point::{Point, from_f64, to_f64};
pub use shape::{Path, Shape};
