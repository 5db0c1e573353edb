//! Loss: resistance and leakage at a frequency, and the damping they make.

use super::complex::Complex;
use super::doubt::Undetermined;
use super::material::{Dielectric, WidebandDebye};
use super::modes::{between, inductance};
use super::quantity::{Attenuation, Conductivity, Frequency};
use super::roughness::{Roughness, skin_depth, surface_resistance};
use super::solution::Solution;
use super::square::Square;
use std::f64::consts::PI;

/// The metal.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Metal {
    /// Bulk conductivity.
    pub conductivity: Conductivity,
    /// Of the conductors' lower faces: the foil's treated side where it was laminated to a core.
    pub foot: Roughness,
    /// Of their upper faces and flanks.
    pub rest: Roughness,
    /// Of planes and grounds.
    pub reference: Roughness,
    /// Bulk conductivity of planes and grounds.
    pub reference_conductivity: Conductivity,
}

impl Metal {
    /// Annealed copper, equally rough all over: the simple choice where sides are not known (common practice).
    #[must_use]
    pub const fn copper(roughness: Roughness) -> Self {
        const COPPER: Conductivity = Conductivity::siemens_per_metre(5.8e7);
        Self {
            conductivity: COPPER,
            foot: roughness,
            rest: roughness,
            reference: roughness,
            reference_conductivity: COPPER,
        }
    }
}

/// Which wave of a section.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Mode {
    /// One line against its reference, others grounded.
    Line(usize),
    /// Two lines with opposite voltages.
    Odd(usize, usize),
    /// Two lines with equal voltages.
    Even(usize, usize),
}

impl Mode {
    fn lines(self) -> (usize, usize, f64) {
        match self {
            Self::Line(line) => (line, line, 0.0),
            Self::Odd(one, two) => (one, two, -1.0),
            Self::Even(one, two) => (one, two, 1.0),
        }
    }

    /// This mode's number from a matrix: of one line.
    fn of(self, matrix: &Square) -> f64 {
        let (one, two, sign) = self.lines();
        between(matrix, one, two, sign)
    }
}

/// How dielectrics change with frequency.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum Dispersion {
    /// Not at all.
    None,
    /// As the wideband Debye model through the section's values, which hold at this frequency.
    Debye(Frequency),
}

/// The constants of one wave at one frequency, per metre of one line.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Constants {
    /// The frequency.
    pub frequency: Frequency,
    /// Series resistance, ohms.
    pub resistance: f64,
    /// Series reactance of the metal's inside, ohms.
    pub inner_reactance: f64,
    /// Series inductance of the space between, henries.
    pub inductance: f64,
    /// Shunt conductance, siemens.
    pub conductance: f64,
    /// Shunt capacitance, farads.
    pub capacitance: f64,
}

impl Constants {
    fn series(&self) -> Complex {
        let omega = 2.0 * PI * self.frequency.to_hertz();
        Complex::new(self.resistance, self.inner_reactance + omega * self.inductance)
    }

    fn shunt(&self) -> Complex {
        let omega = 2.0 * PI * self.frequency.to_hertz();
        Complex::new(self.conductance, omega * self.capacitance)
    }

    /// The characteristic impedance, ohms, per line.
    #[must_use]
    pub fn impedance(&self) -> Complex {
        (self.series() / self.shunt()).sqrt()
    }

    /// The propagation constant: nepers and radians per metre.
    #[must_use]
    pub fn propagation(&self) -> Complex {
        (self.series() * self.shunt()).sqrt()
    }

    /// The damping's part from the metal: R/2Z.
    #[must_use]
    pub fn conductor_loss(&self) -> Attenuation {
        let impedance = (self.inductance / self.capacitance).sqrt();
        Attenuation::nepers_per_metre(0.5 * self.resistance / impedance)
    }

    /// The damping's part from the dielectrics: GZ/2.
    #[must_use]
    pub fn dielectric_loss(&self) -> Attenuation {
        let impedance = (self.inductance / self.capacitance).sqrt();
        Attenuation::nepers_per_metre(0.5 * self.conductance * impedance)
    }

    /// The whole damping.
    #[must_use]
    pub fn loss(&self) -> Attenuation {
        self.conductor_loss() + self.dielectric_loss()
    }
}

impl Solution {
    /// The constants of a wave at a frequency.
    ///
    /// # Errors
    /// `NoThickness` if resistance was not asked for or a conductor has no thickness; `BadValue` for a line that the
    /// section does not have; `NoReturn` for lines and even waves without plane and ground; `Unconverged` if the
    /// resistance is more doubtful than a tenth.
    pub fn constants(
        &self,
        mode: Mode,
        frequency: Frequency,
        metal: &Metal,
        dispersion: Dispersion,
    ) -> Result<Constants, Undetermined> {
        let (one, two, sign) = mode.lines();
        let is_pair = !matches!(mode, Mode::Line(_));
        if one.max(two) >= self.signals() || (is_pair && one == two) {
            return Err(Undetermined::BadValue("a line's number"));
        }
        let hertz = frequency.to_hertz();
        if !(hertz > 0.0 && hertz.is_finite()) {
            return Err(Undetermined::BadValue("the frequency"));
        }
        if self.is_floating() && sign >= 0.0 {
            return Err(Undetermined::NoReturn);
        }
        let omega = 2.0 * PI * hertz;
        let mut capacitance = mode.of(&self.capacitance);
        let mut conductance = 0.0;
        for (sheet, filling) in &self.filling {
            let here = match dispersion {
                Dispersion::None => *sheet,
                Dispersion::Debye(at) => disperse(*sheet, at, frequency),
            };
            let growth = mode.of(filling);
            capacitance += growth * (here.permittivity - sheet.permittivity);
            conductance += omega * growth * here.permittivity * here.loss_tangent;
        }
        let surface = self.surface_impedance(mode, frequency, metal)?;
        Ok(Constants {
            frequency,
            resistance: surface.re,
            inner_reactance: surface.im,
            inductance: inductance(mode.of(&self.air)),
            conductance,
            capacitance,
        })
    }

    /// Series impedance of the metal itself, ohms per metre of line. Where the skin is not thin against the metal the
    /// resistance goes over to the direct-current one: third powers add, within 4 % of filaments solved in volume from
    /// 1 MHz to 8 GHz.
    fn surface_impedance(&self, mode: Mode, frequency: Frequency, metal: &Metal) -> Result<Complex, Undetermined> {
        let crowding = self.crowding.as_ref().ok_or(Undetermined::NoThickness)?;
        if !(self.crowding_error < MOST_DOUBT || self.crowding_error.is_nan()) {
            return Err(Undetermined::Unconverged { error: self.crowding_error, allowed: MOST_DOUBT });
        }
        let (own, reference) = (metal.conductivity, metal.reference_conductivity);
        let parts = [
            (&crowding.foot, metal.foot, own),
            (&crowding.rest, metal.rest, own),
            (&crowding.reference, metal.reference, reference),
        ];
        let sum = parts.iter().fold(Complex::ZERO, |sum, (crowding, roughness, conductivity)| {
            let sheet = surface_resistance(*conductivity, frequency);
            sum + roughness.complex_factor(skin_depth(*conductivity, frequency)) * (mode.of(crowding) * sheet)
        });
        let value = Complex::new(1.0, 1.0) * sum;
        let (one, two, _) = mode.lines();
        let area = |line: usize| self.areas.get(line).copied().unwrap_or(0.0);
        let direct = 0.5 * (1.0 / area(one) + 1.0 / area(two)) / metal.conductivity.to_siemens_per_metre();
        let blended = (direct.powi(3) + value.re.powi(3)).cbrt();
        if !blended.is_finite() || value.re < 0.0 {
            return Err(Undetermined::NoThickness);
        }
        // The field inside the metal stops growing where the current fills it, which is where both resistances meet.
        let omega = 2.0 * PI * frequency.to_hertz();
        let corner = omega * (direct / value.re).powi(2);
        let (thin, full) = (value.im / omega, direct / corner);
        let inner = (thin.powi(-3) + full.powi(-3)).powf(-1.0 / 3.0);
        Ok(Complex::new(blended, omega * inner))
    }
}

/// Resistance more doubtful than this is not told.
const MOST_DOUBT: f64 = 0.1;

fn disperse(sheet: Dielectric, at: Frequency, frequency: Frequency) -> Dielectric {
    if sheet.loss_tangent > 0.0 { WidebandDebye::fit(sheet, at).at(frequency) } else { sheet }
}
