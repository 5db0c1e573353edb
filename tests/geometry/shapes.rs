//! Shapes: distances against `geo` and against closed formulas for capsules; outlines crossed by paths.

use super::{coarse_point, point};
use geo::{Area as _, Contains as _, Distance as _, Euclidean, Line, LineString, Polygon};
use proptest::prelude::*;
use std::f64::consts::PI;
use throughline::geometry::{Arc, Path, Point, Shape, Vector, crossings, to_f64};

fn coord(at: Point) -> geo::Coord<f64> {
    geo::Coord { x: to_f64(at.x), y: to_f64(at.y) }
}

pub fn polygon(ring: &[Point]) -> Polygon<f64> {
    Polygon::new(LineString::new(ring.iter().map(|&at| coord(at)).collect()), vec![])
}

/// A star-shaped ring about a centre: simple by construction.
pub fn star() -> impl Strategy<Value = Vec<Point>> {
    (point(), proptest::collection::vec(50_000.0..900_000.0f64, 3..24)).prop_map(|(centre, radii)| {
        let count = f64::from(u32::try_from(radii.len()).unwrap());
        (0u32..)
            .zip(radii)
            .map(|(at, radius)| {
                (Vector::from(centre) + Vector::at_angle(2.0 * PI * f64::from(at) / count) * radius).to_point()
            })
            .collect()
    })
}

proptest! {
    /// Capsules: the distance of the centre lines, less both radii.
    #[test]
    fn capsule_distance(a in point(), b in point(), c in point(), d in point(), r in 0i64..300_000, s in 0i64..300_000) {
        let one = Shape::Stroke { path: Path::Line(a, b), radius: r };
        let two = Shape::Stroke { path: Path::Line(c, d), radius: s };
        let judge = Euclidean.distance(&Line::new(coord(a), coord(b)), &Line::new(coord(c), coord(d)));
        let expected = (judge - to_f64(r) - to_f64(s)).max(0.0);
        prop_assert!((one.distance(&two) - expected).abs() < 1e-3);
        let gap = one.gap(&two);
        prop_assert!(one.contains(gap.from) || one.view().off(gap.from) < 1e-3);
        prop_assert!(two.view().off(gap.to) < 1e-3);
    }

    /// The same on a coarse grid, where ends meet and lines run on top of each other.
    #[test]
    fn capsule_distance_when_collinear(a in coarse_point(), b in coarse_point(), c in coarse_point(), d in coarse_point()) {
        let judge = Euclidean.distance(&Line::new(coord(a), coord(b)), &Line::new(coord(c), coord(d)));
        prop_assert!((Path::Line(a, b).distance(&Path::Line(c, d)) - judge).abs() < 1e-3);
    }

    #[test]
    fn polygon_distance(one in star(), two in star()) {
        let judge = Euclidean.distance(&polygon(&one), &polygon(&two));
        let (one, two) = (Shape::Area { ring: one, radius: 0 }, Shape::Area { ring: two, radius: 0 });
        prop_assert!((one.distance(&two) - judge).abs() < 1e-3, "{} {}", one.distance(&two), judge);
    }

    #[test]
    fn track_to_polygon(ring in star(), a in point(), b in point(), r in 0i64..200_000, grow in 0i64..50_000) {
        let judge = Euclidean.distance(&Line::new(coord(a), coord(b)), &polygon(&ring));
        let track = Shape::Stroke { path: Path::Line(a, b), radius: r };
        let area = Shape::Area { ring, radius: grow };
        prop_assert!((area.distance(&track) - (judge - to_f64(r) - to_f64(grow)).max(0.0)).abs() < 1e-3);
    }

    #[test]
    fn inside_and_area(ring in star(), at in point()) {
        let judge = polygon(&ring);
        let shape = Shape::Area { ring: ring.clone(), radius: 0 };
        prop_assert!((shape.area() - judge.unsigned_area()).abs() < 1.0);
        let edge = shape.view().core().map(|edge| edge.nearest(at.into()).off).fold(f64::INFINITY, f64::min);
        prop_assume!(edge > 1e-3);
        prop_assert_eq!(shape.contains(at.into()), judge.contains(&geo::Point::from(coord(at))));
    }

    /// Between two neighbouring crossings the path stays on one side; at each it changes sides.
    #[test]
    fn crossings_change_sides(
        ring in star(), grow in prop_oneof![Just(0i64), 1_000i64..100_000], a in point(), b in point(), c in point(),
    ) {
        let shape = Shape::Area { ring, radius: grow };
        let path = Path::Arc(Arc { start: a, mid: b, end: c }).straightened();
        prop_assume!(path.length() < 3e7);
        let cuts = crossings(&path, &[shape.view()]);
        for &cut in &cuts {
            let at = path.point_at(cut);
            let border = shape.view().core().map(|edge| edge.nearest(at).off).fold(f64::INFINITY, f64::min);
            prop_assert!((border - to_f64(grow)).abs() < 2.0, "off the outline by {}", border - to_f64(grow));
        }
        let mut stops = vec![0.0];
        stops.extend(&cuts);
        stops.push(path.length());
        for pair in stops.windows(2) {
            let sample = |share: f64| shape.contains(path.point_at(pair[0] + (pair[1] - pair[0]) * share));
            if pair[1] - pair[0] > 100.0 {
                prop_assert_eq!(sample(0.1), sample(0.9));
                prop_assert_eq!(sample(0.1), sample(0.5));
            }
        }
        prop_assert_eq!(cuts.len() % 2 == 1, shape.contains(a.into()) != shape.contains(path.end().into()));
    }
}

/// A disc of 0.4 mm and a straight path through its centre: in at 0.8 mm, out at 1.2 mm.
#[test]
fn disc_is_crossed_twice() {
    let disc = Shape::disc(Point::new(1_000_000, 0), 200_000);
    let path = Path::Line(Point::new(0, 0), Point::new(2_000_000, 0));
    let cuts = disc.view().crossings(&path);
    assert_eq!(cuts.len(), 2);
    assert!((cuts[0] - 800_000.0).abs() < 1e-6 && (cuts[1] - 1_200_000.0).abs() < 1e-6);
}

/// Two overlapping discs as one pad: the inner outlines don't count.
#[test]
fn union_is_crossed_at_its_outline() {
    let discs = [Shape::disc(Point::new(0, 0), 300_000), Shape::disc(Point::new(400_000, 0), 300_000)];
    let path = Path::Line(Point::new(0, 0), Point::new(2_000_000, 0));
    let cuts = crossings(&path, &[discs[0].view(), discs[1].view()]);
    assert_eq!(cuts.len(), 1);
    assert!((cuts[0] - 700_000.0).abs() < 1e-6);
}

#[test]
fn areas_by_formula() {
    let stadium = Shape::Stroke { path: Path::Line(Point::new(0, 0), Point::new(1_000_000, 0)), radius: 100_000 };
    assert!((stadium.area() - (2e11 + PI * 1e10)).abs() < 1.0);
    let rounded = Shape::Area {
        ring: [(0, 0), (1_000_000, 0), (1_000_000, 500_000), (0, 500_000)].map(|(x, y)| Point::new(x, y)).to_vec(),
        radius: 100_000,
    };
    assert!((rounded.area() - (5e11 + 3e6 * 1e5 + PI * 1e10)).abs() < 1.0);
}

/// Overlapping tracks: the gap's two places are one, and both tracks hold it.
#[test]
fn overlap_has_a_place() {
    let one = Shape::Stroke { path: Path::Line(Point::new(0, 0), Point::new(1_000_000, 0)), radius: 100_000 };
    let two =
        Shape::Stroke { path: Path::Line(Point::new(0, 150_000), Point::new(1_000_000, 150_000)), radius: 90_000 };
    let gap = one.gap(&two);
    assert_eq!(gap.distance, 0.0);
    assert_eq!(gap.from, gap.to);
    assert!(one.contains(gap.from) && two.contains(gap.from));
}
