//! Waves on the signals of a section: impedance, effective permittivity and delay of single lines, pairs and modes.

use super::doubt::Undetermined;
use super::quantity::{EPS0, Impedance, LIGHT, Slowness};
use super::solution::Solution;
use super::square::Square;

/// One wave.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Wave {
    /// Its characteristic impedance, per line.
    pub impedance: Impedance,
    /// Its effective permittivity.
    pub permittivity: f64,
}

impl Wave {
    /// Its delay.
    #[must_use]
    pub fn delay(&self) -> Slowness {
        Slowness::seconds_per_metre(self.permittivity.sqrt() / LIGHT)
    }

    /// From capacitance with and without dielectrics, farads per metre.
    fn new(capacitance: f64, air: f64) -> Result<Self, Undetermined> {
        if !(capacitance > 0.0 && air > 0.0) {
            return Err(Undetermined::Unphysical);
        }
        Ok(Self {
            impedance: Impedance::ohms(1.0 / (LIGHT * (capacitance * air).sqrt())),
            permittivity: capacitance / air,
        })
    }
}

/// A pair of lines.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Pair {
    /// Opposite voltages; impedance per line, half the differential one.
    pub odd: Wave,
    /// Equal voltages; impedance per line, twice the common one. None if the section has no plane and no ground.
    pub even: Option<Wave>,
}

impl Pair {
    /// The differential impedance.
    #[must_use]
    pub fn differential(&self) -> Impedance {
        self.odd.impedance * 2.0
    }

    /// The common-mode impedance.
    #[must_use]
    pub fn common(&self) -> Option<Impedance> {
        Some(self.even?.impedance * 0.5)
    }
}

impl Solution {
    /// The line with this number, all others grounded.
    ///
    /// # Errors
    /// `NoReturn` without plane and ground.
    pub fn line(&self, number: usize) -> Result<Wave, Undetermined> {
        if self.is_floating() {
            return Err(Undetermined::NoReturn);
        }
        Wave::new(self.capacitance.get(number, number), self.air.get(number, number))
    }

    /// Two of the lines as a pair; other signals carry neither voltage nor current of note (they are grounded here, and
    /// see little of a pair's field). Legs that are not alike are averaged: the waves of such a pair are not purely odd
    /// or even.
    ///
    /// # Errors
    /// `Unphysical` if the numbers are not those of two different lines.
    pub fn pair(&self, one: usize, two: usize) -> Result<Pair, Undetermined> {
        if one == two || one.max(two) >= self.signals() {
            return Err(Undetermined::BadValue("a line's number"));
        }
        let odd = Wave::new(between(&self.capacitance, one, two, -1.0), between(&self.air, one, two, -1.0))?;
        let even = if self.is_floating() {
            None
        } else {
            Some(Wave::new(between(&self.capacitance, one, two, 1.0), between(&self.air, one, two, 1.0))?)
        };
        Ok(Pair { odd, even })
    }

    /// The effective permittivities of the waves that keep their shape along the section, ascending, each with the
    /// voltages of the lines. One for each signal; one less without plane and ground.
    #[must_use]
    pub fn modes(&self) -> Vec<(f64, Vec<f64>)> {
        let Some(root) = self.air.root_inverse() else { return Vec::new() };
        // With C0 = G Gᵀ: G⁻¹ C G⁻ᵀ is symmetric and shares the eigenvalues of C0⁻¹ C.
        let core = root.times(&self.capacitance).times(&root.transposed());
        let back = root.transposed();
        core.eigen()
            .into_iter()
            .map(|(value, vector)| {
                let volts: Vec<f64> = (0..self.signals())
                    .map(|row| vector.iter().enumerate().map(|(column, x)| back.get(row, column) * x).sum())
                    .collect();
                let most = volts.iter().fold(0.0, |most: f64, volt| most.max(volt.abs()));
                (value, volts.into_iter().map(|volt| volt / most).collect())
            })
            .collect()
    }

    /// The matrix of characteristic impedances, ohms: what resistor network ends all lines without reflection.
    #[must_use]
    pub fn characteristic(&self) -> Option<Square> {
        let root = self.air.root_inverse()?;
        let core = root.times(&self.capacitance).times(&root.transposed());
        let size = self.signals();
        let mut middle = Square::zero(size);
        for (value, vector) in core.eigen() {
            if value.is_nan() || value <= 0.0 {
                return None;
            }
            let outer = Square::from_fn(size, |row, column| {
                let of = |at: usize| vector.get(at).copied().unwrap_or(0.0);
                of(row) * of(column)
            });
            middle = middle.plus(&outer, 1.0 / value.sqrt());
        }
        Some(root.transposed().times(&middle).times(&root).scaled(1.0 / LIGHT))
    }

    /// Whether the lines have neither plane nor ground to return through: charge that all carry alike costs nothing.
    pub(super) fn is_floating(&self) -> bool {
        self.floating
    }
}

/// The capacitance of one line of a pair in its even (1) or odd (-1) mode, legs averaged.
pub(super) fn between(matrix: &Square, one: usize, two: usize, sign: f64) -> f64 {
    0.5 * (matrix.get(one, one) + matrix.get(two, two)) + sign * matrix.get(one, two)
}

/// The inductance per metre that goes with a capacitance in air.
pub(super) fn inductance(air: f64) -> f64 {
    super::quantity::MU0 * EPS0 / air
}
