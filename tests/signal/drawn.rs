//! A drawn board with its signals, and sections written by hand to hold them against.

use crate::support::{Board as Drawn, Generation, read::read};
use std::sync::Arc;
use throughline::board::Board;
use throughline::copper::Copper;
use throughline::copper::pair::{Legs, match_legs};
use throughline::field::{Conductor, Dielectric, Layer, Mask, Options, Section, Solution, solve};
use throughline::signal::{Assumptions, Line, PairLine, Piece, Role, Signals};
use throughline::units::Length;

pub fn mm(value: f64) -> Length {
    Length::mm(value)
}

/// Reads a drawn board, its zones filled, and hands its signals on.
pub fn with<T>(
    mut drawn: Drawn,
    assumptions: Assumptions,
    ask: impl FnOnce(&Board, &Copper<'_>, &Signals<'_>) -> T,
) -> T {
    drawn.fill_missing();
    let board = read(&drawn, Generation::V8);
    let copper = Copper::new(&board);
    let signals = Signals::new(&copper, assumptions);
    ask(&board, &copper, &signals)
}

/// The only legs of two nets.
pub fn legs(copper: &Copper<'_>, p: &str, n: &str) -> Legs {
    let routes = |name: &str| copper.routes(copper.board().nets.find(name).unwrap()).routes.as_slice();
    let mut matched = match_legs(copper.board(), routes(p), routes(n));
    assert_eq!(matched.legs.len(), 1, "{p} and {n} have no legs");
    matched.legs.remove(0)
}

/// The pair of a drawn board.
pub fn pair(drawn: Drawn) -> Arc<PairLine> {
    use crate::support::starters::{N, P};
    with(drawn, Assumptions::default(), |_, copper, signals| signals.pair(&legs(copper, P, N)).unwrap())
}

/// The single route of a net.
pub fn line(drawn: Drawn, net: &str) -> Arc<Line> {
    with(drawn, Assumptions::default(), |board, copper, signals| {
        signals.line(&copper.routes(board.nets.find(net).unwrap()).routes[0]).unwrap()
    })
}

/// The pieces that are tracks.
pub fn tracks(pieces: &[Piece]) -> Vec<&Piece> {
    pieces.iter().filter(|piece| piece.role == Role::Track).collect()
}

/// The only piece that holds a position of leg P.
#[track_caller]
pub fn at(pieces: &[Piece], position: f64) -> &Piece {
    let holds = |piece: &&Piece| {
        piece.leg == throughline::signal::Leg::P
            && piece.along[0].to_mm() < position
            && position < piece.along[1].to_mm()
    };
    let found: Vec<&Piece> = pieces.iter().filter(holds).collect();
    assert_eq!(found.len(), 1, "at {position} mm: {found:?}");
    found[0]
}

pub fn layer(thickness: f64, permittivity: f64, loss: f64) -> Layer {
    Layer { thickness: mm(thickness), dielectric: Dielectric::new(permittivity, loss) }
}

pub fn mask(thickness: f64) -> Option<Mask> {
    let thickness = mm(thickness);
    let dielectric = Dielectric::new(3.8, 0.025);
    Some(Mask { on_board: thickness, over_copper: thickness, beside_copper: thickness, dielectric })
}

/// A trace on its wide foot: narrower on top by its thickness.
pub fn etched(centre: f64, foot: f64, width: f64, thickness: f64) -> Conductor {
    Conductor::signal(mm(centre), mm(foot), mm(width), mm(thickness)).etched(mm(width - thickness))
}

/// A trace hanging from its wide top.
pub fn hanging(centre: f64, foot: f64, width: f64, thickness: f64) -> Conductor {
    Conductor::signal(mm(centre), mm(foot), mm(width - thickness), mm(thickness)).etched(mm(width))
}

/// Grounded copper from one x to another, etched as traces are.
pub fn ground(from: f64, to: f64, foot: f64, thickness: f64) -> Conductor {
    let width = to - from;
    Conductor::ground(mm(f64::midpoint(from, to)), mm(foot), mm(width), mm(thickness)).etched(mm(width - thickness))
}

pub fn solved(section: &Section) -> Solution {
    solve(section, &Options { resistance: false, ..Options::default() }).unwrap()
}

/// The started pair's outer layer over its plane: 0.1 mm of prepreg.
pub fn outer(conductors: Vec<Conductor>) -> Section {
    Section {
        layers: vec![layer(0.1, 4.05, 0.02)],
        plane_below: true,
        mask_above: mask(0.015),
        conductors,
        ..Section::default()
    }
}

pub fn differential(section: &Section) -> f64 {
    solved(section).pair(0, 1).unwrap().differential().to_ohms()
}

pub fn single(section: &Section) -> f64 {
    solved(section).line(0).unwrap().impedance.to_ohms()
}

#[track_caller]
pub fn near(found: f64, wanted: f64, percent: f64) {
    assert!((found / wanted - 1.0).abs() * 100.0 <= percent, "{found}, expected {wanted} within {percent} %");
}
