//! Routes and their lengths on drawn boards.

use crate::routes_drawing::{
    board, board_of, land, layer, net, only_route, pad, planar, same, two_lands, two_lands_on,
};
use crate::support::part::Hole;
use crate::support::part::PadShape;
use crate::support::{Board as Drawn, Generation, Pad, Part, Stack, rectangle};
use throughline::copper::{Copper, StepKind};

const W: f64 = 0.15;

/// The pair of the format notes: two parts, on top at 90° and on the bottom; a bend, a via, and the way on below.
fn known_pair(arcs: bool) -> Drawn {
    let mut drawn = Drawn::new("known-pair", Stack::four());
    drawn.outline((100.0, 50.0), (130.0, 70.0));
    let quad = |reference: &str, at| {
        Part::new(reference, at)
            .pad(Pad::rect("1", (-1.0, -0.25), (0.8, 0.3)).net("P"))
            .pad(Pad::rect("2", (-1.0, 0.25), (0.8, 0.3)).net("N"))
    };
    drawn.part(quad("U1", (106.0, 56.0)).rotated(90.0));
    drawn.part(quad("J1", (123.0, 60.0)).bottom());
    for (net, x, y, r, via) in [("P", 105.75, 60.25, 1.0, 60.4), ("N", 106.25, 59.75, 0.5, 59.6)] {
        drawn.track(net, "F.Cu", W, &[(x, 57.0), (x, y - r)]);
        if arcs {
            let k = r * std::f64::consts::FRAC_1_SQRT_2;
            drawn.arc(net, "F.Cu", W, (x, y - r), (x + r - k, y - r + k), (x + r, y));
        } else {
            drawn.track(net, "F.Cu", W, &[(x, y - r), (x + r, y)]);
        }
        drawn.track(net, "F.Cu", W, &[(x + r, y), (113.85, y), (114.0, via)]);
        drawn.via(net, (114.0, via));
        drawn.track(net, "B.Cu", W, &[(114.0, via), (114.15, y), (122.0, y)]);
    }
    drawn
}

#[test]
fn hand_drawn_pairs_have_their_known_lengths_in_every_generation() {
    for generation in Generation::ALL {
        for arcs in [false, true] {
            if arcs && !generation.arcs() {
                continue;
            }
            let (p, n) = if arcs { (19.1951, 18.4097) } else { (19.0385, 18.3314) };
            let board = board_of(&known_pair(arcs), generation);
            let copper = Copper::new(&board);
            for (name, known) in [("P", p), ("N", n)] {
                let [route] = copper.routes(net(&board, name)).routes.as_slice() else { panic!("{name}: no route") };
                let length = route.length.planar().to_mm();
                assert!((length - known).abs() < 5e-5, "{generation:?} {name}: {length} is not {known}");
                assert_eq!(route.length.barrels, [(layer(&board, "F.Cu"), layer(&board, "B.Cu"))]);
                assert_eq!(route.length.arcs.to_mm() > 0.1, arcs);
                assert!(!route.looped);
                // The foils' halves and all between them: 0.0175 + 0.1 + 0.0175 + 0.465 + 0.0175 + 0.1 + 0.0175.
                let vias = route.length.vias.map(|length| length.to_mm());
                if generation.stackup() { same(vias.unwrap(), 0.735) } else { assert_eq!(vias, None) }
            }
        }
    }
}

#[test]
fn contributions_stand_apart_and_add_up() {
    let mut drawn = two_lands();
    drawn.parts[1].pads[0].package_length = Some(1.25);
    drawn.track("A", "F.Cu", W, &[(5.0, 5.0), (9.0, 5.0)]);
    drawn.via("A", (9.0, 5.0));
    drawn.track("A", "In2.Cu", W, &[(9.0, 5.0), (12.0, 5.0)]);
    drawn.via("A", (12.0, 5.0));
    drawn.track("A", "F.Cu", W, &[(12.0, 5.0), (15.0, 5.0)]);
    let length = only_route(&board(&drawn)).length;
    same(length.tracks.to_mm(), 10.0 - 0.5);
    same(length.pads.to_mm(), 0.5);
    same(length.package.to_mm(), 1.25);
    same(length.joins.to_mm(), 0.0);
    // Down to In2 and up again: twice 0.0175 + 0.1 + 0.0175 + 0.465 + 0.00875.
    same(length.vias.unwrap().to_mm(), 2.0 * 0.60875);
    same(length.total().unwrap().to_mm(), 10.0 + 1.25 + 2.0 * 0.60875);
}

#[test]
fn steps_join_end_to_end_and_tell_their_position() {
    let board = board(&known_pair(true));
    let copper = Copper::new(&board);
    let route = &copper.routes(net(&board, "P")).routes[0];
    let mut at = 0.0;
    for pair in route.steps.windows(2) {
        assert_eq!(pair[0].path.end(), pair[1].path.start());
        assert_eq!(pair[0].to_layer, pair[1].layer);
        same(pair[0].start.to_mm(), at);
        at += pair[0].length.to_mm();
    }
    assert!(matches!(route.steps.first().unwrap().kind, StepKind::Pad(_)));
    assert!(matches!(route.steps.last().unwrap().kind, StepKind::Pad(_)));
}

#[test]
fn a_corner_inside_the_pad_gives_way_to_the_straight_line() {
    let mut drawn = two_lands();
    // Enters U1's pad at (5.25, 5.2), then turns to the anchor.
    drawn.track("A", "F.Cu", W, &[(5.0, 5.0), (5.0, 5.2), (10.0, 5.2), (10.0, 5.0), (15.0, 5.0)]);
    same(planar(&drawn), 0.25f64.hypot(0.2) + (10.0 - 5.25) + 0.2 + 5.0);
}

#[test]
fn a_track_that_stops_short_of_the_anchor_still_counts_to_the_anchor() {
    let mut drawn = two_lands();
    drawn.track("A", "F.Cu", W, &[(5.2, 5.1), (10.0, 5.1), (10.0, 5.0), (14.9, 5.0)]);
    same(planar(&drawn), 0.25f64.hypot(0.1) + (10.0 - 5.25) + 0.1 + 5.0);
}

#[test]
fn an_end_that_only_grazes_a_pad_is_joined_straight() {
    let mut drawn = two_lands();
    // The round end reaches 0.075 further: copper overlaps by 0.025.
    drawn.track("A", "F.Cu", W, &[(5.3, 5.0), (15.0, 5.0)]);
    same(planar(&drawn), 10.0);
}

#[test]
fn a_gap_wider_than_a_micrometre_is_open_and_a_narrower_one_is_not() {
    for (gap, joined) in [(0.0009, true), (0.0011, false)] {
        let mut drawn = two_lands();
        drawn.track("A", "F.Cu", W, &[(5.0, 5.0), (10.0, 5.0)]);
        drawn.track("A", "F.Cu", W, &[(10.0 + W + gap, 5.0), (15.0, 5.0)]);
        let board = board(&drawn);
        let copper = Copper::new(&board);
        let routes = copper.routes(net(&board, "A"));
        assert_eq!(routes.routes.len(), usize::from(joined), "gap {gap}");
        assert_eq!(routes.open.len(), usize::from(!joined));
    }
}

#[test]
fn a_tee_splits_the_track_it_lands_on() {
    let mut drawn = two_lands();
    drawn.part(land("R1", (10.0, 8.0), (0.5, 0.5)));
    drawn.track("A", "F.Cu", W, &[(5.0, 5.0), (15.0, 5.0)]);
    drawn.track("A", "F.Cu", W, &[(9.0, 5.0), (9.0, 8.0), (10.0, 8.0)]);
    let board = board(&drawn);
    let copper = Copper::new(&board);
    let length = |from, to| copper.route(pad(&board, from), pad(&board, to)).unwrap().length.planar().to_mm();
    same(length("U1.1", "J1.1"), 10.0);
    same(length("U1.1", "R1.1"), 8.0);
    same(length("R1.1", "J1.1"), 10.0);
    // All three pairs, ordered by part name.
    let routes = copper.routes(net(&board, "A"));
    assert_eq!(routes.routes.len(), 3);
    assert_eq!(routes.pads, [pad(&board, "J1.1"), pad(&board, "R1.1"), pad(&board, "U1.1")]);
    assert!(copper.stubs(net(&board, "A")).branches.is_empty());
}

#[test]
fn crossing_tracks_join_where_they_cross() {
    let mut drawn = two_lands();
    drawn.track("A", "F.Cu", W, &[(5.0, 5.0), (11.0, 8.0)]);
    drawn.track("A", "F.Cu", W, &[(9.0, 8.0), (15.0, 5.0)]);
    same(planar(&drawn), 2.0 * 5.0f64.hypot(2.5));
}

#[test]
fn copper_drawn_twice_counts_once() {
    let mut drawn = two_lands();
    drawn.track("A", "F.Cu", W, &[(5.0, 5.0), (11.0, 5.0)]);
    drawn.track("A", "F.Cu", W, &[(8.0, 5.0), (15.0, 5.0)]);
    drawn.track("A", "F.Cu", W, &[(15.0, 5.0), (8.0, 5.0)]);
    drawn.track("A", "F.Cu", W, &[(9.0, 5.0), (9.0, 5.0)]);
    let board = board(&drawn);
    let route = only_route(&board);
    same(route.length.planar().to_mm(), 10.0);
    assert!(!route.looped);
    assert!(Copper::new(&board).stubs(net(&board, "A")).branches.is_empty());
}

#[test]
fn a_second_way_is_a_loop_and_the_shorter_one_counts() {
    let mut drawn = two_lands();
    drawn.track("A", "F.Cu", W, &[(5.0, 5.0), (15.0, 5.0)]);
    drawn.track("A", "F.Cu", W, &[(7.0, 5.0), (7.0, 7.0), (12.0, 7.0), (12.0, 5.0)]);
    let route = only_route(&board(&drawn));
    same(route.length.planar().to_mm(), 10.0);
    assert!(route.looped);
}

#[test]
fn a_patch_of_short_tracks_is_no_loop() {
    let mut drawn = two_lands();
    drawn.track("A", "F.Cu", W, &[(5.0, 5.0), (9.9, 5.0), (10.0, 5.1), (10.1, 5.0), (15.0, 5.0)]);
    drawn.track("A", "F.Cu", W, &[(9.9, 5.0), (10.1, 5.0)]);
    // Two tracks into one pad, side by side inside it.
    drawn.track("A", "F.Cu", W, &[(5.0, 5.0), (5.2, 5.1), (5.2, 5.0)]);
    let route = only_route(&board(&drawn));
    same(route.length.planar().to_mm(), 10.0);
    assert!(!route.looped);
}

#[test]
fn two_ways_that_no_gap_parts_are_no_loop_and_two_that_a_gap_parts_are() {
    for (apart, looped) in [(0.01, false), (0.08, false), (0.16, true)] {
        let mut drawn = two_lands();
        drawn.track("A", "F.Cu", W, &[(5.0, 5.0), (15.0, 5.0)]);
        drawn.track("A", "F.Cu", W, &[(7.0, 5.0), (7.0, 5.0 + apart), (12.0, 5.0 + apart), (12.0, 5.0)]);
        assert_eq!(only_route(&board(&drawn)).looped, looped, "{apart}");
    }
    // A ring of two arcs: its chords enclose nothing.
    let mut drawn = two_lands();
    drawn.track("A", "F.Cu", W, &[(5.0, 5.0), (8.0, 5.0)]);
    drawn.arc("A", "F.Cu", W, (8.0, 5.0), (9.0, 4.0), (10.0, 5.0));
    drawn.arc("A", "F.Cu", W, (8.0, 5.0), (9.0, 6.0), (10.0, 5.0));
    drawn.track("A", "F.Cu", W, &[(10.0, 5.0), (15.0, 5.0)]);
    assert!(only_route(&board(&drawn)).looped);
}

#[test]
fn a_bend_inside_a_via_land_keeps_its_length() {
    let mut drawn = two_lands();
    drawn.via("A", (10.0, 5.15));
    drawn.track("A", "F.Cu", W, &[(5.0, 5.0), (10.0, 5.0), (10.0, 5.15)]);
    drawn.track("A", "B.Cu", W, &[(10.0, 5.15), (10.1, 5.15), (10.1, 5.0), (12.0, 5.0)]);
    drawn.via("A", (12.0, 5.0));
    drawn.track("A", "F.Cu", W, &[(12.0, 5.0), (15.0, 5.0)]);
    same(planar(&drawn), 5.0 + 0.15 + 0.1 + 0.15 + 1.9 + 3.0);
}

#[test]
fn an_end_beside_a_via_centre_is_joined_straight() {
    let mut drawn = two_lands();
    drawn.via("A", (10.0, 5.0));
    drawn.track("A", "F.Cu", W, &[(5.0, 5.0), (9.9, 5.0)]);
    drawn.track("A", "B.Cu", W, &[(10.0, 5.1), (12.0, 5.1), (12.0, 5.0)]);
    drawn.via("A", (12.0, 5.0));
    drawn.track("A", "F.Cu", W, &[(12.0, 5.0), (15.0, 5.0)]);
    let length = only_route(&board(&drawn)).length;
    same(length.joins.to_mm(), 0.1 + 0.1);
    same(length.planar().to_mm(), 5.0 + 0.1 + 2.0 + 0.1 + 3.0);
}

#[test]
fn a_meander_that_touches_itself_is_bypassed_there() {
    let mut drawn = two_lands();
    // Two legs 0.1 apart, each 0.15 wide: the copper of the loop is one.
    let points = [(5.0, 5.0), (9.0, 5.0), (9.0, 8.0), (9.1, 8.0), (9.1, 5.0), (15.0, 5.0)];
    drawn.track("A", "F.Cu", W, &points);
    let route = only_route(&board(&drawn));
    same(route.length.planar().to_mm(), 10.0);
    // No gap parts the legs: there is one way, not two.
    assert!(!route.looped);
}

#[test]
fn a_tight_bend_of_many_chords_keeps_its_length() {
    let mut drawn = two_lands();
    let arc: Vec<(f64, f64)> = (0..=40)
        .map(|at| (f64::from(at) / 40.0 * std::f64::consts::PI).sin_cos())
        .map(|(sin, cos)| (10.0 + 0.05 * sin, 5.05 - 0.05 * cos))
        .collect();
    let length: f64 = arc.windows(2).map(|leg| (leg[1].0 - leg[0].0).hypot(leg[1].1 - leg[0].1)).sum();
    let points: Vec<(f64, f64)> =
        [(5.0, 5.0)].into_iter().chain(arc).chain([(9.9, 5.1), (9.9, 8.0), (15.0, 8.0), (15.0, 5.0)]).collect();
    drawn.track("A", "F.Cu", 0.15, &points);
    let measured = planar(&drawn);
    // Chord ends are rounded to the grid: less than a nanometre for each of them.
    assert!((measured - (5.0 + length + 0.1 + 2.9 + 5.1 + 3.0)).abs() < 60e-6, "{measured}");
}

#[test]
fn a_blind_via_joins_only_its_span() {
    for (bottom, joined) in [("In1.Cu", false), ("In2.Cu", true)] {
        let mut drawn = two_lands();
        drawn.track("A", "F.Cu", W, &[(5.0, 5.0), (9.0, 5.0)]);
        drawn.via("A", (9.0, 5.0)).span("F.Cu", bottom);
        drawn.track("A", "In2.Cu", W, &[(9.0, 5.0), (12.0, 5.0)]);
        drawn.via("A", (12.0, 5.0));
        drawn.track("A", "F.Cu", W, &[(12.0, 5.0), (15.0, 5.0)]);
        let board = board(&drawn);
        assert_eq!(Copper::new(&board).routes(net(&board, "A")).routes.len(), usize::from(joined));
    }
}

#[test]
fn a_back_drill_cuts_the_barrel() {
    let mut drawn = two_lands();
    drawn.track("A", "F.Cu", W, &[(5.0, 5.0), (9.0, 5.0)]);
    drawn.via("A", (9.0, 5.0)).back_drilled(0.4, "B.Cu", "In2.Cu");
    drawn.track("A", "B.Cu", W, &[(9.0, 5.0), (12.0, 5.0)]);
    drawn.via("A", (12.0, 5.0));
    drawn.track("A", "F.Cu", W, &[(12.0, 5.0), (15.0, 5.0)]);
    let board = board(&drawn);
    assert!(Copper::new(&board).routes(net(&board, "A")).routes.is_empty());
}

#[test]
fn a_plated_hole_on_the_way_joins_layers_and_at_the_end_adds_no_barrel() {
    let mut drawn = two_lands();
    let pin = Pad::hole("1", PadShape::Circle, (0.0, 0.0), (1.0, 1.0), Hole::Round(0.6)).net("A");
    drawn.part(Part::new("X1", (10.0, 5.0)).pad(pin));
    drawn.track("A", "F.Cu", W, &[(5.0, 5.0), (10.0, 5.0)]);
    drawn.track("A", "B.Cu", W, &[(10.0, 5.0), (12.0, 5.0)]);
    drawn.via("A", (12.0, 5.0));
    drawn.track("A", "F.Cu", W, &[(12.0, 5.0), (15.0, 5.0)]);
    let board = board(&drawn);
    let copper = Copper::new(&board);
    let barrels = |from, to| copper.route(pad(&board, from), pad(&board, to)).unwrap().length.barrels.len();
    assert_eq!(barrels("U1.1", "J1.1"), 2);
    assert_eq!(barrels("U1.1", "X1.1"), 0);
    assert_eq!(barrels("X1.1", "J1.1"), 1);
}

#[test]
fn equal_barrels_cancel_where_heights_are_unknown() {
    let lengths = |second_inner: &str| {
        let mut drawn = two_lands_on(Stack::four().unstated());
        drawn.track("A", "F.Cu", W, &[(5.0, 5.0), (9.0, 5.0)]);
        drawn.via("A", (9.0, 5.0));
        drawn.track("A", second_inner, W, &[(9.0, 5.0), (12.0, 5.0)]);
        drawn.via("A", (12.0, 5.0));
        drawn.track("A", "F.Cu", W, &[(12.0, 5.0), (12.0, 6.0), (15.0, 6.0), (15.0, 5.0)]);
        only_route(&board(&drawn)).length
    };
    let (bottom, inner) = (lengths("B.Cu"), lengths("In1.Cu"));
    assert_eq!(bottom.total(), None);
    same(bottom.longer_than(&bottom.clone()).unwrap().to_mm(), 0.0);
    assert_eq!(bottom.longer_than(&inner), None);
}

#[test]
fn a_fill_is_crossed_straight_but_track_comes_first() {
    let mut drawn = two_lands();
    drawn.zone("A", &["F.Cu"], &rectangle((4.0, 4.0), (16.0, 6.0)));
    drawn.fill();
    let by_fill = only_route(&board(&drawn));
    same(by_fill.length.fills.to_mm(), 9.5);
    same(by_fill.length.planar().to_mm(), 10.0);
    assert!(by_fill.steps.iter().any(|step| matches!(step.kind, StepKind::Fill(_))));
    drawn.track("A", "F.Cu", W, &[(5.0, 5.0), (5.0, 7.0), (15.0, 7.0), (15.0, 5.0)]);
    let by_track = only_route(&board(&drawn));
    same(by_track.length.fills.to_mm(), 0.0);
    same(by_track.length.planar().to_mm(), 14.0);
    assert!(by_track.looped);
}

#[test]
fn a_teardrop_is_no_second_way() {
    let mut drawn = two_lands();
    drawn.track("A", "F.Cu", W, &[(5.0, 5.0), (15.0, 5.0)]);
    drawn.teardrop("A", "F.Cu", &[(5.2, 4.8), (6.0, 4.95), (6.0, 5.05), (5.2, 5.2)]);
    let board = board(&drawn);
    let route = only_route(&board);
    assert!(!route.looped);
    same(route.length.planar().to_mm(), 10.0);
    assert!(Copper::new(&board).stubs(net(&board, "A")).branches.is_empty());
    // Where the teardrop alone joins track and pad, it is the way.
    drawn.tracks.clear();
    drawn.track("A", "F.Cu", W, &[(5.8, 5.0), (15.0, 5.0)]);
    let route = only_route(&board_of(&drawn, Generation::V10));
    same(route.length.planar().to_mm(), 10.0);
    assert!(route.length.fills.to_mm() > 0.5);
}

#[test]
fn copper_without_a_net_joins_what_it_touches() {
    let mut drawn = two_lands();
    drawn.track("A", "F.Cu", W, &[(5.0, 5.0), (7.0, 5.0)]);
    drawn.track("A", "F.Cu", W, &[(13.0, 5.0), (15.0, 5.0)]);
    drawn.graphics.push(("F.Cu".into(), crate::support::Path::Line((7.0, 5.0), (10.0, 5.0)), W));
    drawn.track("", "F.Cu", W, &[(10.0, 5.0), (13.0, 5.0)]);
    let length = only_route(&board(&drawn)).length;
    same(length.fills.to_mm(), 3.0);
    same(length.planar().to_mm(), 10.0);
}

#[test]
fn pads_of_the_same_name_order_by_place_and_large_nets_route_from_the_first() {
    let mut drawn = Drawn::new("many", Stack::two());
    drawn.outline((0.0, 0.0), (40.0, 10.0));
    for at in 0..10u32 {
        let x = 2.0 + 3.0 * f64::from(at);
        drawn.part(land(&format!("R{at}"), (x, 5.0), (0.5, 0.5)));
    }
    drawn.track("A", "F.Cu", W, &[(2.0, 5.0), (29.0, 5.0)]);
    let board = board(&drawn);
    let copper = Copper::new(&board);
    let routes = copper.routes(net(&board, "A"));
    assert_eq!(routes.routes.len(), 9);
    assert!(routes.routes.iter().all(|route| route.from == pad(&board, "R0.1")));
    same(copper.route(pad(&board, "R9.1"), pad(&board, "R4.1")).unwrap().length.planar().to_mm(), 15.0);
}
