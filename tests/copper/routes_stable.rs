//! The length rule holds still: an edit that leaves the copper as it is, or moves it a little, changes lengths as
//! little.

use crate::routes_drawing::{board, land, only_route, planar, two_lands};
use crate::support::{Board as Drawn, Path, Track};
use proptest::prelude::*;
use throughline::copper::Copper;

const W: f64 = 0.15;

/// A millimetre value on the grid.
fn grid(range: std::ops::RangeInclusive<i32>) -> impl Strategy<Value = f64> {
    range.prop_map(|nm| f64::from(nm) / 1e6)
}

/// U1.1 at (5, 5), 0.5 mm square, and a way to J1.1 at (15, 5) through corners.
fn way(corners: &[(f64, f64)]) -> Drawn {
    let mut drawn = two_lands();
    let points: Vec<(f64, f64)> =
        [(5.0, 5.0)].into_iter().chain(corners.iter().copied()).chain([(15.0, 5.0)]).collect();
    drawn.track("A", "F.Cu", W, &points);
    drawn
}

/// Cuts a track in two at a share of its length.
fn split(track: &Track, share: f64) -> [Track; 2] {
    let with = |path| Track { path, ..track.clone() };
    match track.path {
        Path::Line(start, end) => {
            let round = |value: f64| (value * 1e6).round() / 1e6;
            let at = (round(start.0 + (end.0 - start.0) * share), round(start.1 + (end.1 - start.1) * share));
            [with(Path::Line(start, at)), with(Path::Line(at, end))]
        }
        Path::Arc(start, _, end) => {
            let [first, second] = [(0.0, share), (share, 1.0)].map(|(from, to)| {
                let point = |share: f64| turned(start, share * angle(start, end));
                let ends = (if from > 0.0 { point(from) } else { start }, if to < 1.0 { point(to) } else { end });
                with(Path::Arc(ends.0, point(f64::midpoint(from, to)), ends.1))
            });
            [first, second]
        }
    }
}

type Point = (f64, f64);

/// Centre of the one arc of these tests.
const CENTRE: Point = (7.0, 7.05);

/// Signed angle about the centre from one point to another, less than half a turn.
fn angle(one: Point, other: Point) -> f64 {
    let (a, b) = ((one.0 - CENTRE.0, one.1 - CENTRE.1), (other.0 - CENTRE.0, other.1 - CENTRE.1));
    (a.0 * b.1 - a.1 * b.0).atan2(a.0 * b.0 + a.1 * b.1)
}

/// A point turned about the centre, on the grid.
fn turned(point: Point, angle: f64) -> Point {
    let (x, y) = (point.0 - CENTRE.0, point.1 - CENTRE.1);
    let round = |value: f64| (value * 1e6).round() / 1e6;
    (round(CENTRE.0 + x * angle.cos() - y * angle.sin()), round(CENTRE.1 + x * angle.sin() + y * angle.cos()))
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(48))]

    /// A corner that moves through the pad's right edge.
    #[test]
    fn a_corner_that_moves_in_and_out_of_a_pad_changes_length_as_little(
        x in grid(5_100_000..=5_400_000), y in grid(4_800_000..=5_200_000),
        dx in grid(-20_000..=20_000), dy in grid(-20_000..=20_000), beyond in grid(4_600_000..=5_400_000),
    ) {
        let length = |x: f64, y: f64| planar(&way(&[(x, y), (8.0, beyond)]));
        let moved = dx.hypot(dy);
        let change = (length(x + dx, y + dy) - length(x, y)).abs();
        // Both legs at the corner change by at most as much as it moves; where it lies inside the pad, the point
        // where the way leaves the pad moves by no more than 1 / sin of the angle at the edge, here at most 5.
        prop_assert!(change <= 6.0 * moved + 1e-5, "{change} for a move of {moved}");
    }

    /// Corners inside the pad do not count at all, wherever they are.
    #[test]
    fn what_a_track_does_inside_its_pad_does_not_count(
        inside in prop::collection::vec((grid(4_760_000..=5_240_000), grid(4_760_000..=5_240_000)), 1..5),
    ) {
        // The last of them is fixed, so that the way leaves the pad in one place.
        let corners: Vec<Point> = inside.into_iter().chain([(5.2, 5.1), (8.0, 5.1)]).collect();
        let expected = 0.25f64.hypot(0.1) + (8.0 - 5.25) + 7.0f64.hypot(0.1);
        let length = planar(&way(&corners));
        prop_assert!((length - expected).abs() < 2e-6, "{length} is not {expected}");
    }

    /// Tracks split anywhere, drawn backwards, drawn twice and in any order are the same copper.
    #[test]
    fn splits_order_direction_and_doubles_do_not_count(
        cuts in prop::collection::vec((any::<prop::sample::Index>(), 0.0f64..=1.0), 0..12),
        doubles in prop::collection::vec(any::<prop::sample::Index>(), 0..4),
        backwards in prop::collection::vec(any::<bool>(), 64),
        order in any::<prop::sample::Index>(),
    ) {
        let mut drawn = two_lands();
        drawn.track("A", "F.Cu", W, &[(5.0, 5.0), (5.1, 5.05), (7.0, 5.05)]);
        let k = std::f64::consts::FRAC_1_SQRT_2;
        drawn.arc("A", "F.Cu", W, (7.0, 5.05), (7.0 + 2.0 * k, 7.05 - 2.0 * k), (9.0, 7.05));
        drawn.track("A", "F.Cu", W, &[(9.0, 7.05), (9.0, 8.0), (14.0, 8.0), (14.0, 5.0), (15.0, 5.0)]);
        drawn.part(land("TP1", (11.0, 8.0), (0.4, 0.4)));
        let lengths = |drawn: &Drawn| {
            let board = board(drawn);
            let copper = Copper::new(&board);
            let net = board.nets.find("A").unwrap();
            let found: Vec<(f64, bool)> = copper
                .routes(net)
                .routes
                .iter()
                .map(|route| (route.length.planar().to_mm(), route.looped))
                .collect();
            (found, copper.stubs(net).branches.len())
        };
        let (plain, stubs) = lengths(&drawn);
        prop_assert_eq!((plain.len(), stubs), (3, 0));
        let count = f64::from(u32::try_from(cuts.len()).unwrap());
        for (at, share) in cuts {
            let row = at.index(drawn.tracks.len());
            let halves = split(&drawn.tracks[row].clone(), share);
            drawn.tracks.splice(row..=row, halves);
        }
        for at in doubles {
            let track = drawn.tracks[at.index(drawn.tracks.len())].clone();
            drawn.tracks.push(track);
        }
        for (track, turn) in drawn.tracks.iter_mut().zip(backwards) {
            if turn {
                track.path = match track.path {
                    Path::Line(start, end) => Path::Line(end, start),
                    Path::Arc(start, mid, end) => Path::Arc(end, mid, start),
                };
            }
        }
        let at = order.index(drawn.tracks.len());
        drawn.tracks.rotate_left(at);
        let (edited, stubs) = lengths(&drawn);
        prop_assert_eq!(stubs, 0);
        for ((one, looped), (two, still)) in plain.iter().zip(&edited) {
            // Points nearer than a micrometre are one, so a piece shorter than that may be lost at each cut.
            prop_assert!((one - two).abs() < 0.1e-3 + 1e-3 * count, "{} is not {}", two, one);
            prop_assert_eq!((*looped, *still), (false, false));
        }
    }

    /// A board that is moved and turned by quarter turns keeps its lengths to the nanometre.
    #[test]
    fn place_and_quarter_turns_do_not_count(
        dx in grid(-40_000_000..=40_000_000), dy in grid(-40_000_000..=40_000_000), turns in 0u8..4,
        corners in prop::collection::vec((grid(5_500_000..=14_500_000), grid(2_000_000..=8_000_000)), 0..6),
    ) {
        let plain = way(&corners);
        let turn = |(x, y): Point| {
            let (x, y) = (0..turns).fold((x, y), |(x, y), _| (y, -x));
            (x + dx, y + dy)
        };
        let mut moved = plain.clone();
        for part in &mut moved.parts {
            part.at = turn(part.at);
            part.angle = 90.0 * f64::from(turns);
        }
        for track in &mut moved.tracks {
            if let Path::Line(start, end) = track.path {
                track.path = Path::Line(turn(start), turn(end));
            }
        }
        let (one, two) = (only_route(&board(&plain)), only_route(&board(&moved)));
        prop_assert!((one.length.planar().to_mm() - two.length.planar().to_mm()).abs() < 3e-6);
        prop_assert_eq!(one.looped, two.looped);
        prop_assert_eq!(one.steps.len(), two.steps.len());
    }
}
