//! The stackup that a rule set states: what the fab will build, whatever the board file says.

use super::{At, Glob, Origin};
use crate::units::{Length, Quantity};

/// What a layer of a stackup is.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum StackupKind {
    /// A copper foil.
    Copper,
    /// A cured core.
    Core,
    /// Prepreg.
    Prepreg,
    /// A solder mask.
    Mask,
}

/// A layer of a stackup. Copper, core and prepreg have a thickness, core and prepreg a permittivity; all else may be
/// unknown.
#[derive(Debug, Clone)]
pub struct StackupLayer {
    /// What it is.
    pub kind: StackupKind,
    /// The copper layer's name on the board, or its number from the top (`L1`); the material of others.
    pub name: At<String>,
    /// How thick it is after pressing.
    pub thickness: Option<At<Length>>,
    /// Relative permittivity.
    pub permittivity: Option<At<f64>>,
    /// Loss tangent.
    pub loss_tangent: Option<At<f64>>,
    /// Frequency at which permittivity and loss tangent hold.
    pub frequency: Option<At<Quantity>>,
    /// Where the layer is stated.
    pub origin: Origin,
}

/// A stackup, top to bottom: a mask or none, copper and dielectrics in turn (of these any number), a mask or none.
#[derive(Debug, Clone)]
pub struct Stackup {
    /// Patterns over the names of the boards that it is for; none for all boards.
    pub boards: Vec<At<String>>,
    /// The layers.
    pub layers: Vec<StackupLayer>,
    /// Height of the foils' roughness from peak to valley (Rz).
    pub roughness: Option<At<Length>>,
    /// Who says so.
    pub source: Option<At<String>>,
    /// Where it is stated.
    pub origin: Origin,
}

impl StackupKind {
    /// All kinds, in the order of lists.
    pub const ALL: [Self; 4] = [Self::Copper, Self::Core, Self::Prepreg, Self::Mask];

    /// As it is written in a rule file.
    #[must_use]
    pub const fn word(self) -> &'static str {
        match self {
            Self::Copper => "copper",
            Self::Core => "core",
            Self::Prepreg => "prepreg",
            Self::Mask => "mask",
        }
    }

    /// Whether it insulates one foil from the next.
    #[must_use]
    pub const fn is_dielectric(self) -> bool {
        matches!(self, Self::Core | Self::Prepreg)
    }
}

impl Stackup {
    /// The copper layers, top to bottom.
    pub fn coppers(&self) -> impl Iterator<Item = &StackupLayer> {
        self.layers.iter().filter(|layer| layer.kind == StackupKind::Copper)
    }

    /// Sum of all thicknesses; a mask without one counts as 0.
    #[must_use]
    pub fn total(&self) -> Length {
        self.layers.iter().filter_map(|layer| layer.thickness.as_ref()).map(|thickness| thickness.value).sum()
    }

    /// Whether a pattern of it names this board.
    pub(super) fn names(&self, board: &str) -> bool {
        self.boards.iter().any(|pattern| Glob::parse(&pattern.value).is_ok_and(|glob| glob.matches(board)))
    }
}
