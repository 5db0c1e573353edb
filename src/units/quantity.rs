//! Quantities of any kind, as rule files and reports carry them.

use super::Length;

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
