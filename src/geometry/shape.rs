//! The shapes copper is made of, and the questions asked of them.

use super::{Curve, Envelope, Gap, Path, Point, Vector, ring, to_f64};
use std::f64::consts::PI;

/// A piece of copper (or any filled area) on one layer, in board coordinates.
#[derive(Debug, Clone, PartialEq)]
pub enum Shape {
    /// All points within `radius` nm of a centre line: tracks, discs (a dot path), ovals, stroked graphics.
    Stroke {
        /// Centre line.
        path: Path,
        /// Half the width in nanometres.
        radius: i64,
    },
    /// A filled ring grown by `radius` nm with round corners: rectangles (0), rounded pads, fills drawn with a pen.
    /// The ring is closed implicitly and may touch itself along zero-width slits (holes of a fill).
    Area {
        /// Corners in order, first not repeated.
        ring: Vec<Point>,
        /// Growth in nanometres.
        radius: i64,
    },
}

/// A shape whose ring is borrowed; cheap to copy.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum ShapeRef<'a> {
    /// See [`Shape::Stroke`].
    Stroke {
        /// Centre line.
        path: Path,
        /// Half the width in nanometres.
        radius: i64,
    },
    /// See [`Shape::Area`].
    Area {
        /// Corners in order, first not repeated.
        ring: &'a [Point],
        /// Growth in nanometres.
        radius: i64,
    },
}

impl Shape {
    /// A disc.
    #[must_use]
    pub const fn disc(centre: Point, radius: i64) -> Self {
        Self::Stroke { path: Path::dot(centre), radius }
    }

    /// The same shape, borrowed.
    #[must_use]
    pub fn view(&self) -> ShapeRef<'_> {
        match self {
            Self::Stroke { path, radius } => ShapeRef::Stroke { path: *path, radius: *radius },
            Self::Area { ring, radius } => ShapeRef::Area { ring, radius: *radius },
        }
    }

    /// The least grid box that holds the shape; `None` for a ring without corners.
    #[must_use]
    pub fn envelope(&self) -> Option<Envelope> {
        self.view().envelope()
    }

    /// Whether a position lies in the shape, its border included.
    #[must_use]
    pub fn contains(&self, position: Vector) -> bool {
        self.view().contains(position)
    }

    /// Distance between two shapes in nanometres; 0 if they overlap.
    #[must_use]
    pub fn distance(&self, other: &Self) -> f64 {
        self.view().gap(other.view()).distance
    }

    /// The nearest points of two shapes; where they overlap, both are one point of the overlap.
    #[must_use]
    pub fn gap(&self, other: &Self) -> Gap {
        self.view().gap(other.view())
    }

    /// Area in square nanometres; see [`ShapeRef::area`].
    #[must_use]
    pub fn area(&self) -> f64 {
        self.view().area()
    }
}

impl<'a> ShapeRef<'a> {
    /// A disc.
    #[must_use]
    pub const fn disc(centre: Point, radius: i64) -> Self {
        Self::Stroke { path: Path::dot(centre), radius }
    }

    /// Half the pen that draws the outline, in nanometres.
    #[must_use]
    pub const fn radius(&self) -> i64 {
        match self {
            Self::Stroke { radius, .. } | Self::Area { radius, .. } => *radius,
        }
    }

    /// The least grid box that holds the shape; `None` for a ring without corners.
    #[must_use]
    pub fn envelope(&self) -> Option<Envelope> {
        match self {
            Self::Stroke { path, radius } => Some(path.envelope().grown(*radius)),
            Self::Area { ring, radius } => Envelope::of_points(ring).map(|envelope| envelope.grown(*radius)),
        }
    }

    /// The curves of the core: the centre line, or the ring's edges. The shape is the core (for a ring with its
    /// inside) grown by [`ShapeRef::radius`].
    pub fn core(&self) -> impl Iterator<Item = Curve> + use<'a> {
        let (path, ring): (Option<Path>, &'a [Point]) = match self {
            Self::Stroke { path, .. } => (Some(*path), &[]),
            Self::Area { ring, .. } => (None, ring),
        };
        let dot = match ring {
            [only] => Some(Curve::Segment((*only).into(), (*only).into())),
            _ => None,
        };
        let edges = ring::edges(ring).map(|(from, to)| Curve::Segment(from.into(), to.into()));
        path.map(|path| path.curve()).into_iter().chain(dot).chain(edges)
    }

    /// A point of the core: the start of the centre line, or the ring's first corner.
    #[must_use]
    pub fn anchor(&self) -> Option<Point> {
        match self {
            Self::Stroke { path, .. } => Some(path.start()),
            Self::Area { ring, .. } => ring.first().copied(),
        }
    }

    /// Whether a position lies in the shape, its border included. Exact to the nanometre for rings.
    #[must_use]
    pub fn contains(&self, position: Vector) -> bool {
        self.off(position) <= 0.0
    }

    /// Distance of a position from the shape in nanometres; 0 inside.
    #[must_use]
    pub fn off(&self, position: Vector) -> f64 {
        if let Self::Area { ring, .. } = self
            && ring::contains(ring, position.to_point())
        {
            return 0.0;
        }
        let core = self.core().map(|curve| curve.nearest(position).off).fold(f64::INFINITY, f64::min);
        (core - to_f64(self.radius())).max(0.0)
    }

    /// The nearest points of two shapes; where they overlap, both are one point of the overlap. The time grows with
    /// the product of the edges of both: large fills have an index for this.
    #[must_use]
    pub fn gap(&self, other: ShapeRef<'_>) -> Gap {
        if let Some(at) = self.swallows(other).or_else(|| other.swallows(*self)) {
            return Gap { distance: 0.0, from: at, to: at };
        }
        let mut best = Gap { distance: f64::INFINITY, from: Vector::default(), to: Vector::default() };
        for one in self.core() {
            for two in other.core() {
                best = best.min(one.gap(&two));
            }
        }
        best.grown(self.radius(), other.radius())
    }

    /// A point of the other shape's core that lies inside this ring, if it has one at its anchor.
    fn swallows(&self, other: ShapeRef<'_>) -> Option<Vector> {
        let Self::Area { ring, .. } = self else { return None };
        other.anchor().filter(|&anchor| ring::contains(ring, anchor)).map(Vector::from)
    }

    /// Whether two shapes touch or come as near as `tolerance` nanometres.
    #[must_use]
    pub fn touches(&self, other: ShapeRef<'_>, tolerance: f64) -> bool {
        self.gap(other).distance <= tolerance
    }

    /// Area in square nanometres: exact for straight and for arc strokes wider in radius than in pen, for rings without
    /// growth, and for convex rings with growth; a grown ring with inner corners comes out slightly too large.
    #[must_use]
    pub fn area(&self) -> f64 {
        let radius = to_f64(self.radius());
        let (core, length) = match self {
            Self::Stroke { path, .. } => (0.0, 2.0 * path.length()),
            Self::Area { ring, .. } => {
                (ring::signed_area(ring).abs(), if self.radius() > 0 { ring::perimeter(ring) } else { 0.0 })
            }
        };
        core + length * radius + PI * radius * radius
    }

    /// Distances along a path at which it crosses the outline of the shape, ascending.
    #[must_use]
    pub fn crossings(&self, path: &Path) -> Vec<f64> {
        crossings(path, std::slice::from_ref(self))
    }
}

/// Distances along a path at which it enters or leaves the union of shapes, ascending.
#[must_use]
pub fn crossings(path: &Path, shapes: &[ShapeRef<'_>]) -> Vec<f64> {
    let curve = path.curve();
    let length = curve.length();
    let near = path.envelope();
    let mut cuts = vec![0.0, length];
    for shape in shapes {
        let radius = to_f64(shape.radius());
        let reach = near.grown(shape.radius().saturating_add(1));
        for core in shape.core() {
            if !core.envelope().meets(reach) {
                continue;
            }
            if shape.radius() == 0 {
                curve.visit_crossings(&core, |along| cuts.push(along));
                continue;
            }
            let caps = [Curve::circle(core.from(), radius), Curve::circle(core.to(), radius)];
            for outline in core.sides(radius).into_iter().flatten().chain(caps) {
                curve.visit_crossings(&outline, |along| cuts.push(along));
            }
        }
    }
    cuts.sort_by(f64::total_cmp);
    // Many of the cuts lie inside the union: keep those where the path changes sides.
    let inside = |at: f64| {
        let position = curve.point_at(at);
        shapes.iter().any(|shape| shape.contains(position))
    };
    let mut changes = Vec::new();
    let mut before = None;
    for (&from, &to) in cuts.iter().zip(cuts.iter().skip(1)) {
        if to - from < 0.5 {
            continue; // below the grid: no side to speak of
        }
        let now = inside(from.midpoint(to));
        if before.is_some_and(|before| before != now) {
            changes.push(from);
        }
        before = Some(now);
    }
    changes
}
