//! Terminals: the pads of a net, where its routes end. Test points are terminals too.

use crate::board::{Board, PadId, Side};
use crate::geometry::Point;

/// A pad's name as people say it: `U1.A3`. A part without a reference is named by its place in millimetres.
#[must_use]
pub fn pad_name(board: &Board, id: PadId) -> String {
    let Some(pad) = board.pads.get(id) else { return String::new() };
    let part = board.footprints.get(pad.footprint);
    let reference = part.map_or("", |part| part.reference.as_str());
    if reference.is_empty() {
        let Point { x, y } = pad.at;
        return format!(
            "({}.{:03},{}.{:03}).{}",
            x / 1_000_000,
            thousandths(x),
            y / 1_000_000,
            thousandths(y),
            pad.number
        );
    }
    format!("{reference}.{}", pad.number)
}

const fn thousandths(nm: i64) -> i64 {
    (nm % 1_000_000 / 1000).abs()
}

/// The side of the board that a pad's part sits on.
#[must_use]
pub fn pad_side(board: &Board, id: PadId) -> Side {
    let part = board.pads.get(id).and_then(|pad| board.footprints.get(pad.footprint));
    part.map_or(Side::Top, |part| part.side)
}
