//! Is a corridor covered by copper, and if not, where not. The fast test decides the clean case by edge distances
//! alone; polygon algebra runs only on pieces cut to the corridor's box and shifted to a local origin.

use super::{Curve, Envelope, Path, Point, RingIndex, ShapeRef, Vector, from_f64, ring, to_f64};
use geo::algorithm::bool_ops::{BooleanOps, FillRule, OpType};
use geo::{Coord, LineString, MultiPolygon, Polygon};
use std::f64::consts::PI;

/// Round outlines become chords that run at most this far (nanometres) inside the true outline.
const CHORD_ERROR: f64 = 200.0;
/// Uncovered pieces thinner than this (nanometres, area over half the outline) are left by the chords, not by the copper.
const SLIVER: f64 = 1_000.0;

/// A part of a corridor that no copper covers.
#[derive(Debug, Clone, PartialEq)]
pub struct Bare {
    /// Outline without holes, on the grid.
    pub outline: Vec<Point>,
    /// Area in square nanometres, holes taken off.
    pub area: f64,
    /// Where along the path it begins, in nanometres.
    pub from: f64,
    /// Where along the path it ends.
    pub to: f64,
}

impl RingIndex {
    /// Whether the fill (this ring grown by `pen`) surely covers all points within `half_width` of a path: no edge is
    /// that near, and one point is inside. `false` means "look closer", not "uncovered".
    #[must_use]
    pub fn covers_corridor(&self, pen: i64, path: &Path, half_width: i64) -> bool {
        let reach = half_width.saturating_sub(pen).max(0);
        if !self.contains(path.start()) {
            return false;
        }
        let curve = path.curve();
        let mut covered = true;
        self.visit_near(path.envelope().grown(reach), |from, to| {
            let distance = curve.gap(&Curve::Segment(from.into(), to.into())).distance;
            covered = distance >= to_f64(reach) && distance > 0.0;
            covered
        });
        covered
    }
}

/// The parts of the corridor (all points within `half_width` of a path, round ends included) that none of the shapes
/// covers, in order along the path. Outlines are good to 0.2 µm where they are round, exact where they are straight.
#[must_use]
pub fn bare_parts(path: &Path, half_width: i64, covers: &[ShapeRef<'_>]) -> Vec<Bare> {
    let corridor = ShapeRef::Stroke { path: *path, radius: half_width };
    let Some(bounds) = corridor.envelope().map(|envelope| envelope.grown(1_000)) else { return Vec::new() };
    let frame = Frame { bounds, origin: bounds.centre() };
    let wanted = frame.union(&[corridor]);
    let covers: Vec<ShapeRef<'_>> =
        covers.iter().filter(|cover| cover.envelope().is_some_and(|own| own.meets(bounds))).copied().collect();
    let left = if covers.is_empty() { wanted } else { wanted.difference(&frame.union(&covers)) };
    let curve = path.curve();
    let mut parts: Vec<Bare> = left.iter().filter_map(|polygon| frame.bare(polygon, &curve)).collect();
    parts.sort_by(|one, other| {
        one.from.total_cmp(&other.from).then(one.to.total_cmp(&other.to)).then_with(|| one.outline.cmp(&other.outline))
    });
    parts
}

/// The area in square nanometres that two sets of shapes share, within a box.
#[must_use]
pub fn shared_area(ones: &[ShapeRef<'_>], others: &[ShapeRef<'_>], bounds: Envelope) -> f64 {
    let frame = Frame { bounds, origin: bounds.centre() };
    let shared = frame.union(ones).intersection(&frame.union(others));
    shared.iter().map(|polygon| frame.area(polygon)).sum()
}

/// A box with a local origin, so that the algebra works on small numbers.
struct Frame {
    bounds: Envelope,
    origin: Point,
}

impl Frame {
    fn union(&self, shapes: &[ShapeRef<'_>]) -> MultiPolygon<f64> {
        let polygons: MultiPolygon<f64> = shapes.iter().flat_map(|shape| self.polygons(*shape)).collect();
        // All rings have one sense, so what they wind round is copper. `unary_union` would guess that sense from the
        // first ring's least corner, which fails where a cut ring runs back along the border.
        polygons.boolean_op_with_fill_rule(&MultiPolygon::new(Vec::new()), OpType::Union, FillRule::Positive)
    }

    /// A shape as rings of one sense, cut to the box.
    fn polygons(&self, shape: ShapeRef<'_>) -> Vec<Polygon<f64>> {
        let radius = to_f64(shape.radius());
        let mut rings: Vec<Vec<Point>> = Vec::new();
        match shape {
            ShapeRef::Stroke { path, .. } => rings.extend(stroke_rings(&path.curve(), radius)),
            ShapeRef::Area { ring: corners, radius: pen } => {
                let near = self.bounds.grown(pen);
                rings.push(cut(corners, near));
                if pen > 0 {
                    let edges =
                        ring::edges(corners).filter(|&(from, to)| Envelope::of_point(from).with_point(to).meets(near));
                    rings.extend(edges.flat_map(|(from, to)| stroke_rings(&Path::Line(from, to).curve(), radius)));
                }
            }
        }
        rings.into_iter().filter_map(|corners| self.polygon(&cut(&corners, self.bounds))).collect()
    }

    fn polygon(&self, corners: &[Point]) -> Option<Polygon<f64>> {
        let area = ring::doubled_area(corners);
        if area == 0 {
            return None;
        }
        let mut line: Vec<Coord<f64>> = corners
            .iter()
            .map(|&corner| {
                let (x, y) = (corner - self.origin).to_f64();
                Coord { x, y }
            })
            .collect();
        if area < 0 {
            line.reverse();
        }
        Some(Polygon::new(LineString::new(line), Vec::new()))
    }

    fn corners(&self, line: &LineString<f64>) -> Vec<Point> {
        let corners = line.0.iter().map(|at| Point::new(from_f64(at.x), from_f64(at.y)) + self.origin);
        let mut corners: Vec<Point> = corners.collect();
        corners.dedup();
        if corners.len() > 1 && corners.first() == corners.last() {
            corners.pop();
        }
        corners
    }

    fn area(&self, polygon: &Polygon<f64>) -> f64 {
        let of = |line| ring::signed_area(&self.corners(line)).abs();
        of(polygon.exterior()) - polygon.interiors().iter().map(of).sum::<f64>()
    }

    fn bare(&self, polygon: &Polygon<f64>, curve: &Curve) -> Option<Bare> {
        let outline = self.corners(polygon.exterior());
        let area = self.area(polygon);
        let around: f64 = ring::edges(&outline).map(|(from, to)| from.distance(to)).sum();
        if area < SLIVER * around / 2.0 {
            return None;
        }
        let along = |corner: &Point| curve.nearest((*corner).into()).along;
        let from = outline.iter().map(along).fold(f64::INFINITY, f64::min);
        let to = outline.iter().map(along).fold(0.0, f64::max);
        Some(Bare { outline, area, from, to })
    }
}

/// A stroke's outline as rings whose union it is.
fn stroke_rings(curve: &Curve, radius: f64) -> Vec<Vec<Point>> {
    if radius <= 0.0 {
        return Vec::new();
    }
    match curve {
        Curve::Segment(from, to) => vec![capsule(*from, *to, radius)],
        // Round a bend tighter than the pen, the offset curve has loops: take the chords one by one.
        Curve::Arc(arc) => {
            let steps = chords(arc.radius + radius, arc.sweep.abs());
            let turn = |step: u32| arc.sweep.abs() * f64::from(step) / f64::from(steps);
            (0..steps).map(|step| capsule(arc.at_turn(turn(step)), arc.at_turn(turn(step + 1)), radius)).collect()
        }
    }
}

/// The outline of a capsule, its caps as chords.
fn capsule(from: Vector, to: Vector, radius: f64) -> Vec<Point> {
    let start = if from == to { 0.0 } else { (to - from).turned().angle() };
    let steps = chords(radius, PI);
    let cap = |centre: Vector, base: f64| {
        (0..=steps).map(move |step| {
            (centre + Vector::at_angle(base + PI * f64::from(step) / f64::from(steps)) * radius).to_point()
        })
    };
    cap(from, start).chain(cap(to, start + PI)).collect()
}

/// How many chords an arc needs to stay within [`CHORD_ERROR`] of it.
fn chords(radius: f64, sweep: f64) -> u32 {
    let step = 2.0 * (1.0 - CHORD_ERROR / radius.max(CHORD_ERROR)).acos();
    u32::try_from(from_f64((sweep / step).ceil())).unwrap_or(u32::MAX).clamp(4, 2_000)
}

/// A ring cut to a box by four half-planes (Sutherland and Hodgman 1974). Parts that fall apart stay joined by edges
/// along the border, which carry no area.
fn cut(corners: &[Point], bounds: Envelope) -> Vec<Point> {
    if Envelope::of_points(corners).is_none_or(|own| bounds.contains(own.min) && bounds.contains(own.max)) {
        return corners.to_vec();
    }
    let flip = |at: Point| Point::new(at.y, at.x);
    let right = keep_up_to(corners, bounds.max.x);
    let left: Vec<Point> = right.iter().map(|&at| Point::new(-at.x, at.y)).collect();
    let across: Vec<Point> = keep_up_to(&left, -bounds.min.x).iter().map(|&at| flip(Point::new(-at.x, at.y))).collect();
    let low = keep_up_to(&across, bounds.max.y);
    let high: Vec<Point> = low.iter().map(|&at| Point::new(-at.x, at.y)).collect();
    keep_up_to(&high, -bounds.min.y).iter().map(|&at| flip(Point::new(-at.x, at.y))).collect()
}

/// The part of a ring with x up to a limit.
fn keep_up_to(corners: &[Point], limit: i64) -> Vec<Point> {
    let mut kept = Vec::with_capacity(corners.len() + 4);
    for (from, to) in ring::edges(corners) {
        if (from.x <= limit) != (to.x <= limit) {
            let rise = i128::from(to.y - from.y) * i128::from(limit - from.x);
            let run = i128::from(to.x - from.x);
            let y = i64::try_from(rise.div_euclid(run)).unwrap_or(0);
            kept.push(Point::new(limit, from.y + y));
        }
        if to.x <= limit {
            kept.push(to);
        }
    }
    kept
}
