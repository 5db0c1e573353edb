//! Small boards to begin from: what a check's fixture needs beside its one interesting item.

use super::{Board, Pad, Part, Point, Stack, rectangle};

/// Net names of a started pair.
pub const P: &str = "LINK_P";
/// The other leg.
pub const N: &str = "LINK_N";
/// Width of a started pair's tracks.
pub const WIDTH: f64 = 0.16;
/// Distance between its centre lines (0.14 mm gap).
pub const PITCH: f64 = 0.3;
/// Its legs' y: P above, N below.
pub const P_Y: f64 = 4.85;
/// Leg N.
pub const N_Y: f64 = P_Y + PITCH;
/// Its pads' x: U1 left, J1 right.
pub const LEFT: f64 = 3.0;
/// J1.
pub const RIGHT: f64 = 17.0;

/// A 20 by 10 mm board, four layers, GND planes on In1 and In2 (not filled yet), no signal.
pub fn planes(name: &str) -> Board {
    planes_on(name, Stack::four())
}

/// The same on any stack of four or more layers: GND planes on its second and last but one layer.
pub fn planes_on(name: &str, stack: Stack) -> Board {
    let mut board = Board::new(name, stack);
    board.net("GND");
    board.outline((0.0, 0.0), (20.0, 10.0));
    // The planes' own copper to reach: a ground via in each corner.
    for at in [(1.0, 1.0), (19.0, 1.0), (19.0, 9.0), (1.0, 9.0)] {
        board.via("GND", at);
    }
    let inner = board.stack.layers.clone();
    for layer in [&inner[1], &inner[inner.len() - 2]] {
        board.zone("GND", &[layer], &rectangle((0.3, 0.3), (19.7, 9.7)));
    }
    board
}

/// [`planes`] and two parts with the two legs' pads: U1.1 and J1.1 are P, U1.2 and J1.2 are N. No tracks.
pub fn two_pad_pair(name: &str) -> Board {
    let mut board = planes(name);
    for (reference, x) in [("U1", LEFT), ("J1", RIGHT)] {
        let part = Part::new(reference, (x, (P_Y + N_Y) / 2.0))
            .pad(Pad::rect("1", (0.0, -PITCH / 2.0), (0.3, 0.2)).net(P))
            .pad(Pad::rect("2", (0.0, PITCH / 2.0), (0.3, 0.2)).net(N));
        board.part(part);
    }
    board
}

/// [`two_pad_pair`] with both legs drawn straight on F.Cu, 14 mm long, not filled yet.
pub fn straight_pair(name: &str) -> Board {
    let mut board = two_pad_pair(name);
    board.track(P, "F.Cu", WIDTH, &[(LEFT, P_Y), (RIGHT, P_Y)]);
    board.track(N, "F.Cu", WIDTH, &[(LEFT, N_Y), (RIGHT, N_Y)]);
    board
}

/// [`straight_pair`] whose leg P goes through extra points between its ends.
pub fn bent_pair(name: &str, through: &[Point]) -> Board {
    let mut board = two_pad_pair(name);
    let points: Vec<Point> =
        std::iter::once((LEFT, P_Y)).chain(through.iter().copied()).chain(std::iter::once((RIGHT, P_Y))).collect();
    board.track(P, "F.Cu", WIDTH, &points);
    board.track(N, "F.Cu", WIDTH, &[(LEFT, N_Y), (RIGHT, N_Y)]);
    board
}

/// [`planes`] and two parts with one pad each of one net; no tracks. Pads at (3, 5) and (17, 5).
pub fn two_pads(name: &str, net: &str) -> Board {
    let mut board = planes(name);
    for (reference, x) in [("U1", LEFT), ("J1", RIGHT)] {
        board.part(Part::new(reference, (x, 5.0)).pad(Pad::rect("1", (0.0, 0.0), (0.3, 0.3)).net(net)));
    }
    board
}
