//! Vias: the barrel as a line, its pads as capacitors, and the part that leads nowhere as a stub.
//!
//! The capacitances hold against an axisymmetric solution of the field between the planes. The inductance is that of a
//! cage of return vias and was not checked against a full wave: with one return via the planes' displacement current
//! lowers it, so a resonance found with one is a lower bound.

use super::chain::Medium;
use super::doubt::Undetermined;
use super::quantity::{Capacitance, EPS0, Frequency, Impedance, Inductance, LIGHT, MU0, Slowness};
use crate::units::Length;
use std::f64::consts::PI;

/// A barrel through a stack of planes.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Barrel {
    /// Outer radius of the barrel.
    pub radius: Length,
    /// Radius of the holes in the planes.
    pub antipad: Length,
    /// Relative permittivity around it.
    pub permittivity: f64,
    /// Dielectric between one plane and the next.
    pub gap: Length,
    /// Thickness of a plane.
    pub plane: Length,
}

/// Return vias around a barrel.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Returns {
    /// How many, evenly spread.
    pub count: u32,
    /// Radius of the circle they stand on.
    pub circle: Length,
    /// Outer radius of each.
    pub radius: Length,
}

/// Beyond this ratio of plane pitch to hole the pitch correction was not checked.
const WIDEST_PITCH: f64 = 3.3;

impl Barrel {
    fn ratio(&self) -> Result<f64, Undetermined> {
        let ratio = self.antipad.to_metres() / self.radius.to_metres();
        if self.radius.to_nm() > 0.0 && ratio > 1.0 && ratio.is_finite() && self.permittivity >= 1.0 {
            Ok(ratio)
        } else {
            Err(Undetermined::BadValue("a via's radius, antipad or permittivity"))
        }
    }

    /// Capacitance per metre as a coaxial line: planes so close that they make a tube.
    ///
    /// # Errors
    /// `BadValue` if the antipad is not wider than the barrel.
    pub fn coaxial_capacitance(&self) -> Result<f64, Undetermined> {
        Ok(2.0 * PI * EPS0 * self.permittivity / self.ratio()?.ln())
    }

    /// Inductance per metre as a coaxial line.
    ///
    /// # Errors
    /// As `coaxial_capacitance`.
    pub fn coaxial_inductance(&self) -> Result<f64, Undetermined> {
        Ok(MU0 / (2.0 * PI) * self.ratio()?.ln())
    }

    /// Impedance as a coaxial line.
    ///
    /// # Errors
    /// As `coaxial_capacitance`.
    pub fn coaxial_impedance(&self) -> Result<Impedance, Undetermined> {
        Ok(Impedance::ohms((self.coaxial_inductance()? / self.coaxial_capacitance()?).sqrt()))
    }

    /// Capacitance per metre, farads, with planes apart: within 1.1 % of an axisymmetric solution for gaps up to 2.3
    /// antipad radii, 3 % low at 3.2 (own fit to 24 cases).
    ///
    /// # Errors
    /// `BadValue` also for gaps beyond that.
    pub fn capacitance(&self) -> Result<f64, Undetermined> {
        let antipad = self.antipad.to_metres();
        let spread = (self.gap.to_metres() - 0.5 * self.plane.to_metres()) / antipad;
        if !(0.0..=WIDEST_PITCH).contains(&spread) {
            return Err(Undetermined::BadValue("the distance between a via's planes"));
        }
        Ok(2.0 * PI * EPS0 * self.permittivity / (self.ratio()?.ln() + 0.17 * spread))
    }

    /// Inductance per metre, henries, with the current coming back through return vias.
    ///
    /// # Errors
    /// `BadValue` if the circle does not leave room for the barrel and the vias.
    pub fn inductance(&self, returns: &Returns) -> Result<f64, Undetermined> {
        let (barrel, circle, radius) =
            (self.radius.to_metres(), returns.circle.to_metres(), returns.radius.to_metres());
        let count = f64::from(returns.count);
        if !(returns.count > 0
            && barrel > 0.0
            && radius > 0.0
            && circle > barrel + radius
            && count * radius < PI * circle)
        {
            return Err(Undetermined::BadValue("the return vias"));
        }
        Ok(MU0 / (2.0 * PI) * ((circle / barrel).ln() + (circle / (count * radius)).ln() / count))
    }

    /// The barrel as a line.
    ///
    /// # Errors
    /// As `capacitance` and `inductance`.
    pub fn medium(&self, returns: &Returns) -> Result<Medium, Undetermined> {
        let (capacitance, inductance) = (self.capacitance()?, self.inductance(returns)?);
        Ok(Medium::Ideal {
            impedance: Impedance::ohms((inductance / capacitance).sqrt()),
            slowness: Slowness::seconds_per_metre((inductance * capacitance).sqrt()),
        })
    }

    /// What a pad within the antipad of one plane adds to the barrel's capacitance: the coaxial part over the plane's
    /// thickness, and the field that bulges out on both sides. Own fit to an axisymmetric solution: within 3 % where the
    /// gap between planes is about half the antipad's radius, up to 13 % high for gaps of a quarter and of two radii;
    /// pads that cover less than a third of the ring up to 30 % high, which is a few femtofarads.
    ///
    /// # Errors
    /// `BadValue` if the pad does not lie between barrel and antipad.
    pub fn pad_capacitance(&self, pad: Length) -> Result<Capacitance, Undetermined> {
        let ratio = self.ratio()?;
        let (barrel, antipad, pad) = (self.radius.to_metres(), self.antipad.to_metres(), pad.to_metres());
        if !(pad >= barrel && pad < antipad) {
            return Err(Undetermined::BadValue("a via's pad"));
        }
        let tube = 2.0 * PI * self.plane.to_metres() * (1.0 / (antipad / pad).ln() - 1.0 / ratio.ln());
        let reach = (pad - barrel) / (antipad - pad);
        let bulge = 2.0 * (antipad + pad) * (1.0 + reach * reach / (reach + 0.15)).ln();
        Ok(Capacitance::farads(EPS0 * self.permittivity * (tube + bulge)))
    }
}

/// The lowest frequency at which an open stub shorts the way it hangs on: a quarter wave, less what a capacitance at its
/// end takes. Exact for a uniform stub: ωCZ tan(ω td) = 1.
///
/// # Errors
/// `BadValue` if a quantity is not positive.
pub fn stub_notch(
    impedance: Impedance,
    slowness: Slowness,
    length: Length,
    end: Capacitance,
) -> Result<Frequency, Undetermined> {
    let delay = slowness.to_seconds_per_metre() * length.to_metres();
    let load = end.to_farads() * impedance.to_ohms();
    if !(delay > 0.0 && delay.is_finite() && load >= 0.0 && load.is_finite()) {
        return Err(Undetermined::BadValue("a stub's length, delay, impedance or end"));
    }
    // With x = ω td: x·(load/delay) = cot x has one root below π/2, and bisection can't miss it.
    let part = load / delay;
    let (mut low, mut high) = (0.0, 0.5 * PI);
    for _ in 0..60 {
        let middle: f64 = 0.5 * (low + high);
        if part * middle * middle.sin() < middle.cos() {
            low = middle;
        } else {
            high = middle;
        }
    }
    Ok(Frequency::hertz(low / (2.0 * PI * delay)))
}

/// A quarter wave's frequency in a homogeneous dielectric.
#[must_use]
pub fn quarter_wave(length: Length, permittivity: f64) -> Frequency {
    Frequency::hertz(LIGHT / (4.0 * length.to_metres() * permittivity.sqrt()))
}

/// The partial inductance of a barrel to a far return: Goldfarb and Pucel 1991 (from memory). Forms differ by more than
/// a factor of two for they mean different returns.
#[must_use]
pub fn grounded_via_inductance(height: Length, radius: Length) -> Inductance {
    let (h, r) = (height.to_metres(), radius.to_metres());
    let root = r.hypot(h);
    Inductance::henries(MU0 / (2.0 * PI) * (h * ((h + root) / r).ln() + 1.5 * (r - root)))
}

/// The rule of thumb for a via's inductance: Johnson and Graham 1993 (from memory).
#[must_use]
pub fn rule_of_thumb_inductance(height: Length, diameter: Length) -> Inductance {
    let inches = height.to_mm() / 25.4;
    Inductance::nh(5.08 * inches * ((4.0 * height.to_mm() / diameter.to_mm()).ln() + 1.0))
}

/// The rule of thumb for a via's capacitance: Johnson and Graham 1993 (from memory). Diameters of pad and antipad.
#[must_use]
pub fn rule_of_thumb_capacitance(height: Length, permittivity: f64, pad: Length, antipad: Length) -> Capacitance {
    let inches = |length: Length| length.to_mm() / 25.4;
    Capacitance::pf(1.41 * permittivity * inches(height) * inches(pad) / (inches(antipad) - inches(pad)))
}
