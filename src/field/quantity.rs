//! The solver's own quantities. Each holds SI units; a bare number enters and leaves only by name.

macro_rules! quantity {
    ($(#[$doc:meta])* $name:ident, $($(#[$unit_doc:meta])* ($from:ident, $to:ident, $factor:expr)),+ $(,)?) => {
        $(#[$doc])*
        #[derive(Debug, Clone, Copy, PartialEq, PartialOrd, Default)]
        pub struct $name(f64);

        impl $name {
            $(
                $(#[$unit_doc])*
                #[must_use]
                pub const fn $from(value: f64) -> Self {
                    Self(value * $factor)
                }

                /// The number in that unit.
                #[must_use]
                pub const fn $to(self) -> f64 {
                    self.0 / $factor
                }
            )+

            /// The magnitude.
            #[must_use]
            pub const fn abs(self) -> Self {
                Self(self.0.abs())
            }

            /// A total order.
            #[must_use]
            pub fn total_cmp(&self, other: &Self) -> std::cmp::Ordering {
                self.0.total_cmp(&other.0)
            }
        }

        impl std::ops::Add for $name {
            type Output = Self;
            fn add(self, other: Self) -> Self {
                Self(self.0 + other.0)
            }
        }
        impl std::ops::Sub for $name {
            type Output = Self;
            fn sub(self, other: Self) -> Self {
                Self(self.0 - other.0)
            }
        }
        impl std::ops::Mul<f64> for $name {
            type Output = Self;
            fn mul(self, factor: f64) -> Self {
                Self(self.0 * factor)
            }
        }
        impl std::iter::Sum for $name {
            fn sum<I: Iterator<Item = Self>>(parts: I) -> Self {
                parts.fold(Self(0.0), |sum, part| sum + part)
            }
        }
    };
}

quantity! {
    /// An impedance or resistance.
    Impedance,
    /// From ohms.
    (ohms, to_ohms, 1.0),
}
quantity! {
    /// A time.
    Time,
    /// From seconds.
    (seconds, to_seconds, 1.0),
    /// From picoseconds.
    (ps, to_ps, 1e-12),
}
quantity! {
    /// A frequency.
    Frequency,
    /// From hertz.
    (hertz, to_hertz, 1.0),
    /// From megahertz.
    (mhz, to_mhz, 1e6),
    /// From gigahertz.
    (ghz, to_ghz, 1e9),
}
quantity! {
    /// A capacitance.
    Capacitance,
    /// From farads.
    (farads, to_farads, 1.0),
    /// From picofarads.
    (pf, to_pf, 1e-12),
}
quantity! {
    /// An inductance.
    Inductance,
    /// From henries.
    (henries, to_henries, 1.0),
    /// From nanohenries.
    (nh, to_nh, 1e-9),
}
quantity! {
    /// A delay per length.
    Slowness,
    /// From seconds per metre.
    (seconds_per_metre, to_seconds_per_metre, 1.0),
    /// From picoseconds per millimetre.
    (ps_per_mm, to_ps_per_mm, 1e-9),
}
quantity! {
    /// A loss per length.
    Attenuation,
    /// From nepers per metre.
    (nepers_per_metre, to_nepers_per_metre, 1.0),
    /// From decibels per metre.
    (db_per_metre, to_db_per_metre, std::f64::consts::LN_10 / 20.0),
    /// From decibels per inch.
    (db_per_inch, to_db_per_inch, std::f64::consts::LN_10 / 20.0 / 0.0254),
}
quantity! {
    /// How well a metal conducts.
    Conductivity,
    /// From siemens per metre.
    (siemens_per_metre, to_siemens_per_metre, 1.0),
}

impl Slowness {
    /// The delay over a length.
    #[must_use]
    pub fn over(self, length: crate::units::Length) -> Time {
        Time::seconds(self.to_seconds_per_metre() * length.to_metres())
    }
}

/// Speed of light in vacuum, metres per second (exact).
pub const LIGHT: f64 = 299_792_458.0;
/// Magnetic constant, henries per metre (the value before 2019; today's differs by 1e-10).
pub const MU0: f64 = 4e-7 * std::f64::consts::PI;
/// Electric constant, farads per metre.
pub const EPS0: f64 = 1.0 / (MU0 * LIGHT * LIGHT);
/// Impedance of free space, ohms.
pub const ETA0: f64 = MU0 * LIGHT;
