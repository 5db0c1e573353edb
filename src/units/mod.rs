//! Quantities with units: parse them, print them, compare them. A bare number never leaves this module.

mod length;
mod quantity;

pub use length::Length;
pub use quantity::{Dimension, Quantity};
