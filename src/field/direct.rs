//! Direct current: resistance of traces, vias and sheets, and what a trace may carry.

use super::quantity::{Conductivity, Impedance};
use crate::units::Length;
use std::f64::consts::{LN_2, PI};

/// Annealed copper at 20 °C by the international standard (IACS): 1.7241e-8 ohm metres.
pub const COPPER: Conductivity = Conductivity::siemens_per_metre(1.0 / 1.7241e-8);

/// Copper's temperature coefficient at 20 °C, per kelvin.
const COEFFICIENT: f64 = 0.003_93;

/// The resistance of a square of foil.
#[must_use]
pub fn sheet_resistance(conductivity: Conductivity, thickness: Length) -> Impedance {
    Impedance::ohms(1.0 / (conductivity.to_siemens_per_metre() * thickness.to_metres()))
}

/// A trace's resistance at a temperature (degrees Celsius).
#[must_use]
pub fn trace_resistance(length: Length, width: Length, thickness: Length, celsius: f64) -> Impedance {
    let squares = length.to_metres() / width.to_metres();
    sheet_resistance(COPPER, thickness) * (squares * warm(celsius))
}

/// A plated hole's resistance at 20 °C, from its finished (open) diameter.
#[must_use]
pub fn via_resistance(hole: Length, plating: Length, height: Length) -> Impedance {
    let (outer, inner) = (hole.to_metres() + 2.0 * plating.to_metres(), hole.to_metres());
    let area = PI / 4.0 * (outer * outer - inner * inner);
    Impedance::ohms(height.to_metres() / (COPPER.to_siemens_per_metre() * area))
}

fn warm(celsius: f64) -> f64 {
    1.0 + COEFFICIENT * (celsius - 20.0)
}

/// Squares that a right-angled corner between equal arms counts for (exact: 1 - 2 ln 2/π).
pub const CORNER_SQUARES: f64 = 1.0 - 2.0 * LN_2 / PI;

/// Squares between two equal discs, far from any edge of their sheet (exact): acosh(D/2r)/π.
#[must_use]
pub fn disc_squares(distance: Length, radius: Length) -> f64 {
    (distance.to_metres() / (2.0 * radius.to_metres())).acosh() / PI
}

/// Squares of a ring, from its inner to its outer rim (exact): ln(b/a)/2π.
#[must_use]
pub fn ring_squares(inner: Length, outer: Length) -> f64 {
    (outer.to_metres() / inner.to_metres()).ln() / (2.0 * PI)
}

/// Where a trace lies, for what it may carry.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Cooling {
    /// On an outer layer.
    Outer,
    /// On an inner layer.
    Inner,
}

impl Cooling {
    fn factor(self) -> f64 {
        match self {
            Self::Outer => 0.048,
            Self::Inner => 0.024,
        }
    }
}

const MIL: f64 = 25.4e-6;

/// The current in amperes that warms a trace by so many kelvin: IPC-2221's curve fit I = k ΔT^0.44 A^0.725, A in square
/// mils (constants from memory).
#[must_use]
pub fn carried_current(width: Length, thickness: Length, kelvin: f64, cooling: Cooling) -> f64 {
    let area = width.to_metres() * thickness.to_metres() / (MIL * MIL);
    cooling.factor() * kelvin.powf(0.44) * area.powf(0.725)
}

/// The width that a current in amperes needs, by the same fit.
#[must_use]
pub fn carrying_width(current: f64, thickness: Length, kelvin: f64, cooling: Cooling) -> Length {
    let area = (current / (cooling.factor() * kelvin.powf(0.44))).powf(1.0 / 0.725);
    Length::nm(area * MIL * MIL / thickness.to_metres() * 1e9)
}
