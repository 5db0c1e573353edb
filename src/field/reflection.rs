//! What a reflectometer shows: the step that a chain reflects, or lets through, for a chosen rise time.
//!
//! A square wave of half-period T has only odd harmonics; each is reflected as the chain does at its frequency, and one
//! inverse transform makes a waveform of them. If reflections have died away within T, the half-period from the edge
//! on is the answer to a step.

use super::chain::{Chain, Transfer};
use super::complex::Complex;
use super::doubt::Undetermined;
use super::fourier;
use super::quantity::{Frequency, Impedance, Time};
use std::f64::consts::PI;

/// The step's edge.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum Edge {
    /// The integral of a Gaussian, by its time from 10 % to 90 %.
    Gaussian(Time),
    /// A straight ramp, by its whole time.
    Linear(Time),
}

impl Edge {
    fn time(self) -> f64 {
        match self {
            Self::Gaussian(time) | Self::Linear(time) => time.to_seconds(),
        }
    }

    /// The edge's spectrum, relative to that of a sudden step.
    fn spectrum(self, omega: f64) -> f64 {
        match self {
            // From 10 % to 90 % are 2.5631 standard deviations.
            Self::Gaussian(time) => {
                let phase = omega * time.to_seconds() / 2.563_103_131_089_201;
                (-0.5 * phase * phase).exp()
            }
            Self::Linear(time) => {
                let half = 0.5 * omega * time.to_seconds();
                if half.abs() < 1e-9 { 1.0 } else { half.sin() / half }
            }
        }
    }

    /// Samples per edge time: a Gaussian is exact to 1e-12 with 7.5; a ramp's kinks ask for more.
    fn samples(self) -> f64 {
        match self {
            Self::Gaussian(_) => 8.0,
            Self::Linear(_) => 128.0,
        }
    }
}

/// What is at the chain's far end.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum Load {
    /// A resistance.
    Resistance(Impedance),
    /// Nothing.
    Open,
}

/// A waveform, in units of the incident step.
#[derive(Debug, Clone, PartialEq)]
pub struct Waveform {
    start: f64,
    step: f64,
    values: Vec<f64>,
    source: f64,
}

/// The longest record.
const MOST_SAMPLES: usize = 1 << 18;
/// The half-period in chain delays, and in edge times.
const DELAYS: f64 = 12.0;
const EDGES: f64 = 24.0;

impl Waveform {
    /// The first sample's time; the edge's middle passes the chain's input at nought.
    #[must_use]
    pub fn start(&self) -> Time {
        Time::seconds(self.start)
    }

    /// The time between samples.
    #[must_use]
    pub fn step(&self) -> Time {
        Time::seconds(self.step)
    }

    /// The samples.
    #[must_use]
    pub fn values(&self) -> &[f64] {
        &self.values
    }

    /// The value at a time, between samples on a straight line; none outside the record.
    #[must_use]
    pub fn at(&self, time: Time) -> Option<f64> {
        let place = (time.to_seconds() - self.start) / self.step;
        let mut here = 0.0;
        // The record is short enough to be walked, and a number is not made an index.
        for two in self.values.windows(2) {
            if let [one, other] = two
                && place >= here
                && place <= here + 1.0
            {
                return Some(one + (other - one) * (place - here));
            }
            here += 1.0;
        }
        None
    }

    /// The impedance that a reflectometer would show for a reflected value.
    #[must_use]
    pub fn apparent_impedance(&self, reflected: f64) -> Impedance {
        Impedance::ohms(self.source * (1.0 + reflected) / (1.0 - reflected))
    }
}

impl Chain {
    /// The wave that comes back from the chain for a unit step, seen from a source of this impedance.
    ///
    /// # Errors
    /// As the chain's scattering; `TooIntricate` if the record would be too long for so short an edge; `Unconverged` if
    /// reflections have not died away at its end.
    pub fn reflected_step(&self, source: Impedance, load: Load, edge: Edge) -> Result<Waveform, Undetermined> {
        let z = source.to_ohms();
        self.step(source, edge, |transfer| {
            let (volt, current) = match load {
                Load::Resistance(load) => {
                    let load = load.to_ohms();
                    (transfer.a * load + transfer.b, transfer.c * load + transfer.d)
                }
                Load::Open => (transfer.a, transfer.c),
            };
            (volt - current * z) / (volt + current * z)
        })
    }

    /// The wave that arrives at a load for a unit step: its voltage over the incident one.
    ///
    /// # Errors
    /// As `reflected_step`.
    pub fn transmitted_step(&self, source: Impedance, load: Impedance, edge: Edge) -> Result<Waveform, Undetermined> {
        let z = source.to_ohms();
        let load = load.to_ohms();
        self.step(source, edge, |transfer| {
            let volt = transfer.a * load + transfer.b + (transfer.c * load + transfer.d) * z;
            Complex::real(2.0 * load) / volt
        })
    }

    fn step(
        &self,
        source: Impedance,
        edge: Edge,
        response: impl Fn(&Transfer) -> Complex,
    ) -> Result<Waveform, Undetermined> {
        record(self.delay()?, source, edge, |frequency| Ok(response(&self.transfer(frequency)?)))
    }
}

/// The answer to a unit step of something that `delay` crosses once, from its answer at each frequency.
pub(super) fn record(
    delay: Time,
    source: Impedance,
    edge: Edge,
    answer: impl Fn(Frequency) -> Result<Complex, Undetermined>,
) -> Result<Waveform, Undetermined> {
    let rise = edge.time();
    if !(rise > 0.0 && rise.is_finite() && source.to_ohms() > 0.0) {
        return Err(Undetermined::BadValue("the rise time or the source impedance"));
    }
    let half = (DELAYS * delay.to_seconds()).max(EDGES * rise);
    let wanted = 2.0 * half / rise * edge.samples();
    let size = (0..)
        .map(|power| 1usize << power)
        .take_while(|&size| size <= MOST_SAMPLES)
        .find(|&size| number(size) >= wanted && size >= 64)
        .ok_or(Undetermined::TooIntricate)?;
    let mut spectrum = vec![Complex::ZERO; size];
    // The edge starts a while into the record, so that all of it is there. Half the spectrum is enough: the other
    // half is its conjugate, so the real part counts twice.
    let lead = 2.0 * rise;
    for (harmonic, slot) in spectrum.iter_mut().enumerate().take(size / 2).skip(1).step_by(2) {
        let order = number(harmonic);
        let omega = PI * order / half;
        let weight = edge.spectrum(omega);
        if weight.abs() < 1e-14 {
            continue;
        }
        let answer = answer(Frequency::hertz(omega / (2.0 * PI)))?;
        let delayed = Complex::new(0.0, -omega * lead).exp();
        *slot = answer * delayed * Complex::new(0.0, -2.0 * weight / (PI * order));
    }
    fourier::inverse(&mut spectrum);
    let step = 2.0 * half / number(size);
    // Before the edge the waveform is at minus half of what it settles to.
    let settled = spectrum.first().map_or(f64::NAN, |first| first.re);
    let values: Vec<f64> = spectrum.iter().take(size / 2).map(|value| value.re - settled).collect();
    // Written so that what is not a number is refused.
    let error = moved(&values);
    if error <= ALLOWED {
        Ok(Waveform { start: -lead, step, values, source: source.to_ohms() })
    } else {
        Err(Undetermined::Unconverged { error, allowed: ALLOWED })
    }
}

/// How far a record may still move in its last quarter, which is longer than the way there and back.
const ALLOWED: f64 = 3e-3;

/// How far it does: if it moved, what came before the edge was not at rest either.
fn moved(values: &[f64]) -> f64 {
    let (mut least, mut most) = (f64::INFINITY, f64::NEG_INFINITY);
    for &value in values.iter().skip(values.len() - values.len() / 4) {
        if value.is_nan() {
            return value;
        }
        (least, most) = (least.min(value), most.max(value));
    }
    most - least
}

fn number(count: usize) -> f64 {
    f64::from(u32::try_from(count).unwrap_or(u32::MAX))
}
