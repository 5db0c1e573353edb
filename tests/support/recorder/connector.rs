//! The mezzanine connector: two rows of 30 contacts at 0.5 mm, ground beside every pair.

use super::{MIDDLE, Plan, VIA, ends, library, seen_from_above};
use crate::support::{Board, Pad, PadShape, Point};

/// Distance between contacts.
const PITCH: f64 = 0.5;
/// Contacts per row.
pub const CONTACTS: usize = 30;
/// Distance between the rows.
pub const ROWS: f64 = 3.6;

/// y of a contact, from 0.
pub fn contact_y(index: usize) -> f64 {
    MIDDLE + (index as f64 - 14.5) * PITCH
}

/// The net of a contact of row A (towards the balls): the TX lanes and the clock, sidebands at both ends.
fn row_a(index: usize) -> Option<&'static str> {
    Some(match index {
        2 => "MEM_RST_B",
        3 => "MEM_WAKE",
        4 => "BOOT_CLK",
        5 => "BOOT_IO0",
        24 => "BOOT_IO1",
        25 => "BOOT_CS_B",
        26 => "CART_DETECT",
        27 => "CART_ID",
        8 => "MEM_TX0_P",
        9 => "MEM_TX0_N",
        11 => "MEM_TX1_P",
        12 => "MEM_TX1_N",
        14 => "GEO_CLK_P",
        15 => "GEO_CLK_N",
        17 => "MEM_TX2_P",
        18 => "MEM_TX2_N",
        20 => "MEM_TX3_P",
        21 => "MEM_TX3_N",
        1 | 28 => return None,
        _ => "GND",
    })
}

/// The net of a contact of row B: the RX lanes at both ends, the rails between.
fn row_b(index: usize) -> Option<&'static str> {
    Some(match index {
        1 => "MEM_RX1_P",
        2 => "MEM_RX1_N",
        4 => "MEM_RX0_P",
        5 => "MEM_RX0_N",
        24 => "MEM_RX3_P",
        25 => "MEM_RX3_N",
        27 => "MEM_RX2_P",
        28 => "MEM_RX2_N",
        7..=11 => "VCORE_0V9",
        13 | 14 => "VIO_1V2",
        18..=21 => "VNAND_2V5",
        _ => "GND",
    })
}

/// Draws contacts, their supply vias and the sideband ends.
pub fn draw(board: &mut Board, plan: &Plan) {
    let layer = plan.mate();
    let centre = (plan.row_a + ROWS / 2.0, MIDDLE);
    let mut part = seen_from_above("J1", centre, layer).named("Recorder:MEZZ-2X30", "MEZZANINE");
    part.body = vec![(-3.0, -8.6), (3.0, -8.6), (3.0, 8.6), (-3.0, 8.6)];
    for (row, nets, x) in [('A', row_a as fn(usize) -> _, -ROWS / 2.0), ('B', row_b, ROWS / 2.0)] {
        for index in 0..CONTACTS {
            let at = library(layer, (x, contact_y(index) - MIDDLE));
            let shape = PadShape::RoundRect(0.2);
            let mut pad = Pad::land(&format!("{row}{}", index + 1), shape, at, (plan.pad, 0.25));
            if let Some(net) = nets(index) {
                pad.function = net.into();
                pad = pad.net(net);
            }
            part.pads.push(pad);
        }
    }
    for y in [-9.4, 9.4] {
        part.pads.push(Pad::bare_hole(library(layer, (0.0, y)), 0.9));
    }
    board.part(part);
    for index in 0..CONTACTS {
        ground_or_rail(board, plan, index);
    }
}

fn ground_or_rail(board: &mut Board, plan: &Plan, index: usize) {
    let layer = plan.mate();
    let y = contact_y(index);
    // Neighbours step back and forth, so that vias of two nets keep apart.
    let step = if index.is_multiple_of(2) { 0.0 } else { 0.5 };
    let row_b_x = plan.row_a + ROWS;
    let mut drop = |net: &str, from: Point, to: Point| {
        board.track(net, layer, 0.2, &[from, to]);
        board.via(net, to).sized(VIA.0, VIA.1);
    };
    if let Some(net) = row_b(index).filter(|net| !net.starts_with("MEM")) {
        // The RX lanes' own vias stand in a column there; the lanes draw the ground vias between them.
        let lane_ground = net == "GND" && !(6..=23).contains(&index);
        let inward = if lane_ground || index == 6 || index == 23 { 1.8 } else { 1.5 - step };
        drop(net, (row_b_x, y), (row_b_x - inward, y));
        drop(net, (row_b_x, y), (row_b_x + 1.0 + step, y));
    }
    if row_a(index) == Some("GND") {
        drop("GND", (plan.row_a, y), (plan.row_a + 1.0, y));
        if index == 13 || index == 16 {
            drop("GND", (plan.row_a, y), (plan.row_a - 1.1, y));
        }
    }
}

/// Where a sideband leaves the inner layer: its blind via beside its contact.
pub fn sideband_via(board: &mut Board, plan: &Plan, net: &str, index: usize) -> Point {
    let step = if index.is_multiple_of(2) { 0.6 } else { 0.0 };
    let at = (plan.row_a - 1.1 - step, contact_y(index));
    let (top, bottom) = ends(plan.mate(), plan.inner());
    board.track(net, plan.mate(), 0.12, &[at, (plan.row_a, at.1)]);
    board.via(net, at).sized(VIA.0, VIA.1).span(top, bottom);
    at
}
