//! What a quantity measures.

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

impl Dimension {
    /// Every dimension, in a fixed order.
    pub const ALL: [Self; 9] = [
        Self::Length,
        Self::Time,
        Self::Impedance,
        Self::Frequency,
        Self::Rate,
        Self::Current,
        Self::Ratio,
        Self::Decibel,
        Self::Count,
    ];

    /// With its article: "a length".
    #[must_use]
    pub const fn name(self) -> &'static str {
        match self {
            Self::Length => "a length",
            Self::Time => "a time",
            Self::Impedance => "an impedance",
            Self::Frequency => "a frequency",
            Self::Rate => "a symbol rate",
            Self::Current => "a current",
            Self::Ratio => "a ratio",
            Self::Decibel => "a value in decibels",
            Self::Count => "a count",
        }
    }

    /// A quantity of this dimension as people write it.
    #[must_use]
    pub const fn example(self) -> &'static str {
        match self {
            Self::Length => "0.15 mm",
            Self::Time => "1 ps",
            Self::Impedance => "85 ohm",
            Self::Frequency => "8 GHz",
            Self::Rate => "16 GT/s",
            Self::Current => "1.2 A",
            Self::Ratio => "10 %",
            Self::Decibel => "-40 dB",
            Self::Count => "2",
        }
    }
}

/// "a length such as `0.15 mm` or a time such as `1 ps`".
pub(crate) fn expected(dimensions: &[Dimension]) -> String {
    let mut text = String::new();
    for (at, dimension) in dimensions.iter().enumerate() {
        if at > 0 {
            text.push_str(if at + 1 == dimensions.len() { " or " } else { ", " });
        }
        text.push_str(dimension.name());
        text.push_str(" such as `");
        text.push_str(dimension.example());
        text.push('`');
    }
    text
}
