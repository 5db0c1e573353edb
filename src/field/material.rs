//! Dielectrics and how they change with frequency.

use super::complex::Complex;
use super::quantity::Frequency;

/// A dielectric as a data sheet gives it: permittivity and loss tangent at one frequency.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Dielectric {
    /// Relative permittivity, real part.
    pub permittivity: f64,
    /// Loss tangent.
    pub loss_tangent: f64,
}

impl Dielectric {
    /// Vacuum, or air.
    pub const AIR: Self = Self { permittivity: 1.0, loss_tangent: 0.0 };

    /// From permittivity and loss tangent.
    #[must_use]
    pub const fn new(permittivity: f64, loss_tangent: f64) -> Self {
        Self { permittivity, loss_tangent }
    }

    /// The complex relative permittivity ε' - jε''.
    #[must_use]
    pub fn complex(self) -> Complex {
        Complex::new(self.permittivity, -self.permittivity * self.loss_tangent)
    }
}

/// A dielectric whose loss tangent hardly changes over decades, so that its permittivity must fall slowly (causality):
/// ε(f) = ε∞ + k ln((f2 + jf)/(f1 + jf)).
///
/// Source: Djordjević, Biljić, Likar-Smiljanić, Sarkar, IEEE Trans. EMC 43 (2001) 662-667. Between the two corners ε'
/// falls by 1.466 ε'' per decade.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct WidebandDebye {
    infinite: f64,
    slope: f64,
}

/// Corners of the model, hertz: common practice.
const CORNERS: (f64, f64) = (1e3, 1e12);

fn spread(frequency: Frequency) -> Complex {
    let f = frequency.to_hertz();
    (Complex::new(CORNERS.1, f) / Complex::new(CORNERS.0, f)).ln()
}

impl WidebandDebye {
    /// The model that goes through a data sheet's point.
    #[must_use]
    pub fn fit(sheet: Dielectric, at: Frequency) -> Self {
        let log = spread(at);
        // The imaginary part is negative between the corners; outside it fades, and no loss can be fitted there.
        let slope = if log.im < -1e-9 { -sheet.permittivity * sheet.loss_tangent / log.im } else { 0.0 };
        Self { infinite: sheet.permittivity - slope * log.re, slope }
    }

    /// The dielectric at a frequency.
    #[must_use]
    pub fn at(self, frequency: Frequency) -> Dielectric {
        let value = Complex::real(self.infinite) + spread(frequency) * self.slope;
        Dielectric { permittivity: value.re, loss_tangent: -value.im / value.re }
    }
}
