//! Quantities as people write them: a number, then its unit, with or without a space between.

use super::dimension::expected;
use super::unit::UNITS;
use super::{Dimension, Length, Quantity, Unit};
use crate::nearest::nearest;
use std::ops::Range;

/// Why a text is not the quantity that was wanted.
#[derive(Debug, Clone, PartialEq, Eq, thiserror::Error)]
#[error("{message}; expected {expected}")]
pub struct ParseError {
    /// The fact: "unknown unit `mn`".
    pub message: String,
    /// What was wanted: "a length such as `0.15 mm`".
    pub expected: String,
    /// Advice: "did you mean `mm`?".
    pub help: Option<String>,
    /// The part of the text that is wrong, in bytes.
    pub range: Range<usize>,
}

/// A quantity and the unit it was written in (none for a count).
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Written {
    /// The quantity.
    pub quantity: Quantity,
    /// The unit it was written in.
    pub unit: Option<&'static Unit>,
}

impl Quantity {
    /// Reads a quantity of one of `allowed`: `0.15 mm`, `6 mil`, `85 ohm`, `16 GT/s`, `-40 dB`; a count is a whole
    /// number without a unit.
    ///
    /// # Errors
    /// [`ParseError`] says which part of the text is wrong and what was expected.
    pub fn parse(text: &str, allowed: &[Dimension]) -> Result<Self, ParseError> {
        Written::parse(text, allowed).map(|written| written.quantity)
    }
}

impl Length {
    /// Reads a length: `0.15 mm`, `150 um`, `6 mil`.
    ///
    /// # Errors
    /// [`ParseError`] says which part of the text is wrong and what was expected.
    pub fn parse(text: &str) -> Result<Self, ParseError> {
        Quantity::parse(text, &[Dimension::Length]).map(|quantity| quantity.length().unwrap_or_default())
    }
}

impl Written {
    /// Reads a quantity of one of `allowed`, and keeps its unit.
    ///
    /// # Errors
    /// [`ParseError`] says which part of the text is wrong and what was expected.
    pub fn parse(text: &str, allowed: &[Dimension]) -> Result<Self, ParseError> {
        let fail = |message: String, help: Option<String>, range: Range<usize>| ParseError {
            message,
            expected: expected(allowed),
            help,
            range,
        };
        let start = text.len() - text.trim_start().len();
        let end = start + text.trim().len();
        let body = text.get(start..end).unwrap_or("");
        let number = number_length(body);
        let digits = body.get(..number).unwrap_or("");
        let gap = body.get(number..).map_or(0, |rest| rest.len() - rest.trim_start().len());
        let name = body.get(number + gap..).unwrap_or("");
        let name_range = start + number + gap..end;

        if body.is_empty() {
            return Err(fail("no value".to_owned(), None, start..end));
        }
        if !digits.contains(|c: char| c.is_ascii_digit()) {
            return Err(fail(format!("`{body}` doesn't start with a number"), None, start..end));
        }
        if name.starts_with(',') {
            let help = "decimals follow a dot, and thousands are not set apart: `0.15 mm`, `1200 ohm`".to_owned();
            return Err(fail("a comma in a number".to_owned(), Some(help), start + number..start + number + gap + 1));
        }
        if name.starts_with(|c: char| c.is_ascii_digit() || c == '.') {
            return Err(fail(format!("`{body}` is not one number with its unit"), None, start..end));
        }
        if name.is_empty() {
            return count(digits, allowed)
                .ok_or_else(|| fail(no_unit(digits, allowed), unit_help(digits, allowed), start..end));
        }
        let Some(unit) = Unit::find(name) else {
            return Err(fail(format!("unknown unit `{name}`"), unknown_unit_help(name, allowed), name_range));
        };
        if !allowed.contains(&unit.dimension) {
            return Err(fail(format!("`{body}` is {}", unit.dimension.name()), None, start..end));
        }
        // The power of ten goes to the digits, so that the only rounding is that of the decimal itself.
        let value = format!("{}e{}", ascii_sign(digits), unit.exponent).parse::<f64>().map(|n| n * unit.mantissa);
        match value {
            Ok(value) if value.is_finite() => {
                Ok(Self { quantity: Quantity::of(unit.dimension, value), unit: Some(unit) })
            }
            _ => Err(fail(format!("`{digits}` is not a number in reach"), None, start..start + number)),
        }
    }
}

/// A minus sign typed as one, instead of a hyphen.
const MINUS: char = '\u{2212}';

/// Bytes of the number at the start of `text`: a sign, digits, and at most one dot.
fn number_length(text: &str) -> usize {
    let mut dot = false;
    for (at, c) in text.char_indices() {
        let belongs = match c {
            '0'..='9' => true,
            '.' => !std::mem::replace(&mut dot, true),
            '+' | '-' | MINUS => at == 0,
            _ => false,
        };
        if !belongs {
            return at;
        }
    }
    text.len()
}

/// The number with a sign that `f64` knows.
fn ascii_sign(digits: &str) -> String {
    digits.strip_prefix(MINUS).map_or_else(|| digits.to_owned(), |rest| format!("-{rest}"))
}

/// A whole number without a unit, where counts are allowed.
fn count(digits: &str, allowed: &[Dimension]) -> Option<Written> {
    let count = allowed.contains(&Dimension::Count).then(|| digits.parse().ok()).flatten()?;
    Some(Written { quantity: Quantity::Count(count), unit: None })
}

fn no_unit(digits: &str, allowed: &[Dimension]) -> String {
    if allowed == [Dimension::Count] {
        format!("`{digits}` is not a whole number")
    } else {
        format!("`{digits}` has no unit")
    }
}

fn unit_help(digits: &str, allowed: &[Dimension]) -> Option<String> {
    let unit = allowed.iter().find_map(|&dimension| Unit::usual(dimension))?;
    Some(format!("write the unit: `{digits} {}`", unit.symbol))
}

/// The nearest unit of an allowed dimension; without a near one, all of them.
fn unknown_unit_help(name: &str, allowed: &[Dimension]) -> Option<String> {
    let units: Vec<&Unit> = UNITS.iter().filter(|unit| allowed.contains(&unit.dimension)).collect();
    if units.is_empty() {
        return Some("a count has no unit".to_owned());
    }
    let spellings = units.iter().flat_map(|unit| std::iter::once(unit.symbol).chain(unit.spellings.iter().copied()));
    if let Some(near) = nearest(name, spellings) {
        return Some(format!("did you mean `{near}`?"));
    }
    let symbols: Vec<&str> = units.iter().map(|unit| unit.symbol).collect();
    Some(format!("units that fit: {}", symbols.join(", ")))
}
