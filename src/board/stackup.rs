//! The stackup: copper foils and dielectrics, top to bottom.

use super::LayerId;
use crate::source::Span;
use crate::units::Length;

/// One layer of the stackup, in order from the top.
#[derive(Debug, Clone, PartialEq)]
pub enum StackupEntry {
    /// A copper foil.
    Copper {
        /// Which copper layer.
        layer: LayerId,
        /// Thickness, if stated.
        thickness: Option<Length>,
        /// Where the file states it.
        span: Span,
    },
    /// One dielectric sheet (a sub-layer counts as a sheet of its own) or a solder mask.
    Dielectric {
        /// Name as written, such as "dielectric 1".
        name: String,
        /// `core`, `prepreg` or a solder mask.
        kind: DielectricKind,
        /// Thickness, if stated.
        thickness: Option<Length>,
        /// Relative permittivity, if stated.
        permittivity: Option<f64>,
        /// Loss tangent, if stated; 0 in a file means that it was never entered and is read as `None`.
        loss_tangent: Option<f64>,
        /// Material name as written.
        material: String,
        /// Where the file states it.
        span: Span,
    },
}

/// What a dielectric entry is.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum DielectricKind {
    /// A cured core.
    Core,
    /// Prepreg, or anything else between coppers.
    Prepreg,
    /// Solder mask on the top or bottom.
    Mask,
}

/// The stackup as the file states it.
#[derive(Debug, Clone, PartialEq)]
pub struct Stackup {
    /// Entries top to bottom.
    pub entries: Vec<StackupEntry>,
    /// Where the stackup stands in the file.
    pub span: Span,
}
