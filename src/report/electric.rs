//! Ohms, picoseconds and decibels in words: no more digits than the method has, and a reason where there is no number.

use super::StackupOf;
use crate::board::{Board, LayerId};
use crate::field::{Impedance, Time};
use crate::geometry::{Point, to_f64};
use crate::measure::{ImpedanceRow, LossRow, PairSignal, RouteSignal, Unknown};
use crate::signal::{Basis, CoatOrigin, NoBasis};
use crate::units::{Quantity, decimal};
use serde_json::{Map, Value, json};
use std::fmt::Write;

/// Ohms for people: the solver is a percent off at worst, a tenth of an ohm is a fifth of that.
pub fn ohm(impedance: Impedance) -> String {
    format!("{:.1}", impedance.to_ohms())
}

/// Ohms for programs. An open end has no number, but a great one.
pub fn ohm_value(impedance: Impedance) -> f64 {
    impedance.to_ohms().clamp(-1e6, 1e6)
}

/// Picoseconds for people.
pub fn ps(time: Time) -> String {
    signed(format!("{:.2}", time.to_ps()))
}

/// Decibels for people.
pub fn db(loss: Quantity) -> String {
    signed(format!("{:.2}", loss.base()))
}

/// A rounded zero has no sign.
fn signed(text: String) -> String {
    let zero = text.chars().all(|c| matches!(c, '-' | '0' | '.'));
    if zero { text.trim_start_matches('-').to_owned() } else { text }
}

/// A cell of a table: the number, `?` where it is in doubt, nothing where the question does not arise.
pub fn cell<T>(known: &Result<T, Unknown>, print: impl FnOnce(&T) -> String) -> String {
    match known {
        Ok(value) => print(value),
        Err(Unknown::Doubt { .. }) => "?".to_owned(),
        Err(_) => String::new(),
    }
}

/// Typical and worst impedance as cells; `+?` where a part is in doubt.
pub fn impedance_cells(known: &Result<ImpedanceRow, Unknown>) -> [String; 2] {
    let part = |row: &ImpedanceRow| if row.doubtful.is_some() { "+?" } else { "" };
    [
        cell(known, |row| ohm(row.typical) + part(row)),
        known.as_ref().map_or_else(|_| String::new(), |row| ohm(row.worst.0)),
    ]
}

/// Why the doubtful numbers of a row are so, each reason once.
pub fn doubts<'u>(unknown: impl IntoIterator<Item = Option<&'u Unknown>>, part: Option<&ImpedanceRow>) -> Vec<String> {
    let mut found: Vec<String> = Vec::new();
    let whole = unknown.into_iter().flatten().filter_map(|why| match why {
        Unknown::Doubt { doubt, .. } => Some(doubt.to_string()),
        _ => None,
    });
    let part = part.and_then(|row| row.doubtful).map(|(_, doubt)| doubt.to_string());
    for reason in whole.chain(part) {
        if !found.contains(&reason) {
            found.push(reason);
        }
    }
    found
}

/// What is not known of a route, by the names of its values.
pub fn route_unknown(signal: &RouteSignal) -> Vec<(&'static str, String)> {
    gather([
        ("impedance", impedance_reason(&signal.impedance)),
        ("delay", reason(&signal.delay)),
        ("loss", reason(&signal.loss)),
    ])
}

/// What is not known of a pair, by the names of its values.
pub fn pair_unknown(signal: &PairSignal) -> Vec<(&'static str, String)> {
    gather([
        ("impedance", impedance_reason(&signal.impedance)),
        ("p", reason(&signal.p)),
        ("n", reason(&signal.n)),
        ("skew", reason(&signal.skew)),
        ("peak", reason(&signal.peak)),
        ("loss", reason(&signal.loss)),
    ])
}

fn reason<T>(known: &Result<T, Unknown>) -> Option<String> {
    known.as_ref().err().map(Unknown::to_string)
}

fn gather<const N: usize>(reasons: [(&'static str, Option<String>); N]) -> Vec<(&'static str, String)> {
    reasons.into_iter().filter_map(|(name, reason)| Some((name, reason?))).collect()
}

fn impedance_reason(known: &Result<ImpedanceRow, Unknown>) -> Option<String> {
    match known {
        Err(why) => Some(why.to_string()),
        Ok(row) => row.doubtful.map(|(length, doubt)| format!("{doubt} ({length} of the tracks)")),
    }
}

/// `delay, loss: no return via is near a barrel`: values with one reason stand together.
pub fn reasons(unknown: &[(&str, String)]) -> String {
    let mut grouped: Vec<(Vec<&str>, &str)> = Vec::new();
    for (name, reason) in unknown {
        match grouped.iter_mut().find(|(_, known)| known == reason) {
            Some((names, _)) => names.push(name),
            None => grouped.push((vec![name], reason)),
        }
    }
    grouped.iter().map(|(names, reason)| format!("{}: {reason}", names.join(", "))).collect::<Vec<_>>().join("; ")
}

/// A line for people on what electrical numbers rest on; none if there is nothing to warn of.
pub fn basis_line(stackup: &StackupOf, basis: &Result<Basis, NoBasis>) -> Option<String> {
    match (basis, stackup) {
        (Err(missing), _) => Some(format!("no ohms, ps or dB: {missing}\n")),
        (Ok(_), StackupOf::Placeholder) => Some(
            "stackup  a placeholder: it looks as if nobody had entered it; ohms, ps and dB are no better than it\n"
                .to_owned(),
        ),
        (Ok(_), _) => None,
    }
}

/// What was assumed beyond the stackup; empty if nothing was.
pub fn assumed(basis: &Basis) -> String {
    let mut words = String::new();
    let masks = [("top", &basis.top), ("bottom", &basis.bottom)];
    let sides: Vec<&str> =
        masks.iter().filter(|(_, coat)| coat.origin != CoatOrigin::Stated).map(|(side, _)| *side).collect();
    if !sides.is_empty() {
        let _ = write!(words, "the solder mask on the {} as common practice has it", sides.join(" and "));
    }
    if basis.roughness_assumed {
        let joint = if words.is_empty() { "" } else { ", " };
        let _ = write!(words, "{joint}foils with {} um roughness (Rz)", decimal(basis.roughness.to_nm() / 1e3, 1));
    }
    words
}

/// A place for programs.
pub fn place(board: &Board, at: Point, layer: LayerId) -> [(&'static str, Value); 3] {
    [
        ("layer", board.layers.name(layer).into()),
        ("x_mm", (to_f64(at.x) / 1e6).into()),
        ("y_mm", (to_f64(at.y) / 1e6).into()),
    ]
}

/// To a thousandth of its unit: more than the method has, and free of the arithmetic's noise.
pub fn rounded(value: f64) -> f64 {
    // Adding zero takes the sign from a rounded one.
    (value * 1e3).round() / 1e3 + 0.0
}

fn object(pairs: impl IntoIterator<Item = (&'static str, Value)>) -> Value {
    Value::Object(pairs.into_iter().map(|(key, value)| (key.to_owned(), value)).collect::<Map<_, _>>())
}

/// What electrical numbers rest on, for programs.
pub fn basis_value(basis: &Result<Basis, NoBasis>) -> Value {
    let mask = |origin: CoatOrigin| match origin {
        CoatOrigin::Stated => "stated",
        CoatOrigin::Completed => "completed",
        CoatOrigin::Assumed => "assumed",
    };
    let known = basis.as_ref().ok();
    json!({
        "not_known": basis.as_ref().err().map(NoBasis::to_string),
        "values_hold_at_ghz": known.map(|basis| rounded(basis.frequency.to_ghz())),
        "roughness_um": known.map(|basis| rounded(basis.roughness.to_nm() / 1e3)),
        "roughness_assumed": known.map(|basis| basis.roughness_assumed),
        "mask_top": known.map(|basis| mask(basis.top.origin)),
        "mask_bottom": known.map(|basis| mask(basis.bottom.origin)),
    })
}

fn impedance_value(board: &Board, row: &ImpedanceRow) -> Value {
    let ohms = |impedance: Impedance| rounded(impedance.to_ohms());
    let (worst, at, layer) = row.worst;
    let place = place(board, at, layer);
    json!({
        "least_ohm": ohms(row.least),
        "typical_ohm": ohms(row.typical),
        "most_ohm": ohms(row.most),
        "worst": object([("ohm", ohms(worst).into())].into_iter().chain(place)),
        "known_mm": rounded(row.known.to_mm()),
        "not_known_mm": rounded(row.doubtful.map_or(0.0, |(length, _)| length.to_mm())),
    })
}

fn loss_value(row: &LossRow) -> Value {
    json!({
        "at_ghz": rounded(row.frequency.to_ghz()),
        "total_db": rounded(row.total().base()),
        "metal_db": rounded(row.metal.base()),
        "dielectric_db": rounded(row.dielectric.base()),
        "barrels_db": rounded(row.barrels.base()),
    })
}

fn unknown_value(unknown: Vec<(&'static str, String)>) -> Value {
    object(unknown.into_iter().map(|(name, reason)| (name, reason.into())))
}

fn time(known: &Result<Time, Unknown>) -> Option<f64> {
    known.as_ref().ok().map(|time| rounded(time.to_ps()))
}

/// What a signal meets on a route, for programs.
pub fn route_value(board: &Board, signal: &RouteSignal) -> Value {
    json!({
        "impedance": signal.impedance.as_ref().ok().map(|row| impedance_value(board, row)),
        "delay_ps": time(&signal.delay),
        "loss": signal.loss.as_ref().ok().map(loss_value),
        "not_known": unknown_value(route_unknown(signal)),
    })
}

/// What a differential signal meets, for programs.
pub fn pair_value(board: &Board, signal: &PairSignal) -> Value {
    let peak = signal.peak.as_ref().ok().map(|&(value, at, layer)| {
        object([("value_ps", rounded(value.to_ps()).into())].into_iter().chain(place(board, at, layer)))
    });
    json!({
        "impedance": signal.impedance.as_ref().ok().map(|row| impedance_value(board, row)),
        "p_ps": time(&signal.p),
        "n_ps": time(&signal.n),
        "skew_ps": time(&signal.skew),
        "peak": peak,
        "loss": signal.loss.as_ref().ok().map(loss_value),
        "not_known": unknown_value(pair_unknown(signal)),
    })
}
