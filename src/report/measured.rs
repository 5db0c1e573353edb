//! What a report of `measure` is about, and the words its forms share.

use crate::board::{Board, LayerSet};
use crate::measure::Measurements;
use crate::source::printable_name;
use crate::units::Length;

/// One run of `measure` on one board.
#[derive(Debug)]
pub struct Measured<'b> {
    /// The board.
    pub board: &'b Board,
    /// Name of the rule set that declares pairs.
    pub rules: String,
    /// How it came to be in force.
    pub chosen: String,
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
