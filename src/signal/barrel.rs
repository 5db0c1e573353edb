//! Barrels on a route: vias and plated holes as short lines with capacitors.

use super::Doubt;
use crate::board::LayerId;
use crate::copper::StepKind;
use crate::field::{Capacitance, Impedance, Medium, Slowness, Time};
use crate::geometry::Point;
use crate::units::Length;

/// A stretch of a via's barrel, or of a plated hole's, from one copper layer to another.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Bore {
    /// The via or the pad: [`StepKind::Via`] or [`StepKind::Hole`].
    pub kind: StepKind,
    /// Where.
    pub at: Point,
    /// One end.
    pub from: LayerId,
    /// The other.
    pub to: LayerId,
}

/// A via or a plated hole through which a route changes layer.
#[derive(Debug, Clone)]
pub struct BarrelPiece {
    /// Step of the route.
    pub step: usize,
    /// The via or the pad.
    pub kind: StepKind,
    /// Where.
    pub at: Point,
    /// Position along the route.
    pub along: Length,
    /// Layer it comes from.
    pub from: LayerId,
    /// Layer it goes to.
    pub to: LayerId,
    /// Height used, between the middles of the two foils.
    pub height: Length,
    /// The barrel as a line and as lumps, or why that is not known.
    pub line: Result<BarrelLine, Doubt>,
}

/// A barrel as a line, with its lands as capacitors.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct BarrelLine {
    /// Impedance of the barrel against its return vias.
    pub impedance: Impedance,
    /// Delay per length.
    pub slowness: Slowness,
    /// Delay of the used height.
    pub delay: Time,
    /// Capacitance of the barrel's lands against the planes, on all layers.
    pub pads: Capacitance,
    /// Diameter of the openings in the planes, the mean of those found.
    pub antipad: Length,
    /// Mean permittivity around it.
    pub permittivity: f64,
    /// How many return vias carry its current back.
    pub returns: u32,
}

impl BarrelLine {
    /// The barrel as a medium of a chain, for stretches and stubs.
    #[must_use]
    pub const fn medium(&self) -> Medium {
        Medium::Ideal { impedance: self.impedance, slowness: self.slowness }
    }
}
