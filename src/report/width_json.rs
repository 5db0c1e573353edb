//! Widths and gaps for programs. `width.schema.json` beside this file documents them.

use super::json::origin_value;
use super::run::VERSION;
use super::width::{Widths, percent, unmet_words};
use crate::field::Impedance;
use crate::units::Length;
use crate::width::{Choice, Drawn, Spread, Unmet};
use serde_json::{Value, json};

/// The schema of this report.
pub const SCHEMA: &str = include_str!("width.schema.json");

/// The report.
#[must_use]
pub fn width_json(widths: &Widths<'_>) -> String {
    let (basis, wanted) = (widths.basis, &widths.wanted);
    let name = |layer| widths.layers.name(layer);
    let planes = widths.planes.map(|plane| {
        plane.map(|plane| {
            json!({
                "layer": name(plane.layer),
                "distance_mm": mm(basis.clear(wanted.layer, plane.layer)),
                "poured": plane.poured.map(|share| rounded(share, 1e3)),
            })
        })
    });
    let [above, below] = planes;
    let document = json!({
        "schema": "throughline/width/1",
        "tool": { "name": "throughline", "version": VERSION },
        "rules": widths.rules,
        "stackup": widths.stackup.value(),
        "layer": name(wanted.layer),
        "kind": if widths.is_pair() { "pair" } else { "single" },
        "target": {
            "ohm": widths.target.value.base(),
            "low_ohm": widths.target.low().base(),
            "high_ohm": widths.target.high().base(),
        },
        "plane_above": above,
        "plane_below": below,
        "least_width_mm": mm(wanted.least_width),
        "least_gap_mm": mm(wanted.least_gap),
        "etch": wanted.etch,
        "values_at_ghz": basis.frequency.to_ghz(),
        "roughness_mm": mm(basis.roughness),
        "roughness_assumed": basis.roughness_assumed,
        "loss_at_ghz": wanted.frequency.map(|frequency| frequency.to_ghz()),
        "rate_origin": widths.rate.as_ref().and_then(|rate| rate.origin.as_ref()).map(origin_value),
        "choices": widths.choices.iter().map(|choice| choice_value(widths, choice)).collect::<Vec<_>>(),
    });
    format!("{document:#}\n")
}

fn rounded(value: f64, per: f64) -> f64 {
    (value * per).round() / per
}

fn mm(length: Length) -> f64 {
    rounded(length.to_mm(), 1e6)
}

/// To a thousandth of an ohm: below any error of the method.
fn ohms(impedance: Impedance) -> f64 {
    rounded(impedance.to_ohms(), 1e3)
}

fn choice_value(widths: &Widths<'_>, choice: &Choice) -> Value {
    json!({
        "gap_mm": choice.gap.map(mm),
        "line": choice.line.as_ref().ok().map(|drawn| line_value(widths, drawn)),
        "unmet": choice.line.as_ref().err().map(|unmet| json!({
            "reason": match unmet {
                Unmet::TooNarrow(_) => "width below limit",
                Unmet::GapTooNarrow(_) => "gap below limit",
                Unmet::OutOfReach(_) => "out of reach",
                Unmet::Unsolved(_) => "not solved",
            },
            "text": unmet_words(widths, unmet),
        })),
    })
}

fn line_value(widths: &Widths<'_>, drawn: &Drawn) -> Value {
    let changed = |spread: &Spread| {
        let value = |changed: Result<Impedance, _>| {
            changed.ok().map(
                |changed| json!({ "ohm": ohms(changed), "percent": rounded(percent(drawn.impedance, changed), 1e2) }),
            )
        };
        json!({ "of": spread.change.word(), "less": value(spread.less), "more": value(spread.more) })
    };
    json!({
        "width_mm": mm(drawn.trace.width),
        "gap_mm": drawn.trace.gap.map(mm),
        "impedance_ohm": ohms(drawn.impedance),
        "within_tolerance": !widths.is_outside(drawn.impedance),
        "common_ohm": drawn.even.map(|even| ohms(even * 0.5)),
        "delay_ps_per_mm": rounded(drawn.delay.to_ps_per_mm(), 1e4),
        "loss_db_per_mm": drawn.loss.and_then(Result::ok).map(|loss| rounded(loss.to_db_per_metre() / 1e3, 1e6)),
        "loss_missing": drawn.loss.and_then(Result::err).map(|doubt| doubt.to_string()),
        "error": rounded(drawn.error, 1e6),
        "tenth": drawn.spread.iter().map(changed).collect::<Vec<_>>(),
    })
}
