//! Heights of barrels in nanometres, from the stackup. What it does not state stays unknown.

use crate::board::{LayerId, Stackup};

/// Height between the middles of two foils.
pub(super) fn between(stackup: Option<&Stackup>, one: LayerId, other: LayerId) -> Option<f64> {
    if one == other {
        return Some(0.0);
    }
    Some(stackup?.barrel(one, other)?.to_nm())
}

/// Height from the middle of one foil to the far face of another.
pub(super) fn to_face(stackup: Option<&Stackup>, from: LayerId, to: LayerId) -> Option<f64> {
    Some(between(stackup, from, to)? + stackup?.foil(to)?.to_nm() / 2.0)
}
