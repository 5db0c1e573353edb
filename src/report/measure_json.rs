//! Measurements for programs. `measure.schema.json` beside this file documents them.

use super::electric;
use super::json::board_value;
use super::measured::{Measured, MeasuredBoard};
use super::run::VERSION;
use crate::board::{Board, LayerSet};
use crate::geometry::to_f64;
use crate::measure::{LegsRow, NetRow, PairRow, ReferenceRow, RouteRow};
use crate::units::Length;
use serde_json::{Value, json};

/// The schema of this report.
pub const SCHEMA: &str = include_str!("measure.schema.json");

/// The report.
#[must_use]
pub fn measure_json(measured: &Measured<'_>) -> String {
    let boards = measured.boards.iter().map(|measured| {
        let MeasuredBoard { board, stackup, measurements } = measured;
        let mut value = board_value(board, stackup);
        if let Some(value) = value.as_object_mut() {
            let nets = measurements.nets.iter().map(|net| net_value(board, net)).collect();
            let pairs = measurements.pairs.iter().map(|pair| pair_value(board, pair)).collect();
            let basis = electric::basis_value(&measurements.basis);
            value.extend(
                [("basis", basis), ("nets", nets), ("pairs", pairs)].map(|(key, value)| (key.to_owned(), value)),
            );
        }
        value
    });
    let document = json!({
        "schema": "throughline/measure/1",
        "tool": { "name": "throughline", "version": VERSION },
        "rules": { "name": measured.rules, "chosen": measured.chosen },
        "boards": boards.collect::<Vec<_>>(),
    });
    format!("{document:#}\n")
}

/// Millimetres to the nanometre's thousandth: far below the grid, far above what a sum of numbers adds.
fn mm(length: Length) -> f64 {
    (length.to_mm() * 1e9).round() / 1e9
}

fn layers(board: &Board, layers: LayerSet) -> Vec<&str> {
    layers.iter().map(|layer| board.layers.name(layer)).collect()
}

fn net_value(board: &Board, net: &NetRow) -> Value {
    let stubs = &net.stubs;
    json!({
        "name": net.name,
        "pads": net.pads,
        "vias": net.vias,
        "fills": net.fills,
        "layers": layers(board, net.layers),
        "open": net.open,
        "branches": stubs.branches,
        "longest_branch_mm": stubs.longest.map(mm),
        "barrel_stubs": stubs.barrels,
        "longest_barrel_stub": stubs.barrel.map(|barrel| json!({
            "from": board.layers.name(barrel.from),
            "to": board.layers.name(barrel.to),
            "length_mm": barrel.length.map(mm),
        })),
        "routes": net.routes.iter().map(|route| route_value(board, route)).collect::<Vec<_>>(),
    })
}

fn route_value(board: &Board, route: &RouteRow) -> Value {
    let length = &route.length;
    json!({
        "from": route.from,
        "to": route.to,
        "length_mm": length.total().map(mm),
        "tracks_mm": mm(length.tracks),
        "arcs_mm": mm(length.arcs),
        "in_pads_mm": mm(length.pads),
        "barrels_mm": length.vias.map(mm),
        "joins_mm": mm(length.joins),
        "in_fills_mm": mm(length.fills),
        "package_mm": mm(length.package),
        "barrels": length.barrels.iter()
            .map(|&(upper, lower)| [board.layers.name(upper), board.layers.name(lower)])
            .collect::<Vec<_>>(),
        "layers": layers(board, route.layers),
        "second_way": route.looped,
        "signal": electric::route_value(board, &route.signal),
        "reference": reference_value(board, &route.reference),
    })
}

fn pair_value(board: &Board, pair: &PairRow) -> Value {
    json!({
        "name": pair.name,
        "p": pair.p,
        "n": pair.n,
        "proposed": pair.proposed,
        "lone_routes": pair.lone,
        "legs": pair.legs.iter().map(|legs| legs_value(board, legs)).collect::<Vec<_>>(),
    })
}

fn legs_value(board: &Board, legs: &LegsRow) -> Value {
    json!({
        "from": { "p": legs.from.0, "n": legs.from.1 },
        "to": { "p": legs.to.0, "n": legs.to.1 },
        "p_mm": legs.p.map(mm),
        "n_mm": legs.n.map(mm),
        "difference_mm": legs.difference.map(mm),
        "peak": legs.peak.map(|(value, at, layer)| json!({
            "value_mm": mm(value),
            "layer": board.layers.name(layer),
            "x_mm": to_f64(at.x) / 1e6,
            "y_mm": to_f64(at.y) / 1e6,
        })),
        "coupled": (legs.coupled * 1e6).round() / 1e6,
        "gap": legs.gap.map(|gap| json!({
            "least_mm": mm(gap.least),
            "typical_mm": mm(gap.typical),
            "most_mm": mm(gap.most),
        })),
        "signal": electric::pair_value(board, &legs.signal),
        "reference": reference_value(board, &legs.reference),
    })
}

fn reference_value(board: &Board, reference: &[ReferenceRow]) -> Vec<Value> {
    let row = |row: &ReferenceRow| {
        json!({
            "layer": board.layers.name(row.layer),
            "plane": row.plane.map(|plane| board.layers.name(plane)),
            "nets": row.nets,
            "bare_mm": mm(row.bare),
            "longest_bare_mm": mm(row.longest),
            "doubtful": row.doubtful,
        })
    };
    reference.iter().map(row).collect()
}
