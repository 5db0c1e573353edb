//! Points on the nanometre grid, and the only two crossings between the grid and `f64`.

/// A point in nanometres; x to the right, y down, as the board file has it.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash, Default)]
pub struct Point {
    /// Nanometres to the right.
    pub x: i64,
    /// Nanometres down.
    pub y: i64,
}

impl Point {
    /// The point (x, y) in nanometres.
    #[must_use]
    pub const fn new(x: i64, y: i64) -> Self {
        Self { x, y }
    }

    /// Both coordinates as `f64` nanometres.
    #[must_use]
    pub fn to_f64(self) -> (f64, f64) {
        (to_f64(self.x), to_f64(self.y))
    }

    /// Straight distance to another point, in nanometres.
    #[must_use]
    pub fn distance(self, other: Self) -> f64 {
        to_f64(self.x - other.x).hypot(to_f64(self.y - other.y))
    }
}

impl std::ops::Add for Point {
    type Output = Self;
    fn add(self, other: Self) -> Self {
        Self::new(self.x + other.x, self.y + other.y)
    }
}

impl std::ops::Sub for Point {
    type Output = Self;
    fn sub(self, other: Self) -> Self {
        Self::new(self.x - other.x, self.y - other.y)
    }
}

/// Grid to `f64`: exact, because the reader keeps coordinates within ±10 m (10^10 nm, far below 2^53).
#[allow(clippy::cast_precision_loss)]
#[must_use]
pub const fn to_f64(nm: i64) -> f64 {
    nm as f64
}

/// `f64` nanometres to the nearest grid value; saturates far outside any board.
#[allow(clippy::cast_possible_truncation)]
#[must_use]
pub fn from_f64(nm: f64) -> i64 {
    nm.round() as i64
}
