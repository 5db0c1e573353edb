//! The kernel that finds where one centre line runs beside another.

use proptest::prelude::*;
use throughline::board::LayerId;
use throughline::copper::coupling::{Beside, Reach, Strand, advancing, around_bends, beside};
use throughline::geometry::{Arc, Path, Point};

const REACH: Reach = Reach { gap: 400_000.0, either_way: false };

/// Tracks of one leg end to end; coordinates in micrometres.
fn leg(width: i64, paths: &[Path]) -> Vec<Strand> {
    let mut start = 0.0;
    let mut out = Vec::new();
    for &path in paths {
        out.push(Strand { layer: LayerId(0), path, width: width * 1000, start });
        start += path.length();
    }
    out
}

fn um(x: i64, y: i64) -> Point {
    Point::new(x * 1000, y * 1000)
}

fn line(points: &[(i64, i64)]) -> Vec<Path> {
    points.windows(2).map(|leg| Path::Line(um(leg[0].0, leg[0].1), um(leg[1].0, leg[1].1))).collect()
}

fn total(found: &[Beside]) -> f64 {
    found.iter().map(Beside::length).sum()
}

#[test]
fn two_straight_lines() {
    let p = leg(100, &line(&[(0, 0), (5000, 0)]));
    let n = leg(100, &line(&[(1000, 250), (4000, 250)]));
    let found = beside(&p, &n, REACH);
    assert_eq!(found.len(), 1);
    assert_eq!(found[0].leg, [1e6, 4e6]);
    assert_eq!(found[0].mate, [0.0, 3e6]);
    assert_eq!(found[0].gap, [150_000.0; 2]);
}

#[test]
fn out_of_reach_is_not_beside() {
    let p = leg(100, &line(&[(0, 0), (5000, 0)]));
    assert!(beside(&p, &leg(100, &line(&[(0, 501), (5000, 501)])), REACH).is_empty());
    assert_eq!(total(&beside(&p, &leg(100, &line(&[(0, 500), (5000, 500)])), REACH)), 5e6);
}

#[test]
fn another_layer_and_crossing_lines_are_not_beside() {
    let p = leg(100, &line(&[(0, 0), (5000, 0)]));
    let mut n = leg(100, &line(&[(0, 200), (5000, 200)]));
    n[0].layer = LayerId(1);
    assert!(beside(&p, &n, REACH).is_empty());
    assert!(beside(&p, &leg(100, &line(&[(2000, -500), (2500, 500)])), REACH).is_empty());
}

#[test]
fn lines_that_drift_apart_are_beside_while_in_reach() {
    // 0.2 mm to 0.8 mm (centres) over 6 mm, about 5.7 degrees.
    let p = leg(100, &line(&[(0, 0), (6000, 0)]));
    let n = leg(100, &line(&[(0, 200), (6000, 800)]));
    let found = beside(&p, &n, REACH);
    let length = total(&found);
    assert!((length - 3e6).abs() < 30_000.0, "{length}");
    assert!((found[0].gap[1] - 400_000.0).abs() < 1.0);
}

#[test]
fn opposite_walk_counts_only_when_asked_for() {
    let p = leg(100, &line(&[(0, 0), (5000, 0)]));
    let n = leg(100, &line(&[(5000, 200), (0, 200)]));
    assert!(beside(&p, &n, REACH).is_empty());
    assert_eq!(total(&beside(&p, &n, Reach { either_way: true, ..REACH })), 5e6);
}

#[test]
fn a_bend_matches_straight_parts_and_shifts_the_mate() {
    // A right-angled bend; N is inside, 0.2 mm apart: N is 0.4 mm shorter.
    let p = leg(100, &line(&[(0, 0), (5000, 0), (5000, 5000)]));
    let n = leg(100, &line(&[(0, 200), (4800, 200), (4800, 5000)]));
    let found = advancing(beside(&p, &n, REACH));
    let shift = |found: &Beside| found.leg[1] - found.mate[1];
    assert_eq!(found.len(), 2);
    assert_eq!(shift(&found[0]), 0.0);
    assert_eq!(shift(&found[1]), 400_000.0);
    // The way around the bend is beside too: nothing is left over but what lies beyond the mate's ends.
    let around = around_bends(found, 100_000.0);
    assert_eq!(around.len(), 3);
    assert!(around[1].bend);
    assert_eq!((around[1].leg, around[1].mate), ([4.8e6, 5.2e6], [4.8e6, 4.8e6]));
}

#[test]
fn concentric_arcs_match_by_angle_exactly() {
    // A quarter circle about (0, 0): radius 2 mm outside, 1.8 mm inside.
    let arc = |r: i64| {
        let half = i64::from((r as f64 * 1000.0 * std::f64::consts::FRAC_1_SQRT_2).round() as i32);
        Path::Arc(Arc { start: um(r, 0), mid: Point::new(half, half), end: um(0, r) })
    };
    let (p, n) = (leg(100, &[arc(2000)]), leg(100, &[arc(1800)]));
    let found = advancing(beside(&p, &n, REACH));
    let quarter = std::f64::consts::FRAC_PI_2;
    assert!((total(&found) - 2e6 * quarter).abs() < 10.0, "{}", total(&found));
    let last = found.last().unwrap();
    assert!((last.leg[1] - last.mate[1] - 200_000.0 * quarter).abs() < 3.0);
    assert!(found.iter().all(|found| found.gap.iter().all(|gap| (gap - 100_000.0).abs() < 3.0)));
}

#[test]
fn arcs_beside_chorded_arcs_are_matched_to_micrometres() {
    // P is an arc of 3 mm; N follows inside with 30 straight chords.
    let at = |r: f64, turn: f64| Point::new((r * turn.cos()).round() as i64, (r * turn.sin()).round() as i64);
    let quarter = std::f64::consts::FRAC_PI_2;
    let arc = Path::Arc(Arc { start: at(3e6, 0.0), mid: at(3e6, quarter / 2.0), end: at(3e6, quarter) });
    let chords: Vec<Path> = (0..30)
        .map(|step| {
            let turn = |step: i32| quarter * f64::from(step) / 30.0;
            Path::Line(at(2.8e6, turn(step)), at(2.8e6, turn(step + 1)))
        })
        .collect();
    let (p, n) = (leg(100, &[arc]), leg(100, &chords));
    let found = around_bends(advancing(beside(&p, &n, REACH)), 100_000.0);
    assert!(total(&found) > 0.998 * arc.length(), "{} of {}", total(&found), arc.length());
    for stretch in &found {
        let expected = stretch.leg[1] * 2.8 / 3.0;
        assert!((stretch.mate[1] - expected).abs() < 5_000.0, "{} {expected}", stretch.mate[1]);
    }
}

#[test]
fn a_meander_of_one_leg_is_beside_where_it_runs_along() {
    // N goes straight; P makes one bump of 0.2 mm height.
    let p = leg(100, &line(&[(0, 0), (2000, 0), (2000, -200), (3000, -200), (3000, 0), (5000, 0)]));
    let n = leg(100, &line(&[(0, 200), (5000, 200)]));
    let found = advancing(beside(&p, &n, REACH));
    assert_eq!(total(&found), 5e6);
    let last = found.last().unwrap();
    assert_eq!(last.leg[1] - last.mate[1], 400_000.0);
}

#[test]
fn the_nearer_of_two_parallel_strands_counts() {
    // The mate passes by twice, 0.2 mm and 0.4 mm away.
    let p = leg(100, &line(&[(0, 0), (5000, 0)]));
    let n = leg(100, &line(&[(0, 200), (5000, 200), (5000, 400), (5100, 400)]));
    let mut twice = n.clone();
    twice.extend(leg(100, &line(&[(0, 400), (5000, 400)])).into_iter().map(|strand| Strand { start: 6e6, ..strand }));
    let found = beside(&p, &twice, REACH);
    assert_eq!(found.len(), 1);
    assert_eq!(found[0].mate, [0.0, 5e6]);
}

#[test]
fn a_match_that_jumps_back_is_dropped() {
    let stretch = |leg: [f64; 2], mate: [f64; 2]| Beside {
        leg,
        mate,
        gap: [1e5; 2],
        at: [um(0, 0).into(); 2],
        layer: LayerId(0),
        bend: false,
    };
    let chain = [stretch([0.0, 1e6], [0.0, 1e6]), stretch([2e6, 5e6], [2e6, 5e6])];
    let stray = stretch([1.2e6, 1.5e6], [7e6, 7.3e6]);
    let kept = advancing(vec![chain[0], stray, chain[1]]);
    assert_eq!(kept, chain);
}

/// A leg of unit steps in the eight directions, and its mate beside it.
type Corners = Vec<(i64, i64)>;

fn walks() -> impl Strategy<Value = (Corners, Corners)> {
    let steps = prop::collection::vec((1_i64..20, -1_i64..=1), 1..8);
    (steps, 150_i64..450).prop_map(|(steps, apart)| {
        let mut p = vec![(0, 0)];
        for (length, turn) in steps {
            let &(x, y) = p.last().unwrap();
            p.push((x + length * 100, y + turn * length * 100));
        }
        let n = p.iter().map(|&(x, y)| (x, y + apart)).collect();
        (p, n)
    })
}

proptest! {
    #[test]
    fn swapping_the_legs_swaps_the_matches((p, n) in walks()) {
        let (p, n) = (leg(100, &line(&p)), leg(120, &line(&n)));
        let one = beside(&p, &n, REACH);
        let mut two = beside(&n, &p, REACH);
        two.sort_by(|a, b| a.mate[0].total_cmp(&b.mate[0]));
        prop_assert_eq!(one.len(), two.len());
        for (a, b) in one.iter().zip(&two) {
            for end in 0..2 {
                prop_assert!((a.leg[end] - b.mate[end]).abs() < 0.01);
                prop_assert!((a.mate[end] - b.leg[end]).abs() < 0.01);
                prop_assert!((a.gap[end] - b.gap[end]).abs() < 0.01);
            }
        }
    }

    #[test]
    fn moving_mirroring_and_turning_changes_no_number((p, n) in walks(), dx in -90_000_i64..90_000, turn in 0_usize..8) {
        let place = |&(x, y): &(i64, i64)| {
            let (x, y) = if turn >= 4 { (-x, y) } else { (x, y) };
            let (x, y) = [(x, y), (-y, x), (-x, -y), (y, -x)][turn % 4];
            (x + dx, y - dx)
        };
        let moved = |points: &[(i64, i64)]| leg(100, &line(&points.iter().map(place).collect::<Vec<_>>()));
        let one = beside(&leg(100, &line(&p)), &leg(100, &line(&n)), REACH);
        let two = beside(&moved(&p), &moved(&n), REACH);
        prop_assert_eq!(one.len(), two.len());
        for (a, b) in one.iter().zip(&two) {
            prop_assert!((a.leg[0] - b.leg[0]).abs() < 0.01 && (a.mate[1] - b.mate[1]).abs() < 0.01);
        }
    }

    #[test]
    fn stretches_are_in_order_and_don_t_overlap((p, n) in walks()) {
        let found = beside(&leg(100, &line(&p)), &leg(100, &line(&n)), REACH);
        for pair in found.windows(2) {
            prop_assert!(pair[0].leg[1] <= pair[1].leg[0] + 0.01);
        }
        prop_assert!(found.iter().all(|found| found.gap.iter().all(|&gap| gap <= REACH.gap + 0.01)));
    }
}
