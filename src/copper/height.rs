//! Heights of barrels in nanometres, from the stackup. What it does not state stays unknown.

use crate::board::{Board, LayerId};

/// Height between the middles of two foils.
pub(super) fn between(board: &Board, one: LayerId, other: LayerId) -> Option<f64> {
    if one == other {
        return Some(0.0);
    }
    Some(board.stackup.as_ref()?.barrel(one, other)?.to_nm())
}

/// Height from the middle of one foil to the far face of another.
pub(super) fn to_face(board: &Board, from: LayerId, to: LayerId) -> Option<f64> {
    Some(between(board, from, to)? + board.stackup.as_ref()?.foil(to)?.to_nm() / 2.0)
}
