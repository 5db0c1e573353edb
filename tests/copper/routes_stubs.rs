//! Stubs on drawn boards: branches, dangling ends, barrels, and copper that only looks like one.

use crate::routes_drawing::{board, land, layer, net, pad, same, two_lands, two_lands_on};
use crate::support::part::Hole;
use crate::support::{Board as Drawn, Pad, PadShape, Part, Stack};
use throughline::board::LayerSet;
use throughline::copper::{BarrelOf, Copper, Stubs};
use throughline::geometry::Point;

const W: f64 = 0.15;

fn stubs(drawn: &Drawn) -> Stubs {
    let board = board(drawn);
    Copper::new(&board).stubs(net(&board, "A")).clone()
}

fn straight() -> Drawn {
    let mut drawn = two_lands();
    drawn.track("A", "F.Cu", W, &[(5.0, 5.0), (15.0, 5.0)]);
    drawn
}

const fn at(x: i64, y: i64) -> Point {
    Point::new(x * 1000, y * 1000)
}

#[test]
fn a_branch_is_as_long_as_its_way_from_the_route() {
    let mut drawn = straight();
    drawn.track("A", "F.Cu", W, &[(9.0, 5.0), (9.0, 7.0), (10.0, 7.0)]);
    let found = stubs(&drawn).branches;
    assert_eq!(found.len(), 1);
    same(found[0].length.to_mm(), 3.0);
    assert_eq!((found[0].at, found[0].end), (at(9000, 5000), at(10_000, 7000)));
    assert_eq!(found[0].items.len(), 2);
}

#[test]
fn a_forked_branch_is_one_stub_with_the_length_of_its_longest_arm() {
    let mut drawn = straight();
    drawn.track("A", "F.Cu", W, &[(9.0, 5.0), (9.0, 7.0), (10.0, 7.0)]);
    drawn.track("A", "F.Cu", W, &[(9.0, 7.0), (9.0, 9.5)]);
    let found = stubs(&drawn).branches;
    assert_eq!(found.len(), 1);
    same(found[0].length.to_mm(), 4.5);
    assert_eq!(found[0].items.len(), 3);
}

#[test]
fn a_dangling_end_beyond_a_pad_counts_from_the_anchor_and_one_inside_it_does_not() {
    let mut drawn = straight();
    drawn.track("A", "F.Cu", W, &[(15.0, 5.0), (15.2, 5.0)]);
    assert_eq!(stubs(&drawn).branches, []);
    drawn.track("A", "F.Cu", W, &[(15.2, 5.0), (16.0, 5.0)]);
    let found = stubs(&drawn).branches;
    assert_eq!(found.len(), 1);
    same(found[0].length.to_mm(), 1.0);
}

#[test]
fn overhang_inside_the_route_s_own_copper_is_no_stub() {
    let mut drawn = straight();
    // A second way beside the first, 10 um off and overlapping, that ends nowhere.
    drawn.track("A", "F.Cu", 0.1, &[(7.0, 5.01), (12.0, 5.01)]);
    // An end that runs past a corner by less than half the width.
    drawn.track("A", "F.Cu", W, &[(8.0, 5.0), (8.0, 5.06)]);
    assert_eq!(stubs(&drawn).branches, []);
}

#[test]
fn a_test_pad_ends_a_route_and_a_pad_of_another_part_does_too() {
    let mut drawn = straight();
    drawn.part(land("TP1", (9.0, 8.0), (0.5, 0.5)));
    drawn.track("A", "F.Cu", W, &[(9.0, 5.0), (9.0, 8.0)]);
    // An in-line test pad on the track itself.
    drawn.part(land("TP2", (12.0, 5.0), (0.5, 0.5)));
    assert_eq!(stubs(&drawn).branches, []);
}

#[test]
fn the_pad_of_a_part_that_is_not_fitted_ends_a_stub_unless_nothing_else_ends_the_net() {
    let mut drawn = straight();
    drawn.part(land("R1", (9.0, 8.0), (0.5, 0.5)));
    drawn.track("A", "F.Cu", W, &[(9.0, 5.0), (9.0, 8.0)]);
    drawn.parts[2].unfitted = true;
    let found = stubs(&drawn).branches;
    assert_eq!(found.len(), 1);
    same(found[0].length.to_mm(), 3.0);
    assert_eq!(found[0].items.len(), 2, "track and land");
    drawn.parts[1].unfitted = true;
    assert_eq!(stubs(&drawn).branches, []);
}

#[test]
fn a_ring_that_hangs_by_one_point_is_a_stub_and_a_second_way_is_not() {
    let mut drawn = straight();
    let ring = [(9.0, 5.0), (9.0, 8.0), (11.0, 8.0), (9.0, 5.0)];
    drawn.track("A", "F.Cu", W, &ring);
    assert_eq!(stubs(&drawn).branches.len(), 1);
    let mut drawn = straight();
    drawn.track("A", "F.Cu", W, &[(9.0, 5.0), (9.0, 8.0), (11.0, 8.0), (11.0, 5.0)]);
    assert_eq!(stubs(&drawn).branches, []);
}

#[test]
fn a_branch_from_the_unused_part_of_a_barrel_is_found() {
    let mut drawn = two_lands();
    drawn.track("A", "F.Cu", W, &[(5.0, 5.0), (8.0, 5.0)]);
    drawn.via("A", (8.0, 5.0));
    drawn.track("A", "In1.Cu", W, &[(8.0, 5.0), (12.0, 5.0)]);
    drawn.via("A", (12.0, 5.0));
    drawn.track("A", "F.Cu", W, &[(12.0, 5.0), (15.0, 5.0)]);
    drawn.track("A", "B.Cu", W, &[(8.0, 5.0), (8.0, 6.0)]);
    let found = stubs(&drawn);
    assert_eq!(found.branches.len(), 1);
    same(found.branches[0].length.to_mm(), 1.0);
    // In1 to B: 0.00875 + 0.465 + 0.0175 + 0.1 + 0.0175.
    same(found.branches[0].height.unwrap().to_mm(), 0.60875);
    assert_eq!(found.barrels.len(), 2);
}

#[test]
fn a_barrel_tells_both_stubs_and_its_unused_lands() {
    let mut drawn = two_lands_on(Stack::six());
    for (pair, layers) in [((6.0, 8.0), "In2.Cu"), ((12.0, 14.0), "In2.Cu")] {
        drawn.track("A", layers, W, &[(pair.0, 5.0), (pair.1, 5.0)]);
    }
    drawn.track("A", "F.Cu", W, &[(5.0, 5.0), (6.0, 5.0)]);
    drawn.via("A", (6.0, 5.0)).span("F.Cu", "In2.Cu");
    drawn.via("A", (8.0, 5.0));
    drawn.track("A", "In3.Cu", W, &[(8.0, 5.0), (12.0, 5.0)]);
    drawn.via("A", (12.0, 5.0));
    drawn.via("A", (14.0, 5.0)).span("F.Cu", "In2.Cu");
    drawn.track("A", "F.Cu", W, &[(14.0, 5.0), (15.0, 5.0)]);
    let board = board(&drawn);
    let copper = Copper::new(&board);
    let barrels = &copper.stubs(net(&board, "A")).barrels;
    assert_eq!(barrels.len(), 4);
    let middle = barrels.iter().find(|barrel| barrel.at == at(8000, 5000)).unwrap();
    let [top, inner1, inner2, inner3, inner4, bottom] =
        ["F.Cu", "In1.Cu", "In2.Cu", "In3.Cu", "In4.Cu", "B.Cu"].map(|name| layer(&board, name));
    assert_eq!(middle.used, (inner2, inner3));
    let (upper, lower) = (middle.upper.unwrap(), middle.lower.unwrap());
    assert_eq!((upper.from, upper.to, lower.from, lower.to), (inner2, top, inner3, bottom));
    // 0.00875 + 0.2 + 0.0175 + 0.1 + 0.035, the same on both sides.
    same(upper.length.unwrap().to_mm(), 0.36125);
    same(lower.length.unwrap().to_mm(), 0.36125);
    assert_eq!(middle.unused_lands, [top, inner1, inner4, bottom].into_iter().collect::<LayerSet>());
    let end = barrels.iter().find(|barrel| barrel.at == at(6000, 5000)).unwrap();
    assert_eq!((end.upper, end.lower), (None, None));
    assert_eq!(end.unused_lands, LayerSet::one(inner1));
}

#[test]
fn a_via_without_unused_lands_has_none() {
    let mut drawn = two_lands();
    drawn.track("A", "F.Cu", W, &[(5.0, 5.0), (8.0, 5.0)]);
    drawn.via("A", (8.0, 5.0)).remove_unused = true;
    drawn.track("A", "B.Cu", W, &[(8.0, 5.0), (12.0, 5.0)]);
    drawn.via("A", (12.0, 5.0));
    drawn.track("A", "F.Cu", W, &[(12.0, 5.0), (15.0, 5.0)]);
    let found = stubs(&drawn);
    assert_eq!(found.barrels.iter().map(|barrel| barrel.unused_lands.len()).collect::<Vec<_>>(), [0, 2]);
}

#[test]
fn a_pin_s_barrel_is_used_from_its_part_s_side() {
    let mut drawn = two_lands();
    let hole = Pad::hole("1", PadShape::Circle, (0.0, 0.0), (1.0, 1.0), Hole::Round(0.6)).net("A");
    drawn.part(Part::new("X1", (10.0, 5.0)).pad(hole));
    drawn.track("A", "F.Cu", W, &[(5.0, 5.0), (15.0, 5.0)]);
    let board = board(&drawn);
    let copper = Copper::new(&board);
    let [barrel] = copper.stubs(net(&board, "A")).barrels.as_slice() else { panic!("one barrel") };
    assert_eq!(barrel.of, BarrelOf::Pad(pad(&board, "X1.1")));
    let top = layer(&board, "F.Cu");
    assert_eq!(barrel.used, (top, top));
    // 0.0175 + 0.1 + 0.0175 + 0.465 + 0.0175 + 0.1 + 0.035.
    same(barrel.lower.unwrap().length.unwrap().to_mm(), 0.7525);
}

#[test]
fn a_pour_that_hangs_by_one_point_is_a_branch() {
    let mut drawn = straight();
    drawn.track("A", "F.Cu", W, &[(9.0, 5.0), (9.0, 6.0)]);
    drawn.zone("A", &["F.Cu"], &crate::support::rectangle((8.0, 6.0), (10.0, 9.0)));
    drawn.fill();
    let found = stubs(&drawn).branches;
    assert_eq!(found.len(), 1, "{found:#?}");
    // One millimetre of track, then to a far corner of the pour, which is rounded by 0.05.
    assert!((found[0].length.to_mm() - 1.0 - 3.0f64.hypot(1.0)).abs() < 0.05, "{:?}", found[0].length);
    assert_eq!(found[0].items.len(), 2);
}

#[test]
fn a_net_with_one_pad_has_no_route_and_so_no_stub() {
    let mut drawn = Drawn::new("alone", Stack::two());
    drawn.outline((0.0, 0.0), (20.0, 10.0));
    drawn.part(land("U1", (5.0, 5.0), (0.5, 0.5)));
    drawn.track("A", "F.Cu", W, &[(5.0, 5.0), (9.0, 5.0)]);
    drawn.via("A", (9.0, 5.0));
    assert_eq!(stubs(&drawn), Stubs::default());
}
