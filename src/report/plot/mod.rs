//! Pictures of curves: scales, ticks on round numbers, frames, marks. Plain SVG 1.1 that needs no font, script or file of
//! its own, on a background of its own; dashes and hatching tell apart what colour tells apart.

mod frame;
mod lane;
mod scale;
mod svg;
mod ticks;

pub use frame::{Frame, Label};
pub use lane::{Lane, Pin, Symbol};
pub use scale::Scale;
pub use svg::{Anchor, Svg, text_width};
pub use ticks::Ticks;
