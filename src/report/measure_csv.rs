//! Measurements as comma-separated values (RFC 4180): one line per route of a net and per two ends of a pair. Columns
//! that don't apply are empty, and so is what is not known. Lengths are in mm, to the nanometre; ohms, ps and dB to the
//! thousandth. `not_known` says which of these are missing and why.

use super::csv::{place, quoted, thousandth};
use super::electric::{pair_unknown, reasons, route_unknown};
use super::measured::{Measured, MeasuredBoard, layer_names, longest_bare, planes};
use crate::board::Board;
use crate::field::Time;
use crate::measure::{ImpedanceRow, LegsRow, LossRow, NetRow, PairRow, RouteRow, Unknown};
use crate::units::{Length, decimal};

/// Columns. Further ones are only ever added at the end.
const COLUMNS: &[&str] = &[
    "kind",
    "name",
    "from",
    "to",
    "length_mm",
    "tracks_mm",
    "arcs_mm",
    "in_pads_mm",
    "barrels_mm",
    "joins_mm",
    "in_fills_mm",
    "package_mm",
    "vias",
    "layers",
    "second_way",
    "pads",
    "open",
    "branches",
    "longest_branch_mm",
    "barrel_stubs",
    "longest_barrel_stub_mm",
    "net_p",
    "net_n",
    "proposed",
    "p_mm",
    "n_mm",
    "difference_mm",
    "peak_mm",
    "peak_x_mm",
    "peak_y_mm",
    "peak_layer",
    "coupled_percent",
    "least_gap_mm",
    "typical_gap_mm",
    "most_gap_mm",
    "lone_routes",
    "planes",
    "longest_bare_mm",
    "board",
    "least_ohm",
    "typical_ohm",
    "most_ohm",
    "worst_ohm",
    "worst_x_mm",
    "worst_y_mm",
    "worst_layer",
    "delay_ps",
    "p_ps",
    "n_ps",
    "skew_ps",
    "peak_ps",
    "peak_ps_x_mm",
    "peak_ps_y_mm",
    "peak_ps_layer",
    "loss_at_ghz",
    "loss_db",
    "metal_db",
    "dielectric_db",
    "barrels_db",
    "not_known",
];

/// The report.
#[must_use]
pub fn measure_csv(measured: &Measured<'_>) -> String {
    let mut out = COLUMNS.join(",") + "\n";
    let mut line = |cells: &[(&str, String)]| {
        let cell = |column: &&str| cells.iter().find(|(name, _)| name == column).map_or("", |(_, cell)| cell);
        out.push_str(&COLUMNS.iter().map(|column| quoted(cell(column))).collect::<Vec<_>>().join(","));
        out.push('\n');
    };
    for MeasuredBoard { board, measurements: found, .. } in &measured.boards {
        for net in &found.nets {
            if net.routes.is_empty() {
                line(&net_cells(board, net, None));
            }
            for route in &net.routes {
                line(&net_cells(board, net, Some(route)));
            }
        }
        for pair in &found.pairs {
            if pair.legs.is_empty() {
                line(&pair_cells(board, pair, None));
            }
            for legs in &pair.legs {
                line(&pair_cells(board, pair, Some(legs)));
            }
        }
    }
    out
}

fn mm(length: Option<Length>) -> String {
    length.map_or_else(String::new, |length| decimal(length.to_mm(), 6))
}

fn time(known: &Result<Time, Unknown>) -> String {
    known.as_ref().map_or_else(|_| String::new(), |time| thousandth(time.to_ps()))
}

fn impedance(board: &Board, row: &ImpedanceRow) -> Vec<(&'static str, String)> {
    let (worst, at, layer) = row.worst;
    let [x, y] = place(at);
    vec![
        ("least_ohm", thousandth(row.least.to_ohms())),
        ("typical_ohm", thousandth(row.typical.to_ohms())),
        ("most_ohm", thousandth(row.most.to_ohms())),
        ("worst_ohm", thousandth(worst.to_ohms())),
        ("worst_x_mm", x),
        ("worst_y_mm", y),
        ("worst_layer", board.layers.name(layer).to_owned()),
    ]
}

fn loss(row: &LossRow) -> Vec<(&'static str, String)> {
    vec![
        ("loss_at_ghz", thousandth(row.frequency.to_ghz())),
        ("loss_db", thousandth(row.total().base())),
        ("metal_db", thousandth(row.metal.base())),
        ("dielectric_db", thousandth(row.dielectric.base())),
        ("barrels_db", thousandth(row.barrels.base())),
    ]
}

fn yes(set: bool) -> String {
    if set { "yes" } else { "no" }.to_owned()
}

fn net_cells(board: &Board, net: &NetRow, route: Option<&RouteRow>) -> Vec<(&'static str, String)> {
    let mut cells = vec![
        ("kind", "net".to_owned()),
        ("board", board.name.clone()),
        ("name", net.name.clone()),
        ("pads", net.pads.to_string()),
        ("open", net.open.to_string()),
        ("branches", net.stubs.branches.to_string()),
        ("longest_branch_mm", mm(net.stubs.longest)),
        ("barrel_stubs", net.stubs.barrels.to_string()),
        ("longest_barrel_stub_mm", mm(net.stubs.barrel.and_then(|barrel| barrel.length))),
    ];
    match route {
        None => cells.extend([("vias", net.vias.to_string()), ("layers", layer_names(board, net.layers).join(" "))]),
        Some(route) => cells.extend([
            ("from", route.from.clone()),
            ("to", route.to.clone()),
            ("length_mm", mm(route.length.total())),
            ("tracks_mm", mm(Some(route.length.tracks))),
            ("arcs_mm", mm(Some(route.length.arcs))),
            ("in_pads_mm", mm(Some(route.length.pads))),
            ("barrels_mm", mm(route.length.vias)),
            ("joins_mm", mm(Some(route.length.joins))),
            ("in_fills_mm", mm(Some(route.length.fills))),
            ("package_mm", mm(Some(route.length.package))),
            ("vias", route.vias.to_string()),
            ("layers", layer_names(board, route.layers).join(" ")),
            ("second_way", yes(route.looped)),
            ("planes", planes(board, &route.reference)),
            ("longest_bare_mm", mm(longest_bare(&route.reference))),
            ("delay_ps", time(&route.signal.delay)),
            ("not_known", reasons(&route_unknown(&route.signal))),
        ]),
    }
    if let Some(signal) = route.map(|route| &route.signal) {
        cells.extend(signal.impedance.iter().flat_map(|row| impedance(board, row)));
        cells.extend(signal.loss.iter().flat_map(loss));
    }
    cells
}

fn pair_cells(board: &Board, pair: &PairRow, legs: Option<&LegsRow>) -> Vec<(&'static str, String)> {
    let mut cells = vec![
        ("kind", "pair".to_owned()),
        ("board", board.name.clone()),
        ("name", pair.name.clone()),
        ("net_p", pair.p.clone()),
        ("net_n", pair.n.clone()),
        ("proposed", yes(pair.proposed)),
        ("lone_routes", pair.lone.to_string()),
    ];
    if let Some(legs) = legs {
        let both = |ends: &(String, String)| format!("{}/{}", ends.0, ends.1);
        cells.extend([
            ("from", both(&legs.from)),
            ("to", both(&legs.to)),
            ("p_mm", mm(legs.p)),
            ("n_mm", mm(legs.n)),
            ("difference_mm", mm(legs.difference)),
            ("coupled_percent", decimal(legs.coupled * 100.0, 2)),
            ("least_gap_mm", mm(legs.gap.map(|gap| gap.least))),
            ("typical_gap_mm", mm(legs.gap.map(|gap| gap.typical))),
            ("most_gap_mm", mm(legs.gap.map(|gap| gap.most))),
            ("planes", planes(board, &legs.reference)),
            ("longest_bare_mm", mm(longest_bare(&legs.reference))),
        ]);
        let signal = &legs.signal;
        cells.extend([
            ("p_ps", time(&signal.p)),
            ("n_ps", time(&signal.n)),
            ("skew_ps", time(&signal.skew)),
            ("not_known", reasons(&pair_unknown(signal))),
        ]);
        cells.extend(signal.impedance.iter().flat_map(|row| impedance(board, row)));
        cells.extend(signal.loss.iter().flat_map(loss));
        if let Ok((value, at, layer)) = signal.peak {
            let [x, y] = place(at);
            cells.extend([
                ("peak_ps", thousandth(value.to_ps())),
                ("peak_ps_x_mm", x),
                ("peak_ps_y_mm", y),
                ("peak_ps_layer", board.layers.name(layer).to_owned()),
            ]);
        }
        if let Some((value, at, layer)) = legs.peak {
            let [x, y] = place(at);
            cells.extend([
                ("peak_mm", mm(Some(value))),
                ("peak_x_mm", x),
                ("peak_y_mm", y),
                ("peak_layer", board.layers.name(layer).to_owned()),
            ]);
        }
    }
    cells
}
