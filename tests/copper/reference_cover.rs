//! Planes under a route, held against sampling: random openings in a plane, random ways across.

use crate::support::starters::{LEFT, P, RIGHT, WIDTH, two_pads};
use crate::support::{Board as Drawn, Generation, read::read, rectangle};
use proptest::prelude::*;
use throughline::copper::reference::LayerReference;
use throughline::copper::{Copper, ItemRef};
use throughline::geometry::{Envelope, Vector};
use throughline::units::Length;

/// A position in mm.
type Position = (f64, f64);

/// A route through corners over a plane with openings.
fn drawn(corners: &[Position], openings: &[(Position, Position)]) -> Drawn {
    let mut drawn = two_pads("cover", P);
    let mut points = vec![(LEFT, 5.0)];
    points.extend_from_slice(corners);
    points.push((RIGHT, 5.0));
    drawn.track(P, "F.Cu", WIDTH, &points);
    for zone in &mut drawn.zones {
        if zone.layers == ["In1.Cu"] {
            for &(at, size) in openings {
                zone.cutouts.push(("In1.Cu".into(), rectangle(at, (at.0 + size.0, at.1 + size.1))));
            }
        }
    }
    drawn.fill_missing();
    drawn
}

/// Length without plane, found by the library, and by asking at many points of the corridor.
fn both_ways(drawn: &Drawn, margin: f64) -> (f64, f64) {
    let board = read(drawn, Generation::V8);
    let copper = Copper::new(&board);
    let net = board.nets.find(P).unwrap();
    let route = &copper.routes(net).routes[0];
    let found = copper.reference(route, &[net], Length::mm(margin));
    let plane = board.layers.find("In1.Cu").unwrap();
    let side = |reference: &LayerReference| reference.below.clone().filter(|side| side.plane == plane);
    let side = found.iter().find_map(side).expect("In1 is the plane");
    let measured: f64 = side.uncovered.iter().map(|stretch| stretch.length().to_mm() * stretch.lost).sum();
    let (mut sampled, half) = (0.0, (WIDTH / 2.0 + margin) * 1e6);
    for step in route.steps.iter().filter(|step| matches!(step.kind, throughline::copper::StepKind::Track(_))) {
        let length = step.path.length();
        let (rows, columns) = (21_u32, throughline::geometry::from_f64((length / 10_000.0).ceil()));
        let mut missing = 0;
        for column in 0..columns {
            for row in 0..rows {
                let along = length * (column as f64 + 0.5) / columns as f64;
                let across = half * (2.0 * (f64::from(row) + 0.5) / f64::from(rows) - 1.0);
                let at: Vector = step.path.point_at(along) + step.path.tangent_at(along).turned() * across;
                let items = copper.items().near(plane, Envelope::of_point(at.to_point()).grown(1));
                let mut fills = items.filter(|(_, item)| matches!(item.source, ItemRef::Fill(_)));
                missing += usize::from(!fills.any(|(id, _)| copper.items().holds(id, at)));
            }
        }
        sampled += length / 1e6 * missing as f64 / (columns as f64 * f64::from(rows));
    }
    (measured, sampled)
}

#[test]
fn a_plane_without_openings_is_whole() {
    assert_eq!(both_ways(&drawn(&[(8.0, 5.0), (10.0, 7.0)], &[]), 0.1), (0.0, 0.0));
}

#[test]
fn one_slot_is_measured_exactly() {
    let (measured, _) = both_ways(&drawn(&[], &[((9.0, 3.0), (1.25, 4.0))]), 0.0);
    assert!((measured - 1.25).abs() < 1e-6, "{measured}");
}

proptest! {
    #![proptest_config(ProptestConfig { cases: 24, failure_persistence: None, ..ProptestConfig::default() })]
    #[test]
    fn uncovered_length_is_what_sampling_finds(
        bends in prop::collection::vec((5.0..15.0_f64, 2.0..8.0_f64), 0..3),
        openings in prop::collection::vec(((4.5..15.0_f64, 1.0..8.0_f64), (0.2..1.5_f64, 0.2..1.5_f64)), 0..6),
        margin in 0.0..0.3_f64,
    ) {
        let mut bends = bends;
        bends.sort_by(|a, b| a.0.total_cmp(&b.0));
        let round = |at: f64| (at * 1000.0).round() / 1000.0;
        let corners: Vec<(f64, f64)> = bends.iter().map(|&(x, y)| (round(x), round(y))).collect();
        let openings: Vec<_> = openings.iter().map(|&((x, y), (w, h))| ((round(x), round(y)), (round(w), round(h)))).collect();
        let board = drawn(&corners, &openings);
        let (measured, sampled) = both_ways(&board, round(margin));
        // A corridor ends in half a disc, so that none is missing outside a bend: over an opening right at the bend both
        // count twice. Each sample stands for a few micrometres of track.
        let discs = std::f64::consts::FRAC_PI_2 * (WIDTH / 2.0 + margin) * corners.len() as f64;
        let tolerance = 0.03 + 0.03 * sampled + discs;
        prop_assert!((measured - sampled).abs() < tolerance, "measured {measured}, sampled {sampled}");
    }
}
