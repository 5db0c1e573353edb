//! From a wanted impedance to widths and gaps: what to draw on a layer of a stackup.
//!
//! [`choices`] solves, for each gap of a pair, the width that meets the target, rounds it to a micrometre and says what
//! that line is: impedance, delay, loss, and what a change of height, width or permittivity makes of it. Where no width
//! within the fab's limits meets the target, or the solver is in doubt, there is a reason and no number.

mod choice;
mod root;
mod section;
mod spread;

pub use choice::{Choice, Drawn, Fixed, Unmet, choices};
pub use section::{Planes, Trace};
pub use spread::{Change, Spread};

use crate::board::LayerId;
use crate::field::{Frequency, Impedance};
use crate::units::Length;

/// What is wanted.
#[derive(Debug, Clone, PartialEq)]
pub struct Wanted {
    /// The layer to draw on.
    pub layer: LayerId,
    /// The planes that accompany it.
    pub planes: Planes,
    /// Differential impedance of a pair, or impedance of a single line.
    pub target: Impedance,
    /// What the designer has settled.
    pub fixed: Fixed,
    /// The narrowest trace that the fab makes.
    pub least_width: Length,
    /// The narrowest gap that the fab makes.
    pub least_gap: Length,
    /// How much narrower the narrow side of a trace is, in thicknesses of its foil, both flanks together.
    pub etch: f64,
    /// Frequency at which loss is told.
    pub frequency: Option<Frequency>,
}

/// The largest width and gap that are looked at.
pub const MOST: Length = Length::mm(5.0);
/// The smallest: what no fab makes, so that a width below the limits can still be named.
pub const LEAST: Length = Length::nm(20_000.0);
