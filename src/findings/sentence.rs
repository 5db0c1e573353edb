//! Messages filled in: the only place where a value becomes words.

use crate::checks::{Message, Value};
use crate::geometry::{Point, to_f64};
use crate::source::printable_name;
use crate::units::Quantity;

/// A message with its values in place of its braces. A brace without a value stays as it is.
#[must_use]
pub fn sentence(message: &Message) -> String {
    let mut text = String::new();
    let mut rest = message.template;
    while let Some((before, after)) = rest.split_once('{') {
        text.push_str(before);
        let Some((key, behind)) = after.split_once('}') else {
            text.push('{');
            rest = after;
            continue;
        };
        match message.values.iter().find(|(name, _)| *name == key) {
            Some((_, value)) => text.push_str(&words(value)),
            None => text.push_str(&format!("{{{key}}}")),
        }
        rest = behind;
    }
    text + rest
}

fn words(value: &Value) -> String {
    match value {
        Value::Quantity(quantity) => quantity_words(*quantity),
        Value::Name(name) => format!("`{}`", printable_name(name)),
        Value::Word(word) => (*word).to_owned(),
        Value::Point(point) => point_words(*point),
    }
}

/// A place on the board: `x 103.250 mm, y 88.100 mm`.
#[must_use]
pub fn point_words(point: Point) -> String {
    format!("x {:.3} mm, y {:.3} mm", to_f64(point.x) / 1e6, to_f64(point.y) / 1e6)
}

/// A quantity in its unit, lengths to the micrometre.
#[must_use]
pub fn quantity_words(quantity: Quantity) -> String {
    let (number, decimals, unit) = parts(quantity);
    join(&fixed(number, decimals), unit)
}

fn join(number: &str, unit: &str) -> String {
    if unit.is_empty() { number.to_owned() } else { format!("{number} {unit}") }
}

/// A value beside the limit it is held against: with more digits if both would read the same although they differ.
#[must_use]
pub fn apart(value: Quantity, limit: Quantity) -> (String, String) {
    let ((a, decimals, unit), (b, _, other)) = (parts(value), parts(limit));
    let more = (decimals..=decimals + 3).find(|&decimals| {
        fixed(a, decimals) != fixed(b, decimals) || unit != other || value.compare(limit).is_none_or(|o| o.is_eq())
    });
    let decimals = more.unwrap_or(decimals + 3);
    (join(&fixed(a, decimals), unit), join(&fixed(b, decimals), other))
}

/// No "-0.000".
fn fixed(number: f64, decimals: usize) -> String {
    let text = format!("{number:.decimals$}");
    match text.strip_prefix('-') {
        Some(rest) if rest.bytes().all(|byte| byte == b'0' || byte == b'.') => rest.to_owned(),
        _ => text,
    }
}

/// The number in the unit of reports, the decimals worth printing, and the unit (empty for a count).
#[must_use]
#[allow(clippy::cast_precision_loss)] // counts are far below 2^53
pub fn parts(quantity: Quantity) -> (f64, usize, &'static str) {
    match quantity {
        Quantity::Length(length) => (length.to_mm(), 3, "mm"),
        Quantity::Time(seconds) => (seconds * 1e12, 2, "ps"),
        Quantity::Impedance(ohm) => (ohm, 1, "ohm"),
        Quantity::Frequency(hertz) => (hertz / 1e9, 2, "GHz"),
        Quantity::Rate(rate) => (rate / 1e9, 2, "GT/s"),
        Quantity::Current(ampere) => (ampere, 2, "A"),
        Quantity::Ratio(ratio) => (ratio * 100.0, 1, "%"),
        Quantity::Decibel(decibel) => (decibel, 2, "dB"),
        Quantity::Count(count) => (count as f64, 0, ""),
    }
}
