//! The same copper is the same line: moved, turned, drawn in parts, in another order, worked out by any number of threads.

use crate::drawn::{legs, with};
use crate::support::starters::{LEFT, N, N_Y, P, P_Y, RIGHT, WIDTH, straight_pair, two_pad_pair};
use crate::support::{Board as Drawn, Path, Point, rectangle};
use proptest::prelude::*;
use throughline::board::Board;
use throughline::copper::pair::Legs;
use throughline::signal::{Assumptions, PairLine, Signals};

/// A piece in numbers: role and coupling, layer, micrometres along both legs, milliohms.
type Told = (String, u8, i64, i64, i64);

fn told(line: &PairLine) -> Vec<Told> {
    let whole = |value: f64| value.round() as i64;
    line.pieces
        .iter()
        .map(|piece| {
            let kind = format!("{:?} {:?} {}", piece.role, piece.leg, piece.is_coupled());
            let ohms = piece.differential().map_or(-1, |value| whole(value.to_ohms() * 1e3));
            (kind, piece.layer.0, whole(piece.along[0].to_mm() * 1e3), whole(piece.along[1].to_mm() * 1e3), ohms)
        })
        .collect()
}

fn all(drawn: Drawn) -> (Vec<Told>, i64) {
    with(drawn, Assumptions::default(), |_, copper, signals| {
        let line = signals.pair(&legs(copper, P, N)).unwrap();
        (told(&line), (line.skew.known.to_ps() * 1e6).round() as i64)
    })
}

/// A pair with much around it: an opening under it, a plane's edge beside it, ground on its layer, a detour.
fn busy(opening: f64, edge: f64, pour: f64) -> Drawn {
    let mut board = two_pad_pair("busy");
    let up = P_Y - 1.0;
    board.track(P, "F.Cu", WIDTH, &[(LEFT, P_Y), (11.0, P_Y), (11.0, up), (12.0, up), (12.0, P_Y), (RIGHT, P_Y)]);
    board.track(N, "F.Cu", WIDTH, &[(LEFT, N_Y), (RIGHT, N_Y)]);
    for zone in board.zones.iter_mut().filter(|zone| zone.layers == ["In1.Cu"]) {
        zone.cutouts.push(("In1.Cu".into(), rectangle((5.0, 3.0), (5.0 + opening, 7.0))));
        zone.cutouts.push(("In1.Cu".into(), rectangle((13.0, N_Y + WIDTH / 2.0 + edge), (15.0, 8.0))));
    }
    board.zone("GND", &["F.Cu"], &rectangle((8.0, N_Y + WIDTH / 2.0 + pour), (10.0, 8.0))).clearance = 0.1;
    board.via("GND", (9.0, 7.0));
    board.fill_missing();
    board
}

/// Every point of a board, fills included, moved and turned by quarter turns.
fn moved(mut board: Drawn, by: Point, quarters: u32) -> Drawn {
    let degrees = f64::from(quarters) * 90.0;
    let place = |at: &mut Point| {
        let turned = crate::support::rotate(*at, degrees);
        *at = (turned.0 + by.0, turned.1 + by.1);
    };
    for part in &mut board.parts {
        place(&mut part.at);
        part.angle += degrees;
    }
    for track in &mut board.tracks {
        match &mut track.path {
            Path::Line(from, to) => [from, to].into_iter().for_each(place),
            Path::Arc(from, mid, to) => [from, mid, to].into_iter().for_each(place),
        }
    }
    board.vias.iter_mut().for_each(|via| place(&mut via.at));
    for edge in &mut board.edges {
        if let Path::Line(from, to) = edge {
            [from, to].into_iter().for_each(place);
        }
    }
    for zone in &mut board.zones {
        zone.outline.iter_mut().for_each(place);
        for (x, y) in zone.fills.iter_mut().flatten().flat_map(|(_, ring)| ring) {
            let mut at = (crate::support::from_nm(*x), crate::support::from_nm(*y));
            place(&mut at);
            (*x, *y) = (crate::support::nm(at.0), crate::support::nm(at.1));
        }
    }
    board
}

#[test]
fn a_busy_pair_has_many_pieces() {
    let (pieces, _) = all(busy(1.0, 0.05, 0.15));
    assert!(pieces.len() > 8, "{pieces:?}");
}

proptest! {
    #![proptest_config(ProptestConfig { cases: 3, failure_persistence: None, ..ProptestConfig::default() })]
    #[test]
    fn moved_and_turned(
        opening in 200..2000_i64, edge in -100..150_i64, pour in 80..300_i64,
        by in (-50_000..50_000_i64, -50_000..50_000_i64), quarters in 0..4_u32,
    ) {
        let board = busy(opening as f64 / 1e3, edge as f64 / 1e3, pour as f64 / 1e3);
        let there = moved(board.clone(), (by.0 as f64 / 1e3, by.1 as f64 / 1e3), quarters);
        prop_assert_eq!(all(board), all(there));
    }
}

#[test]
fn drawn_in_parts() {
    let mut parts = straight_pair("parts");
    parts.tracks.clear();
    for (net, y) in [(P, P_Y), (N, N_Y)] {
        let cuts: &[f64] = if net == P { &[LEFT, 7.0, 7.02, 11.3, RIGHT] } else { &[LEFT, 5.5, 11.31, RIGHT] };
        let points: Vec<Point> = cuts.iter().map(|&x| (x, y)).collect();
        parts.track(net, "F.Cu", WIDTH, &points);
    }
    assert_eq!(all(parts), all(straight_pair("whole")));
}

#[test]
fn in_another_order() {
    let board = busy(1.0, 0.05, 0.15);
    let mut other = board.clone();
    other.tracks.reverse();
    other.zones.reverse();
    other.vias.reverse();
    other.parts.reverse();
    other.nets.reverse();
    for track in &mut other.tracks {
        if let Path::Line(from, to) = &mut track.path {
            std::mem::swap(from, to);
        }
    }
    assert_eq!(all(board.clone()).1, all(other.clone()).1);
    // Parts in another order may be walked from the other end: the pieces are then the same from the back.
    let (one, two) = (all(board).0, all(other).0);
    let mut forth: Vec<i64> = one.iter().map(|told| told.4).collect();
    let mut back: Vec<i64> = two.iter().map(|told| told.4).collect();
    forth.sort_unstable();
    back.sort_unstable();
    assert_eq!(forth, back);
}

#[test]
fn legs_swapped() {
    with(busy(1.0, 0.05, 0.15), Assumptions::default(), |_, copper, signals| {
        let one = legs(copper, P, N);
        let two = Legs { p: one.n.clone(), n: one.p.clone() };
        let (one, two) = (signals.pair(&one).unwrap(), signals.pair(&two).unwrap());
        assert!((one.skew.known.to_ps() + two.skew.known.to_ps()).abs() < 0.02, "{:?} {:?}", one.skew, two.skew);
        assert!((one.p.delay.known.to_ps() - two.n.delay.known.to_ps()).abs() < 0.05);
    });
}

#[test]
fn by_any_number_of_threads() {
    let ask = |threads: usize, prepared: bool| {
        let pool = rayon::ThreadPoolBuilder::new().num_threads(threads).build().unwrap();
        with(busy(1.0, 0.05, 0.15), Assumptions::default(), |_: &Board, copper, signals: &Signals<'_>| {
            let legs = legs(copper, P, N);
            copper.prepare();
            pool.install(|| {
                if prepared {
                    signals.prepare(&[&legs.p, &legs.n], &[&legs]);
                }
                let line = signals.pair(&legs).unwrap();
                let single = signals.line(&legs.p).unwrap();
                format!("{:?} {:?} {:?}", told(&line), line.skew, single.delay)
            })
        })
    };
    let alone = ask(1, false);
    for (threads, prepared) in [(1, true), (3, true), (8, true), (4, false)] {
        assert_eq!(ask(threads, prepared), alone);
    }
}

#[test]
fn equal_places_share_one_section() {
    with(straight_pair("share"), Assumptions::default(), |_, copper, signals| {
        let legs = legs(copper, P, N);
        signals.pair(&legs).unwrap();
        let first = signals.tally();
        assert_eq!(first.sections, 1);
        signals.pair(&legs).unwrap();
        assert_eq!(signals.tally(), first, "a known pair is not worked out again");
        signals.line(&legs.p).unwrap();
        signals.line(&legs.n).unwrap();
        assert_eq!(signals.tally().sections, 2, "both legs alone are one section");
    });
}
