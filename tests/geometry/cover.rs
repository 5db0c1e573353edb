//! Corridors over fills: the fast test, the exact parts, and `geo` on the whole polygons as judge.

use super::point;
use super::shapes::{polygon, star};
use geo::{Area as _, BooleanOps as _};
use proptest::prelude::*;
use throughline::geometry::{Envelope, Path, Point, RingIndex, ShapeRef, bare_parts, shared_area, to_f64};

fn ring(corners: &[(i64, i64)]) -> Vec<Point> {
    corners.iter().map(|&(x, y)| Point::new(x, y)).collect()
}

/// A plane of 10 mm × 4 mm with a hole of 1 mm × 1 mm in its middle, joined to the left side by a slit.
fn plane_with_hole() -> Vec<Point> {
    ring(&[
        (0, 0),
        (10_000_000, 0),
        (10_000_000, 4_000_000),
        (0, 4_000_000),
        (0, 2_000_000),
        (4_500_000, 2_000_000),
        (4_500_000, 2_500_000),
        (5_500_000, 2_500_000),
        (5_500_000, 1_500_000),
        (4_500_000, 1_500_000),
        (4_500_000, 2_000_000),
        (0, 2_000_000),
    ])
}

#[test]
fn corridor_beside_a_hole_is_covered_to_the_nanometre() {
    let plane = plane_with_hole();
    let index = RingIndex::new(&plane);
    // The hole's edge is at 1.5 mm; a corridor of 0.5 mm half width at y = 1 mm just fits.
    let fits = Path::Line(Point::new(1_000_000, 1_000_000), Point::new(9_000_000, 1_000_000));
    assert!(index.covers_corridor(0, &fits, 500_000));
    assert!(!index.covers_corridor(0, &fits, 500_001));
    // Along the slit: it is no gap.
    let along_slit = Path::Line(Point::new(1_000_000, 2_000_000), Point::new(3_000_000, 2_000_000));
    assert!(index.covers_corridor(0, &along_slit, 400_000));
    assert!(bare_parts(&along_slit, 400_000, &[ShapeRef::Area { ring: &plane, radius: 0 }]).is_empty());
}

#[test]
fn bare_stretch_over_a_hole() {
    let plane = plane_with_hole();
    let path = Path::Line(Point::new(1_000_000, 2_000_000), Point::new(9_000_000, 2_000_000));
    let bare = bare_parts(&path, 200_000, &[ShapeRef::Area { ring: &plane, radius: 0 }]);
    assert_eq!(bare.len(), 1);
    assert!((bare[0].area - 1e6 * 4e5).abs() < 1e6);
    assert!((bare[0].from - 3.5e6).abs() < 2.0 && (bare[0].to - 4.5e6).abs() < 2.0);
    assert!(!RingIndex::new(&plane).covers_corridor(0, &path, 200_000));
}

#[test]
fn pen_narrows_the_hole() {
    let plane = plane_with_hole();
    let path = Path::Line(Point::new(1_000_000, 2_000_000), Point::new(9_000_000, 2_000_000));
    let bare = bare_parts(&path, 200_000, &[ShapeRef::Area { ring: &plane, radius: 100_000 }]);
    assert_eq!(bare.len(), 1);
    // The hole is 0.8 mm wide now; the corridor is 0.4 mm wide.
    assert!((bare[0].area - 8e5 * 4e5).abs() < 1e7, "{}", bare[0].area);
    // The pen also carries copper 0.1 mm beyond the edge.
    let beside = Path::Line(Point::new(1_000_000, 1_000_000), Point::new(9_000_000, 1_000_000));
    assert!(RingIndex::new(&plane).covers_corridor(100_000, &beside, 600_000));
}

#[test]
fn nothing_covers_a_corridor_without_copper() {
    let path = Path::Line(Point::new(0, 0), Point::new(2_000_000, 0));
    let bare = bare_parts(&path, 100_000, &[]);
    assert_eq!(bare.len(), 1);
    assert!((bare[0].from, bare[0].to) == (0.0, 2e6));
}

/// Two fills that meet edge to edge cover what lies across them; neither does alone.
#[test]
fn fills_cover_together() {
    let left = ring(&[(0, 0), (5_000_000, 0), (5_000_000, 4_000_000), (0, 4_000_000)]);
    let right = ring(&[(5_000_000, 0), (9_000_000, 0), (9_000_000, 4_000_000), (5_000_000, 4_000_000)]);
    let (left, right) = (ShapeRef::Area { ring: &left, radius: 0 }, ShapeRef::Area { ring: &right, radius: 0 });
    let path = Path::Line(Point::new(4_000_000, 2_000_000), Point::new(6_000_000, 2_000_000));
    assert!(bare_parts(&path, 300_000, &[left, right]).is_empty());
    assert_eq!(bare_parts(&path, 300_000, &[left]).len(), 1);
}

proptest! {
    /// The fast test never says "covered" where the exact one finds a bare part, and the bare area is the judge's.
    #[test]
    fn fast_and_exact_agree(corners in star(), a in point(), b in point(), half in 10_000i64..200_000, pen in prop_oneof![Just(0i64), Just(60_000)]) {
        let path = Path::Line(a, b);
        let cover = ShapeRef::Area { ring: &corners, radius: pen };
        let bare = bare_parts(&path, half, &[cover]);
        if RingIndex::new(&corners).covers_corridor(pen, &path, half) {
            prop_assert!(bare.is_empty());
        }
        if pen == 0 {
            let corridor = bare_parts(&path, half, &[]);
            let judge = polygon(&corridor[0].outline).difference(&polygon(&corners)).unsigned_area();
            let found: f64 = bare.iter().map(|part| part.area).sum();
            // Slivers under a micrometre are left out on purpose.
            prop_assert!((judge - found).abs() < 1e3 * (a.distance(b) + to_f64(8 * half)), "{judge} {found}");
        }
        for part in &bare {
            prop_assert!(part.from <= part.to && part.to <= path.length() + 1.0);
        }
    }

    #[test]
    fn shared_area_is_the_judges(one in star(), two in star()) {
        let judge = polygon(&one).intersection(&polygon(&two)).unsigned_area();
        let (one, two) = (ShapeRef::Area { ring: &one, radius: 0 }, ShapeRef::Area { ring: &two, radius: 0 });
        let bounds = Envelope { min: Point::new(-3_000_000, -3_000_000), max: Point::new(3_000_000, 3_000_000) };
        let found = shared_area(&[one], &[two], bounds);
        prop_assert!((judge - found).abs() < 1e8, "{judge} {found}");
    }
}

/// A plane that leaves the corridor's box and passes below it before it comes back: cut to the box, its outline runs
/// along the border and back, a spike without area at its least corner.
#[test]
fn a_plane_that_wanders_past_the_box_still_covers() {
    let plane = ring(&[
        (2_000_000, 2_000_000),
        (-2_000_000, 2_000_000),
        (-2_000_000, -3_000_000),
        (-300_000, -3_000_000),
        (-300_000, -2_500_000),
        (-1_500_000, -2_500_000),
        (-1_500_000, -100_000),
        (2_000_000, -100_000),
    ]);
    let path = Path::Line(Point::new(-400_000, 300_000), Point::new(400_000, -200_000));
    let bare = bare_parts(&path, 50_000, &[ShapeRef::Area { ring: &plane, radius: 0 }]);
    assert_eq!(bare.len(), 1);
    // The edge at y = -0.1 mm is crossed after four fifths of the way, and once more by the corridor's width.
    let along = 0.8 * path.length();
    assert!((along - 100_000.0..along).contains(&bare[0].from), "{}", bare[0].from);
}
