//! Crosstalk: what one line or pair puts on its neighbour along the way they share.
//!
//! Weak coupling, both lines matched at both ends. The near end sees a plateau that lasts for twice the delay, the far
//! end a pulse that grows with the length and shrinks with the rise time. In a homogeneous dielectric the far end sees
//! nothing. Forms: PHYSICS of coupled lines as in any text on them; even and odd form exact for two equal lines.

use super::doubt::Undetermined;
use super::modes::Pair;
use super::quantity::{Slowness, Time};
use super::solution::Solution;
use super::square::Square;
use crate::units::Length;

/// Coupling per unit of aggressor voltage.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Coupling {
    /// The near end's plateau once the shared way is long enough: (Cm/C + Lm/L)/4.
    pub near: f64,
    /// The far end's area per length of way: √(LC) (Cm/C - Lm/L)/2. Mostly negative.
    pub far: Slowness,
    /// The delay per length, for what is long.
    pub delay: Slowness,
}

/// One line's share of the matrices, seen alone and against another.
struct Seen {
    own: (f64, f64),
    other: (f64, f64),
    mutual: (f64, f64),
}

fn coupling(seen: &Seen) -> Coupling {
    let capacitive = seen.mutual.0 / (seen.own.0 * seen.other.0).sqrt();
    let inductive = seen.mutual.1 / (seen.own.1 * seen.other.1).sqrt();
    let delay = (seen.own.0 * seen.own.1 * seen.other.0 * seen.other.1).powf(0.25);
    Coupling {
        near: 0.25 * (capacitive + inductive),
        far: Slowness::seconds_per_metre(0.5 * delay * (capacitive - inductive)),
        delay: Slowness::seconds_per_metre(delay),
    }
}

impl Coupling {
    /// The near end's peak over a shared way, for an edge of this rise time.
    #[must_use]
    pub fn near_peak(&self, length: Length, rise: Time) -> f64 {
        let twice = 2.0 * self.delay.to_seconds_per_metre() * length.to_metres();
        self.near * (twice / rise.to_seconds()).min(1.0)
    }

    /// The far end's peak over a shared way, for a linear edge of this rise time; never more than half the edge, which
    /// is where the modes have parted.
    #[must_use]
    pub fn far_peak(&self, length: Length, rise: Time) -> f64 {
        (self.far.to_seconds_per_metre() * length.to_metres() / rise.to_seconds()).clamp(-0.5, 0.5)
    }
}

impl Pair {
    /// The near end's plateau in a network that matches the even and odd waves' mean: (√Ze - √Zo)/(√Ze + √Zo).
    #[must_use]
    pub fn saturated(&self) -> Option<f64> {
        let (even, odd) = (self.even?.impedance.to_ohms().sqrt(), self.odd.impedance.to_ohms().sqrt());
        Some((even - odd) / (even + odd))
    }

    /// The near coefficient (Ze - Zo)/(2 (Ze + Zo)).
    #[must_use]
    pub fn near(&self) -> Option<f64> {
        let (even, odd) = (self.even?.impedance.to_ohms(), self.odd.impedance.to_ohms());
        Some((even - odd) / (2.0 * (even + odd)))
    }
}

impl Solution {
    /// What line `aggressor` puts on line `victim`.
    ///
    /// # Errors
    /// `NoReturn` without plane and ground; `BadValue` if they are not two lines of the section.
    pub fn coupling(&self, aggressor: usize, victim: usize) -> Result<Coupling, Undetermined> {
        if aggressor == victim || aggressor.max(victim) >= self.signals() {
            return Err(Undetermined::BadValue("a line's number"));
        }
        let inductance = self.inductance().ok_or(Undetermined::NoReturn)?;
        let at = |row, column| (self.capacitance.get(row, column), inductance.get(row, column));
        let mutual = at(aggressor, victim);
        Ok(coupling(&Seen { own: at(victim, victim), other: at(aggressor, aggressor), mutual: (-mutual.0, mutual.1) }))
    }

    /// What a pair puts on another pair, differential on both: per differential volt.
    ///
    /// # Errors
    /// As `coupling`.
    pub fn pair_coupling(&self, aggressor: (usize, usize), victim: (usize, usize)) -> Result<Coupling, Undetermined> {
        let all = [aggressor.0, aggressor.1, victim.0, victim.1];
        let distinct = all.iter().enumerate().all(|(at, one)| all.iter().skip(at + 1).all(|two| one != two));
        if !distinct || all.iter().any(|&line| line >= self.signals()) {
            return Err(Undetermined::BadValue("a line's number"));
        }
        let inductance = self.inductance().ok_or(Undetermined::NoReturn)?;
        // Differential voltage is the legs' difference, differential current half of it: L gets whole, C a quarter.
        let form = |matrix: &Square, one: (usize, usize), two: (usize, usize)| {
            matrix.get(one.0, two.0) - matrix.get(one.0, two.1) - matrix.get(one.1, two.0) + matrix.get(one.1, two.1)
        };
        let at = |one, two| (0.25 * form(&self.capacitance, one, two), form(&inductance, one, two));
        let mutual = at(aggressor, victim);
        Ok(coupling(&Seen { own: at(victim, victim), other: at(aggressor, aggressor), mutual: (-mutual.0, mutual.1) }))
    }
}
