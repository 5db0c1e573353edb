//! A value to aim at, with its tolerance: `85 ohm ±10 %`.

use super::{Dimension, ParseError, Quantity};
use std::fmt;

/// A value to aim at and how far off it may be.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Target {
    /// The value.
    pub value: Quantity,
    /// How far off, to both sides: a ratio of the value, or a quantity like it. `None` if nothing was said.
    pub tolerance: Option<Quantity>,
}

/// Signs that set a tolerance apart, longest first.
const SIGNS: [&str; 3] = ["+/-", "+-", "\u{b1}"];

impl Target {
    /// Reads `85 ohm`, `85 ohm ±10 %`, `85 ohm +-8.5 ohm`.
    ///
    /// # Errors
    /// [`ParseError`] says which part of the text is wrong and what was expected.
    pub fn parse(text: &str, dimension: Dimension) -> Result<Self, ParseError> {
        let Some((at, sign)) = SIGNS.iter().filter_map(|sign| text.find(sign).map(|at| (at, *sign))).min() else {
            return Ok(Self { value: Quantity::parse(text, &[dimension])?, tolerance: None });
        };
        let value = Quantity::parse(text.get(..at).unwrap_or(""), &[dimension])?;
        let rest = at + sign.len();
        let shift = |mut error: ParseError| {
            error.range = error.range.start + rest..error.range.end + rest;
            error
        };
        let tolerance =
            Quantity::parse(text.get(rest..).unwrap_or(""), &[Dimension::Ratio, dimension]).map_err(shift)?;
        if tolerance.base() < 0.0 {
            return Err(ParseError {
                message: "a tolerance below zero".to_owned(),
                expected: "how far off to both sides, such as `±10 %`".to_owned(),
                help: None,
                range: rest..text.len(),
            });
        }
        Ok(Self { value, tolerance: Some(tolerance) })
    }

    /// The lowest value that meets it; the value itself if no tolerance was stated.
    #[must_use]
    pub fn low(&self) -> Quantity {
        self.off_by(-1.0)
    }

    /// The highest value that meets it; the value itself if no tolerance was stated.
    #[must_use]
    pub fn high(&self) -> Quantity {
        self.off_by(1.0)
    }

    fn off_by(&self, side: f64) -> Quantity {
        let value = self.value.base();
        let off = match self.tolerance {
            None => return self.value,
            Some(Quantity::Ratio(share)) if self.value.dimension() != Dimension::Ratio => share * value.abs(),
            Some(other) => other.base(),
        };
        Quantity::of(self.value.dimension(), value + side * off)
    }
}

impl fmt::Display for Target {
    /// `85 ohm ±10 %`.
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(f, "{}", self.value)?;
        self.tolerance.map_or(Ok(()), |tolerance| write!(f, " \u{b1}{tolerance}"))
    }
}
