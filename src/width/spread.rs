//! What the fab's tolerances make of a line.

use super::Wanted;
use super::choice::impedance;
use super::section::{Shift, Trace};
use crate::field::{Impedance, Undetermined};
use crate::signal::Basis;

/// What is changed.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Change {
    /// All dielectric between the trace and its planes.
    Height,
    /// The width of the trace; in a pair the middles stay, so that the gap changes by as much the other way.
    Width,
    /// The permittivity of all sheets; the mask's stays.
    Permittivity,
}

impl Change {
    /// All of them, in the order of reports.
    pub const ALL: [Self; 3] = [Self::Height, Self::Width, Self::Permittivity];

    /// As a word.
    #[must_use]
    pub const fn word(self) -> &'static str {
        match self {
            Self::Height => "height",
            Self::Width => "width",
            Self::Permittivity => "permittivity",
        }
    }
}

/// How far each is changed, up and down. Fabs promise 10 % for impedance, and thickness, width and permittivity each
/// alone may take that much.
pub const STEP: f64 = 0.1;

/// Impedances with one value a tenth lower and a tenth higher.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Spread {
    /// What is changed.
    pub change: Change,
    /// With a tenth less, or why that is not known.
    pub less: Result<Impedance, Undetermined>,
    /// With a tenth more.
    pub more: Result<Impedance, Undetermined>,
}

impl Spread {
    /// For each change.
    pub(super) fn all(basis: &Basis, wanted: &Wanted, trace: Trace) -> Vec<Self> {
        let changed = |change: Change, factor: f64| {
            let (trace, shift) = match change {
                Change::Height => (trace, Shift { height: factor, ..Shift::NONE }),
                Change::Permittivity => (trace, Shift { permittivity: factor, ..Shift::NONE }),
                Change::Width => {
                    let width = trace.width * factor;
                    (Trace { width, gap: trace.gap.map(|gap| gap + trace.width - width) }, Shift::NONE)
                }
            };
            impedance(basis, wanted, trace, shift)
        };
        let spread = |change| Self { change, less: changed(change, 1.0 - STEP), more: changed(change, 1.0 + STEP) };
        Change::ALL.map(spread).to_vec()
    }
}
