//! From a part's own frame to the board's frame.
//!
//! y points down and a positive angle turns counter-clockwise on screen: (x, y) becomes (x cos a + y sin a, −x sin a + y
//! cos a). Parts on the bottom are stored mirrored already, so the same rule holds for them.

use crate::geometry::{Point, from_f64};

/// An origin and a turn.
#[derive(Debug, Clone, Copy)]
pub(super) struct Frame {
    origin: Point,
    turn: Turn,
}

#[derive(Debug, Clone, Copy)]
enum Turn {
    /// By 0, 90, 180 or 270 degrees: exact.
    Quarters(u8),
    Angle {
        sin: f64,
        cos: f64,
    },
}

impl Frame {
    /// The board's own frame.
    pub(super) const BOARD: Self = Self { origin: Point::new(0, 0), turn: Turn::Quarters(0) };

    /// A frame at `origin`, turned by `degrees`.
    pub(super) fn new(origin: Point, degrees: f64) -> Self {
        Self { origin, turn: Turn::new(degrees) }
    }

    /// A point of this frame in the board's frame.
    pub(super) fn place(&self, point: Point) -> Point {
        self.origin + self.turn.apply(point)
    }
}

impl Turn {
    #[allow(clippy::float_cmp)] // Multiples of 90 are exact in an f64.
    fn new(degrees: f64) -> Self {
        let degrees = degrees.rem_euclid(360.0);
        for (quarters, exact) in [(0, 0.0), (1, 90.0), (2, 180.0), (3, 270.0), (0, 360.0)] {
            if degrees == exact {
                return Self::Quarters(quarters);
            }
        }
        let (sin, cos) = degrees.to_radians().sin_cos();
        Self::Angle { sin, cos }
    }

    fn apply(self, Point { x, y }: Point) -> Point {
        match self {
            Self::Quarters(0) => Point::new(x, y),
            Self::Quarters(1) => Point::new(y, -x),
            Self::Quarters(2) => Point::new(-x, -y),
            Self::Quarters(_) => Point::new(-y, x),
            Self::Angle { sin, cos } => {
                let (x, y) = Point::new(x, y).to_f64();
                Point::new(from_f64(x * cos + y * sin), from_f64(y * cos - x * sin))
            }
        }
    }
}
