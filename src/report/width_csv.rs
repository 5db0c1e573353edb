//! Widths and gaps as comma-separated values (RFC 4180): one line per choice. What is not known is empty.

use super::csv::quoted;
use super::width::{Widths, mm, unmet_words};
use crate::field::Impedance;
use crate::units::decimal;

/// Columns. Further ones are only ever added at the end.
const COLUMNS: &[&str] = &[
    "layer",
    "kind",
    "target_ohm",
    "gap_mm",
    "width_mm",
    "impedance_ohm",
    "common_ohm",
    "delay_ps_per_mm",
    "loss_db_per_mm",
    "loss_at_ghz",
    "error_percent",
    "height_less_ohm",
    "height_more_ohm",
    "width_less_ohm",
    "width_more_ohm",
    "permittivity_less_ohm",
    "permittivity_more_ohm",
    "within_tolerance",
    "unmet",
];

/// The report.
#[must_use]
pub fn width_csv(widths: &Widths<'_>) -> String {
    let mut out = COLUMNS.join(",") + "\n";
    let ohms = |impedance: Impedance| decimal(impedance.to_ohms(), 3);
    let nyquist = widths.wanted.frequency.map_or_else(String::new, |frequency| decimal(frequency.to_ghz(), 6));
    for choice in &widths.choices {
        let mut cells = vec![
            widths.layers.name(widths.wanted.layer).to_owned(),
            if widths.is_pair() { "pair" } else { "single" }.to_owned(),
            ohms(widths.wanted.target),
        ];
        match &choice.line {
            Ok(drawn) => {
                let loss = drawn.loss.and_then(Result::ok);
                cells.extend([
                    drawn.trace.gap.map_or_else(String::new, mm),
                    mm(drawn.trace.width),
                    ohms(drawn.impedance),
                    drawn.even.map_or_else(String::new, |even| ohms(even * 0.5)),
                    decimal(drawn.delay.to_ps_per_mm(), 4),
                    loss.map_or_else(String::new, |loss| decimal(loss.to_db_per_metre() / 1e3, 6)),
                    nyquist.clone(),
                    decimal(drawn.error * 100.0, 3),
                ]);
                let both = drawn.spread.iter().flat_map(|spread| [spread.less, spread.more]);
                cells.extend(both.map(|changed| changed.map_or_else(|_| String::new(), ohms)));
                cells.push(if widths.is_outside(drawn.impedance) { "no" } else { "yes" }.to_owned());
                cells.push(String::new());
            }
            Err(unmet) => {
                cells.push(choice.gap.map_or_else(String::new, mm));
                cells.resize(COLUMNS.len() - 1, String::new());
                cells.push(unmet_words(widths, unmet));
            }
        }
        out.push_str(&cells.iter().map(|cell| quoted(cell)).collect::<Vec<_>>().join(","));
        out.push('\n');
    }
    out
}
