//! Lengths.

/// A length. Held in nanometres, so that every length drawn on a board's grid is exact in an `f64`.
#[derive(Debug, Clone, Copy, PartialEq, PartialOrd, Default)]
pub struct Length(f64);

impl Length {
    /// No length.
    pub const ZERO: Self = Self(0.0);

    /// From nanometres.
    #[must_use]
    pub const fn nm(value: f64) -> Self {
        Self(value)
    }

    /// From millimetres.
    #[must_use]
    pub const fn mm(value: f64) -> Self {
        Self(value * 1e6)
    }

    /// In nanometres.
    #[must_use]
    pub const fn to_nm(self) -> f64 {
        self.0
    }

    /// In millimetres.
    #[must_use]
    pub const fn to_mm(self) -> f64 {
        self.0 / 1e6
    }

    /// In metres.
    #[must_use]
    pub const fn to_metres(self) -> f64 {
        self.0 / 1e9
    }

    /// The magnitude.
    #[must_use]
    pub const fn abs(self) -> Self {
        Self(self.0.abs())
    }

    /// Whether it is known to be no greater than `limit`; within 0.5 nm of the limit is at it, and at it is within it.
    #[must_use]
    pub fn within(self, limit: Self) -> bool {
        super::Quantity::Length(self).within(super::Quantity::Length(limit))
    }

    /// A total order (lengths are finite by construction).
    #[must_use]
    pub fn total_cmp(&self, other: &Self) -> std::cmp::Ordering {
        self.0.total_cmp(&other.0)
    }
}

impl std::ops::Add for Length {
    type Output = Self;
    fn add(self, other: Self) -> Self {
        Self(self.0 + other.0)
    }
}
impl std::ops::AddAssign for Length {
    fn add_assign(&mut self, other: Self) {
        self.0 += other.0;
    }
}
impl std::ops::Sub for Length {
    type Output = Self;
    fn sub(self, other: Self) -> Self {
        Self(self.0 - other.0)
    }
}
impl std::ops::Neg for Length {
    type Output = Self;
    fn neg(self) -> Self {
        Self(-self.0)
    }
}
impl std::ops::Mul<f64> for Length {
    type Output = Self;
    fn mul(self, factor: f64) -> Self {
        Self(self.0 * factor)
    }
}
impl std::ops::Div<f64> for Length {
    type Output = Self;
    fn div(self, divisor: f64) -> Self {
        Self(self.0 / divisor)
    }
}
impl std::iter::Sum for Length {
    fn sum<I: Iterator<Item = Self>>(parts: I) -> Self {
        parts.fold(Self::ZERO, |sum, part| sum + part)
    }
}
