//! Centre lines: straight or circular, with positions along them.

use super::{Arc, Curve, Envelope, Foot, Gap, Point, Vector};

/// A centre line: straight or circular.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub enum Path {
    /// From one point to another; both equal for a dot.
    Line(Point, Point),
    /// Along a circle.
    Arc(Arc),
}

impl Path {
    /// A single point.
    #[must_use]
    pub const fn dot(at: Point) -> Self {
        Self::Line(at, at)
    }

    /// First end.
    #[must_use]
    pub const fn start(&self) -> Point {
        match self {
            Self::Line(start, _) => *start,
            Self::Arc(arc) => arc.start,
        }
    }

    /// Second end.
    #[must_use]
    pub const fn end(&self) -> Point {
        match self {
            Self::Line(_, end) => *end,
            Self::Arc(arc) => arc.end,
        }
    }

    /// The curve for calculations. An arc whose mid point lies on its chord is a segment.
    #[must_use]
    pub fn curve(&self) -> Curve {
        match self {
            Self::Line(start, end) => Curve::Segment((*start).into(), (*end).into()),
            Self::Arc(arc) => arc.frame().map_or(Curve::Segment(arc.start.into(), arc.end.into()), Curve::Arc),
        }
    }

    /// Exact length in nanometres.
    #[must_use]
    pub fn length(&self) -> f64 {
        match self {
            Self::Line(start, end) => start.distance(*end),
            Self::Arc(arc) => arc.length(),
        }
    }

    /// The position at a distance from the first end; clamped to the ends, exact there.
    #[must_use]
    pub fn point_at(&self, along: f64) -> Vector {
        self.curve().point_at(along)
    }

    /// Unit vector in walking direction at a distance from the first end; zero for a dot.
    #[must_use]
    pub fn tangent_at(&self, along: f64) -> Vector {
        self.curve().tangent_at(along)
    }

    /// The nearest point of the path: how far along it lies, and how far off.
    #[must_use]
    pub fn nearest(&self, position: Vector) -> Foot {
        self.curve().nearest(position)
    }

    /// The nearest points of two paths; distance 0 where they cross.
    #[must_use]
    pub fn gap(&self, other: &Self) -> Gap {
        self.curve().gap(&other.curve())
    }

    /// Distance between two centre lines in nanometres.
    #[must_use]
    pub fn distance(&self, other: &Self) -> f64 {
        self.gap(other).distance
    }

    /// Distances along this path at which it meets the other, ascending.
    #[must_use]
    pub fn crossings(&self, other: &Self) -> Vec<f64> {
        let mut found = Vec::new();
        self.curve().visit_crossings(&other.curve(), |along| found.push(along));
        found.sort_by(f64::total_cmp);
        found
    }

    /// The stretch between two distances along the path; its new ends are rounded to the grid (at most 0.71 nm off).
    /// `from` beyond `to` gives the stretch in reverse.
    #[must_use]
    pub fn between(&self, from: f64, to: f64) -> Self {
        let curve = self.curve();
        let start = curve.point_at(from).to_point();
        let end = curve.point_at(to).to_point();
        match curve {
            Curve::Segment(..) => Self::Line(start, end),
            Curve::Arc(_) => {
                let length = curve.length();
                let mid = f64::midpoint(from.clamp(0.0, length), to.clamp(0.0, length));
                let mid = curve.point_at(mid).to_point();
                Self::Arc(Arc { start, mid, end }).straightened()
            }
        }
    }

    /// Cut in two at a distance along the path.
    #[must_use]
    pub fn split(&self, along: f64) -> (Self, Self) {
        (self.between(0.0, along), self.between(along, self.length()))
    }

    /// Walked from the other end.
    #[must_use]
    pub const fn reversed(&self) -> Self {
        match self {
            Self::Line(start, end) => Self::Line(*end, *start),
            Self::Arc(arc) => Self::Arc(Arc { start: arc.end, mid: arc.mid, end: arc.start }),
        }
    }

    /// The least grid box that holds the path.
    #[must_use]
    pub fn envelope(&self) -> Envelope {
        match self {
            Self::Line(start, end) => Envelope::of_point(*start).with_point(*end),
            Self::Arc(_) => self.curve().envelope(),
        }
    }

    /// A line in place of an arc that is straight.
    #[must_use]
    pub fn straightened(self) -> Self {
        match self {
            Self::Arc(arc) if arc.frame().is_none() => Self::Line(arc.start, arc.end),
            path => path,
        }
    }
}
