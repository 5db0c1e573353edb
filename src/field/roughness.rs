//! How much a rough surface adds to the resistance of a smooth one.

use super::complex::Complex;
use super::quantity::{Conductivity, Frequency, MU0};
use crate::units::Length;
use std::f64::consts::PI;

/// Resistance of a square of smooth metal surface, ohms.
#[must_use]
pub fn surface_resistance(conductivity: Conductivity, frequency: Frequency) -> f64 {
    (PI * frequency.to_hertz() * MU0 / conductivity.to_siemens_per_metre()).sqrt()
}

/// The depth at which current has fallen to 1/e.
#[must_use]
pub fn skin_depth(conductivity: Conductivity, frequency: Frequency) -> Length {
    let metres = (1.0 / (PI * frequency.to_hertz() * MU0 * conductivity.to_siemens_per_metre())).sqrt();
    Length::nm(metres * 1e9)
}

/// A model of roughness, with the figure it is driven by.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum Roughness {
    /// Smooth.
    Smooth,
    /// Copper spheres stacked as cannon balls on the foil, sized from the data sheet's peak-to-valley height Rz.
    /// Huray et al. 2010, stacking by Simonovich 2015 (both from memory): 14 spheres of radius 0.0598 Rz over a square
    /// base of 36 radii². It does not saturate at 2.
    Cannonball(Length),
    /// Hammerstad and Jensen 1980 after Morgan 1949 (from memory), by the root-mean-square height Rq. It never more
    /// than doubles the resistance: too little above some GHz on rough foil.
    Hammerstad(Length),
    /// Groiss et al. 1996 (from memory), by the root-mean-square height Rq. It saturates at 2.
    Groiss(Length),
}

impl Roughness {
    /// The factor on the resistance, for a skin depth.
    #[must_use]
    pub fn factor(self, skin: Length) -> f64 {
        let depth = skin.to_metres();
        match self {
            Self::Smooth => 1.0,
            Self::Cannonball(height) => {
                let Some(radius) = radius(height) else { return 1.0 };
                let ratio = depth / radius;
                1.0 + AREA / (1.0 + ratio + 0.5 * ratio * ratio)
            }
            Self::Hammerstad(height) => {
                let ratio = height.to_metres() / depth;
                1.0 + 2.0 / PI * (1.4 * ratio * ratio).atan()
            }
            Self::Groiss(height) => {
                let height = height.to_metres();
                if height > 0.0 { 1.0 + (-(depth / (2.0 * height)).powf(1.6)).exp() } else { 1.0 }
            }
        }
    }

    /// The factor on the surface impedance (1 + j)Rs. Its effect on the real part is `factor`; only the spheres tell
    /// what the reactance must then be for the answer not to come before the question. The other models leave it as it
    /// is.
    #[must_use]
    pub fn complex_factor(self, skin: Length) -> Complex {
        if let Self::Cannonball(height) = self {
            let Some(radius) = radius(height) else { return Complex::ONE };
            let half = 0.5 * skin.to_metres() / radius;
            return Complex::ONE + Complex::new(1.0 + half, -half).inv() * AREA;
        }
        // (1 + j) times this has the real part `factor` and the imaginary part 1.
        let factor = self.factor(skin);
        Complex::new(0.5 * (1.0 + factor), 0.5 * (1.0 - factor))
    }
}

/// Surface of 14 spheres over their base, times 3/2.
const AREA: f64 = 84.0 * PI / 36.0;

/// The spheres' radius, for a height that is one.
fn radius(height: Length) -> Option<f64> {
    let radius = height.to_metres() / (2.0 * 3f64.sqrt() * 2.0 * (1.0 + std::f64::consts::SQRT_2));
    (radius > 0.0).then_some(radius)
}
