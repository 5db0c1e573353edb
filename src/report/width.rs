//! What a report of `width` is about, and the words its forms share.

use super::StackupOf;
use crate::board::{CopperLayers, LayerId};
use crate::field::Impedance;
use crate::rules::Origin;
use crate::signal::Basis;
use crate::units::{Length, Quantity, Target, decimal};
use crate::width::{Choice, Unmet, Wanted};

/// One run of `width`.
#[derive(Debug)]
pub struct Widths<'w> {
    /// A line on the board; empty if there is none.
    pub source: String,
    /// The rule set and how it came to be in force.
    pub rules: String,
    /// Whose stackup it is.
    pub stackup: StackupOf,
    /// The copper layers.
    pub layers: &'w CopperLayers,
    /// The stackup, complete.
    pub basis: &'w Basis,
    /// Planes above and below.
    pub planes: [Option<PlaneOf>; 2],
    /// What was asked for, tolerance included.
    pub target: Target,
    /// The rate at whose half loss is told.
    pub rate: Option<Rate>,
    /// What was looked for.
    pub wanted: Wanted,
    /// What was found.
    pub choices: Vec<Choice>,
}

/// A plane of a line.
#[derive(Debug, Clone, Copy)]
pub struct PlaneOf {
    /// Its layer.
    pub layer: LayerId,
    /// How much of the layer is poured; `None` if no board was named.
    pub poured: Option<f64>,
}

/// A symbol rate and who states it.
#[derive(Debug, Clone)]
pub struct Rate {
    /// The rate.
    pub value: Quantity,
    /// The place in a rule file; `None` if the command line states it.
    pub origin: Option<Origin>,
}

impl Widths<'_> {
    /// Whether it is about pairs.
    pub const fn is_pair(&self) -> bool {
        use crate::width::Fixed;
        !matches!(self.wanted.fixed, Fixed::Single | Fixed::SingleWidth(_))
    }

    /// The frequency at which loss is told.
    pub fn nyquist(&self) -> Option<Quantity> {
        self.wanted.frequency.map(|frequency| Quantity::Frequency(frequency.to_hertz()))
    }

    /// Whether the target has a tolerance that an impedance is outside of.
    pub fn is_outside(&self, impedance: Impedance) -> bool {
        let ohms = Quantity::Impedance(impedance.to_ohms());
        self.target.tolerance.is_some() && !(self.target.low().within(ohms) && ohms.within(self.target.high()))
    }

    /// The largest error that the solver told of a line.
    pub fn error(&self) -> Option<f64> {
        self.choices.iter().filter_map(|choice| Some(choice.line.as_ref().ok()?.error)).max_by(f64::total_cmp)
    }
}

/// Why no line meets the target.
pub fn unmet_words(widths: &Widths<'_>, unmet: &Unmet) -> String {
    match unmet {
        Unmet::TooNarrow(width) => {
            format!("takes a width of {}, below the fab's {}", width, widths.wanted.least_width)
        }
        Unmet::GapTooNarrow(gap) => format!("takes a gap of {}, below the fab's {}", gap, widths.wanted.least_gap),
        Unmet::OutOfReach(nearest) => format!("out of reach: {} ohm is the nearest", ohms(*nearest)),
        Unmet::Unsolved(reason) => format!("not solved: {reason}"),
    }
}

/// An impedance in ohm with one decimal: no more than the method has.
pub fn ohms(impedance: Impedance) -> String {
    format!("{:.1}", impedance.to_ohms())
}

/// A length in mm to the micrometre, without its unit.
pub fn mm(length: Length) -> String {
    decimal(length.to_mm(), 3)
}

/// The change from one impedance to another in percent, signed.
pub fn percent(from: Impedance, to: Impedance) -> f64 {
    (to.to_ohms() / from.to_ohms() - 1.0) * 100.0
}
