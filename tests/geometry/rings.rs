//! Rings with slits, and the index against the plain functions.

use super::point;
use super::shapes::star;
use proptest::prelude::*;
use throughline::geometry::{Envelope, Point, RingIndex, ring};

/// A square of 4 mm with a square hole of 2 mm, joined by a slit from (0, 1.5) to (1, 1.5).
fn square_with_hole() -> Vec<Point> {
    [(0, 0), (4, 0), (4, 4), (0, 4), (0, 2), (1, 2), (1, 3), (3, 3), (3, 1), (1, 1), (1, 2), (0, 2)]
        .map(|(x, y)| Point::new(x * 1_000_000, y * 1_000_000))
        .to_vec()
}

#[test]
fn slit_is_copper_and_no_edge() {
    let ring = square_with_hole();
    assert_eq!(ring::doubled_area(&ring), 2 * (16 - 4) * 1_000_000_000_000);
    let on_slit = Point::new(500_000, 2_000_000);
    let in_hole = Point::new(2_000_000, 2_000_000);
    assert!(ring::contains(&ring, on_slit));
    assert!(!ring::contains(&ring, in_hole));
    let edges = ring::edges_without_slits(&ring);
    // The left side is cut at the slit's foot: five outer edges, five around the hole.
    assert_eq!(edges.len(), 10);
    assert!((ring::perimeter(&ring) - 24e6).abs() < 1e-6);
    let index = RingIndex::new(&ring);
    assert!(index.contains(on_slit) && !index.contains(in_hole));
    let mut near = 0;
    index.visit_near(Envelope::of_point(on_slit).grown(100_000), |_, _| {
        near += 1;
        true
    });
    assert_eq!(near, 0, "the slit is not an edge");
}

#[test]
fn hopeless_rings_do_no_harm() {
    for ring in [vec![], vec![Point::new(0, 0)], vec![Point::new(0, 0), Point::new(5, 5)]] {
        let index = RingIndex::new(&ring);
        assert!(!index.contains(Point::new(1, 0)) && !ring::contains(&ring, Point::new(1, 0)));
        assert_eq!(ring::doubled_area(&ring), 0);
    }
}

proptest! {
    #[test]
    fn index_agrees_with_counting(corners in star(), at in point()) {
        let index = RingIndex::new(&corners);
        prop_assert_eq!(index.contains(at), ring::contains(&corners, at));
        // Points on the corners' own heights are where half-open counting goes wrong.
        for corner in &corners {
            let level = Point::new(at.x, corner.y);
            prop_assert_eq!(index.contains(level), ring::contains(&corners, level));
        }
    }

    #[test]
    fn index_finds_every_near_edge(corners in proptest::collection::vec(point(), 3..200), at in point(), reach in 0i64..500_000) {
        let envelope = Envelope::of_point(at).grown(reach);
        let mut found = Vec::new();
        RingIndex::new(&corners).visit_near(envelope, |from, to| {
            found.push((from, to));
            true
        });
        let expected: Vec<_> = ring::edges_without_slits(&corners)
            .into_iter()
            .filter(|&(from, to)| Envelope::of_point(from).with_point(to).meets(envelope))
            .collect();
        prop_assert_eq!(found, expected);
    }

    /// Walking a ring from another corner or backwards changes nothing.
    #[test]
    fn start_and_sense_do_not_matter(corners in star(), turn in 0usize..24, at in point()) {
        let mut turned = corners.clone();
        turned.rotate_left(turn % corners.len());
        prop_assert_eq!(ring::doubled_area(&turned), ring::doubled_area(&corners));
        prop_assert_eq!(ring::contains(&turned, at), ring::contains(&corners, at));
        turned.reverse();
        prop_assert_eq!(ring::doubled_area(&turned), -ring::doubled_area(&corners));
        prop_assert_eq!(ring::contains(&turned, at), ring::contains(&corners, at));
    }
}
