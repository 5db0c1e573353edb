//! Barrels: openings found in the planes, return vias, delays.

use crate::drawn::{line, near, pair};
use crate::support::starters::{LEFT, N, P, RIGHT, WIDTH, planes, two_pads};
use crate::support::{Board as Drawn, Pad, Part};
use throughline::field::{Barrel, Returns};
use throughline::signal::Doubt;
use throughline::units::Length;

/// A line that goes down at x = 10 and ends on the bottom.
fn down(name: &str) -> Drawn {
    let mut board = planes(name);
    board.part(Part::new("U1", (LEFT, 5.0)).pad(Pad::rect("1", (0.0, 0.0), (0.3, 0.3)).net(P)));
    board.part(Part::new("J1", (RIGHT, 5.0)).bottom().pad(Pad::rect("1", (0.0, 0.0), (0.3, 0.3)).net(P)));
    board.track(P, "F.Cu", WIDTH, &[(LEFT, 5.0), (10.0, 5.0)]);
    board.via(P, (10.0, 5.0));
    board.track(P, "B.Cu", WIDTH, &[(10.0, 5.0), (RIGHT, 5.0)]);
    board
}

/// The four-layer stack's planes are 0.465 mm apart, 0.1 mm from the outer foils; hole 0.2 mm with 25 µm of plating; pads
/// of 0.45 mm with 0.2 mm of clearance in the planes.
fn barrel() -> Barrel {
    Barrel {
        radius: Length::mm(0.125),
        antipad: Length::mm(0.425),
        permittivity: (0.2 * 4.05 + 0.465 * 4.4) / 0.665,
        gap: Length::mm(0.665),
        plane: Length::mm(0.0175),
    }
}

#[test]
fn a_barrel_with_a_return_via() {
    let mut board = down("return");
    board.via("GND", (10.0, 5.8));
    let found = line(board, P);
    let [hole] = found.barrels.as_slice() else { panic!("{:?}", found.barrels) };
    assert!((hole.height.to_mm() - (0.665 + 0.035 + 0.035)).abs() < 1e-9);
    let told = hole.line.as_ref().unwrap();
    near(told.antipad.to_mm(), 0.85, 1.0);
    assert_eq!(told.returns, 1);
    let cage = Returns { count: 1, circle: Length::mm(0.8), radius: Length::mm(0.125) };
    let barrel = Barrel { antipad: told.antipad / 2.0, ..barrel() };
    let delay =
        (barrel.inductance(&cage).unwrap() * barrel.capacitance().unwrap()).sqrt() * hole.height.to_metres() * 1e12;
    near(told.delay.to_ps(), delay, 1e-6);
    // It is part of the way: both tracks, and the barrel.
    assert!((found.delay.way.to_mm() - (RIGHT - LEFT) - hole.height.to_mm()).abs() < 1e-6);
    assert!(found.delay.whole().is_ok());
}

#[test]
fn more_return_vias_make_it_faster() {
    let with = |places: &[(f64, f64)]| {
        let mut board = down("returns");
        for &at in places {
            board.via("GND", at);
        }
        line(board, P).barrels[0].line.as_ref().map(|told| (told.returns, told.delay.to_ps())).map_err(|doubt| *doubt)
    };
    let one = with(&[(10.0, 5.8)]).unwrap();
    let two = with(&[(10.0, 5.8), (10.0, 4.2)]).unwrap();
    assert_eq!((one.0, two.0), (1, 2));
    assert!(two.1 < 0.9 * one.1, "{one:?} {two:?}");
    // Too far off is none.
    assert_eq!(with(&[(10.0, 6.6)]), Err(Doubt::NoReturnVia));
    // Five: the nearest four count.
    let five = with(&[(10.0, 5.8), (10.0, 4.2), (10.8, 5.0), (9.2, 5.0), (10.9, 5.9)]).unwrap();
    assert_eq!(five.0, 4);
}

#[test]
fn without_planes_a_barrel_is_a_doubt() {
    let mut board = down("bare");
    board.zones.retain(|_| false);
    let found = line(board, P);
    assert_eq!(found.barrels[0].line.as_ref().map(|_| ()), Err(&Doubt::NoAntipad));
    assert!(found.delay.whole().is_err());
}

/// A pair that goes down, its vias 0.8 mm apart.
fn pair_down(shift: f64) -> Drawn {
    let mut board = planes("pair-down");
    for (reference, x, bottom) in [("U1", LEFT, false), ("J1", RIGHT, true)] {
        let pad = |number, y, net| Pad::rect(number, (0.0, y), (0.3, 0.3)).net(net);
        let part = Part::new(reference, (x, 5.0));
        let part = if bottom { part.bottom() } else { part };
        board.part(part.pad(pad("1", -0.4, P)).pad(pad("2", 0.4, N)));
    }
    for (net, y, x) in [(P, 4.6, 10.0), (N, 5.4, 10.0 + shift)] {
        // A part on the bottom is mirrored about its x axis as stored, so its pads keep their y.
        board.track(net, "F.Cu", WIDTH, &[(LEFT, y), (x, y)]);
        board.via(net, (x, y));
        let end = board.pad_at(if net == P { "J1.1" } else { "J1.2" });
        board.track(net, "B.Cu", WIDTH, &[(x, y), (end.0 - 1.0, y), end]);
    }
    board
}

#[test]
fn the_legs_of_a_pair_return_through_each_other() {
    let mut board = pair_down(0.0);
    // A return via beside one leg alone must not tell the legs apart.
    board.via("GND", (10.6, 4.2));
    let found = pair(board);
    let [p, n] = [&found.p, &found.n].map(|leg| leg.barrels[0].line.unwrap());
    assert_eq!((p.delay, p.impedance), (n.delay, n.impedance));
    let barrel = Barrel { antipad: p.antipad / 2.0, ..barrel() };
    let inductance = 2e-7 * (0.8_f64 / 0.125).ln();
    near(p.impedance.to_ohms(), (inductance / barrel.capacitance().unwrap()).sqrt(), 0.01);
    assert!(found.skew.whole().is_ok());
}

#[test]
fn equal_barrels_that_are_not_known_cancel() {
    let mut board = pair_down(0.0);
    for zone in &mut board.zones {
        // No plane has copper within reach of the vias.
        let layer = zone.layers[0].clone();
        zone.cutouts.push((layer, crate::support::rectangle((8.0, 2.5), (12.0, 7.5))));
    }
    let found = pair(board);
    assert_eq!(found.p.barrels[0].line.as_ref().map(|_| ()), Err(&Doubt::NoAntipad));
    assert!(found.p.delay.whole().is_err());
    assert!(found.skew.doubt != Some(Doubt::NoAntipad), "{:?}", found.skew);
}

#[test]
fn a_line_that_stays_on_its_layer_has_no_barrel() {
    let mut board = two_pads("flat", P);
    board.track(P, "F.Cu", WIDTH, &[(LEFT, 5.0), (RIGHT, 5.0)]);
    assert!(line(board, P).barrels.is_empty());
}
