//! A channel as a chain: stretches of line and lumps, one after another, and what it lets through.

use super::complex::Complex;
use super::doubt::Undetermined;
use super::loss::{Dispersion, Metal, Mode};
use super::quantity::{Capacitance, Frequency, Impedance, Inductance, Slowness, Time};
use super::solution::Solution;
use crate::units::Length;
use std::f64::consts::PI;
use std::sync::Arc;

/// What a stretch of line is made of.
#[derive(Debug, Clone, PartialEq)]
pub enum Medium {
    /// A line without loss.
    Ideal {
        /// Its characteristic impedance.
        impedance: Impedance,
        /// Its delay per length.
        slowness: Slowness,
    },
    /// A wave of a solved section, with its loss.
    Solved {
        /// The section.
        solution: Arc<Solution>,
        /// Which wave. Impedances of the odd wave are taken twice (differential), those of the even wave half (common).
        mode: Mode,
        /// The metal.
        metal: Metal,
        /// How the dielectrics change with frequency.
        dispersion: Dispersion,
    },
}

/// A line's impedance and propagation constant at a frequency.
#[derive(Debug, Clone, Copy)]
struct Travel {
    impedance: Complex,
    propagation: Complex,
}

impl Medium {
    fn at(&self, frequency: Frequency) -> Result<Travel, Undetermined> {
        let omega = 2.0 * PI * frequency.to_hertz();
        match self {
            Self::Ideal { impedance, slowness } => Ok(Travel {
                impedance: Complex::real(impedance.to_ohms()),
                propagation: Complex::new(0.0, omega * slowness.to_seconds_per_metre()),
            }),
            Self::Solved { solution, mode, metal, dispersion } => {
                let constants = solution.constants(*mode, frequency, metal, *dispersion)?;
                let factor = match mode {
                    Mode::Line(_) => 1.0,
                    Mode::Odd(..) => 2.0,
                    Mode::Even(..) => 0.5,
                };
                Ok(Travel { impedance: constants.impedance() * factor, propagation: constants.propagation() })
            }
        }
    }

    /// The delay per length at high frequency, for time windows.
    fn slowness(&self) -> Result<f64, Undetermined> {
        match self {
            Self::Ideal { slowness, .. } => Ok(slowness.to_seconds_per_metre()),
            Self::Solved { solution, mode, .. } => {
                let wave = match *mode {
                    Mode::Line(line) => solution.line(line)?,
                    Mode::Odd(one, two) => solution.pair(one, two)?.odd,
                    Mode::Even(one, two) => solution.pair(one, two)?.even.ok_or(Undetermined::NoReturn)?,
                };
                Ok(wave.delay().to_seconds_per_metre())
            }
        }
    }
}

/// A medium's place in its chain.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct MediumId(usize);

/// A link of a chain.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum Element {
    /// A stretch of line.
    Line {
        /// Of what.
        medium: MediumId,
        /// How long.
        length: Length,
    },
    /// An open line hanging off the way, with a capacitance at its end.
    Stub {
        /// Of what.
        medium: MediumId,
        /// How long.
        length: Length,
        /// At its end.
        end: Capacitance,
    },
    /// A capacitance from the way to its return.
    Shunt(Capacitance),
    /// An inductance in the way.
    Series(Inductance),
    /// A resistance in the way.
    Resistance(Impedance),
}

/// What a two-port reflects and lets through, against equal reference impedances on both ports.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Scattering {
    /// Reflection at port 1.
    pub s11: Complex,
    /// From port 2 to port 1.
    pub s12: Complex,
    /// From port 1 to port 2.
    pub s21: Complex,
    /// Reflection at port 2.
    pub s22: Complex,
}

impl Scattering {
    /// The insertion loss, decibels (positive when something is lost).
    #[must_use]
    pub fn insertion_loss(&self) -> f64 {
        -10.0 * self.s21.norm_sqr().log10()
    }

    /// The return loss at port 1, decibels (positive when less comes back than went in).
    #[must_use]
    pub fn return_loss(&self) -> f64 {
        -10.0 * self.s11.norm_sqr().log10()
    }
}

/// The chain matrix of a two-port: voltage and current at its input from those at its output.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(super) struct Transfer {
    pub(super) a: Complex,
    pub(super) b: Complex,
    pub(super) c: Complex,
    pub(super) d: Complex,
}

impl Transfer {
    pub(super) const THROUGH: Self = Self { a: Complex::ONE, b: Complex::ZERO, c: Complex::ZERO, d: Complex::ONE };

    fn series(b: Complex) -> Self {
        Self { b, ..Self::THROUGH }
    }

    fn shunt(c: Complex) -> Self {
        Self { c, ..Self::THROUGH }
    }

    fn line(travel: Travel, length: f64) -> Self {
        let wave = (travel.propagation * length).exp();
        let back = wave.inv();
        let (cosh, sinh) = ((wave + back) * 0.5, (wave - back) * 0.5);
        Self { a: cosh, b: travel.impedance * sinh, c: sinh / travel.impedance, d: cosh }
    }

    pub(super) fn then(self, next: Self) -> Self {
        Self {
            a: self.a * next.a + self.b * next.c,
            b: self.a * next.b + self.b * next.d,
            c: self.c * next.a + self.d * next.c,
            d: self.c * next.b + self.d * next.d,
        }
    }
}

/// The media of a chain at one frequency.
pub(super) struct Travels {
    omega: f64,
    travels: Vec<Travel>,
}

impl Travels {
    pub fn at(media: &[Medium], frequency: Frequency) -> Result<Self, Undetermined> {
        let travels = media.iter().map(|medium| medium.at(frequency)).collect::<Result<Vec<_>, _>>()?;
        Ok(Self { omega: 2.0 * PI * frequency.to_hertz(), travels })
    }

    fn travel(&self, id: MediumId) -> Result<Travel, Undetermined> {
        self.travels.get(id.0).copied().ok_or(FOREIGN)
    }

    /// A stretch whose impedance is taken this many times.
    pub fn line(&self, medium: MediumId, length: Length, times: f64) -> Result<Transfer, Undetermined> {
        let Travel { impedance, propagation } = self.travel(medium)?;
        Ok(Transfer::line(Travel { impedance: impedance * times, propagation }, length.to_metres()))
    }

    pub fn link(&self, element: &Element) -> Result<Transfer, Undetermined> {
        let omega = self.omega;
        Ok(match *element {
            Element::Line { medium, length } => self.line(medium, length, 1.0)?,
            Element::Stub { medium, length, end } => {
                let line = self.line(medium, length, 1.0)?;
                let load = Complex::new(0.0, omega * end.to_farads());
                Transfer::shunt((line.c + line.d * load) / (line.a + line.b * load))
            }
            Element::Shunt(capacitance) => Transfer::shunt(Complex::new(0.0, omega * capacitance.to_farads())),
            Element::Series(inductance) => Transfer::series(Complex::new(0.0, omega * inductance.to_henries())),
            Element::Resistance(resistance) => Transfer::series(Complex::real(resistance.to_ohms())),
        })
    }
}

const FOREIGN: Undetermined = Undetermined::BadValue("a medium of another chain");

/// The delay of a stretch at high frequency, seconds.
pub(super) fn line_delay(media: &[Medium], medium: MediumId, length: Length) -> Result<f64, Undetermined> {
    Ok(media.get(medium.0).ok_or(FOREIGN)?.slowness()? * length.to_metres())
}

/// Adds a medium to the list of those that a chain knows.
pub(super) fn known(media: &mut Vec<Medium>, medium: Medium) -> MediumId {
    media.push(medium);
    MediumId(media.len() - 1)
}

/// Stretches and lumps in order, from port 1 to port 2.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct Chain {
    media: Vec<Medium>,
    elements: Vec<Element>,
}

impl Chain {
    /// A chain without links.
    #[must_use]
    pub fn new() -> Self {
        Self::default()
    }

    /// Makes a medium known to the chain.
    pub fn medium(&mut self, medium: Medium) -> MediumId {
        known(&mut self.media, medium)
    }

    /// Adds a link at the far end.
    pub fn push(&mut self, element: Element) {
        self.elements.push(element);
    }

    /// The links.
    #[must_use]
    pub fn elements(&self) -> &[Element] {
        &self.elements
    }

    /// The delay of the way through, at high frequency and without lumps.
    ///
    /// # Errors
    /// As the sections' waves.
    pub fn delay(&self) -> Result<Time, Undetermined> {
        let mut sum = 0.0;
        for element in &self.elements {
            if let Element::Line { medium, length } = element {
                sum += line_delay(&self.media, *medium, *length)?;
            }
        }
        Ok(Time::seconds(sum))
    }

    pub(super) fn transfer(&self, frequency: Frequency) -> Result<Transfer, Undetermined> {
        let travels = Travels::at(&self.media, frequency)?;
        let mut whole = Transfer::THROUGH;
        for element in &self.elements {
            whole = whole.then(travels.link(element)?);
        }
        Ok(whole)
    }

    /// The scattering parameters at a frequency.
    ///
    /// # Errors
    /// As the sections' constants; `Unphysical` if the numbers are not finite.
    pub fn scattering(&self, frequency: Frequency, reference: Impedance) -> Result<Scattering, Undetermined> {
        let z = reference_at(reference, frequency)?;
        let Transfer { a, b, c, d } = self.transfer(frequency)?;
        let (b, c) = (b / z, c * z);
        let sum = a + b + c + d;
        let result = Scattering {
            s11: (a + b - c - d) / sum,
            s12: (a * d - b * c) * 2.0 / sum,
            s21: Complex::real(2.0) / sum,
            s22: (b + d - a - c) / sum,
        };
        let finite = [result.s11, result.s12, result.s21, result.s22].iter().all(|value| value.is_finite());
        if finite { Ok(result) } else { Err(Undetermined::Unphysical) }
    }
}

/// The reference impedance in ohms, if it and the frequency are of use.
pub(super) fn reference_at(reference: Impedance, frequency: Frequency) -> Result<f64, Undetermined> {
    let z = reference.to_ohms();
    if !(z > 0.0 && z.is_finite()) {
        return Err(Undetermined::BadValue("the reference impedance"));
    }
    if !(frequency.to_hertz() >= 0.0 && frequency.to_hertz().is_finite()) {
        return Err(Undetermined::BadValue("the frequency"));
    }
    Ok(z)
}
