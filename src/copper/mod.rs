//! What the copper does, from geometry alone: islands, routes, lengths, stubs, pairs, reference planes.

pub mod coupling;
mod item;
mod length;
pub mod pair_evidence;
pub mod pair_match;
pub mod pair_name;
pub mod pairing;
mod route;

pub use item::ItemRef;
pub use length::Contributions;
pub use route::{Route, Step, StepKind};

use crate::board::Board;

/// A board's copper. Each part is worked out once, on first use, and shared by threads.
#[derive(Debug)]
pub struct Copper<'b> {
    board: &'b Board,
}

impl<'b> Copper<'b> {
    /// The copper of a board; nothing is computed yet.
    #[must_use]
    pub fn new(board: &'b Board) -> Self {
        Self { board }
    }

    /// The board.
    #[must_use]
    pub fn board(&self) -> &'b Board {
        self.board
    }
}
