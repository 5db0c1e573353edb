//! The ball grid: 14 columns by 16 rows at 0.8 mm, the middle left out, ball A1 left out so that it fits one way only.

use super::{BALLS_X, MIDDLE, Plan, VIA, library, seen_from_above};
use crate::support::{Board, Pad, PadKind, Point};

/// Distance between balls.
pub const PITCH: f64 = 0.8;
/// Columns, from 1.
pub const COLUMNS: usize = 14;
/// Row letters; I, O, Q, S, X and Z are never used.
pub const ROWS: &str = "ABCDEFGHJKLMNPRT";
/// Land diameter for a 0.4 mm ball.
const LAND: f64 = 0.35;
/// Width of the short track from a supply ball to its via.
const DOG_BONE: f64 = 0.2;

/// Position of a ball, seen from above; columns from 1, rows from 0.
pub fn ball_at(column: usize, row: usize) -> Point {
    (BALLS_X + (column as f64 - 7.5) * PITCH, MIDDLE + (row as f64 - 7.5) * PITCH)
}

/// A ball's name.
pub fn name(column: usize, row: usize) -> String {
    format!("{}{column}", &ROWS[row..=row])
}

/// Whether there is a ball.
fn exists(column: usize, row: usize) -> bool {
    let hollow = (5..=10).contains(&column) && (4..=11).contains(&row);
    !hollow && (column, row) != (1, 0)
}

/// The net of a ball; `None` for a ball that the package leaves open.
pub fn net_of(column: usize, row: usize) -> Option<String> {
    // Rows from either end: the grid is nearly symmetric about its middle.
    let from_end = row.min(15 - row);
    let upper = row < 8;
    if column == 14 {
        // Ground, P, N, ground … for the four TX lanes with the clock in their middle.
        let lane = ["MEM_TX0", "MEM_TX1", "GEO_CLK", "MEM_TX2", "MEM_TX3"];
        return Some(match row % 3 {
            0 => "GND".into(),
            1 => format!("{}_P", lane[row / 3]),
            _ => format!("{}_N", lane[row / 3]),
        });
    }
    if from_end == 0 {
        // P is left of N above the middle and right of it below: no pair crosses its legs on the way.
        let lane = match (upper, column) {
            (true, 12 | 13) => Some("MEM_RX0"),
            (true, 9 | 10) => Some("MEM_RX1"),
            (false, 9 | 10) => Some("MEM_RX2"),
            (false, 12 | 13) => Some("MEM_RX3"),
            _ => None,
        };
        if let Some(lane) = lane {
            let left = matches!(column, 12 | 9);
            return Some(format!("{lane}_{}", if left == upper { 'P' } else { 'N' }));
        }
        if matches!(column, 8 | 11) {
            return Some("GND".into());
        }
    }
    let sideband = match (column, row) {
        (11, 1) => "MEM_RST_B",
        (13, 1) => "MEM_WAKE",
        (13, 3) => "BOOT_CLK",
        (13, 6) => "BOOT_IO0",
        (13, 9) => "BOOT_IO1",
        (13, 12) => "BOOT_CS_B",
        (13, 14) => "CART_DETECT",
        (11, 14) => "CART_ID",
        _ => "",
    };
    if !sideband.is_empty() {
        return Some(sideband.into());
    }
    if column <= 2 && (row <= 1 || row >= 12) {
        return None;
    }
    let rail = match row {
        0..=3 if column >= 3 => "VCORE_0V9",
        5 => "VCORE_0V9",
        6 | 7 => "VIO_1V2",
        9..=15 if column >= 2 => "VNAND_2V5",
        _ => "GND",
    };
    Some(if (column + row) % 2 == 1 { rail } else { "GND" }.into())
}

/// Where a ball's via goes: between the balls, outside the grid for the outermost rows; `None` where the lanes draw it.
fn via_at(column: usize, row: usize) -> Option<Point> {
    let (x, y) = ball_at(column, row);
    match (column, row) {
        (14, _) => None,
        (_, 0) => Some((x, y - 0.55)),
        (_, 15) => Some((x, y + 0.55)),
        // One row of vias per row of balls: towards the far side of the grid, the last one back.
        _ => Some((x + PITCH / 2.0, y + PITCH / 2.0)),
    }
}

/// Draws lands, dog bones and their vias.
pub fn draw(board: &mut Board, plan: &Plan) {
    let layer = plan.ball();
    let mut part = seen_from_above("U1", (BALLS_X, MIDDLE), layer).named("Recorder:GRID-175", "MEMORY");
    part.body = vec![(-6.0, -7.0), (6.0, -7.0), (6.0, 7.0), (-6.0, 7.0)];
    for row in 0..ROWS.len() {
        for column in (1..=COLUMNS).filter(|&column| exists(column, row)) {
            let (x, y) = ball_at(column, row);
            let at = library(layer, (x - BALLS_X, y - MIDDLE));
            let mut pad = Pad::circle(&name(column, row), at, LAND).ball();
            pad.kind = PadKind::Smd;
            if let Some(net) = net_of(column, row) {
                pad.function.clone_from(&net);
                pad = pad.net(&net);
            }
            part.pads.push(pad);
        }
    }
    board.part(part);
    for row in 0..ROWS.len() {
        for column in (1..=COLUMNS).filter(|&column| exists(column, row)) {
            let (Some(net), Some(via)) = (net_of(column, row), via_at(column, row)) else { continue };
            let lane = net.starts_with("MEM_TX") || net.starts_with("MEM_RX") || net.starts_with("GEO");
            if lane {
                continue;
            }
            let supply = net == "GND" || net.starts_with('V');
            board.track(&net, layer, if supply { DOG_BONE } else { 0.12 }, &[ball_at(column, row), via]);
            board.via(&net, via).sized(VIA.0, VIA.1);
        }
    }
}
