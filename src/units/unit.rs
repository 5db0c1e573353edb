//! The table of units: how each is written, printed and scaled.

use super::Dimension;

/// A unit people may write.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Unit {
    /// How it is printed.
    pub symbol: &'static str,
    /// What it measures.
    pub dimension: Dimension,
    /// Other spellings that mean the same.
    pub(super) spellings: &'static [&'static str],
    /// One unit is `mantissa` × 10^`exponent` of the base: nm for lengths, SI units otherwise. The power of ten is
    /// applied to the digits, so that "0.15 mm" is exactly 150000 nm.
    pub(super) mantissa: f64,
    pub(super) exponent: i32,
}

const fn unit(
    dimension: Dimension,
    symbol: &'static str,
    spellings: &'static [&'static str],
    mantissa: f64,
    exponent: i32,
) -> Unit {
    Unit { symbol, dimension, spellings, mantissa, exponent }
}

/// Every unit, the usual one of each dimension first. The micro sign has two code points, and so has the ohm sign.
pub static UNITS: &[Unit] = &[
    unit(Dimension::Length, "mm", &[], 1.0, 6),
    unit(Dimension::Length, "um", &["\u{b5}m", "\u{3bc}m"], 1.0, 3),
    unit(Dimension::Length, "mil", &["mils"], 254.0, 2),
    unit(Dimension::Length, "in", &["inch"], 254.0, 5),
    unit(Dimension::Length, "nm", &[], 1.0, 0),
    unit(Dimension::Length, "cm", &[], 1.0, 7),
    unit(Dimension::Length, "m", &[], 1.0, 9),
    unit(Dimension::Time, "ps", &[], 1.0, -12),
    unit(Dimension::Time, "fs", &[], 1.0, -15),
    unit(Dimension::Time, "ns", &[], 1.0, -9),
    unit(Dimension::Time, "us", &["\u{b5}s", "\u{3bc}s"], 1.0, -6),
    unit(Dimension::Time, "ms", &[], 1.0, -3),
    unit(Dimension::Time, "s", &[], 1.0, 0),
    unit(Dimension::Impedance, "ohm", &["ohms", "\u{3a9}", "\u{2126}"], 1.0, 0),
    unit(Dimension::Impedance, "mohm", &["m\u{3a9}", "m\u{2126}"], 1.0, -3),
    unit(Dimension::Impedance, "kohm", &["k\u{3a9}", "k\u{2126}"], 1.0, 3),
    unit(Dimension::Frequency, "GHz", &[], 1.0, 9),
    unit(Dimension::Frequency, "MHz", &[], 1.0, 6),
    unit(Dimension::Frequency, "kHz", &[], 1.0, 3),
    unit(Dimension::Frequency, "Hz", &[], 1.0, 0),
    unit(Dimension::Rate, "GT/s", &[], 1.0, 9),
    unit(Dimension::Rate, "MT/s", &[], 1.0, 6),
    unit(Dimension::Current, "A", &[], 1.0, 0),
    unit(Dimension::Current, "mA", &[], 1.0, -3),
    unit(Dimension::Current, "uA", &["\u{b5}A", "\u{3bc}A"], 1.0, -6),
    unit(Dimension::Ratio, "%", &[], 1.0, -2),
    unit(Dimension::Decibel, "dB", &[], 1.0, 0),
];

impl Unit {
    /// The unit spelled `text`; case counts, since `m` and `M` differ by nine powers of ten.
    #[must_use]
    pub fn find(text: &str) -> Option<&'static Self> {
        UNITS.iter().find(|unit| unit.symbol == text || unit.spellings.contains(&text))
    }

    /// The unit that quantities of a dimension are printed in unless another is asked for; counts have none.
    #[must_use]
    pub fn usual(dimension: Dimension) -> Option<&'static Self> {
        UNITS.iter().find(|unit| unit.dimension == dimension)
    }

    /// How many base units one of this unit is.
    #[must_use]
    pub fn scale(&self) -> f64 {
        self.mantissa * 10f64.powi(self.exponent)
    }
}
