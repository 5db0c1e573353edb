//! Boxes parallel to the axes.

use super::{Point, Vector, from_f64, to_f64};

/// A closed box on the nanometre grid.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub struct Envelope {
    /// Least x and y.
    pub min: Point,
    /// Greatest x and y.
    pub max: Point,
}

impl Envelope {
    /// The box of one point.
    #[must_use]
    pub const fn of_point(point: Point) -> Self {
        Self { min: point, max: point }
    }

    /// The least grid box that holds all of the positions; `None` if there are none.
    #[must_use]
    pub fn of(points: impl IntoIterator<Item = Vector>) -> Option<Self> {
        let mut points = points.into_iter();
        let first = points.next()?;
        let (min, max) = points.fold((first, first), |(min, max), point| {
            (Vector::new(min.x.min(point.x), min.y.min(point.y)), Vector::new(max.x.max(point.x), max.y.max(point.y)))
        });
        Some(Self {
            min: Point::new(from_f64(min.x.floor()), from_f64(min.y.floor())),
            max: Point::new(from_f64(max.x.ceil()), from_f64(max.y.ceil())),
        })
    }

    /// The least box of grid points; `None` if there are none.
    #[must_use]
    pub fn of_points(points: &[Point]) -> Option<Self> {
        let (first, rest) = points.split_first()?;
        Some(rest.iter().fold(Self::of_point(*first), |envelope, &point| envelope.with_point(point)))
    }

    /// Grown to hold a point.
    #[must_use]
    pub fn with_point(self, point: Point) -> Self {
        self.union(Self::of_point(point))
    }

    /// The least box that holds both.
    #[must_use]
    pub fn union(self, other: Self) -> Self {
        Self {
            min: Point::new(self.min.x.min(other.min.x), self.min.y.min(other.min.y)),
            max: Point::new(self.max.x.max(other.max.x), self.max.y.max(other.max.y)),
        }
    }

    /// Grown by a margin on all sides (nanometres).
    #[must_use]
    pub fn grown(self, margin: i64) -> Self {
        Self {
            min: Point::new(self.min.x.saturating_sub(margin), self.min.y.saturating_sub(margin)),
            max: Point::new(self.max.x.saturating_add(margin), self.max.y.saturating_add(margin)),
        }
    }

    /// Whether the two boxes share a point.
    #[must_use]
    pub const fn meets(self, other: Self) -> bool {
        self.min.x <= other.max.x && other.min.x <= self.max.x && self.min.y <= other.max.y && other.min.y <= self.max.y
    }

    /// Whether a point lies in the box, its border included.
    #[must_use]
    pub const fn contains(self, point: Point) -> bool {
        self.min.x <= point.x && point.x <= self.max.x && self.min.y <= point.y && point.y <= self.max.y
    }

    /// Distance between the nearest points of two boxes, nanometres: no shapes in them are nearer.
    #[must_use]
    pub fn distance(self, other: Self) -> f64 {
        let x = (other.min.x - self.max.x).max(self.min.x - other.max.x).max(0);
        let y = (other.min.y - self.max.y).max(self.min.y - other.max.y).max(0);
        to_f64(x).hypot(to_f64(y))
    }

    /// Width in nanometres.
    #[must_use]
    pub const fn width(self) -> i64 {
        self.max.x - self.min.x
    }

    /// Height in nanometres.
    #[must_use]
    pub const fn height(self) -> i64 {
        self.max.y - self.min.y
    }

    /// Centre, rounded down to the grid.
    #[must_use]
    pub const fn centre(self) -> Point {
        Point::new(self.min.x + (self.max.x - self.min.x) / 2, self.min.y + (self.max.y - self.min.y) / 2)
    }
}

// In `f64`, where grid points are exact: integer areas could overflow inside the tree.
impl rstar::RTreeObject for Envelope {
    type Envelope = rstar::AABB<[f64; 2]>;
    fn envelope(&self) -> Self::Envelope {
        rstar::AABB::from_corners([to_f64(self.min.x), to_f64(self.min.y)], [to_f64(self.max.x), to_f64(self.max.y)])
    }
}
