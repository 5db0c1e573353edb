//! Quantities of any kind, as rule files and reports carry them.

use super::Length;
use std::cmp::Ordering;

/// What a quantity measures.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub enum Dimension {
    /// A length (mm, um, mil).
    Length,
    /// A time (ps, ns).
    Time,
    /// An impedance or resistance (ohm, mohm).
    Impedance,
    /// A frequency (MHz, GHz).
    Frequency,
    /// A symbol rate (GT/s).
    Rate,
    /// A current (A, mA).
    Current,
    /// A ratio (%, dB is separate).
    Ratio,
    /// A loss or coupling in decibels.
    Decibel,
    /// A plain count.
    Count,
}

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

    /// Which of two quantities of one dimension is greater; `None` across dimensions. Lengths that differ by at most
    /// half a nanometre, the board grid's rounding, are equal; so are others within 1e-9 of their size.
    #[must_use]
    pub fn compare(self, other: Self) -> Option<Ordering> {
        let (one, two, slack) = match (self, other) {
            (Self::Length(one), Self::Length(two)) => (one.to_nm(), two.to_nm(), 0.5),
            (Self::Count(one), Self::Count(two)) => return Some(one.cmp(&two)),
            (Self::Time(one), Self::Time(two))
            | (Self::Impedance(one), Self::Impedance(two))
            | (Self::Frequency(one), Self::Frequency(two))
            | (Self::Rate(one), Self::Rate(two))
            | (Self::Current(one), Self::Current(two))
            | (Self::Ratio(one), Self::Ratio(two))
            | (Self::Decibel(one), Self::Decibel(two)) => (one, two, 1e-9 * one.abs().max(two.abs())),
            _ => return None,
        };
        if (one - two).abs() <= slack { Some(Ordering::Equal) } else { one.partial_cmp(&two) }
    }
}
