//! Arcs: exact lengths, boxes, positions along them, and nearness against dense sampling.

use super::point;
use proptest::prelude::*;
use std::f64::consts::PI;
use throughline::geometry::{Arc, Path, Point, Vector};

fn arc(start: (i64, i64), mid: (i64, i64), end: (i64, i64)) -> Arc {
    Arc { start: Point::new(start.0, start.1), mid: Point::new(mid.0, mid.1), end: Point::new(end.0, end.1) }
}

/// A quarter, a half and three quarters of a circle of 1 mm about the origin; mid points are Pythagorean, so exact.
#[test]
fn length_of_known_arcs() {
    let r = 1_000_000.0;
    let quarter = arc((1_000_000, 0), (600_000, 800_000), (0, 1_000_000));
    assert!((quarter.length() - r * PI / 2.0).abs() < 1e-6);
    let half = arc((1_000_000, 0), (600_000, 800_000), (-1_000_000, 0));
    assert!((half.length() - r * PI).abs() < 1e-6);
    let most = arc((1_000_000, 0), (-600_000, 800_000), (0, -1_000_000));
    assert!((most.length() - r * PI * 1.5).abs() < 1e-6);
    let frame = most.frame().unwrap();
    assert!(frame.centre.length() < 1e-6 && (frame.radius - r).abs() < 1e-6 && frame.sweep > 0.0);
    let box_of = Path::Arc(most).envelope();
    assert_eq!((box_of.min, box_of.max), (Point::new(-1_000_000, -1_000_000), Point::new(1_000_000, 1_000_000)));
}

/// Equal ends: a full circle on the diameter through the mid point.
#[test]
fn equal_ends_are_a_full_circle() {
    let circle = arc((0, 0), (2_000_000, 0), (0, 0));
    assert!((circle.length() - 2.0 * PI * 1e6).abs() < 1e-6);
    assert!((Path::Arc(circle).nearest(Vector::new(1e6, 3e6)).off - 2e6).abs() < 1e-6);
}

#[test]
fn mid_on_the_chord_is_a_line() {
    let flat = arc((0, 0), (500_000, 0), (1_000_000, 0));
    assert!(flat.frame().is_none());
    assert_eq!(flat.length(), 1e6);
    assert_eq!(Path::Arc(flat).straightened(), Path::Line(flat.start, flat.end));
}

/// A shallow arc: 100 mm chord, 1 µm rise. Length exceeds the chord by 8/3·rise²/chord; the centre is 1.25 km away.
#[test]
fn shallow_arc_keeps_its_length() {
    let shallow = arc((0, 0), (50_000_000, 1_000), (100_000_000, 0));
    let expected = 1e8 + 8.0 / 3.0 * 1e6 / 1e8;
    assert!((shallow.length() - expected).abs() < 1e-4, "{}", shallow.length());
    let path = Path::Arc(shallow);
    assert!(path.point_at(path.length() / 2.0).distance(Vector::new(5e7, 1e3)) < 0.5);
}

proptest! {
    #[test]
    fn positions_agree_with_nearest(start in point(), mid in point(), end in point(), share in 0.0..1.0f64) {
        let path = Path::Arc(Arc { start, mid, end }).straightened();
        let length = path.length();
        let at = path.point_at(share * length);
        prop_assert!(path.nearest(at).off < 1e-2);
        prop_assert!(path.nearest(mid.into()).off < 1.1);
        prop_assert!(path.envelope().grown(1).contains(at.to_point()));
        prop_assert!((path.reversed().length() - length).abs() < 1e-3);
        prop_assert!(path.reversed().point_at(length - share * length).distance(at) < 1e-1);
        // A step along the tangent stays on the path to first order.
        let step = path.point_at(share * length + 1.0);
        if share * length + 1.0 < length {
            prop_assert!((at + path.tangent_at(share * length)).distance(step) < 0.1);
        }
    }

    /// Cutting rounds the cut to the grid, nothing more.
    #[test]
    fn cut_parts_add_up(start in point(), mid in point(), end in point(), share in 0.01..0.99f64) {
        let path = Path::Arc(Arc { start, mid, end }).straightened();
        prop_assume!(path.length() > 100_000.0 && path.length() < 2e7);
        let (one, two) = path.split(share * path.length());
        prop_assume!(one.length() > 10_000.0 && two.length() > 10_000.0);
        prop_assert_eq!(one.end(), two.start());
        prop_assert!((one.length() + two.length() - path.length()).abs() < 5.0,
            "{} + {} != {}", one.length(), two.length(), path.length());
        prop_assert!(path.nearest(one.point_at(one.length() / 2.0)).off < 2.0);
    }

    /// The distance of two arcs or lines against dense sampling of both.
    #[test]
    fn distance_against_sampling(
        a in point(), b in point(), c in point(), d in point(), e in point(), f in point(), straight in any::<bool>(),
    ) {
        let one = if straight { Path::Line(a, c) } else { Path::Arc(Arc { start: a, mid: b, end: c }).straightened() };
        let two = Path::Arc(Arc { start: d, mid: e, end: f }).straightened();
        prop_assume!(one.length() < 3e7 && two.length() < 3e7);
        let steps = 400;
        let sampled = (0..=steps)
            .map(|step| two.nearest(one.point_at(one.length() * f64::from(step) / f64::from(steps))).off)
            .fold(f64::INFINITY, f64::min);
        let gap = one.gap(&two);
        prop_assert!(gap.distance <= sampled + 1e-3);
        prop_assert!(sampled <= gap.distance + one.length() / f64::from(steps));
        prop_assert!((two.gap(&one).distance - gap.distance).abs() < 1e-3);
        prop_assert!(one.nearest(gap.from).off < 1e-2 && two.nearest(gap.to).off < 1e-2);
        prop_assert!((gap.from.distance(gap.to) - gap.distance).abs() < 1e-2);
    }

    /// Every crossing lies on both; and where the paths keep apart there is none.
    #[test]
    fn crossings_lie_on_both(a in point(), b in point(), c in point(), d in point(), e in point(), f in point()) {
        let one = Path::Arc(Arc { start: a, mid: b, end: c }).straightened();
        let two = Path::Arc(Arc { start: d, mid: e, end: f }).straightened();
        prop_assume!(one.length() < 3e7 && two.length() < 3e7);
        let crossings = one.crossings(&two);
        for &along in &crossings {
            prop_assert!(two.nearest(one.point_at(along)).off < 1.0);
        }
        prop_assert_eq!(crossings.is_empty(), one.distance(&two) > 0.0);
    }
}
