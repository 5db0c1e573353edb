//! What a report of `measure` is about, and the words its forms share.

use super::StackupOf;
use crate::board::{Board, LayerSet};
use crate::measure::{Measurements, ReferenceRow};
use crate::source::printable_name;
use crate::units::Length;

/// One run of `measure`.
#[derive(Debug)]
pub struct Measured<'b> {
    /// Name of the rule set that declares pairs.
    pub rules: String,
    /// How it came to be in force.
    pub chosen: String,
    /// Boards in the order given.
    pub boards: Vec<MeasuredBoard<'b>>,
}

/// One board of a run.
#[derive(Debug)]
pub struct MeasuredBoard<'b> {
    /// The board.
    pub board: &'b Board,
    /// Whose stackup heights come from.
    pub stackup: StackupOf,
    /// Its measurements.
    pub measurements: Measurements,
}

/// A length in mm to the micrometre, without its unit; empty if there is none.
pub fn mm(length: Option<Length>) -> String {
    length.map_or_else(String::new, |length| {
        let text = format!("{:.3}", length.to_mm());
        if text == "-0.000" { "0.000".to_owned() } else { text }
    })
}

/// Names of layers, top to bottom.
pub fn layer_names(board: &Board, layers: LayerSet) -> Vec<String> {
    layers.iter().map(|layer| printable_name(board.layers.name(layer)).into_owned()).collect()
}

/// `F.Cu>In1.Cu B.Cu>In4.Cu`: layers of a route, each with the plane beside it; `?` marks one whose fills can't
/// be relied on.
pub fn planes(board: &Board, reference: &[ReferenceRow]) -> String {
    let name = |layer| printable_name(board.layers.name(layer)).into_owned();
    let word =
        |row: &ReferenceRow| format!("{}>{}", name(row.layer), row.plane.map_or_else(|| "none".to_owned(), name));
    reference.iter().map(word).collect::<Vec<_>>().join(" ")
}

/// The longest stretch without a plane, on the side where it is longest.
pub fn longest_bare(reference: &[ReferenceRow]) -> Option<Length> {
    reference.iter().map(|row| row.longest).max_by(Length::total_cmp)
}
