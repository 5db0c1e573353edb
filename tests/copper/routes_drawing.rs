//! Boards drawn for the tests of routes, written as files and read again.

use crate::support::{Board as Drawn, Generation, Pad, Part, Stack};
use std::sync::Arc;
use throughline::board::{Board, LayerId, NetId, PadId, read};
use throughline::copper::{Copper, Route, pad_name};
use throughline::source::SourceFile;

/// A drawn board as the crate reads it.
pub fn board(drawn: &Drawn) -> Board {
    board_of(drawn, Generation::V10)
}

/// The same from a file of a given generation.
pub fn board_of(drawn: &Drawn, generation: Generation) -> Board {
    let name = format!("{}.kicad_pcb", drawn.name);
    read(&drawn.name, Arc::new(SourceFile::new(name, drawn.text(generation)))).expect("a drawn board reads")
}

/// A part with one pad `1` of net `A`.
pub fn land(reference: &str, at: (f64, f64), size: (f64, f64)) -> Part {
    Part::new(reference, at).pad(Pad::rect("1", (0.0, 0.0), size).net("A"))
}

/// Four layers; U1.1 at (5, 5) and J1.1 at (15, 5), half a millimetre square, both on top and of net `A`.
pub fn two_lands() -> Drawn {
    two_lands_on(Stack::four())
}

/// The same on another stack.
pub fn two_lands_on(stack: Stack) -> Drawn {
    let mut drawn = Drawn::new("two-lands", stack);
    drawn.outline((0.0, 0.0), (20.0, 10.0));
    drawn.part(land("U1", (5.0, 5.0), (0.5, 0.5)));
    drawn.part(land("J1", (15.0, 5.0), (0.5, 0.5)));
    drawn
}

/// The net of a name.
pub fn net(board: &Board, name: &str) -> NetId {
    board.nets.find(name).expect("the net is there")
}

/// The pad of a name.
pub fn pad(board: &Board, name: &str) -> PadId {
    board.pads.ids().find(|&id| pad_name(board, id) == name).expect("the pad is there")
}

/// A layer by its name.
pub fn layer(board: &Board, name: &str) -> LayerId {
    board.layers.find(name).expect("the layer is there")
}

/// The only route of net `A`.
pub fn only_route(board: &Board) -> Route {
    let copper = Copper::new(board);
    let routes = copper.routes(net(board, "A"));
    assert_eq!(routes.routes.len(), 1, "one route, open: {:?}", routes.open);
    routes.routes[0].clone()
}

/// Length of the only route of net `A` without barrels, in millimetres.
pub fn planar(drawn: &Drawn) -> f64 {
    only_route(&board(drawn)).length.planar().to_mm()
}

/// Holds two lengths in millimetres to be equal within a nanometre.
#[track_caller]
pub fn same(value: f64, expected: f64) {
    assert!((value - expected).abs() < 1.5e-6, "{value} is not {expected}");
}
