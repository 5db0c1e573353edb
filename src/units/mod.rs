//! Quantities with units: parse them, print them, compare them. A bare number never leaves this module.

mod date;
mod dimension;
mod length;
mod parse;
mod print;
mod quantity;
mod target;
mod unit;

pub use date::Date;
pub use dimension::Dimension;
pub(crate) use dimension::expected;
pub use length::Length;
pub use parse::{ParseError, Written};
pub use print::decimal;
pub use quantity::{LENGTH_TOLERANCE, Quantity};
pub use target::Target;
pub use unit::{UNITS, Unit};
