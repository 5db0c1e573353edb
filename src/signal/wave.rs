//! The waves of a solved piece: impedance, delay, loss.

use super::cache::Slot;
use super::{Basis, Doubt, Leg};
use crate::field::{
    Attenuation, Constants, Frequency, Impedance, LIGHT, Medium, Mode, Pair, Section, Slowness, Solution, Undetermined,
};
use std::sync::Arc;

/// What a wave of a piece is.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Travel {
    /// A single line, or one leg of a pair while the other is quiet.
    Single(Leg),
    /// Opposite voltages on the legs.
    Differential,
    /// Equal voltages on the legs.
    Common,
}

/// The waves of a piece. Equal sections share one solution.
#[derive(Debug, Clone)]
pub struct Wave {
    pub(super) solution: Arc<Solution>,
    /// Where the solution with resistance is, once it is asked for.
    pub(super) slot: Arc<Slot>,
    /// Places of leg P and leg N in the solution; one for a single line.
    pub(super) p: usize,
    pub(super) n: Option<usize>,
    /// Whether every dielectric of the section has a loss tangent.
    pub(super) lossy: bool,
}

impl Wave {
    /// Whether both legs of a pair are in the section.
    #[must_use]
    pub const fn is_pair(&self) -> bool {
        self.n.is_some()
    }

    fn pair(&self) -> Option<Pair> {
        self.solution.pair(self.p, self.n?).ok()
    }

    /// Impedance of a single line; in a pair, of leg P with leg N grounded. `None` if it has no return.
    #[must_use]
    pub fn single(&self) -> Option<Impedance> {
        Some(self.solution.line(self.p).ok()?.impedance)
    }

    /// Differential impedance of a pair; `None` for a single line.
    #[must_use]
    pub fn differential(&self) -> Option<Impedance> {
        Some(self.pair()?.differential())
    }

    /// Impedance of one leg for opposite voltages: half the differential one.
    #[must_use]
    pub fn odd(&self) -> Option<Impedance> {
        Some(self.pair()?.odd.impedance)
    }

    /// Impedance of one leg for equal voltages; `None` for a single line, and without plane and ground.
    #[must_use]
    pub fn even(&self) -> Option<Impedance> {
        Some(self.pair()?.even?.impedance)
    }

    /// Common-mode impedance: half the even one.
    #[must_use]
    pub fn common(&self) -> Option<Impedance> {
        self.pair()?.common()
    }

    /// Delay per length of a leg. In a pair it is that of the differential signal on this leg: from the charge that
    /// opposite voltages put on it, with and without dielectrics. For legs that are alike that is the odd wave exactly.
    #[must_use]
    pub fn delay(&self, leg: Leg) -> Slowness {
        let (own, other) = match (leg, self.n) {
            (Leg::N, Some(n)) => (n, Some(self.p)),
            (_, n) => (self.p, n),
        };
        let charge =
            |matrix: &crate::field::Square| matrix.get(own, own) - other.map_or(0.0, |other| matrix.get(own, other));
        let permittivity = charge(self.solution.capacitance()) / charge(self.solution.air_capacitance());
        Slowness::seconds_per_metre(permittivity.sqrt() / LIGHT)
    }

    /// Estimated relative error of the impedances.
    #[must_use]
    pub fn error(&self) -> f64 {
        self.solution.error()
    }

    /// The section.
    #[must_use]
    pub fn section(&self) -> &Section {
        self.slot.section()
    }

    fn with_resistance(&self) -> Result<Arc<Solution>, Undetermined> {
        self.slot.lossy().clone()
    }

    fn mode(&self, travel: Travel) -> Result<Mode, Undetermined> {
        let pair = self.n.ok_or(Undetermined::BadValue("a leg of a single line"));
        Ok(match travel {
            Travel::Single(Leg::P) => Mode::Line(self.p),
            Travel::Single(Leg::N) => Mode::Line(pair?),
            Travel::Differential => Mode::Odd(self.p, pair?),
            Travel::Common => Mode::Even(self.p, pair?),
        })
    }

    /// Line constants at a frequency, per metre of one line.
    ///
    /// # Errors
    /// `NoLossTangent` where the stackup lacks one; the solver's refusals.
    pub fn constants(&self, basis: &Basis, travel: Travel, frequency: Frequency) -> Result<Constants, Doubt> {
        if !self.lossy {
            return Err(Doubt::NoLossTangent);
        }
        Ok(self.with_resistance()?.constants(self.mode(travel)?, frequency, &basis.metal(), basis.dispersion())?)
    }

    /// Loss at a frequency, metal and dielectrics together.
    ///
    /// # Errors
    /// As `constants`.
    pub fn loss(&self, basis: &Basis, travel: Travel, frequency: Frequency) -> Result<Attenuation, Doubt> {
        Ok(self.constants(basis, travel, frequency)?.loss())
    }

    /// The piece as a medium of a chain; without a loss tangent its dielectrics are taken as lossless, so ask `constants`
    /// first where loss matters.
    ///
    /// # Errors
    /// A leg that a single line does not have; the solver's refusals.
    pub fn medium(&self, basis: &Basis, travel: Travel) -> Result<Medium, Doubt> {
        Ok(Medium::Solved {
            solution: self.with_resistance()?,
            mode: self.mode(travel)?,
            metal: basis.metal(),
            dispersion: basis.dispersion(),
        })
    }
}
