//! Positions and directions between the grid points: `f64` nanometres.

use super::{Point, from_f64};

/// A position or a direction in nanometres; x to the right, y down. Exact for grid points of any board.
#[derive(Debug, Clone, Copy, PartialEq, Default)]
pub struct Vector {
    /// Nanometres to the right.
    pub x: f64,
    /// Nanometres down.
    pub y: f64,
}

impl Vector {
    /// The vector (x, y) in nanometres.
    #[must_use]
    pub const fn new(x: f64, y: f64) -> Self {
        Self { x, y }
    }

    /// The unit vector at an angle in radians; angles grow from +x towards +y, so clockwise on screen.
    #[must_use]
    pub fn at_angle(angle: f64) -> Self {
        let (sin, cos) = angle.sin_cos();
        Self::new(cos, sin)
    }

    /// The nearest grid point.
    #[must_use]
    pub fn to_point(self) -> Point {
        Point::new(from_f64(self.x), from_f64(self.y))
    }

    /// Its length in nanometres.
    #[must_use]
    pub fn length(self) -> f64 {
        self.x.hypot(self.y)
    }

    /// Distance to another position.
    #[must_use]
    pub fn distance(self, other: Self) -> f64 {
        (self - other).length()
    }

    /// Scalar product.
    #[must_use]
    pub fn dot(self, other: Self) -> f64 {
        self.x * other.x + self.y * other.y
    }

    /// Cross product: positive if `other` is clockwise on screen from `self`.
    #[must_use]
    pub fn cross(self, other: Self) -> f64 {
        self.x * other.y - self.y * other.x
    }

    /// The same direction with length 1; zero for a vector of no length.
    #[must_use]
    pub fn unit(self) -> Self {
        let length = self.length();
        if length > 0.0 { self * (1.0 / length) } else { Self::default() }
    }

    /// Turned by a right angle, clockwise on screen.
    #[must_use]
    pub fn turned(self) -> Self {
        Self::new(-self.y, self.x)
    }

    /// The angle of the direction in radians, from +x towards +y.
    #[must_use]
    pub fn angle(self) -> f64 {
        self.y.atan2(self.x)
    }
}

impl From<Point> for Vector {
    fn from(point: Point) -> Self {
        let (x, y) = point.to_f64();
        Self::new(x, y)
    }
}

impl std::ops::Add for Vector {
    type Output = Self;
    fn add(self, other: Self) -> Self {
        Self::new(self.x + other.x, self.y + other.y)
    }
}

impl std::ops::Sub for Vector {
    type Output = Self;
    fn sub(self, other: Self) -> Self {
        Self::new(self.x - other.x, self.y - other.y)
    }
}

impl std::ops::Mul<f64> for Vector {
    type Output = Self;
    fn mul(self, factor: f64) -> Self {
        Self::new(self.x * factor, self.y * factor)
    }
}
