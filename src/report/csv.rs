//! Cells of comma-separated values (RFC 4180).

use crate::geometry::{Point, to_f64};
use crate::source::printable_name;
use crate::units::decimal;

/// Quoted where a comma or a quote asks for it.
pub fn quoted(cell: &str) -> String {
    let cell = printable_name(cell);
    if cell.contains([',', '"']) { format!("\"{}\"", cell.replace('"', "\"\"")) } else { cell.into_owned() }
}

/// A place in mm, to the nanometre.
pub fn place(at: Point) -> [String; 2] {
    [at.x, at.y].map(|nm| decimal(to_f64(nm) / 1e6, 6))
}

/// To a thousandth of its unit: more than the method has.
pub fn thousandth(value: f64) -> String {
    decimal(value, 3)
}
