//! Quantities of any kind, as rule files and reports carry them, and how two of them compare.

use super::{Dimension, Length};
use std::cmp::Ordering;

/// Lengths nearer than half a nanometre are the same: half a step of the boards' grid.
pub const LENGTH_TOLERANCE: Length = Length::nm(0.5);

/// Other quantities that differ by less than this share are the same: far below any method's error, far above an
/// `f64`'s.
const RELATIVE_TOLERANCE: f64 = 1e-9;

/// A number with its unit.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum Quantity {
    /// A length.
    Length(Length),
    /// Seconds.
    Time(f64),
    /// Ohms.
    Impedance(f64),
    /// Hertz.
    Frequency(f64),
    /// Transfers per second.
    Rate(f64),
    /// Amperes.
    Current(f64),
    /// 1 is 100 %.
    Ratio(f64),
    /// Decibels.
    Decibel(f64),
    /// A count.
    Count(u64),
}

impl Quantity {
    /// What it measures.
    #[must_use]
    pub const fn dimension(self) -> Dimension {
        match self {
            Self::Length(_) => Dimension::Length,
            Self::Time(_) => Dimension::Time,
            Self::Impedance(_) => Dimension::Impedance,
            Self::Frequency(_) => Dimension::Frequency,
            Self::Rate(_) => Dimension::Rate,
            Self::Current(_) => Dimension::Current,
            Self::Ratio(_) => Dimension::Ratio,
            Self::Decibel(_) => Dimension::Decibel,
            Self::Count(_) => Dimension::Count,
        }
    }

    /// The number in the base unit: nanometres, seconds, ohms, hertz, transfers per second, amperes; ratios as 1 for
    /// 100 %. For arithmetic inside a method; people get `Display`.
    #[must_use]
    pub fn base(self) -> f64 {
        match self {
            Self::Length(length) => length.to_nm(),
            Self::Time(value)
            | Self::Impedance(value)
            | Self::Frequency(value)
            | Self::Rate(value)
            | Self::Current(value)
            | Self::Ratio(value)
            | Self::Decibel(value) => value,
            Self::Count(count) => count_to_f64(count),
        }
    }

    /// A quantity of `dimension` from its number in the base unit; a count is rounded, and none is below zero.
    #[must_use]
    pub fn of(dimension: Dimension, base: f64) -> Self {
        match dimension {
            Dimension::Length => Self::Length(Length::nm(base)),
            Dimension::Time => Self::Time(base),
            Dimension::Impedance => Self::Impedance(base),
            Dimension::Frequency => Self::Frequency(base),
            Dimension::Rate => Self::Rate(base),
            Dimension::Current => Self::Current(base),
            Dimension::Ratio => Self::Ratio(base),
            Dimension::Decibel => Self::Decibel(base),
            Dimension::Count => Self::Count(f64_to_count(base)),
        }
    }

    /// Number and unit apart, in one unit per dimension, for files that programs read; rounded to a billionth of the
    /// unit, below any method's error.
    #[must_use]
    pub fn plain(self) -> (f64, &'static str) {
        let unit = super::Unit::usual(self.dimension());
        let number = unit.and_then(|unit| self.number_in(unit)).unwrap_or_else(|| self.base());
        ((number * 1e9).round() / 1e9, unit.map_or("", |unit| unit.symbol))
    }

    /// The length, if it is one.
    #[must_use]
    pub const fn length(self) -> Option<Length> {
        if let Self::Length(length) = self { Some(length) } else { None }
    }

    /// Its order against another of the same dimension, with a tolerance: lengths within 0.5 nm are equal, other
    /// quantities within a billionth, counts exactly. `None` for different dimensions or a number that isn't one.
    #[must_use]
    pub fn compare(self, other: Self) -> Option<Ordering> {
        if self.dimension() != other.dimension() {
            return None;
        }
        if let (Self::Count(a), Self::Count(b)) = (self, other) {
            return Some(a.cmp(&b));
        }
        let (a, b) = (self.base(), other.base());
        let tolerance = match self {
            Self::Length(_) => LENGTH_TOLERANCE.to_nm(),
            _ => RELATIVE_TOLERANCE * a.abs().max(b.abs()),
        };
        if (a - b).abs() <= tolerance { Some(Ordering::Equal) } else { a.partial_cmp(&b) }
    }

    /// Whether it is known to be no greater than `limit`. A value exactly at the limit is within it. Different
    /// dimensions, or a number that isn't one, are not within anything: in doubt a limit is not met.
    #[must_use]
    pub fn within(self, limit: Self) -> bool {
        matches!(self.compare(limit), Some(Ordering::Less | Ordering::Equal))
    }
}

impl From<Length> for Quantity {
    fn from(length: Length) -> Self {
        Self::Length(length)
    }
}

/// Counts on a board are far below 2^53, where an `f64` is exact; beyond it the nearest is meant.
#[allow(clippy::cast_precision_loss)]
const fn count_to_f64(count: u64) -> f64 {
    count as f64
}

/// `as` saturates: below zero and not-a-number give 0.
#[allow(clippy::cast_possible_truncation, clippy::cast_sign_loss)]
const fn f64_to_count(value: f64) -> u64 {
    value.round() as u64
}
