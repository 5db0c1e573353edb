//! What lies around a route: openings and edges of planes, copper beside it, widths that change.

use crate::drawn::{at, differential, etched, ground, layer, line, mask, mm, near, outer, pair, single, tracks};
use crate::support::starters::{LEFT, N, N_Y, P, P_Y, PITCH, RIGHT, WIDTH, planes, straight_pair, two_pads};
use crate::support::{Board as Drawn, Pad, Part, Stack, rectangle};
use throughline::field::{Conductor, Section};
use throughline::signal::{Doubt, Role};

const SIDE: f64 = PITCH / 2.0;
/// Half of the pair's width.
const HALF: f64 = SIDE + WIDTH / 2.0;

/// Both legs on a foot.
fn legs(foot: f64) -> Vec<Conductor> {
    vec![etched(-SIDE, foot, WIDTH, 0.035), etched(SIDE, foot, WIDTH, 0.035)]
}

fn cut(board: &mut Drawn, layer: &str, from: (f64, f64), to: (f64, f64)) {
    let zone = board.zones.iter_mut().find(|zone| zone.layers == [layer]).unwrap();
    zone.cutouts.push((layer.into(), rectangle(from, to)));
}

/// The outer layer with the next plane as deep as In2.
fn deep(conductors: Vec<Conductor>) -> Section {
    Section {
        layers: vec![layer(0.465, 4.4, 0.019), layer(0.0175, 4.05, 0.02), layer(0.1, 4.05, 0.02)],
        ..outer(conductors)
    }
}

#[test]
fn over_an_opening_the_next_plane_counts() {
    let mut board = straight_pair("opening");
    cut(&mut board, "In1.Cu", (8.0, 2.0), (12.0, 8.0));
    let line = pair(board);
    let pieces = tracks(&line.pieces);
    let ends: Vec<f64> = pieces.iter().map(|piece| piece.along[1].to_mm()).collect();
    // From x = 3: the pad's edge, the opening from 8 to 12, the other pad's edge.
    assert_eq!(pieces.len(), 3, "{pieces:?}");
    for (found, wanted) in ends.iter().zip([8.0 - LEFT, 12.0 - LEFT, 17.0 - 0.15 - LEFT]) {
        assert!((found - wanted).abs() < 1e-6, "{found} {wanted}");
    }
    let foot = 0.465 + 0.0175 + 0.1;
    near(pieces[1].differential().unwrap().to_ohms(), differential(&deep(legs(foot))), 0.01);
    assert_eq!((pieces[0].below.unwrap().layer.0, pieces[1].below.unwrap().layer.0), (1, 2));
    near(pieces[0].differential().unwrap().to_ohms(), differential(&outer(legs(0.1))), 0.01);
}

#[test]
fn a_plane_that_ends_beside_the_pair_is_drawn() {
    for overhang in [-0.1, 0.0, 0.05, 0.1] {
        let mut board = straight_pair("edge");
        let edge = N_Y + WIDTH / 2.0 + overhang;
        cut(&mut board, "In1.Cu", (0.0, edge), (20.0, 9.9));
        let line = pair(board);
        let piece = at(&line.pieces, 7.0);
        let below = piece.below.unwrap();
        assert!(below.partial && below.layer.0 == 1);
        let mut conductors = legs(0.465 + 0.0175 + 0.1);
        conductors.push(ground(-4.0, HALF + overhang, 0.465, 0.0175));
        near(piece.differential().unwrap().to_ohms(), differential(&deep(conductors)), 0.3);
    }
}

#[test]
fn a_plane_that_ends_far_off_is_whole() {
    let mut board = straight_pair("far");
    cut(&mut board, "In1.Cu", (0.0, N_Y + WIDTH / 2.0 + 0.2), (20.0, 9.9));
    assert!(!at(&pair(board).pieces, 7.0).below.unwrap().partial);
}

#[test]
fn a_slit_along_the_pair_is_drawn_where_it_is() {
    let mut board = straight_pair("slit");
    cut(&mut board, "In1.Cu", (0.0, 4.9), (20.0, 5.0));
    let line = pair(board);
    let mut conductors = legs(0.465 + 0.0175 + 0.1);
    conductors.extend([ground(-4.0, -0.1, 0.465, 0.0175), ground(0.0, 4.0, 0.465, 0.0175)]);
    near(at(&line.pieces, 7.0).differential().unwrap().to_ohms(), differential(&deep(conductors)), 0.4);
}

#[test]
fn no_plane_at_all() {
    // Two layers without planes: a pair has its differential wave, a single line nothing.
    let bare = |board: &mut Drawn| board.zones.clear();
    let mut board = straight_pair("bare");
    bare(&mut board);
    let line = pair(board);
    let piece = tracks(&line.pieces)[0];
    assert_eq!((piece.above, piece.below), (None, None));
    let wave = piece.wave.as_ref().unwrap();
    assert!(wave.differential().unwrap().to_ohms() > 110.0 && wave.even().is_none() && wave.single().is_none());
    let mut board = two_pads("alone", P);
    board.track(P, "F.Cu", WIDTH, &[(LEFT, 5.0), (RIGHT, 5.0)]);
    bare(&mut board);
    let alone = line_of(board);
    assert!(alone.delay.whole().is_err());
    assert!((alone.delay.share_in_doubt() - 1.0).abs() < 1e-9);
    assert!(matches!(alone.delay.doubt, Some(Doubt::Unsolved(throughline::field::Undetermined::NoReturn))));
}

fn line_of(board: Drawn) -> std::sync::Arc<throughline::signal::Line> {
    line(board, P)
}

#[test]
fn grounds_beside_a_line_on_its_own_layer() {
    let mut board = two_pads("coplanar", P);
    board.track(P, "F.Cu", WIDTH, &[(LEFT, 5.0), (RIGHT, 5.0)]);
    board.zone("GND", &["F.Cu"], &rectangle((0.3, 0.3), (19.7, 9.7))).clearance = 0.15;
    let line = line_of(board);
    let piece = at(&line.pieces, 7.0);
    for gap in piece.beside {
        assert!((gap.unwrap().to_mm() - 0.15).abs() < 0.002, "{:?}", piece.beside);
    }
    let edge = WIDTH / 2.0 + 0.15;
    let with = |far: f64| {
        outer(vec![etched(0.0, 0.1, WIDTH, 0.035), ground(-far, -edge, 0.1, 0.035), ground(edge, far, 0.1, 0.035)])
    };
    near(piece.single().unwrap().to_ohms(), single(&with(3.0)), 0.2);
    // Without them it would be 4 to 5 % more.
    let without = single(&outer(vec![etched(0.0, 0.1, WIDTH, 0.035)]));
    assert!(piece.single().unwrap().to_ohms() < 0.97 * without);
}

#[test]
fn foreign_tracks_count_only_next_to_the_pair() {
    let beside = |gap: f64| {
        let mut board = straight_pair("foreign");
        board.track(
            "OTHER",
            "F.Cu",
            0.1,
            &[(5.0, N_Y + WIDTH / 2.0 + gap + 0.05), (15.0, N_Y + WIDTH / 2.0 + gap + 0.05)],
        );
        at(&pair(board).pieces, 7.0).clone()
    };
    // Walked from J1, so N's side is on the left.
    let (close, apart) = (beside(0.09), beside(0.11));
    assert!((close.beside[0].unwrap().to_mm() - 0.09).abs() < 0.002 && close.beside[1].is_none());
    assert_eq!(apart.beside, [None, None]);
    let mut conductors = legs(0.1);
    conductors.push(ground(HALF + 0.09, HALF + 0.19, 0.1, 0.035));
    near(close.differential().unwrap().to_ohms(), differential(&outer(conductors)), 0.5);
    near(apart.differential().unwrap().to_ohms(), differential(&outer(legs(0.1))), 0.01);
}

#[test]
fn a_neck_is_a_piece_of_its_own() {
    let mut board = two_pads("neck", P);
    board.track(P, "F.Cu", 0.2, &[(LEFT, 5.0), (9.0, 5.0)]);
    board.track(P, "F.Cu", 0.1, &[(9.0, 5.0), (11.0, 5.0)]);
    board.track(P, "F.Cu", 0.2, &[(11.0, 5.0), (RIGHT, 5.0)]);
    let line = line_of(board);
    let pieces = tracks(&line.pieces);
    let widths: Vec<f64> = pieces.iter().map(|piece| (piece.width.to_mm() * 1e3).round()).collect();
    assert_eq!(widths, [200.0, 100.0, 200.0]);
    assert!((pieces[1].length().to_mm() - 2.0).abs() < 1e-6);
    near(pieces[1].single().unwrap().to_ohms(), single(&outer(vec![etched(0.0, 0.1, 0.1, 0.035)])), 0.01);
}

#[test]
fn a_teardrop_makes_the_trace_as_wide_as_it_is() {
    let mut board = two_pads("teardrop", P);
    board.track(P, "F.Cu", 0.1, &[(LEFT, 5.0), (RIGHT, 5.0)]);
    // From the edge of J1's pad at 16.85 back to 15.85, from the track's width to the pad's.
    board.teardrop(P, "F.Cu", &[(15.85, 4.95), (16.85, 4.85), (16.85, 5.15), (15.85, 5.05)]);
    let line = line_of(board);
    let pieces = tracks(&line.pieces);
    assert!(pieces.len() > 3, "{pieces:?}");
    let ohms: Vec<f64> = pieces.iter().map(|piece| piece.single().unwrap().to_ohms()).collect();
    assert!(ohms.windows(2).all(|pair| pair[1] > pair[0]), "{ohms:?}");
    let widest = pieces[0];
    assert!((0.24..0.3).contains(&widest.width.to_mm()), "{widest:?}");
    assert_eq!(pieces.last().unwrap().width.to_mm(), 0.1);
}

#[test]
fn legs_that_come_together_taper() {
    let mut board = planes("taper");
    for (reference, x) in [("U1", LEFT), ("J1", RIGHT)] {
        let pad = |number, y, net| Pad::rect(number, (0.0, y), (0.3, 0.2)).net(net);
        board.part(Part::new(reference, (x, 5.0)).pad(pad("1", -0.6, P)).pad(pad("2", 0.6, N)));
    }
    // Out of the pads 1.2 mm apart, together at 45 degrees, side by side, and apart again.
    for (net, sign) in [(P, -1.0), (N, 1.0)] {
        let (wide, close) = (5.0 + sign * 0.6, 5.0 + sign * SIDE);
        board.track(
            net,
            "F.Cu",
            WIDTH,
            &[(LEFT, wide), (4.0, wide), (4.45, close), (15.55, close), (16.0, wide), (RIGHT, wide)],
        );
    }
    let line = pair(board);
    let pieces = tracks(&line.pieces);
    let ohms: Vec<f64> = pieces.iter().map(|piece| piece.differential().unwrap().to_ohms()).collect();
    let middle = differential(&outer(legs(0.1)));
    let least = ohms.iter().copied().fold(f64::INFINITY, f64::min);
    near(least, middle, 0.01);
    let turn = ohms.iter().position(|value| *value == least).unwrap();
    // It falls toward the middle and rises from there.
    assert!(ohms[..=turn].windows(2).all(|pair| pair[1] <= pair[0] * 1.0001), "{ohms:?}");
    assert!(ohms[turn..].windows(2).all(|pair| pair[1] >= pair[0] * 0.9999), "{ohms:?}");
    assert!(turn >= 2 && ohms.len() >= turn + 3, "{ohms:?}");
    assert!(pieces.iter().filter(|piece| piece.is_coupled()).all(|piece| piece.length().to_mm() > 0.09), "{pieces:?}");
    assert!(line.skew.whole().unwrap().to_ps().abs() < 1e-6);
}

#[test]
fn inside_a_via_there_is_no_impedance_of_its_own() {
    let mut board = two_pads("land", P);
    board.track(P, "F.Cu", WIDTH, &[(LEFT, 5.0), (10.0, 5.0)]);
    board.via(P, (10.0, 5.0));
    board.track(P, "F.Cu", WIDTH, &[(10.0, 5.0), (RIGHT, 5.0)]);
    let line = line_of(board);
    let lands: Vec<_> = line.pieces.iter().filter(|piece| piece.role == Role::Land).collect();
    let inner = &lands[1..lands.len() - 1];
    assert!(inner.iter().all(|land| land.single().is_none() && land.wave.is_ok()));
    let length: f64 = inner.iter().map(|land| land.length().to_mm()).sum();
    assert!((length - 0.45).abs() < 0.002, "{inner:?}");
}

#[test]
fn through_a_pour_of_its_own_net_nothing_is_told() {
    let mut board = two_pads("pour", P);
    board.track(P, "F.Cu", WIDTH, &[(LEFT, 5.0), (RIGHT, 5.0)]);
    board.zone(P, &["F.Cu"], &rectangle((8.0, 4.0), (12.0, 6.0)));
    let line = line_of(board);
    assert_eq!(line.delay.doubt, Some(Doubt::NoCentreLine));
    assert!((line.delay.doubtful.to_mm() - 4.0).abs() < 0.05, "{:?}", line.delay);
}

#[test]
fn a_zone_without_fill_is_a_doubt_not_a_missing_plane() {
    let mut board = straight_pair("unfilled");
    for zone in &mut board.zones {
        zone.fills = Some(Vec::new());
    }
    let line = pair(board);
    assert!(matches!(line.p.delay.doubt, Some(Doubt::Unfilled(_))), "{:?}", line.p.delay);
    assert!(tracks(&line.pieces).iter().all(|piece| piece.differential().is_none()));
}

#[test]
fn legs_above_each_other_are_a_doubt() {
    let mut board = Drawn::new("broadside", Stack::six());
    board.outline((0.0, 0.0), (20.0, 10.0));
    board.via("GND", (1.0, 1.0));
    for plane in ["In1.Cu", "In4.Cu"] {
        board.zone("GND", &[plane], &rectangle((0.3, 0.3), (19.7, 9.7)));
    }
    for (reference, x) in [("U1", LEFT), ("J1", RIGHT)] {
        let pad = |number, net, layer| Pad::rect(number, (0.0, 0.0), (0.3, 0.2)).layers(&[layer]).net(net);
        board.part(Part::new(reference, (x, 5.0)).pad(pad("1", P, "In2.Cu")).pad(pad("2", N, "In3.Cu")));
    }
    board.track(P, "In2.Cu", 0.12, &[(LEFT, 5.0), (RIGHT, 5.0)]);
    board.track(N, "In3.Cu", 0.12, &[(LEFT, 5.0), (RIGHT, 5.0)]);
    let line = pair(board);
    assert_eq!(line.p.delay.doubt, Some(Doubt::Broadside));
    assert_eq!(line.skew.doubt, Some(Doubt::Broadside));
}

#[test]
fn the_section_can_be_looked_at() {
    let board = straight_pair("look");
    let found = pair(board);
    let section = tracks(&found.pieces)[0].wave.as_ref().unwrap().section().clone();
    assert_eq!(section.conductors.len(), 2);
    assert_eq!(section.layers, vec![layer(0.1, 4.05, 0.02)]);
    assert!(section.plane_below != section.plane_above);
    assert_eq!(section.mask_above.or(section.mask_below), mask(0.015));
    assert_eq!(section.conductors[0].thickness, mm(0.035));
    let [one, two] = [0, 1].map(|at| section.conductors[at].centre.to_mm());
    assert!((two - one - (N_Y - P_Y)).abs() < 1e-9);
}
