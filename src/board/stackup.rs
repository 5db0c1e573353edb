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

/// Relative permittivity that an editor enters where nobody did.
const UNTOUCHED_PERMITTIVITY: f64 = 4.5;

impl StackupEntry {
    /// Its thickness, if stated.
    #[must_use]
    pub const fn thickness(&self) -> Option<Length> {
        match self {
            Self::Copper { thickness, .. } | Self::Dielectric { thickness, .. } => *thickness,
        }
    }

    /// The copper layer it is, if it is one.
    #[must_use]
    pub const fn copper(&self) -> Option<LayerId> {
        match self {
            Self::Copper { layer, .. } => Some(*layer),
            Self::Dielectric { .. } => None,
        }
    }

    /// Whether it is a solder mask.
    #[must_use]
    pub fn is_mask(&self) -> bool {
        matches!(self, Self::Dielectric { kind: DielectricKind::Mask, .. })
    }
}

impl Stackup {
    /// Position of a copper layer among the entries.
    #[must_use]
    pub fn position(&self, layer: LayerId) -> Option<usize> {
        self.entries.iter().position(|entry| entry.copper() == Some(layer))
    }

    /// The entries strictly between two copper layers, top to bottom; `None` if the stackup lacks one of them.
    #[must_use]
    pub fn between(&self, one: LayerId, other: LayerId) -> Option<&[StackupEntry]> {
        let (one, other) = (self.position(one)?, self.position(other)?);
        self.entries.get(one.min(other) + 1..one.max(other)).or(Some(&[]))
    }

    /// Foil thickness of a copper layer.
    #[must_use]
    pub fn foil(&self, layer: LayerId) -> Option<Length> {
        self.entries.get(self.position(layer)?)?.thickness()
    }

    /// Height of a barrel between two copper layers, from the middle of one foil to the middle of the other. `None` if
    /// any thickness on the way is missing.
    #[must_use]
    pub fn barrel(&self, one: LayerId, other: LayerId) -> Option<Length> {
        if one == other {
            return self.position(one).map(|_| Length::ZERO);
        }
        let inner: Option<Length> = self.between(one, other)?.iter().map(StackupEntry::thickness).sum();
        Some(inner? + (self.foil(one)? + self.foil(other)?) / 2.0)
    }

    /// Clear height of dielectric between the facing sides of two copper layers, foils between them included.
    #[must_use]
    pub fn height(&self, one: LayerId, other: LayerId) -> Option<Length> {
        self.between(one, other)?.iter().map(StackupEntry::thickness).sum()
    }

    /// Depth of the middle of a copper layer below the upper side of the first entry (mask or top foil). `None` if a
    /// thickness above it is missing.
    #[must_use]
    pub fn z(&self, layer: LayerId) -> Option<Length> {
        let above: Option<Length> =
            self.entries.get(..self.position(layer)?)?.iter().map(StackupEntry::thickness).sum();
        Some(above? + self.foil(layer)? / 2.0)
    }

    /// Sum of all thicknesses, masks included; `None` if a foil or sheet states none. A mask without one counts as 0.
    #[must_use]
    pub fn total(&self) -> Option<Length> {
        self.entries
            .iter()
            .map(|entry| entry.thickness().or(if entry.is_mask() { Some(Length::ZERO) } else { None }))
            .sum()
    }

    /// Whether the stackup looks as if nobody had entered it: several sheets between coppers, all equally thick, none
    /// with a permittivity of its own. More than half of real multilayer stackups are like this, and untrue.
    #[must_use]
    pub fn looks_like_placeholder(&self) -> bool {
        let mut sheets = self.entries.iter().filter_map(|entry| match entry {
            StackupEntry::Dielectric { kind, thickness, permittivity, .. } if *kind != DielectricKind::Mask => {
                Some((*thickness, *permittivity))
            }
            _ => None,
        });
        let Some((first, permittivity)) = sheets.next() else { return false };
        let untouched = |value: Option<f64>| value.is_none_or(|value| (value - UNTOUCHED_PERMITTIVITY).abs() < 1e-9);
        let rest: Vec<_> = sheets.collect();
        !rest.is_empty()
            && untouched(permittivity)
            && rest.iter().all(|&(thickness, permittivity)| thickness == first && untouched(permittivity))
    }
}
