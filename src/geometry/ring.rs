//! Closed rings of straight edges: area, inside or outside, and slits.
//!
//! A ring is closed implicitly. Fills join their holes to the outline by zero-width slits, walked once each way; the
//! functions here see through them.

use super::{Point, to_f64};
use rustc_hash::FxHashMap;

/// The edges of a ring in order, the closing one included; edges of no length are left out.
pub fn edges(ring: &[Point]) -> impl Iterator<Item = (Point, Point)> + Clone + '_ {
    ring.iter().copied().zip(ring.iter().copied().cycle().skip(1)).filter(|(from, to)| from != to)
}

/// Twice the signed area in square nanometres, exact: positive for a ring that runs clockwise on screen.
#[must_use]
pub fn doubled_area(ring: &[Point]) -> i128 {
    let Some(&origin) = ring.first() else { return 0 };
    edges(ring)
        .map(|(from, to)| {
            let (a, b) = (from - origin, to - origin);
            i128::from(a.x) * i128::from(b.y) - i128::from(b.x) * i128::from(a.y)
        })
        .sum()
}

/// Signed area in square nanometres: positive for a ring that runs clockwise on screen.
#[allow(clippy::cast_precision_loss)] // one rounding of an exact sum
#[must_use]
pub fn signed_area(ring: &[Point]) -> f64 {
    doubled_area(ring) as f64 / 2.0
}

/// Whether a point lies inside, by counting the edges that a ray to the right crosses. Exact. A point on a slit is
/// inside if the copper on both sides is; a point on a true edge may go either way.
#[must_use]
pub fn contains(ring: &[Point], point: Point) -> bool {
    edges(ring).filter(|&(from, to)| ray_crosses(from, to, point)).count() % 2 == 1
}

/// Whether the ray from a point to the right crosses an edge. Both directions of an edge give the same answer.
pub(super) fn ray_crosses(from: Point, to: Point, point: Point) -> bool {
    let (low, high) = if from.y <= to.y { (from, to) } else { (to, from) };
    if point.y < low.y || point.y >= high.y || point.x > from.x.max(to.x) {
        return false;
    }
    let (edge, reach) = (high - low, point - low);
    i128::from(edge.x) * i128::from(reach.y) > i128::from(edge.y) * i128::from(reach.x)
}

/// The edges of a ring without its slits: equal edges walked in opposite directions cancel.
/// A slit whose two sides are cut at different points keeps the parts that don't match.
#[must_use]
pub fn edges_without_slits(ring: &[Point]) -> Vec<(Point, Point)> {
    // Net walks of each edge, counted in the direction from its lesser to its greater end.
    let mut walks: FxHashMap<(Point, Point), i32> = FxHashMap::default();
    walks.reserve(ring.len());
    for (from, to) in edges(ring) {
        let (key, walk) = if from < to { ((from, to), 1) } else { ((to, from), -1) };
        *walks.entry(key).or_insert(0) += walk;
    }
    edges(ring)
        .filter(|&(from, to)| {
            let (key, walk) = if from < to { ((from, to), 1) } else { ((to, from), -1) };
            walks.get_mut(&key).is_some_and(|left| {
                let keep = *left != 0 && left.signum() == walk;
                if keep {
                    *left -= walk;
                }
                keep
            })
        })
        .collect()
}

/// The length of all edges that are not slits, in nanometres.
#[must_use]
pub fn perimeter(ring: &[Point]) -> f64 {
    edges_without_slits(ring).into_iter().map(|(from, to)| from.distance(to)).sum()
}

/// The centroid, or the first corner of a ring without area.
#[must_use]
pub fn centroid(ring: &[Point]) -> Option<Point> {
    let &origin = ring.first()?;
    let (mut area, mut x, mut y) = (0.0, 0.0, 0.0);
    for (from, to) in edges(ring) {
        let (a, b) = (from - origin, to - origin);
        let cross = to_f64(a.x) * to_f64(b.y) - to_f64(b.x) * to_f64(a.y);
        area += cross;
        x += to_f64(a.x + b.x) * cross;
        y += to_f64(a.y + b.y) * cross;
    }
    if area.abs() <= 0.0 {
        return Some(origin);
    }
    Some(origin + super::Vector::new(x / (3.0 * area), y / (3.0 * area)).to_point())
}
