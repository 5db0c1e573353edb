//! Complex numbers: points of the cross-section's plane, and phasors.

use std::ops::{Add, AddAssign, Div, Mul, Neg, Sub};

/// A complex number. As a point it is `re` across the board and `im` up; as a phasor it goes with e^(jωt).
#[derive(Debug, Clone, Copy, PartialEq, Default)]
pub struct Complex {
    /// Real part.
    pub re: f64,
    /// Imaginary part.
    pub im: f64,
}

impl Complex {
    /// Zero.
    pub const ZERO: Self = Self::new(0.0, 0.0);
    /// One.
    pub const ONE: Self = Self::new(1.0, 0.0);

    /// From its parts.
    #[must_use]
    pub const fn new(re: f64, im: f64) -> Self {
        Self { re, im }
    }

    /// A real number.
    #[must_use]
    pub const fn real(re: f64) -> Self {
        Self::new(re, 0.0)
    }

    /// The conjugate.
    #[must_use]
    pub const fn conj(self) -> Self {
        Self::new(self.re, -self.im)
    }

    /// The squared magnitude.
    #[must_use]
    pub fn norm_sqr(self) -> f64 {
        self.re * self.re + self.im * self.im
    }

    /// The magnitude.
    #[must_use]
    pub fn norm(self) -> f64 {
        self.norm_sqr().sqrt()
    }

    /// The angle, -π to π.
    #[must_use]
    pub fn arg(self) -> f64 {
        self.im.atan2(self.re)
    }

    /// The reciprocal.
    #[must_use]
    pub fn inv(self) -> Self {
        let scale = 1.0 / self.norm_sqr();
        Self::new(self.re * scale, -self.im * scale)
    }

    /// The exponential.
    #[must_use]
    pub fn exp(self) -> Self {
        let size = self.re.exp();
        let (sin, cos) = self.im.sin_cos();
        Self::new(size * cos, size * sin)
    }

    /// The principal logarithm.
    #[must_use]
    pub fn ln(self) -> Self {
        Self::new(0.5 * self.norm_sqr().ln(), self.arg())
    }

    /// The principal square root.
    #[must_use]
    pub fn sqrt(self) -> Self {
        let size = self.norm();
        let re = (0.5 * (size + self.re)).max(0.0).sqrt();
        let im = (0.5 * (size - self.re)).max(0.0).sqrt();
        Self::new(re, if self.im < 0.0 { -im } else { im })
    }

    /// The hyperbolic sine.
    #[must_use]
    pub fn sinh(self) -> Self {
        let (sin, cos) = self.im.sin_cos();
        Self::new(self.re.sinh() * cos, self.re.cosh() * sin)
    }

    /// Hyperbolic tangent.
    #[must_use]
    pub fn tanh(self) -> Self {
        // Through e^(-2|x|), so that long lossy lines do not overflow.
        let sign = if self.re < 0.0 { -1.0 } else { 1.0 };
        let shrunk = (self * (-2.0 * sign)).exp();
        (Self::ONE - shrunk) / (Self::ONE + shrunk) * sign
    }

    /// True when both parts are finite.
    #[must_use]
    pub fn is_finite(self) -> bool {
        self.re.is_finite() && self.im.is_finite()
    }
}

impl Add for Complex {
    type Output = Self;
    fn add(self, other: Self) -> Self {
        Self::new(self.re + other.re, self.im + other.im)
    }
}
impl AddAssign for Complex {
    fn add_assign(&mut self, other: Self) {
        *self = *self + other;
    }
}
impl Sub for Complex {
    type Output = Self;
    fn sub(self, other: Self) -> Self {
        Self::new(self.re - other.re, self.im - other.im)
    }
}
impl Neg for Complex {
    type Output = Self;
    fn neg(self) -> Self {
        Self::new(-self.re, -self.im)
    }
}
impl Mul for Complex {
    type Output = Self;
    fn mul(self, other: Self) -> Self {
        Self::new(self.re * other.re - self.im * other.im, self.re * other.im + self.im * other.re)
    }
}
impl Mul<f64> for Complex {
    type Output = Self;
    fn mul(self, factor: f64) -> Self {
        Self::new(self.re * factor, self.im * factor)
    }
}
impl Div for Complex {
    type Output = Self;
    #[allow(clippy::suspicious_arithmetic_impl)] // Division is multiplication by the reciprocal.
    fn div(self, other: Self) -> Self {
        self * other.inv()
    }
}
impl Div<f64> for Complex {
    type Output = Self;
    fn div(self, divisor: f64) -> Self {
        Self::new(self.re / divisor, self.im / divisor)
    }
}
