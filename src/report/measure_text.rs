//! Measurements for people: a table of nets, a table of pairs, and how lengths are counted.

use super::electric::{self, cell, impedance_cells};
use super::measured::{Measured, MeasuredBoard, layer_names, longest_bare, mm, planes};
use super::page::page;
use super::table::{Side, Table};
use super::text::{board_line, notes};
use super::{Paint, run::counted};
use crate::board::Board;
use crate::copper::LENGTH_RULE;
use crate::field::Time;
use crate::measure::{LegsRow, Measurements, NetRow, PairRow, ReferenceRow, RouteRow, Unknown};
use crate::source::excerpt::Look;
use crate::source::printable_name;
use crate::units::{Length, decimal};
use std::collections::BTreeMap;
use std::fmt::Write;

/// Nets with more pads than this are shown by their longest route alone.
const FEW_PADS: usize = 3;

/// The report.
#[must_use]
pub fn measure_text(measured: &Measured<'_>, look: &Look) -> String {
    let paint = Paint { on: look.colour };
    let mut out = String::new();
    for measured in &measured.boards {
        out.push_str(&board_line(measured.board));
        out.extend(measured.stackup.line());
        out.extend(electric::basis_line(&measured.stackup, &measured.measurements.basis));
    }
    let _ = writeln!(out, "rules  {}, {}", printable_name(&measured.rules), measured.chosen);
    let alone = measured.boards.len() == 1;
    for MeasuredBoard { board, measurements, .. } in &measured.boards {
        let of = if alone { String::new() } else { format!("{}: ", printable_name(board.source.name())) };
        tables(&mut out, board, measurements, &of, paint);
    }
    let _ = writeln!(out, "\n{}", paint.strong("How lengths are counted"));
    out.push_str(&page(LENGTH_RULE, look.width.min(100), paint));
    let all = || measured.boards.iter().map(|board| &board.measurements);
    let mut routes = all().flat_map(|found| &found.nets).flat_map(|net| &net.routes);
    if routes.any(|route| route.length.vias.is_none()) {
        let whose = if alone { "this board" } else { "a board" };
        let _ = writeln!(out, "  ?  There is no stackup of {whose}, so barrels are counted but have no height.");
    }
    let mut planes = all().flat_map(|found| &found.pairs).flat_map(|pair| &pair.legs).flat_map(|legs| &legs.reference);
    if planes.any(|row| row.doubtful) {
        let _ = writeln!(out, "  ?  beside a plane: zones there have no fill, or are filled with a mesh.");
    }
    for MeasuredBoard { measurements, .. } in &measured.boards {
        electric_notes(&mut out, measurements);
    }
    for measured in &measured.boards {
        notes(&mut out, measured.board);
    }
    out
}

/// What ohms, ps and dB are, and why some of them are not known.
fn electric_notes(out: &mut String, found: &Measurements) {
    let routes: Vec<_> = found.nets.iter().flat_map(|net| &net.routes).map(|route| &route.signal).collect();
    let legs: Vec<_> = found.pairs.iter().flat_map(|pair| &pair.legs).map(|legs| &legs.signal).collect();
    let has_ohms = routes.iter().any(|row| row.impedance.is_ok()) || legs.iter().any(|row| row.impedance.is_ok());
    if let (Ok(basis), true) = (&found.basis, has_ohms) {
        out.push_str(
            "  ohm, worst  of tracks by length: the median, and the farthest from the group's target or the median;\n  \
             differential for pairs\n",
        );
        let assumed = electric::assumed(basis);
        if !assumed.is_empty() {
            let _ = writeln!(out, "  assumed: {assumed}");
        }
    }
    let of_routes = routes.iter().map(|row| {
        let unknown = [row.impedance.as_ref().err(), row.delay.as_ref().err(), row.loss.as_ref().err()];
        electric::doubts(unknown, row.impedance.as_ref().ok())
    });
    let of_legs = legs.iter().map(|row| {
        let times = [&row.p, &row.n, &row.skew].map(|time| time.as_ref().err());
        let rest = [row.impedance.as_ref().err(), row.peak.as_ref().err(), row.loss.as_ref().err()];
        electric::doubts(times.into_iter().chain(rest), row.impedance.as_ref().ok())
    });
    let mut counts: BTreeMap<String, usize> = BTreeMap::new();
    for reason in of_routes.chain(of_legs).flatten() {
        *counts.entry(reason).or_default() += 1;
    }
    for (reason, number) in counts {
        let _ = writeln!(out, "  ?  of ohms, ps and dB in {}: {reason}", count(number, "row"));
    }
}

/// The tables of one board; `of` names it in their headings.
fn tables(out: &mut String, board: &Board, found: &Measurements, of: &str, paint: Paint) {
    let heading = |number: usize, one: &str| paint.strong(&format!("{of}{}", count(number, one)));
    let _ = writeln!(out, "\n{}, lengths in mm", heading(found.nets.len(), "net"));
    out.push_str(&nets(board, &found.nets, paint));
    let _ = writeln!(out, "\n{}, lengths in mm", heading(found.pairs.len(), "pair"));
    if found.pairs.is_empty() {
        let _ = writeln!(out, "The rule set declares none that this board has, and the board proposes none.");
    } else {
        out.push_str(&pairs(board, &found.pairs, paint));
    }
}

fn count(number: usize, one: &str) -> String {
    counted(u64::try_from(number).unwrap_or(u64::MAX), one)
}

fn nets(board: &Board, nets: &[NetRow], paint: Paint) -> String {
    use Side::{Left, Right};
    let mut table = Table::new(&[
        ("net", Left),
        ("from", Left),
        ("to", Left),
        ("length", Right),
        ("tracks", Right),
        ("arcs", Right),
        ("in pads", Right),
        ("barrels", Right),
        ("joins", Right),
        ("in fills", Right),
        ("package", Right),
        ("vias", Right),
        ("layers", Left),
        ("branch", Right),
        ("stub", Right),
        ("no plane", Right),
        ("ohm", Right),
        ("worst", Right),
        ("ps", Right),
        ("dB", Right),
        ("remarks", Left),
    ]);
    let alone = |net: &NetRow| net.pads == 1 && net.stubs.branches == 0 && net.vias == 0;
    for net in nets.iter().filter(|net| !alone(net)) {
        let shown: Vec<&RouteRow> =
            if net.pads <= FEW_PADS { net.routes.iter().collect() } else { net.longest().into_iter().collect() };
        if shown.is_empty() {
            table.row(net_cells(board, net, None));
        }
        for route in shown {
            table.row(net_cells(board, net, Some(route)));
        }
    }
    let mut text = table.render(paint);
    let hidden = nets.iter().filter(|net| alone(net)).count();
    if hidden > 0 {
        let _ = writeln!(text, "and {} with one pad and no via", count(hidden, "net"));
    }
    text
}

fn net_cells(board: &Board, net: &NetRow, route: Option<&RouteRow>) -> Vec<String> {
    // A contribution of nothing is left blank, so that the eye finds the others.
    let part =
        |pick: fn(&RouteRow) -> Option<Length>| mm(route.and_then(pick).filter(|length| length.to_nm().abs() >= 0.5));
    let barrels = |known: Option<Length>, used: usize| if used > 0 && known.is_none() { "?".into() } else { mm(known) };
    let vias = route.map_or(net.vias, |route| route.vias);
    let layers = layer_names(board, route.map_or(net.layers, |route| route.layers));
    let stub = net.stubs.barrel.map_or_else(String::new, |barrel| barrels(barrel.length, 1));
    let [ohm, worst] = route.map(|route| impedance_cells(&route.signal.impedance)).unwrap_or_default();
    vec![
        printable_name(&net.name).into_owned(),
        route.map_or_else(String::new, |route| printable_name(&route.from).into_owned()),
        route.map_or_else(String::new, |route| printable_name(&route.to).into_owned()),
        route.map_or_else(String::new, |route| with_barrels(route.length.total(), route.length.planar())),
        part(|route| Some(route.length.tracks)),
        part(|route| Some(route.length.arcs)),
        part(|route| Some(route.length.pads)),
        route.map_or_else(String::new, |route| {
            if route.vias == 0 { String::new() } else { barrels(route.length.vias, route.vias) }
        }),
        part(|route| Some(route.length.joins)),
        part(|route| Some(route.length.fills)),
        part(|route| Some(route.length.package)),
        if vias == 0 { String::new() } else { vias.to_string() },
        layers.join(" "),
        mm(net.stubs.longest.filter(|length| length.to_nm() >= 0.5)),
        stub,
        bare(route.map_or(&[][..], |route| &route.reference)),
        ohm,
        worst,
        route.map_or_else(String::new, |route| cell(&route.signal.delay, |delay| electric::ps(*delay))),
        route.map_or_else(String::new, |route| cell(&route.signal.loss, |loss| electric::db(loss.total()))),
        remarks(net, route),
    ]
}

/// The whole length, or as much of it as is known without the height of barrels.
fn with_barrels(total: Option<Length>, planar: Length) -> String {
    total.map_or_else(|| format!("{}+?", mm(Some(planar))), |total| mm(Some(total)))
}

/// The longest stretch without a plane; blank if there is none.
fn bare(reference: &[ReferenceRow]) -> String {
    mm(longest_bare(reference).filter(|length| length.to_nm() >= 500.0))
}

fn remarks(net: &NetRow, route: Option<&RouteRow>) -> String {
    let mut remarks = Vec::new();
    let pads = count(net.pads, "pad");
    match route {
        None if net.open > 0 => remarks.push(format!("{pads}, not joined by copper")),
        None if net.fills > 0 => remarks.push(format!("{pads}, {}", count(net.fills, "filled area"))),
        None => remarks.push(pads),
        Some(_) if net.pads > FEW_PADS => {
            remarks.push(format!("longest of {} between {pads}", count(net.routes.len(), "route")));
        }
        Some(_) => {}
    }
    if route.is_some() && net.open > 0 {
        remarks.push(format!("{} of pads not joined by copper", count(net.open, "pair")));
    }
    if route.is_some_and(|route| route.looped) {
        remarks.push("a second way exists".to_owned());
    }
    remarks.join("; ")
}

fn pairs(board: &Board, pairs: &[PairRow], paint: Paint) -> String {
    use Side::{Left, Right};
    let mut table = Table::new(&[
        ("pair", Left),
        ("from", Left),
        ("to", Left),
        ("P", Right),
        ("N", Right),
        ("P-N", Right),
        ("peak", Right),
        ("peak at", Left),
        ("coupled", Right),
        ("least gap", Right),
        ("typical gap", Right),
        ("planes", Left),
        ("no plane", Right),
        ("ohm", Right),
        ("worst", Right),
        ("P ps", Right),
        ("N ps", Right),
        ("P-N ps", Right),
        ("peak ps", Right),
        ("dB", Right),
        ("remarks", Left),
    ]);
    for pair in pairs {
        if pair.legs.is_empty() {
            let mut cells = vec![String::new(); 21];
            if let (Some(name), remark) = (cells.first_mut(), remark(pair)) {
                *name = printable_name(&pair.name).into_owned();
                if let Some(last) = cells.last_mut() {
                    *last = remark;
                }
            }
            table.row(cells);
        }
        for legs in &pair.legs {
            table.row(pair_cells(board, pair, legs));
        }
    }
    table.render(paint)
}

fn pair_cells(board: &Board, pair: &PairRow, legs: &LegsRow) -> Vec<String> {
    let both = |ends: &(String, String)| format!("{}/{}", printable_name(&ends.0), printable_name(&ends.1));
    let signal = &legs.signal;
    let [ohm, worst] = impedance_cells(&signal.impedance);
    let ps = |known: &Result<Time, Unknown>| cell(known, |time| electric::ps(*time));
    let or_unknown = |length: Option<Length>| if length.is_none() { "?".to_owned() } else { mm(length) };
    vec![
        printable_name(&pair.name).into_owned(),
        both(&legs.from),
        both(&legs.to),
        with_barrels(legs.p, legs.planar[0]),
        with_barrels(legs.n, legs.planar[1]),
        or_unknown(legs.difference),
        mm(legs.peak.map(|peak| peak.0)),
        legs.peak.map_or_else(String::new, |(_, at, layer)| {
            let [x, y] = [at.x, at.y].map(|nm| decimal(crate::geometry::to_f64(nm) / 1e6, 2));
            format!("{x} {y} {}", printable_name(board.layers.name(layer)))
        }),
        format!("{:.0} %", legs.coupled * 100.0),
        mm(legs.gap.map(|gap| gap.least)),
        mm(legs.gap.map(|gap| gap.typical)),
        planes(board, &legs.reference),
        bare(&legs.reference),
        ohm,
        worst,
        ps(&signal.p),
        ps(&signal.n),
        ps(&signal.skew),
        cell(&signal.peak, |peak| electric::ps(peak.0)),
        cell(&signal.loss, |loss| electric::db(loss.total())),
        remark(pair),
    ]
}

fn remark(pair: &PairRow) -> String {
    let mut remarks = Vec::new();
    if pair.proposed {
        remarks.push("proposed".to_owned());
    }
    if pair.lone > 0 {
        remarks.push(format!("{} without a counterpart", count(pair.lone, "route")));
    } else if pair.legs.is_empty() {
        remarks.push("no two pads of either leg are joined".to_owned());
    }
    remarks.join("; ")
}
