//! Planes, pours, decoupling, stitching vias and marks.

use super::{BALLS_X, HEIGHT, MIDDLE, Plan, VIA, library, rectangle, seen_from_above};
use crate::support::{Board, Pad, Point};

/// Copper keeps this far from the board edge.
const EDGE: f64 = 0.3;
/// Where the supply layer is split: above VCORE, below VNAND, the modest VIO between, which alone must pass the vias
/// of the TX lanes.
const SPLITS: [f64; 2] = [MIDDLE - 1.35, MIDDLE + 1.35];

/// Draws them.
pub fn draw(board: &mut Board, plan: &Plan) {
    capacitors(board, plan);
    marks(board, plan);
    let (min, max) = ((EDGE, EDGE), (plan.width() - EDGE, HEIGHT - EDGE));
    board.stitch("GND", ((0.9, 0.9), (plan.width() - 0.9, HEIGHT - 0.9)), 1.7, 0.6);
    for layer in plan.planes() {
        board.zone("GND", &[layer], &rectangle(min, max)).name = "GROUND".into();
    }
    let ground = board.zone("GND", &[plan.inner()], &rectangle(min, max));
    ground.name = "INNER-GROUND".into();
    ground.clearance = 0.3;
    let bands = [(EDGE, SPLITS[0] - 0.1), (SPLITS[0] + 0.1, SPLITS[1] - 0.1), (SPLITS[1] + 0.1, HEIGHT - EDGE)];
    for (net, (top, bottom)) in ["VCORE_0V9", "VIO_1V2", "VNAND_2V5"].into_iter().zip(bands) {
        let pour = board.zone(net, &[plan.supply()], &rectangle((min.0, top), (max.0, bottom)));
        pour.clearance = 0.15;
        pour.name = net.into();
    }
}

/// Decoupling in the hollow of the grid, on the connector's side.
fn capacitors(board: &mut Board, plan: &Plan) {
    let layer = plan.mate();
    let rows = [
        (-2.55, "VCORE_0V9"),
        (-1.55, "VCORE_0V9"),
        (-0.55, "VIO_1V2"),
        (0.55, "VIO_1V2"),
        (1.55, "VNAND_2V5"),
        (2.55, "VNAND_2V5"),
    ];
    for (index, (dy, rail)) in rows.into_iter().enumerate() {
        // Two back to back, their ground vias in the middle.
        for (column, dx, out) in [(0, -0.95, -1.0), (1, 1.35, 1.0)] {
            let at = (BALLS_X + dx, MIDDLE + dy);
            let pad = |number: &str, x: f64| Pad::rect(number, library(layer, (x, 0.0)), (0.5, 0.5));
            let part = seen_from_above(&format!("C{}", 2 * index + column + 1), at, layer)
                .named("Recorder:CAP-1005", "100n")
                .pad(pad("1", out * 0.45).net(rail))
                .pad(pad("2", -out * 0.45).net("GND"));
            board.part(part);
            for (net, side) in [(rail, out), ("GND", -out)] {
                let (pad, via): (Point, Point) = ((at.0 + side * 0.45, at.1), (at.0 + side * 0.95, at.1));
                board.track(net, layer, 0.25, &[pad, via]);
                board.via(net, via).sized(VIA.0, VIA.1);
            }
        }
    }
}

/// Three marks for placement, bare copper without a net.
fn marks(board: &mut Board, plan: &Plan) {
    for (index, at) in [(1.6, 22.4), (plan.width() - 1.6, 1.6), (plan.width() - 1.6, 22.4)].into_iter().enumerate() {
        for layer in [plan.mate(), plan.ball()] {
            let name = format!("FID{}{}", index + 1, if layer == "F.Cu" { "T" } else { "B" });
            let part = seen_from_above(&name, at, layer).named("Recorder:MARK", "MARK");
            board.part(part.pad(Pad::circle("1", (0.0, 0.0), 1.0)));
        }
    }
}
