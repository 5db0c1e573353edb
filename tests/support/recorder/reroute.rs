//! The base board after a hand reroute that went wrong: one fault per check, each at a place of its own.

use super::{BASE, MIDDLE, unfilled};
use crate::support::plant::{self, Planted};
use crate::support::{Board, Point};

/// A fault of the rerouted board.
pub struct Fault {
    /// What happened, in a few words.
    pub name: &'static str,
    /// Whether it is planted after the zones were filled.
    pub after_fill: bool,
    /// Plants it.
    pub plant: fn(&mut Board) -> Planted,
}

/// A point by its distance from the middle of the board's height.
const fn at(x: f64, y: f64) -> Point {
    (x, MIDDLE + y)
}

/// The faults, in the order in which they are planted.
pub const FAULTS: [Fault; 11] = [
    // The last straight of MEM_TX1 before its contacts: leg N takes a step aside and is 0.5 mm longer.
    Fault {
        name: "longer leg",
        after_fill: false,
        plant: |board| plant::longer_leg(board, "MEM_TX1", "F.Cu", at(26.0, -1.35), 0.5, false),
    },
    // MEM_TX2: N is 0.4 mm ahead from the balls on; P catches up 10 mm later, just before its contacts.
    Fault {
        name: "late compensation",
        after_fill: false,
        plant: |board| plant::late_compensation(board, "MEM_TX2", "F.Cu", (at(16.4, 2.55), at(27.0, 1.35)), 0.4),
    },
    // A slot in the plane above the straight of MEM_RX0 along the board edge, 1.2 mm wide.
    Fault {
        name: "slotted plane",
        after_fill: false,
        plant: |board| plant::slot(board, "MEM_RX0", "In4.Cu", (at(16.4, -10.9), at(17.6, -8.9)), "B.Cu"),
    },
    // The blind via of GEO_CLK_P at the connector became a through via: 0.5 mm of it hang below In2.
    Fault {
        name: "deeper via",
        after_fill: false,
        plant: |board| plant::deeper_via(board, "GEO_CLK_P", at(BASE.row_a - 1.1, -0.25), ("F.Cu", "B.Cu")),
    },
    // MEM_TX3_P leaves its contact 0.1 mm wide and stays so for 3 mm.
    Fault {
        name: "long neck",
        after_fill: false,
        plant: |board| {
            let contact = board.pad_at("J1.A21");
            plant::neck(board, "MEM_TX3_P", "F.Cu", contact, (3.6, 0.1))
        },
    },
    // The ground via beside the upper leg of MEM_TX0 became a blind via that ends at the first plane it meets.
    Fault {
        name: "blind return via",
        after_fill: false,
        plant: |board| plant::blind_return_via(board, "MEM_TX0_P", ("In4.Cu", "B.Cu")),
    },
    // A patch of VNAND took the place of the ground plane over the way of MEM_TX2_P from its ball to its via.
    Fault {
        name: "supply patch",
        after_fill: false,
        plant: |board| plant::supply_patch(board, "MEM_TX2_P", "VNAND_2V5", "In4.Cu"),
    },
    // 0.6 mm of MEM_RST_B are missing on the inner layer.
    Fault {
        name: "open",
        after_fill: false,
        plant: |board| plant::open(board, "MEM_RST_B", "In2.Cu", at(24.0, -6.25)),
    },
    // A stray track joins the two cartridge lines on the inner layer.
    Fault {
        name: "short",
        after_fill: false,
        plant: |board| plant::short(board, ("CART_DETECT", "CART_ID"), "In2.Cu", (at(24.0, 5.75), at(24.0, 6.25))),
    },
    // BOOT_IO1 takes 4 mm more than it needs, aside from its slope towards the contacts.
    Fault {
        name: "long member",
        after_fill: false,
        plant: |board| plant::detour(board, "BOOT_IO1", "In2.Cu", at(19.0, 2.2), (2.0, 0.8)),
    },
    // A ground via was added beside the balls and the supply pour was not filled anew.
    Fault {
        name: "stale fill",
        after_fill: true,
        plant: |board| plant::stale_fill(board, "GND", "VNAND_2V5", "In3.Cu", at(3.6, 9.5)),
    },
];

/// The board with all faults, and what must be found on it.
pub fn rerouted() -> (Board, Vec<Planted>) {
    let mut board = unfilled(&BASE);
    // The same board, saved again: what was not touched keeps its identifiers.
    board.revision = "B".into();
    let mut planted: Vec<Planted> =
        FAULTS.iter().filter(|fault| !fault.after_fill).map(|fault| (fault.plant)(&mut board)).collect();
    board.fill();
    planted.extend(FAULTS.iter().filter(|fault| fault.after_fill).map(|fault| (fault.plant)(&mut board)));
    (board, planted)
}
