//! Quantities as people read them: in a unit, with no more digits than asked.

use super::{Dimension, Length, Quantity, Unit};
use std::fmt;

/// The most decimals that lengths in mm are printed with: 0.001 mm is well below what a fab holds.
const LENGTH_DECIMALS: usize = 3;

/// A number with at most `decimals` decimals, trailing zeros trimmed; a rounded zero has no sign.
#[must_use]
pub fn decimal(value: f64, decimals: usize) -> String {
    let mut text = format!("{value:.decimals$}");
    if text.contains('.') {
        text.truncate(text.trim_end_matches('0').trim_end_matches('.').len());
    }
    if text == "-0" { "0".to_owned() } else { text }
}

impl Quantity {
    /// Its number in `unit`; `None` if the unit measures something else.
    #[must_use]
    pub fn number_in(self, unit: &Unit) -> Option<f64> {
        (unit.dimension == self.dimension()).then(|| self.base() / unit.scale())
    }

    /// Printed in `unit` with at most `decimals` decimals; in its own unit if `unit` measures something else.
    #[must_use]
    pub fn print_in(self, unit: &Unit, decimals: usize) -> String {
        self.number_in(unit)
            .map_or_else(|| self.to_string(), |number| format!("{} {}", decimal(number, decimals), unit.symbol))
    }

    /// Printed beside `other`, with more decimals than usual if they would read the same without being the same: a
    /// value of 0.1502 mm over a limit of 0.15 mm.
    #[must_use]
    pub fn print_beside(self, other: Self) -> String {
        let usual = self.to_string();
        let differ = matches!(self.compare(other), Some(order) if order.is_ne());
        let Some((unit, decimals)) = self.style().filter(|_| differ && usual == other.to_string()) else {
            return usual;
        };
        (decimals + 1..=decimals + 6)
            .map(|more| self.print_in(unit, more))
            .find(|text| *text != usual && *text != other.print_in(unit, decimals + 6))
            .unwrap_or(usual)
    }

    /// The unit and number of decimals it is printed with unless others are asked for.
    fn style(self) -> Option<(&'static Unit, usize)> {
        let size = self.base().abs();
        let (symbol, decimals) = match self.dimension() {
            Dimension::Length => ("mm", LENGTH_DECIMALS),
            Dimension::Time if size < 1e-9 => ("ps", 2),
            Dimension::Time if size < 1e-6 => ("ns", 3),
            Dimension::Time if size < 1e-3 => ("us", 3),
            Dimension::Time => ("ms", 3),
            Dimension::Impedance if size < 1.0 => ("mohm", 1),
            Dimension::Impedance => ("ohm", 2),
            Dimension::Frequency if size >= 1e9 => ("GHz", 3),
            Dimension::Frequency if size >= 1e6 => ("MHz", 3),
            Dimension::Frequency if size >= 1e3 => ("kHz", 3),
            Dimension::Frequency => ("Hz", 3),
            Dimension::Rate if size >= 1e9 => ("GT/s", 3),
            Dimension::Rate => ("MT/s", 3),
            Dimension::Current if size >= 1.0 => ("A", 3),
            Dimension::Current => ("mA", 1),
            Dimension::Ratio => ("%", 1),
            Dimension::Decibel => ("dB", 2),
            Dimension::Count => return None,
        };
        Unit::find(symbol).map(|unit| (unit, decimals))
    }
}

impl fmt::Display for Quantity {
    /// In the usual unit for its size: `0.15 mm`, `1.5 ps`, `85 ohm`, `55 mohm`, `16 GT/s`, `10 %`.
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        if let Self::Count(count) = self {
            return write!(f, "{count}");
        }
        match self.style() {
            Some((unit, decimals)) => {
                write!(f, "{} {}", decimal(self.base() / unit.scale(), decimals), unit.symbol)
            }
            None => write!(f, "{}", self.base()),
        }
    }
}

impl fmt::Display for Length {
    /// In mm with at most three decimals: `0.15 mm`, `12 mm`. A precision asks for another number: `{:.1}`.
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(f, "{} mm", decimal(self.to_mm(), f.precision().unwrap_or(LENGTH_DECIMALS)))
    }
}
